from __future__ import annotations

import datetime

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import stats

from models.dated_plots import DAYS, car1, field
from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, Repeated, fit_mixed

few = settings(max_examples=6, deadline=None, derandomize=True)


def same(one: MixedFit, other: MixedFit, rtol: float = 2e-5) -> None:
    assert other.correlation == pytest.approx(one.correlation, rel=1e-5, abs=1e-6)
    assert [n.code for n in other.notes] == [n.code for n in one.notes]
    pd.testing.assert_frame_equal(other.anova(), one.anova(), rtol=rtol)


class TestInvariance:
    @few
    @given(seed=st.integers(0, 30), shuffle=st.integers(0, 1000))
    def test_order_of_rows(self, seed: int, shuffle: int) -> None:
        data = field(seed)
        one, other = car1(data), car1(data.sample(frac=1, random_state=shuffle))
        assert other.loglik == pytest.approx(one.loglik, abs=1e-8)
        same(one, other)
        pd.testing.assert_frame_equal(other.means("cover"), one.means("cover"), rtol=2e-5)
        pd.testing.assert_series_equal(other.studentised.sort_index(), one.studentised, rtol=1e-4)

    @few
    @given(seed=st.integers(0, 30), names=st.permutations(list("abcdefghijkl")))
    def test_names_of_plots(self, seed: int, names: list[str]) -> None:
        data = field(seed)
        new = dict(zip(data["plot"].unique(), names, strict=True))
        one, other = car1(data), car1(data.assign(plot=data["plot"].map(new)))
        assert other.loglik == pytest.approx(one.loglik, abs=1e-8)
        same(one, other)

    @few
    @given(seed=st.integers(0, 30), names=st.permutations(["Zz", "m 1", "a"]))
    def test_names_of_levels(self, seed: int, names: list[str]) -> None:
        data = field(seed)
        new = dict(zip(["fleece", "open", "woven"], names, strict=True))
        one, other = car1(data), car1(data.assign(cover=data["cover"].map(new)))
        assert other.loglik == pytest.approx(one.loglik, abs=1e-8)
        same(one, other)

    @few
    @given(
        seed=st.integers(0, 30),
        shift=st.floats(-1e5, 1e5),
        scale=st.sampled_from([1e-6, 0.04, 25.4, 1e7]),
    )
    def test_shift_and_scale(self, seed: int, shift: float, scale: float) -> None:
        data = field(seed)
        model = ("cover * C(day)", ["block"], Repeated("plot", "day"), "day")
        one = fit_mixed(data, "green", *model)
        moved = data.assign(green=(data["green"] + shift) * scale)
        other = fit_mixed(moved, "green", *model)
        same(one, other, rtol=1e-4)
        for name, variance in one.variances.items():
            assert other.variances[name] == pytest.approx(variance * scale**2, rel=1e-4)

    @few
    @given(seed=st.integers(0, 30), origin=st.integers(-1000, 30000))
    def test_origin_of_time(self, seed: int, origin: int) -> None:
        data = field(seed)
        one, other = car1(data), car1(data.assign(day=data["day"] + origin))
        assert other.loglik == pytest.approx(one.loglik, abs=1e-8)
        same(one, other)

    @few
    @given(seed=st.integers(0, 30), unit=st.sampled_from([1 / 7, 24.0, 1440.0]))
    def test_unit_of_time(self, seed: int, unit: float) -> None:
        data = field(seed)
        one, other = car1(data), car1(data.assign(day=data["day"] * unit))
        assert other.loglik == pytest.approx(one.loglik, abs=1e-8)
        assert other.correlation == pytest.approx(one.correlation ** (1 / unit), rel=1e-4, abs=1e-6)
        pd.testing.assert_frame_equal(other.anova(), one.anova(), rtol=2e-5)


class TestTimes:
    def test_dates_count_in_days(self) -> None:
        data = field(1)
        one = car1(data)
        start = pd.Timestamp("2026-01-20")
        stamps = start + pd.to_timedelta(data["day"], unit="D")
        dates = [stamp.date() for stamp in stamps]
        for when in (stamps, pd.Series(dates, dtype=object), pd.Categorical(stamps)):
            other = fit_mixed(
                data.assign(date=when),
                "green",
                "cover * date",
                ["block", "plot"],
                Repeated("plot", "date"),
            )
            assert other.correlation == pytest.approx(one.correlation, rel=1e-6)
            assert other.loglik == pytest.approx(one.loglik, abs=1e-8)
            assert (other.time_unit, one.time_unit) == ("day", "")

    def test_hours_of_a_day_count(self) -> None:
        data = field(1)
        stamps = pd.Timestamp("2026-01-20 06:00") + pd.to_timedelta(data["day"], unit="h")
        fit = fit_mixed(
            data.assign(when=stamps), "green", "cover * C(day)", [], Repeated("plot", "when")
        )
        daily = fit_mixed(data, "green", "cover * C(day)", [], Repeated("plot", "day"))
        assert fit.correlation == pytest.approx(daily.correlation**24, rel=1e-5)

    def test_text_is_refused(self) -> None:
        data = field(1).assign(date="2026-01-20")
        with pytest.raises(WinterswardError, match="time date: found .* allowed: a column of numb"):
            fit_mixed(data, "green", "cover", [], Repeated("plot", "date"))

    def test_an_unknown_column(self) -> None:
        with pytest.raises(WinterswardError, match="column dya: not in the data.*mean day"):
            fit_mixed(field(1), "green", "cover", [], Repeated("plot", "dya"))

    def test_rows_without_a_time_are_dropped_and_counted(self) -> None:
        data = field(1)
        data["day"] = data["day"].astype(float)
        data.loc[[0, 5], "day"] = np.nan
        fit = fit_mixed(data, "green", "cover", [], Repeated("plot", "day"))
        assert fit.rows == len(data) - 2
        assert fit.notes[0].about == ("day",)


class TestCompoundSymmetry:
    @pytest.mark.parametrize("lost", [0, 9])
    def test_is_a_plot_term_where_plots_vary(self, lost: int) -> None:
        """The same covariance, so the same answers, Kenward-Roger among them."""
        data = field(4, lost=lost)
        term = fit_mixed(data, "green", "cover * C(day)", ["block", "plot"])
        tied = fit_mixed(data, "green", "cover * C(day)", ["block"], Repeated("plot", "day", "cs"))
        assert tied.loglik == pytest.approx(term.loglik, abs=1e-9)
        total = term.variances["plot"] + term.variances["residual"]
        assert tied.variances["residual"] == pytest.approx(total, rel=1e-7)
        assert tied.correlation == pytest.approx(term.variances["plot"] / total, rel=1e-7)
        assert tied.information == term.information == "expected"
        pd.testing.assert_frame_equal(tied.anova(), term.anova(), rtol=1e-6)
        pd.testing.assert_frame_equal(
            tied.means("cover", by="day"), term.means("cover", by="day"), rtol=1e-6
        )
        pd.testing.assert_frame_equal(tied.covariance, term.covariance, rtol=1e-6, atol=1e-9)

    def test_may_be_negative_where_plots_vary_too_little(self) -> None:
        data = field(5, lost=0)
        inside = data.groupby("plot")["green"].transform("mean")
        data["green"] = data["green"] - 0.95 * inside
        term = fit_mixed(data, "green", "cover + C(day)", ["plot"])
        tied = fit_mixed(data, "green", "cover + C(day)", [], Repeated("plot", "day", "cs"))
        assert term.variances["plot"] == 0.0
        assert -0.25 < tied.correlation < 0
        assert tied.loglik > term.loglik

    def test_as_low_as_it_goes(self) -> None:
        data = field(5, lost=0)
        data["green"] -= data.groupby("plot")["green"].transform("mean")
        fit = fit_mixed(data, "green", "cover + C(day)", [], Repeated("plot", "day", "cs"))
        assert fit.correlation == pytest.approx(-0.25, abs=1e-4)
        (note,) = [note for note in fit.notes if note.code == "bound-correlation"]
        assert "at the lower end of its range" in note.text


class TestVarianceBy:
    def test_groups_apart_are_groups_alone(self) -> None:
        """Two sites with nothing in common: each has the variance of a fit of its own."""
        rng = np.random.default_rng(6)
        data = pd.DataFrame({"site": ["n", "s"] * 20, "cover": np.repeat(["o", "w"], 20)})
        data["green"] = rng.normal(size=40) * np.where(data["site"] == "n", 1.0, 30.0)
        fit = fit_mixed(data, "green", "cover * site", variance_by="site")
        for site, part in data.groupby("site"):
            alone = fit_mixed(part, "green", "cover")
            assert fit.variances[f"residual[{site}]"] == pytest.approx(
                alone.variances["residual"], rel=1e-8
            )

    def test_welch(self) -> None:
        """Two groups with variances of their own: scipy's Welch test, Satterthwaite's df."""
        rng = np.random.default_rng(8)
        small, large = rng.normal(0, 1, 9), rng.normal(1, 4, 14)
        data = pd.DataFrame({"cover": ["a"] * 9 + ["b"] * 14, "green": [*small, *large]})
        fit = fit_mixed(data, "green", "cover", variance_by="cover")
        row = fit.pairs("cover", adjust="none").iloc[0]
        welch = stats.ttest_ind(small, large, equal_var=False)
        assert row["t"] == pytest.approx(welch.statistic, rel=1e-9)
        assert row["df"] == pytest.approx(welch.df, rel=1e-9)
        assert row["p"] == pytest.approx(welch.pvalue, rel=1e-8)
        assert fit.means("cover")["df"].round(9).tolist() == [8.0, 13.0]

    def test_variances_orders_apart(self) -> None:
        rng = np.random.default_rng(9)
        data = pd.DataFrame({"day": np.tile([1, 2, 3], 30), "cover": np.repeat(["a", "b"], 45)})
        data["green"] = rng.normal(size=90) * data["day"].map({1: 0.01, 2: 1.0, 3: 30.0})
        fit = fit_mixed(data, "green", "cover * C(day)", variance_by="day")
        for day, part in data.groupby("day"):
            alone = fit_mixed(part, "green", "cover").variances["residual"]
            assert fit.variances[f"residual[{day}]"] == pytest.approx(alone, rel=1e-6)

    def test_cells_by_a_joined_term(self) -> None:
        data = field(2, lost=0)
        fit = fit_mixed(data, "green", "cover * C(day)", ["block"], variance_by="cover:day")
        assert "residual[open:25]" in fit.variances
        assert len(fit.variances) == 1 + 15

    def test_dates_are_written_as_dates(self) -> None:
        data = field(2)
        data["date"] = pd.Timestamp("2026-03-01") + pd.to_timedelta(data["day"], unit="D")
        fit = car1(data, variance_by="date")
        assert "residual[2026-03-11]" in fit.variances

    def test_one_level_is_refused(self) -> None:
        with pytest.raises(WinterswardError, match="variance_by site: has only one level, n"):
            fit_mixed(field(2).assign(site="n"), "green", "cover", variance_by="site")


class TestRefused:
    def test_rows_that_share_subject_and_time(self) -> None:
        data = field(3, lost=0)
        data = pd.concat([data, data[:6]])
        with pytest.raises(WinterswardError) as caught:
            car1(data)
        said = str(caught.value)
        assert "plot p0f at day 0 has 2 rows, plot p0f at day 10 has 2 rows" in said
        assert "(and 3 more)" in said
        assert "average them first" in said
        assert "plot:day as a random term" in said

    def test_dates_are_named_as_dates(self) -> None:
        data = field(3, lost=0)
        data["date"] = [datetime.date(2026, 3, 1) + datetime.timedelta(int(d)) for d in data["day"]]
        with pytest.raises(WinterswardError, match="cover fleece at date 2026-03-01 has 4 rows"):
            fit_mixed(data, "green", "cover", [], Repeated("cover", "date"))

    def test_what_is_advised_works(self) -> None:
        data = field(3, lost=0)
        more = pd.concat([data, data.assign(green=data["green"] + np.linspace(-1, 1, 60))])
        fit = fit_mixed(more, "green", "cover * C(day)", ["block", "plot", "plot:day"])
        assert list(fit.variances) == ["block", "plot", "plot:day", "residual"]

    def test_one_time_a_subject(self) -> None:
        data = field(3)
        with pytest.raises(WinterswardError, match="no plot:day has rows at two times of day"):
            fit_mixed(data, "green", "cover", [], Repeated("plot:day", "day"))

    def test_an_unknown_structure(self) -> None:
        with pytest.raises(WinterswardError, match="structure is 'ar1'; allowed: car1, cs"):
            Repeated("plot", "day", "ar1")


class TestNotes:
    def test_no_correlation(self) -> None:
        fits = (car1(field(seed, fade=1e-9, lost=0)) for seed in range(20))
        fit = next(fit for fit in fits if fit.correlation == 0.0)
        (note,) = [note for note in fit.notes if note.code == "bound-correlation"]
        assert note.about == ("plot",)
        assert "lower end" in note.text

    def test_at_no_correlation_the_tests_are_those_of_the_layout(self) -> None:
        for seed in range(20):
            data = field(seed, fade=1e-9, lost=0)
            fit = car1(data)
            plain = fit_mixed(data, "green", "cover * C(day)", ["block", "plot"])
            if fit.correlation == 0.0 and min(plain.variances.values()) > 0:
                pd.testing.assert_frame_equal(fit.anova(), plain.anova(), rtol=1e-5)
                return
        pytest.fail("none of the seeds has a correlation of zero")

    def test_nothing_but_a_common_shift(self) -> None:
        data = field(0, lost=0)
        rng = np.random.default_rng(0)
        walks = np.cumsum(rng.normal(size=(12, 5)) * np.sqrt(np.diff(DAYS, prepend=-1)), axis=1)
        shift = np.repeat(rng.normal(0, 1e4, 12), 5)
        data["green"] = shift + walks.ravel()
        fit = fit_mixed(data, "green", "cover", [], Repeated("plot", "day"))
        (note,) = fit.notes
        assert note.code == "bound-correlation"
        assert "upper end" in note.text

    def test_two_tops_are_told(self) -> None:
        first, second = np.array([0, 2, 2, 1, 0, 2, 0, 1]), np.array([2, 1, 3, 0, 1, 1, 2, 1])
        y = np.array([-5.6, -6.2, -5.8, -11.0, -3.8, -6.9, -4.5, 0.7])
        data = pd.DataFrame({"first": first, "second": second, "green": y})
        fit = fit_mixed(data, "green", "1", ["first", "second"])
        (note,) = fit.notes
        assert (note.code, note.count) == ("starts-disagree", 2)
        assert "lower by 0.4" in note.text


class TestPieces:
    def test_repeated_is_public(self) -> None:
        fit = car1(field(1))
        assert fit.parameters == 4
        assert list(fit.variances) == ["block", "plot", "residual"]
        assert fit.information == "observed"

    def test_aicc(self) -> None:
        fit = car1(field(1))
        k, m = 4, fit.rows - fit.columns
        by_hand = -2 * fit.loglik + 2 * k + 2 * k * (k + 1) / (m - k - 1)
        assert fit.aicc == pytest.approx(by_hand, rel=1e-12)

    def test_aicc_of_too_few_rows(self) -> None:
        data = pd.DataFrame({"cover": list("aabb"), "green": [1.0, 2.0, 4.0, 7.0]})
        assert fit_mixed(data, "green", "cover", variance_by="cover").aicc == np.inf

    def test_a_nugget_beside_the_correlation(self) -> None:
        """What is independent from row to row, such as error of measurement, as a term."""
        rng = np.random.default_rng(3)
        data = pd.concat([field(s, fade=0.98, lost=0).assign(farm=s) for s in range(8)])
        data["plot"] = data["farm"].astype(str) + data["plot"]
        data["green"] += rng.normal(0, 1.5, len(data))
        fit = fit_mixed(data, "green", "cover * C(day)", ["plot:day"], Repeated("plot", "day"))
        without = fit_mixed(data, "green", "cover * C(day)", [], Repeated("plot", "day"))
        assert fit.loglik > without.loglik + 2
        assert fit.variances["plot:day"] == pytest.approx(1.5**2, rel=0.6)
        assert fit.correlation > without.correlation

    @pytest.mark.parametrize("structure", ["car1", "cs"])
    def test_half_of_a_trial_is_fitted(self, structure: str) -> None:
        whole = field(7, lost=0)
        for rows in range(20, 60, 7):
            data = whole[whole["day"] <= DAYS[2]][: min(rows, 36)]
            try:
                fit = fit_mixed(
                    data, "green", "cover", ["block"], Repeated("plot", "day", structure)
                )
            except WinterswardError:
                continue
            assert np.isfinite(fit.loglik)
            assert (fit.anova()["df_den"] > 0).all()


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 10_000),
    rows=st.integers(4, 40),
    fixed=st.sampled_from(["cover", "cover * C(day)", "1", "cover + day"]),
    random=st.lists(st.sampled_from(["block", "plot", "day", "plot:day"]), unique=True),
    structure=st.sampled_from(["car1", "cs", None]),
    variance_by=st.sampled_from([None, "day", "cover"]),
    whole=st.booleans(),
)
@example(seed=0, rows=4, fixed="1", random=[], structure="car1", variance_by="day", whole=False)
def test_any_small_table_gives_a_fit_or_a_sentence(
    seed: int,
    rows: int,
    fixed: str,
    random: list[str],
    structure: str | None,
    variance_by: str | None,
    whole: bool,
) -> None:
    rng = np.random.default_rng(seed)
    data = field(seed, lost=0).sample(rows, random_state=seed)
    data["green"] = rng.integers(0, 4, rows) if whole else rng.normal(60, 5, rows)
    repeated = Repeated("plot", "day", structure) if structure else None
    try:
        fit = fit_mixed(data, "green", fixed, random, repeated, variance_by)
    except WinterswardError:
        return
    assert np.isfinite(fit.loglik)
    assert min(fit.variances.values()) >= 0
    assert np.isfinite(fit.residuals).all()
    if not fit.fixed_part.empty_cells:
        tests = fit.anova()
        assert (tests["f"].isna() | (tests["f"] >= 0)).all()
    if "cover" in fit.levels:
        known = fit.pairs("cover").dropna(subset=["p"])
        assert ((known["lower"] <= known["difference"]) & (known["p"] <= 1)).all()
