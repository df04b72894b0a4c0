from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, fit_mixed


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

    def test_uneven_correlations_are_refused_not_approximated(self, trial: pd.DataFrame) -> None:
        rng = np.random.default_rng(2)
        rows = [(f"b{b}", f"c{c}") for b in range(4) for c in range(6)]
        data = pd.DataFrame(rows, columns=["block", "cover"]).drop(index=[3, 8, 14])
        data["green"] = rng.normal(size=len(data)) + 2.0 * data.groupby("block").ngroup()
        fit = fit_mixed(data, "green", "cover", ["block"])
        with pytest.raises(WinterswardError, match="dunnett cannot be computed exactly"):
            fit.pairs("cover", adjust="dunnett")
        assert len(fit.pairs("cover", adjust="holm", control="c0")) == 5


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


def test_pairs_of_nothing_are_refused(fit: MixedFit) -> None:
    with pytest.raises(WinterswardError, match="at least one to compare"):
        fit.pairs([])
