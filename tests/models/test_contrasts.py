from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy import stats

from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, fit_mixed
from wintersward.models.means import cells_of
from wintersward.models.ranges import loadings


@pytest.fixture
def fit(trial: pd.DataFrame) -> MixedFit:
    trial["cover"] = pd.Categorical(trial["cover"], ["open", "fleece", "woven"])
    return fit_mixed(trial, "green", "cover * tine", ["block", "block:cover"])


class TestPairs:
    def test_columns_rows_and_signs(self, fit: MixedFit) -> None:
        found = fit.pairs(["cover"], by=["tine"])
        assert list(found.columns) == [
            "tine",
            "left",
            "right",
            "difference",
            "se",
            "df",
            "lower",
            "upper",
            "t",
            "p",
        ]
        assert list(zip(found["left"], found["right"], strict=True)) == 2 * [
            ("open", "fleece"),
            ("open", "woven"),
            ("fleece", "woven"),
        ]
        means = fit.means("cover", by="tine").set_index(["tine", "cover"])["mean"]
        for row in found.itertuples():
            expected = means[row.tine, row.left] - means[row.tine, row.right]
            assert row.difference == pytest.approx(expected, rel=1e-9)

    def test_two_levels_need_no_adjustment(self, fit: MixedFit) -> None:
        plain = fit.pairs("tine", adjust="none")
        for adjust in ("tukey", "holm", "bonferroni"):
            pd.testing.assert_frame_equal(fit.pairs("tine", adjust=adjust), plain, rtol=1e-9)
        turned = fit.pairs("tine", adjust="dunnett", control="solid")
        pd.testing.assert_frame_equal(turned, plain, rtol=1e-9)

    def test_each_by_is_a_family(self, fit: MixedFit) -> None:
        whole = fit.pairs("cover", by="tine", adjust="bonferroni")
        plain = fit.pairs("cover", by="tine", adjust="none")
        np.testing.assert_allclose(whole["p"], np.minimum(3 * plain["p"], 1.0))

    def test_cells_of_two_factors_are_named_together(self, fit: MixedFit) -> None:
        found = fit.pairs(["cover", "tine"])
        assert len(found) == 15
        assert (found["left"][0], found["right"][0]) == ("open, hollow", "open, solid")
        np.testing.assert_allclose(
            found["p"],
            stats.studentized_range.sf(np.sqrt(2) * found["t"].abs(), 6, found["df"]),
            atol=1e-10,
        )

    def test_holes_leave_the_rest_of_the_family(self, trial: pd.DataFrame) -> None:
        gone = (trial["cover"] == "woven") & (trial["tine"] == "solid")
        fit = fit_mixed(trial[~gone], "green", "cover * tine", ["block"])
        found = fit.pairs("cover", by="tine").set_index("tine")
        assert found.loc["solid", "difference"].isna().tolist() == [False, True, True]
        alone = found.loc["solid"].iloc[0]
        assert alone["p"] == pytest.approx(2 * stats.t.sf(abs(alone["t"]), alone["df"]))
        assert fit.notes[-1].code == "non-estimable"
        assert fit.notes[-1].count == 2


class TestControl:
    def test_the_first_level_unless_given(self, fit: MixedFit) -> None:
        found = fit.pairs("cover", adjust="dunnett")
        assert found["left"].tolist() == ["fleece", "woven"]
        assert found["right"].tolist() == ["open"] * 2
        other = fit.pairs("cover", adjust="dunnett", control="woven")
        assert other["left"].tolist() == ["open", "fleece"]
        assert other["difference"][0] == pytest.approx(-found["difference"][1])

    def test_the_family_is_the_comparisons_with_it(self, fit: MixedFit) -> None:
        found = fit.pairs("cover", by="tine", adjust="bonferroni", control="open")
        plain = fit.pairs("cover", by="tine", adjust="none", control="open")
        assert len(found) == 4
        np.testing.assert_allclose(found["p"], np.minimum(2 * plain["p"], 1.0))

    def test_dunnett_asks_less_than_bonferroni(self, fit: MixedFit) -> None:
        exact = fit.pairs("cover", adjust="dunnett", control="open")
        bound = fit.pairs("cover", adjust="bonferroni", control="open")
        assert (exact["p"] <= bound["p"]).all()
        assert (exact["upper"] - exact["lower"] < bound["upper"] - bound["lower"]).all()

    def test_of_two_factors(self, fit: MixedFit) -> None:
        found = fit.pairs(["cover", "tine"], adjust="holm", control=("open", "solid"))
        assert found["right"].tolist() == ["open, solid"] * 5

    @pytest.mark.parametrize(
        ("adjust", "control", "said"),
        [
            ("tukey", "open", "tukey is for all pairs"),
            ("holm", "opn", "did you mean open"),
            ("dunnett", ("open", "solid"), "one level of each of cover"),
        ],
    )
    def test_refused(
        self, fit: MixedFit, adjust: str, control: str | tuple[str, ...], said: str
    ) -> None:
        with pytest.raises(WinterswardError, match=said):
            fit.pairs("cover", adjust=adjust, control=control)

    def test_of_means_of_unequal_numbers_agrees_with_scipy(self) -> None:
        # scipy.stats.dunnett integrates by randomised quasi-Monte Carlo, good to about 1e-4.
        rng = np.random.default_rng(11)
        groups = [(0.0, 6), (1.0, 3), (2.0, 4), (3.0, 7), (0.5, 5)]
        samples = [rng.normal(mean, 2.0, count) for mean, count in groups]
        names = [f"c{i}" for i, sample in enumerate(samples) for _ in sample]
        data = pd.DataFrame({"cover": names, "green": np.concatenate(samples)})
        found = fit_mixed(data, "green", "cover").pairs("cover", adjust="dunnett")
        theirs = stats.dunnett(*samples[1:], control=samples[0], rng=np.random.default_rng(3))
        np.testing.assert_allclose(found["t"], theirs.statistic, rtol=1e-10)
        np.testing.assert_allclose(found["p"], theirs.pvalue, atol=2e-4)
        interval = theirs.confidence_interval(0.95)
        np.testing.assert_allclose(found["lower"], interval.low, atol=5e-3)
        np.testing.assert_allclose(found["upper"], interval.high, atol=5e-3)

    def test_blood_counts(self) -> None:
        # Dunnett (1955), two drugs on unequal numbers of animals; data, and p 0.6201 and 0.0058,
        # in the tutorial of scipy.stats.dunnett (scipy 1.16).
        counts = {
            "control": [7.40, 8.50, 7.20, 8.24, 9.84, 8.32],
            "drug a": [9.76, 8.80, 7.68, 9.36],
            "drug b": [12.80, 9.68, 12.16, 9.20, 10.55],
        }
        rows = [(group, y) for group, values in counts.items() for y in values]
        data = pd.DataFrame(rows, columns=["group", "count"])
        found = fit_mixed(data, "count", "group").pairs("group", adjust="dunnett")
        assert found["p"].tolist() == pytest.approx([0.6201, 0.0058], abs=1e-4)

    def test_uneven_correlations_have_an_answer_too(self) -> None:
        rng = np.random.default_rng(2)
        rows = [(f"b{b}", f"c{c}") for b in range(4) for c in range(6)]
        data = pd.DataFrame(rows, columns=["block", "cover"]).drop(index=[3, 8, 14])
        data["green"] = rng.normal(size=len(data)) + 2.0 * data.groupby("block").ngroup()
        fit = fit_mixed(data, "green", "cover", ["block"])
        found, alone, bound = (
            fit.pairs("cover", adjust=adjust, control="c0")
            for adjust in ("dunnett", "none", "bonferroni")
        )
        pd.testing.assert_frame_equal(fit.pairs("cover", adjust="dunnett"), found)
        assert len(found) == 5
        assert (found["p"] > alone["p"]).all()
        assert (found["p"] <= bound["p"]).all()
        cells = cells_of(fit.fixed_part, ["cover"]).weights
        correlation = fit.correlations(cells[1:] - cells[:1])
        assert loadings(correlation) is None
        law = stats.multivariate_t(shape=correlation, df=found["df"][0], seed=5)
        edge = np.full(5, abs(found["t"][0]))
        inside = law.cdf(edge, lower_limit=-edge, maxpts=400_000)
        assert found["p"][0] == pytest.approx(1 - inside, abs=5e-5)


class TestContrast:
    def test_a_difference_is_the_pair(self, fit: MixedFit) -> None:
        row = fit.contrast({"woven": 1, "open": -1}, factors="cover", at={"tine": "solid"}).iloc[0]
        pair = fit.pairs("cover", by="tine", adjust="none").set_index(["tine", "left", "right"])
        expected = pair.loc[("solid", "open", "woven")]
        assert row["estimate"] == pytest.approx(-expected["difference"])
        assert row["lower"] == pytest.approx(-expected["upper"])
        assert row["p"] == pytest.approx(expected["p"])

    def test_a_mean_is_the_mean(self, fit: MixedFit) -> None:
        row = fit.contrast({("woven", "solid"): 1}).iloc[0]
        cells = fit.means(["cover", "tine"]).set_index(["cover", "tine"])
        assert row["estimate"] == pytest.approx(cells.loc[("woven", "solid"), "mean"])
        assert row["df"] == pytest.approx(cells.loc[("woven", "solid"), "df"])

    def test_factors_that_are_held_need_no_naming(self, fit: MixedFit) -> None:
        by_name = fit.contrast({"woven": 1, "open": -1}, factors="cover", at={"tine": "solid"})
        pd.testing.assert_frame_equal(
            fit.contrast({"woven": 1, "open": -1}, at={"tine": "solid"}), by_name
        )

    def test_interaction_by_hand(self, fit: MixedFit, trial: pd.DataFrame) -> None:
        weights = {
            ("woven", "solid"): 1,
            ("woven", "hollow"): -1,
            ("open", "solid"): -1,
            ("open", "hollow"): 1,
        }
        cells = trial.groupby(["cover", "tine"], observed=True)["green"].mean()
        expected = sum(weight * cells[cell] for cell, weight in weights.items())
        row = fit.contrast(weights).iloc[0]
        assert row["estimate"] == pytest.approx(expected)
        assert row["df"] == pytest.approx(9)

    def test_dates_may_be_written_as_text(self, trial: pd.DataFrame) -> None:
        trial["date"] = pd.to_datetime(["2026-03-24", "2026-03-10"] * 12)
        fit = fit_mixed(trial, "green", "cover + date", ["block"])
        written = fit.contrast({"2026-03-24": 1, "2026-03-10": -1}, factors="date")
        given = fit.contrast(
            {pd.Timestamp("2026-03-24"): 1, pd.Timestamp("2026-03-10"): -1}, factors="date"
        )
        pd.testing.assert_frame_equal(written, given)

    @pytest.mark.parametrize(
        ("weights", "factors", "said"),
        [
            ({}, "cover", "no weights"),
            ({"wovn": 1}, "cover", "did you mean woven"),
            ({"woven": 1}, None, "one level of each of cover, tine"),
            ({"woven": float("nan")}, "cover", "weight nan"),
        ],
    )
    def test_refused(
        self, fit: MixedFit, weights: dict[str, float], factors: str | None, said: str
    ) -> None:
        with pytest.raises(WinterswardError, match=said):
            fit.contrast(weights, factors=factors)


class TestMargin:
    TWO = {"woven": 1, "open": -1}

    def contrast(self, fit: MixedFit, **keywords: object) -> pd.Series:
        return fit.contrast(self.TWO, factors="cover", **keywords).iloc[0]

    def test_two_one_sided_tests(self, fit: MixedFit) -> None:
        row = self.contrast(fit, margin=4.0)
        above = stats.t.sf((row["estimate"] + 4.0) / row["se"], row["df"])
        below = stats.t.cdf((row["estimate"] - 4.0) / row["se"], row["df"])
        assert row["p_above"] == pytest.approx(above)
        assert row["p_below"] == pytest.approx(below)
        assert row["p_equivalence"] == max(row["p_above"], row["p_below"])

    def test_the_interval_is_of_twice_the_error(self, fit: MixedFit) -> None:
        row, wide = self.contrast(fit, margin=4.0), self.contrast(fit, level=0.90)
        assert row["lower_equivalence"] == pytest.approx(wide["lower"])
        assert row["upper_equivalence"] == pytest.approx(wide["upper"])

    def test_the_rest_of_the_row_stays(self, fit: MixedFit) -> None:
        plain = self.contrast(fit)
        pd.testing.assert_series_equal(self.contrast(fit, margin=4.0)[plain.index], plain)
        assert not any("equivalence" in name for name in plain.index)

    @given(st.floats(0.1, 12.0), st.floats(0.6, 0.995))
    @settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
    def test_within_the_margin_just_where_the_larger_p_is_small(
        self, fit: MixedFit, margin: float, level: float
    ) -> None:
        row = self.contrast(fit, margin=margin, level=level)
        inside = -margin < row["lower_equivalence"] and row["upper_equivalence"] < margin
        assert inside == (row["p_equivalence"] < 1 - level)

    def test_ends_may_differ(self, fit: MixedFit) -> None:
        row, even = self.contrast(fit, margin=(-2.0, 4.0)), self.contrast(fit, margin=4)
        assert row["p_below"] == even["p_below"]
        assert row["p_above"] > even["p_above"]
        pd.testing.assert_series_equal(self.contrast(fit, margin=[-4, 4]), even)

    def test_turning_the_contrast_turns_the_tests(self, fit: MixedFit) -> None:
        turned = fit.contrast({"open": 1, "woven": -1}, factors="cover", margin=(-4.0, 2.0)).iloc[0]
        row = self.contrast(fit, margin=(-2.0, 4.0))
        assert turned["p_above"] == pytest.approx(row["p_below"])
        assert turned["p_below"] == pytest.approx(row["p_above"])
        assert turned["lower_equivalence"] == pytest.approx(-row["upper_equivalence"])

    def test_what_is_not_known_has_no_answer(self, trial: pd.DataFrame) -> None:
        gone = (trial["cover"] == "woven") & (trial["tine"] == "solid")
        fit = fit_mixed(trial[~gone], "green", "cover * tine", ["block"])
        row = fit.contrast(self.TWO, at={"tine": "solid"}, margin=4.0).iloc[0]
        assert row.isna().all()

    @pytest.mark.parametrize(
        ("keywords", "said"),
        [
            ({"margin": 0.0}, "a number over 0"),
            ({"margin": -1.0}, "margin: found -1.0"),
            ({"margin": (3.0, 1.0)}, "a lower and a higher number"),
            ({"margin": (1.0, 2.0, 3.0)}, "a lower and a higher number"),
            ({"margin": float("inf")}, "margin: found inf"),
            ({"margin": 2.0, "level": 0.5}, "allowed with a margin: over 0.5"),
        ],
    )
    def test_refused(self, fit: MixedFit, keywords: dict[str, object], said: str) -> None:
        with pytest.raises(WinterswardError, match=said):
            self.contrast(fit, **keywords)


class TestMissingDate:
    """One treatment that was not seen on one date."""

    @pytest.fixture
    def dated(self, trial: pd.DataFrame) -> MixedFit:
        days = pd.to_datetime(["2026-03-10", "2026-03-24", "2026-04-07"])
        data = pd.concat([trial.assign(date=day) for day in days], ignore_index=True)
        data["green"] += np.random.default_rng(3).normal(0, 1.0, len(data))
        gone = (data["cover"] == "woven") & (data["date"] == days[1])
        return fit_mixed(data[~gone], "green", "cover * date", ["block", "block:cover"])

    def test_tests_of_terms_are_refused(self, dated: MixedFit) -> None:
        for method in ("kenward-roger", "satterthwaite"):
            with pytest.raises(WinterswardError, match="no observations of woven with 2026-03-24"):
                dated.anova(method)

    def test_pairs_of_seen_cells(self, dated: MixedFit) -> None:
        found = dated.pairs("cover", by="date")
        lost = (found["date"] == "2026-03-24") & (found["right"] == "woven")
        assert found["p"].isna().tolist() == lost.tolist()
        assert lost.sum() == 2
        (note,) = [note for note in dated.notes if note.code == "non-estimable"]
        assert note.count == 2
        assert all("woven" in said and "2026-03-24" in said for said in note.about)

    def test_contrasts_of_seen_cells(self, dated: MixedFit) -> None:
        day = {"date": "2026-04-07"}
        row = dated.contrast({"woven": 1, "open": -1}, at=day, margin=5.0).iloc[0]
        assert row.notna().all()
        row = dated.contrast({"woven": 1, "open": -1}, at={"date": "2026-03-24"}).iloc[0]
        assert row.isna().all()
        across = {("woven", "2026-04-07"): 1, ("woven", "2026-03-10"): -1}
        assert dated.contrast(across).notna().all(axis=None)

    def test_means_over_the_gap(self, dated: MixedFit) -> None:
        dates = dated.means("date").set_index("date")["mean"]
        assert dates.isna().tolist() == [False, True, False]
        covers = dated.means("cover").set_index("cover")["mean"]
        assert covers.isna().to_dict() == {"fleece": False, "open": False, "woven": True}
        letters = dated.letters("cover", by="date")
        assert (letters["letters"] == "").sum() == 1


def test_pairs_of_nothing_are_refused(fit: MixedFit) -> None:
    with pytest.raises(WinterswardError, match="at least one to compare"):
        fit.pairs([])
