from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, fit_mixed
from wintersward.models.reml import Maximum

TERMS = ["block", "block:cover"]
few = settings(
    max_examples=12,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


def fitted(data: pd.DataFrame) -> MixedFit:
    return fit_mixed(data, "green", "cover * tine", TERMS)


def uneven(make_trial: Callable[..., pd.DataFrame], seed: int) -> pd.DataFrame:
    return make_trial(seed, 5).drop(index=[0, 7, 8, 22]).reset_index(drop=True)


class TestInvariance:
    @few
    @given(seed=st.integers(0, 40), shuffle=st.integers(0, 1000))
    def test_order_of_rows(
        self, make_trial: Callable[..., pd.DataFrame], seed: int, shuffle: int
    ) -> None:
        data = uneven(make_trial, seed)
        one, other = fitted(data), fitted(data.sample(frac=1, random_state=shuffle))
        assert other.loglik == pytest.approx(one.loglik, abs=1e-9)
        pd.testing.assert_frame_equal(other.anova(), one.anova(), rtol=1e-6)
        pd.testing.assert_frame_equal(
            other.means("cover", by="tine"), one.means("cover", by="tine"), rtol=1e-6
        )
        assert [n.code for n in other.notes] == [n.code for n in one.notes]

    @few
    @given(seed=st.integers(0, 40), names=st.permutations(["a", "Zz", "m 1"]))
    def test_names_of_levels(
        self, make_trial: Callable[..., pd.DataFrame], seed: int, names: list[str]
    ) -> None:
        data = uneven(make_trial, seed)
        new = dict(zip(["fleece", "open", "woven"], names, strict=True))
        one, other = fitted(data), fitted(data.assign(cover=data["cover"].map(new)))
        assert other.loglik == pytest.approx(one.loglik, abs=1e-8)
        pd.testing.assert_frame_equal(other.anova(), one.anova(), rtol=1e-6)
        before = one.means("cover").assign(cover=lambda frame: frame["cover"].map(new))
        after = other.means("cover").set_index("cover")
        pd.testing.assert_frame_equal(after.loc[before["cover"]].reset_index(), before, rtol=1e-6)

    @few
    @given(
        seed=st.integers(0, 40),
        shift=st.floats(-1e6, 1e6),
        scale=st.sampled_from([1e-6, 0.04, 25.4, 1e7]),
    )
    def test_shift_and_scale(
        self, make_trial: Callable[..., pd.DataFrame], seed: int, shift: float, scale: float
    ) -> None:
        data = uneven(make_trial, seed)
        one = fitted(data)
        other = fitted(data.assign(green=(data["green"] + shift) * scale))
        left = one.rows - one.columns
        assert other.loglik == pytest.approx(one.loglik - left * np.log(scale), abs=1e-4)
        pd.testing.assert_frame_equal(other.anova(), one.anova(), rtol=1e-5)
        for name, variance in one.variances.items():
            assert other.variances[name] == pytest.approx(variance * scale**2, rel=1e-5)
        means, moved = one.means("cover"), other.means("cover")
        np.testing.assert_allclose(moved["mean"], (means["mean"] + shift) * scale, rtol=1e-9)
        np.testing.assert_allclose(moved["se"], means["se"] * scale, rtol=1e-5)
        pairs, turned = one.pairs("cover"), other.pairs("cover")
        np.testing.assert_allclose(turned["p"], pairs["p"], atol=1e-6)

    def test_scale_of_a_covariate(self, trial: pd.DataFrame) -> None:
        one = fit_mixed(trial, "green", "cover + sun", ["block"])
        other = fit_mixed(trial.assign(sun=trial["sun"] * 1e7), "green", "cover + sun", ["block"])
        pd.testing.assert_frame_equal(other.anova(), one.anova(), rtol=1e-8)
        pd.testing.assert_frame_equal(other.means("cover"), one.means("cover"), rtol=1e-8)


class TestColumns:
    def test_number_columns_group_as_text_does(self, trial: pd.DataFrame) -> None:
        numbered = trial.assign(block=trial["block"].str[1].astype(int))
        pd.testing.assert_frame_equal(fitted(numbered).anova(), fitted(trial).anova())

    def test_one_random_term_may_stand_alone(self, trial: pd.DataFrame) -> None:
        one = fit_mixed(trial, "green", "cover", "block")
        assert one.variances == fit_mixed(trial, "green", "cover", ["block"]).variances

    def test_a_name_with_a_space(self, trial: pd.DataFrame) -> None:
        spaced = trial.rename(columns={"cover": "winter cover"})
        found = fit_mixed(spaced, "green", "`winter cover` * tine", ["block", "block:winter cover"])
        assert found.anova()["term"].tolist() == ["winter cover", "tine", "winter cover:tine"]
        np.testing.assert_allclose(found.anova()["p"], fitted(trial).anova()["p"], rtol=1e-9)

    def test_the_frame_is_left_alone(self, trial: pd.DataFrame) -> None:
        before = trial.copy()
        fitted(trial).pairs("cover")
        pd.testing.assert_frame_equal(trial, before)

    def test_dropped_rows_are_counted_in_the_notes(self, trial: pd.DataFrame) -> None:
        trial.loc[[1, 4], "green"] = np.nan
        fit = fitted(trial)
        assert fit.rows == 22
        assert [(note.code, note.count) for note in fit.notes] == [("dropped-rows", 2)]


class TestFaults:
    """Whatever is wrong comes back as one sentence, never as a numerical failure."""

    @pytest.mark.parametrize(
        ("change", "fixed", "random", "said"),
        [
            ({"green": 4.0}, "cover", ["block"], "every one of 24 values is 4"),
            ({"cover": "open"}, "cover", ["block"], "only one level, open"),
            ({"block": "b1"}, "cover", ["block"], "random term block: has only one level"),
            ({}, "cover * tine * block", [], "nothing to estimate the error from"),
            ({}, "covr", ["block"], "column covr: not in the data.*did you mean cover"),
            ({}, "cover", ["blok"], "column blok: not in the data.*did you mean block"),
            ({}, "cover", ["block:"], "columns joined by colons"),
            ({}, "cover ~ tine", ["block"], "right-hand side alone"),
            ({"green": "high"}, "cover", ["block"], "response green: found str values"),
        ],
    )
    def test_told_in_words(
        self,
        trial: pd.DataFrame,
        change: dict[str, object],
        fixed: str,
        random: list[str],
        said: str,
    ) -> None:
        with pytest.raises(WinterswardError, match=said):
            fit_mixed(trial.assign(**change), "green", fixed, random)

    @pytest.mark.parametrize("rows", range(1, 6))
    def test_a_trial_just_begun_is_told_why_not(self, trial: pd.DataFrame, rows: int) -> None:
        with pytest.raises(WinterswardError, match="one level|leave nothing|its own level"):
            fitted(trial[:rows])

    @pytest.mark.parametrize("rows", range(13, 24))
    def test_a_trial_half_done_is_fitted(self, trial: pd.DataFrame, rows: int) -> None:
        fit = fitted(trial[:rows])
        assert np.isfinite(fit.loglik)
        found = fit.anova()
        assert ((found["df_den"] > 0) & (found["p"] > 0) & (found["p"] <= 1)).all()
        assert fit.means("cover")["se"].notna().all()

    def test_a_search_that_stops_early_is_noted(
        self, trial: pd.DataFrame, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        from wintersward.models import fitting

        whole = fitting.maximise

        def stopped(data: object) -> Maximum:
            found = whole(data)  # type: ignore[arg-type]
            return Maximum(found.point, found.curvature, False)

        monkeypatch.setattr(fitting, "maximise", stopped)
        assert [note.code for note in fitted(trial).notes] == ["not-converged"]

    @settings(max_examples=60, deadline=None, derandomize=True)
    @given(
        seed=st.integers(0, 10_000),
        rows=st.integers(2, 30),
        fixed=st.sampled_from(
            ["cover", "cover * tine", "0 + cover", "cover * sun", "1", "tine + sun"]
        ),
        random=st.lists(st.sampled_from(["block", "block:cover", "day", "day:side"]), unique=True),
        whole=st.booleans(),
    )
    def test_any_small_table_gives_a_fit_or_a_sentence(
        self, seed: int, rows: int, fixed: str, random: list[str], whole: bool
    ) -> None:
        rng = np.random.default_rng(seed)
        data = pd.DataFrame(
            {
                name: rng.choice(list("abcd")[: rng.integers(2, 5)], rows)
                for name in ("block", "cover", "tine", "day", "side")
            }
        )
        data["sun"] = rng.normal(size=rows)
        data["green"] = rng.integers(0, 4, rows) if whole else rng.normal(60, 5, rows)
        try:
            fit = fit_mixed(data, "green", fixed, random)
        except WinterswardError:
            return
        assert np.isfinite(fit.loglik)
        assert min(fit.variances.values()) >= 0 < fit.variances["residual"]
        if not fit.fixed_part.empty_cells:
            tests = fit.anova()
            assert (tests["f"].isna() | (tests["f"] >= 0)).all()
        if "cover" in fit.levels:
            pairs = fit.pairs("cover")
            known = pairs.dropna(subset=["p"])
            assert ((known["lower"] <= known["difference"]) & (known["p"] <= 1)).all()


def test_a_covariance_that_rounding_makes_singular_is_told_plainly(
    trial: pd.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    def singular(*given: object) -> None:
        raise np.linalg.LinAlgError("Matrix is not positive definite")

    monkeypatch.setattr("wintersward.models.search.evaluate", singular)
    with pytest.raises(WinterswardError, match="the variances cannot be estimated"):
        fitted(trial)
