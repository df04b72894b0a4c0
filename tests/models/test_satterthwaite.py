from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, Repeated, fit_mixed
from wintersward.models.satterthwaite import Satterthwaite, differences, joined
from wintersward.models.threads import one_thread

SPLIT = ["block", "block:cover"]


def blocks_of_three(seed: int, blocks: int, treatments: int, spread: float) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    rows = [(f"b{b}", f"t{t}") for b in range(blocks) for t in range(treatments)]
    data = pd.DataFrame(rows, columns=["block", "treatment"])
    shift = rng.normal(0, spread, blocks)[data.groupby("block").ngroup()]
    return data.assign(y=shift + rng.normal(size=len(data)))


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.integers(3, 7), st.integers(2, 5))
def test_one_stratum_that_is_balanced_has_the_answer_of_kenward_and_roger(
    seed: int, blocks: int, treatments: int
) -> None:
    fit = fit_mixed(blocks_of_three(seed, blocks, treatments, 3.0), "y", "treatment", ["block"])
    assume(fit.variances["block"] > 0)
    pd.testing.assert_frame_equal(fit.anova("satterthwaite"), fit.anova(), rtol=1e-6)
    assert fit.anova("satterthwaite")["df_den"].item() == pytest.approx(
        (blocks - 1) * (treatments - 1), rel=1e-6
    )


def test_without_random_terms_it_is_what_is_left(trial: pd.DataFrame) -> None:
    fit = fit_mixed(trial, "green", "cover * tine + sun")
    pd.testing.assert_frame_equal(fit.anova("satterthwaite"), fit.anova(), rtol=1e-10)
    assert fit.anova("satterthwaite")["df_den"].tolist() == pytest.approx([17.0] * 4)


def test_a_variance_of_zero_gives_its_degrees_of_freedom_away() -> None:
    seed = next(
        seed
        for seed in range(50)
        if fit_mixed(blocks_of_three(seed, 4, 3, 0.0), "y", "treatment", ["block"]).variances[
            "block"
        ]
        == 0
    )
    data = blocks_of_three(seed, 4, 3, 0.0)
    fit = fit_mixed(data, "y", "treatment", ["block"])
    without = fit_mixed(data, "y", "treatment")
    assert fit.anova("satterthwaite")["df_den"].item() == pytest.approx(9)
    pd.testing.assert_frame_equal(fit.anova("satterthwaite"), without.anova(), rtol=1e-6)
    assert fit.anova()["df_den"].item() == pytest.approx(6)


@given(st.integers(0, 1000), st.integers(3, 9), st.integers(3, 9))
@settings(max_examples=30, deadline=None)
def test_two_variances_are_the_test_of_welch(seed: int, one: int, other: int) -> None:
    rng = np.random.default_rng(seed)
    samples = rng.normal(0, 1, one), rng.normal(1, 4, other)
    groups = ["a"] * one + ["b"] * other
    data = pd.DataFrame({"group": groups, "y": np.concatenate(samples)})
    fit = fit_mixed(data, "y", "group", variance_by="group")
    welch = stats.ttest_ind(*samples, equal_var=False)
    row = fit.contrast({"a": 1, "b": -1}, df="satterthwaite").iloc[0]
    assert row["t"] == pytest.approx(welch.statistic, rel=1e-6)
    assert row["df"] == pytest.approx(welch.df, rel=1e-6)
    assert row["p"] == pytest.approx(welch.pvalue, rel=1e-5)
    means = fit.linear(np.array([[1.0, 1.0], [1.0, -1.0]]), ["a", "b"], "satterthwaite")
    np.testing.assert_allclose(means.df, [one - 1, other - 1], rtol=1e-6)


class TestCorrelated:
    def repeated(self, correlation: float, make: Callable[..., pd.DataFrame]) -> pd.DataFrame:
        """Six dates a plot, first-order autoregressive within the plot."""
        rng = np.random.default_rng(8)
        plots = make(0).drop(columns="green")
        days = [0, 5, 12, 17, 26, 33]
        left = rng.normal(size=(len(plots), len(days)))
        for j in range(1, len(days)):
            spread = np.sqrt(1 - correlation**2)
            left[:, j] = correlation * left[:, j - 1] + spread * left[:, j]
        frames = [plots.assign(day=day, y=left[:, j]) for j, day in enumerate(days)]
        data = pd.concat(frames, ignore_index=True)
        return data.assign(place=data["plot"] + data["tine"])

    def test_a_correlation_counts_as_a_parameter(
        self, make_trial: Callable[..., pd.DataFrame]
    ) -> None:
        data = self.repeated(0.8, make_trial)
        fit = fit_mixed(data, "y", "cover * tine", repeated=Repeated("place", "day"))
        plain = fit_mixed(data, "y", "cover * tine")
        assert fit.correlation is not None
        assert 0.5 < fit.correlation < 1.0
        found = fit.anova("satterthwaite")["df_den"]
        assert (found < 60).all()
        assert (found > 12).all()
        assert plain.anova("satterthwaite")["df_den"].tolist() == pytest.approx([138.0] * 3)

    def test_a_correlation_at_its_bound_is_left_out(
        self, make_trial: Callable[..., pd.DataFrame]
    ) -> None:
        data = self.repeated(-0.6, make_trial)
        fit = fit_mixed(data, "y", "cover * tine", repeated=Repeated("place", "day"))
        assert fit.correlation == 0.0
        plain = fit_mixed(data, "y", "cover * tine")
        pd.testing.assert_frame_equal(
            fit.anova("satterthwaite"), plain.anova("satterthwaite"), rtol=1e-5
        )


class TestUnbalanced:
    @pytest.fixture
    def data(self, make_trial: Callable[..., pd.DataFrame]) -> pd.DataFrame:
        return make_trial(0).drop(index=[2, 9, 17])

    @pytest.fixture
    def fit(self, data: pd.DataFrame) -> MixedFit:
        return fit_mixed(data, "green", "cover * tine", SPLIT)

    def test_by_differences_of_the_criterion(self, fit: MixedFit, data: pd.DataFrame) -> None:
        """nu = 2 v^2 / g'A g with g and the curvature by steps in the variances, V written out."""
        x = np.column_stack(
            [
                ((data["cover"] == c) & (data["tine"] == t)).to_numpy(float)
                for c in fit.levels["cover"]
                for t in fit.levels["tine"]
            ]
        )
        whole = data.groupby(["block", "cover"]).ngroup().to_numpy()
        block = data.groupby("block").ngroup().to_numpy()
        parts = [np.equal.outer(ids, ids).astype(float) for ids in (block, whole)]
        parts.append(np.eye(len(data)))
        y = data["green"].to_numpy() - data["green"].mean()
        contrast = np.array([1.0, 0.0, -1.0, 0.0, 0.0, 0.0])

        def at(theta: np.ndarray) -> tuple[float, float]:
            v = sum(t * part for t, part in zip(theta, parts, strict=True))
            inverse = np.linalg.inv(v)
            information = x.T @ inverse @ x
            phi = np.linalg.inv(information)
            left = y - x @ (phi @ x.T @ inverse @ y)
            logs = np.linalg.slogdet(v)[1] + np.linalg.slogdet(information)[1]
            return float(contrast @ phi @ contrast), float(logs + left @ inverse @ left) / 2

        top = np.array(list(fit.variances.values()))
        assert (top > 0).all()
        steps = np.diag(1e-3 * top)
        g = np.array([(at(top + h)[0] - at(top - h)[0]) / (2 * h.sum()) for h in steps])
        curved = np.array(
            [
                [
                    (at(top + a + b)[1] - at(top + a - b)[1] - at(top - a + b)[1])
                    + at(top - a - b)[1]
                    for b in steps
                ]
                for a in steps
            ]
        )
        observed = curved / (4 * np.outer(steps.sum(1), steps.sum(1)))
        variance = at(top)[0]
        expected = 2 * variance**2 / (g @ np.linalg.solve(observed, g))
        row = fit.contrast(
            {("fleece", "hollow"): 1, ("open", "hollow"): -1}, df="satterthwaite"
        ).iloc[0]
        assert row["se"] == pytest.approx(np.sqrt(variance), rel=1e-8)
        assert row["df"] == pytest.approx(expected, rel=1e-4)

    def test_a_single_contrast_is_its_test(self, fit: MixedFit) -> None:
        tests = fit.anova("satterthwaite").set_index("term").loc["tine"]
        row = fit.contrast({"hollow": 1, "solid": -1}, factors="tine", df="satterthwaite").iloc[0]
        assert tests["f"] == pytest.approx(row["t"] ** 2)
        assert tests["df_den"] == pytest.approx(row["df"])
        assert tests["p"] == pytest.approx(row["p"])

    def test_standard_errors_are_not_corrected(self, fit: MixedFit) -> None:
        plain, corrected = (
            fit.contrast({"open": 1, "woven": -1}, factors="cover", df=df)
            for df in ("satterthwaite", "kenward-roger")
        )
        assert plain["estimate"].item() == pytest.approx(corrected["estimate"].item())
        assert plain["se"].item() < corrected["se"].item()

    @pytest.mark.parametrize("method", ["satterthwaite", "kenward-roger"])
    def test_order_of_rows_unit_and_origin_do_not_matter(
        self, fit: MixedFit, data: pd.DataFrame, method: str
    ) -> None:
        data = data.sample(frac=1.0, random_state=4)
        data["green"] = 1e3 - 25.4 * data["green"]
        turned = fit_mixed(data, "green", "cover * tine", SPLIT)
        pd.testing.assert_frame_equal(turned.anova(method), fit.anova(method), rtol=1e-6)

    def test_the_order_of_the_factors_does_not_matter(
        self, fit: MixedFit, data: pd.DataFrame
    ) -> None:
        turned = fit_mixed(data, "green", "tine * cover", SPLIT).anova("satterthwaite")
        turned = turned.set_index("term").rename({"tine:cover": "cover:tine"})
        found = fit.anova("satterthwaite").set_index("term")
        pd.testing.assert_frame_equal(turned.loc[found.index], found, rtol=1e-6)


class TestDifferences:
    def test_main_effects_are_set_against_the_first_level(self, trial: pd.DataFrame) -> None:
        part = fit_mixed(trial, "green", "cover * tine").fixed_part
        columns = ["Intercept", "cover[fleece]", "cover[open]"]
        assert list(part.names[:3]) == columns
        np.testing.assert_array_equal(differences(part, "cover")[:, :3], [[0, -1, 1], [0, -2, -1]])

    @pytest.mark.parametrize("term", ["cover", "tine", "sun", "cover:tine", "cover:sun"])
    def test_they_span_the_hypothesis(self, trial: pd.DataFrame, term: str) -> None:
        part = fit_mixed(trial, "green", "cover * tine + cover * sun").fixed_part
        mixed, plain = differences(part, term), part.hypothesis(term)
        assert mixed.shape == plain.shape
        assert np.linalg.matrix_rank(np.vstack([mixed, plain])) == len(plain)
        assert np.linalg.matrix_rank(mixed) == len(plain)

    def test_an_interaction_is_a_difference_of_differences(self, trial: pd.DataFrame) -> None:
        fit = fit_mixed(trial, "green", "cover * tine")
        weights = {("open", "solid"): 1, ("open", "hollow"): -1}
        weights |= {("fleece", "solid"): -1, ("fleece", "hollow"): 1}
        rows = differences(fit.fixed_part, "cover:tine")
        values = fit.linear(rows, ["one", "two"]).estimate
        assert values[0] == pytest.approx(fit.contrast(weights)["estimate"].item())

    def test_levels_that_have_their_own_slopes_stand_for_themselves(
        self, trial: pd.DataFrame
    ) -> None:
        part = fit_mixed(trial, "green", "cover + cover:sun").fixed_part
        np.testing.assert_array_equal(differences(part, "cover:sun"), part.hypothesis("cover:sun"))

    def test_aliased_terms_are_left_as_they_are(self, trial: pd.DataFrame) -> None:
        trial["sward"] = trial["cover"].map({"fleece": "x", "open": "y", "woven": "y"})
        part = fit_mixed(trial, "green", "cover + sward").fixed_part
        for term in ("cover", "sward"):
            np.testing.assert_array_equal(differences(part, term), part.hypothesis(term))


class TestJoined:
    def test_equal_ones_are_kept(self) -> None:
        assert joined(np.array([1.5, 1.5])) == 1.5

    def test_an_infinite_mean_gives_two(self) -> None:
        assert joined(np.array([1.9, 30.0])) == 2.0

    @settings(deadline=None)
    @given(st.lists(st.floats(2.5, 1e4), min_size=1, max_size=6))
    def test_it_lies_between_the_ends(self, apart: list[float]) -> None:
        found = joined(np.array(apart))
        assert min(apart) * (1 - 1e-6) <= found <= max(apart) * (1 + 1e-6)

    def test_the_mean_of_f_is_matched(self) -> None:
        # E F = mean of nu/(nu-2); F(q, m) has m/(m-2).
        apart = np.array([5.0, 9.0, 40.0])
        m = joined(apart)
        assert m / (m - 2) == pytest.approx((apart / (apart - 2)).mean())


class TestFallback:
    """Where the observed information is not positive, the strata decide and a note says so."""

    @pytest.fixture
    def flat(self, trial: pd.DataFrame, monkeypatch: pytest.MonkeyPatch) -> MixedFit:
        fit = fit_mixed(trial, "green", "cover * tine", SPLIT)
        sound = fit._satterthwaite()
        blunt = Satterthwaite(sound.coefficients, sound.phi, sound.slopes, None, sound.strata)
        monkeypatch.setattr(fit, "_satterthwaite", lambda: blunt)
        return fit

    def test_strata(self, flat: MixedFit) -> None:
        found = flat.anova("satterthwaite")
        assert found["df_den"].tolist() == [6.0, 9.0, 9.0]
        (first, *_) = [note for note in flat.notes if note.code == "containment-df"]
        assert "Satterthwaite approximation does not apply" in first.text
        assert first.about == ("cover",)

    def test_single_contrasts(self, flat: MixedFit) -> None:
        row = flat.contrast({"hollow": 1, "solid": -1}, factors="tine", df="satterthwaite")
        assert row["df"].item() == 9.0


def test_other_methods_are_refused(make_trial: Callable[..., pd.DataFrame]) -> None:
    fit = fit_mixed(make_trial(), "green", "cover", ["block"])
    with one_thread(), pytest.raises(WinterswardError, match="method: found 'wald'; allowed"):
        fit.anova("wald")
    with pytest.raises(WinterswardError, match="df: found 'residual'; allowed: kenward-roger"):
        fit.contrast({"open": 1}, df="residual")
