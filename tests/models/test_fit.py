from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, fit_mixed

TERMS = ["block", "block:cover"]


@pytest.fixture
def fit(trial: pd.DataFrame) -> MixedFit:
    return fit_mixed(trial, "green", "cover * tine", TERMS)


def mean_squares(data: pd.DataFrame) -> dict[str, float]:
    """Textbook analysis of a balanced split plot: 4 blocks, 3 covers, 2 tines."""
    y, centre = data["green"], data["green"].mean()

    def squares(*by: str) -> float:
        sizes = data.groupby(list(by))["green"].agg(["mean", "size"])
        return float((sizes["size"] * (sizes["mean"] - centre) ** 2).sum())

    whole = squares("block", "cover") - squares("block") - squares("cover")
    total = float(((y - centre) ** 2).sum())
    cells = squares("cover", "tine") - squares("cover") - squares("tine")
    rest = total - squares("block", "cover") - squares("tine") - cells
    return {
        "cover": squares("cover") / 2,
        "tine": squares("tine"),
        "cover:tine": cells / 2,
        "whole": whole / 6,
        "rest": rest / 9,
        "block": squares("block") / 3,
    }


class TestBalancedSplitPlot:
    def test_tests_are_ratios_of_mean_squares(self, fit: MixedFit, trial: pd.DataFrame) -> None:
        ms = mean_squares(trial)
        found = fit.anova().set_index("term")
        assert found["f"]["cover"] == pytest.approx(ms["cover"] / ms["whole"], rel=1e-9)
        assert found["f"]["tine"] == pytest.approx(ms["tine"] / ms["rest"], rel=1e-9)
        assert found["f"]["cover:tine"] == pytest.approx(ms["cover:tine"] / ms["rest"], rel=1e-9)
        assert found["df_num"].tolist() == [2, 1, 2]
        assert found["df_den"].tolist() == pytest.approx([6, 9, 9], rel=1e-9)

    def test_variances_are_their_differences(self, fit: MixedFit, trial: pd.DataFrame) -> None:
        ms = mean_squares(trial)
        assert list(fit.variances) == [*TERMS, "residual"]
        assert fit.variances["residual"] == pytest.approx(ms["rest"], rel=1e-9)
        assert fit.variances["block:cover"] == pytest.approx(
            (ms["whole"] - ms["rest"]) / 2, rel=1e-8
        )
        assert fit.variances["block"] == pytest.approx((ms["block"] - ms["whole"]) / 6, rel=1e-8)

    def test_a_zero_whole_plot_variance_keeps_the_degrees_of_freedom(
        self, make_trial: Callable[..., pd.DataFrame]
    ) -> None:
        data = make_trial(5)
        means = data.groupby(["block", "cover"])["green"].transform("mean")
        covers = data.groupby("cover")["green"].transform("mean")
        blocks = data.groupby("block")["green"].transform("mean")
        data["green"] += covers + blocks - means - data["green"].mean()
        data["green"] += 0.2 * (data.groupby(["block", "cover"]).ngroup() % 3)
        fit = fit_mixed(data, "green", "cover * tine", TERMS)
        assert fit.variances["block:cover"] == 0.0
        assert [(n.code, n.about) for n in fit.notes] == [("zero-variance", ("block:cover",))]
        # F(2, 15) would be had by dropping the term; the layout has six.
        df = fit.anova().set_index("term")["df_den"]
        assert df["tine"] == pytest.approx(df["cover:tine"])
        pooled = fit_mixed(data, "green", "cover * tine", ["block"]).anova()["df_den"]
        assert df["cover"] < pooled[0]


def test_residuals_by_the_whole_covariance(trial: pd.DataFrame) -> None:
    data = trial.drop(index=[2, 9, 10])
    fit = fit_mixed(data, "green", "cover + tine", TERMS)
    zs = [
        pd.get_dummies(data.groupby(by).ngroup()).to_numpy(float)
        for by in (["block"], ["block", "cover"])
    ]
    residual = fit.variances["residual"]
    v = residual * np.eye(21)
    for z, variance in zip(zs, fit.variances.values(), strict=False):
        v += variance * z @ z.T
    part = fit.fixed_part
    x = part.basis @ part.triangle
    expected = residual * np.linalg.solve(v, data["green"].to_numpy() - x @ fit.coefficients)
    np.testing.assert_allclose(fit.residuals, expected, rtol=1e-7, atol=1e-9)
    assert fit.residuals.index.tolist() == data.index.tolist()


def test_residuals_of_least_squares(trial: pd.DataFrame) -> None:
    fit = fit_mixed(trial, "green", "cover * tine")
    expected = trial["green"] - trial.groupby(["cover", "tine"])["green"].transform("mean")
    np.testing.assert_allclose(fit.residuals, expected, atol=1e-10)
    assert (fit.residuals**2).sum() / 18 == pytest.approx(fit.variances["residual"])


def test_covariance_gives_the_standard_errors(fit: MixedFit) -> None:
    at = fit.coefficients.index.get_loc("tine[hollow]")
    pair = fit.pairs("tine", adjust="none").iloc[0]
    assert 2 * fit.coefficients.iloc[at] == pytest.approx(pair["difference"])
    assert 2 * np.sqrt(fit.covariance.iloc[at, at]) == pytest.approx(pair["se"])


class TestEmptyCells:
    def test_type_three_is_refused_by_cell(self, trial: pd.DataFrame) -> None:
        gone = (trial["cover"] == "woven") & (trial["tine"] == "solid")
        fit = fit_mixed(trial[~gone], "green", "cover * tine", ["block"])
        with pytest.raises(WinterswardError) as caught:
            fit.anova()
        assert str(caught.value) == (
            "type III tests: cover:tine: no observations of woven with solid;"
            " compare observed cells instead"
        )
        row = fit.contrast({("woven", "hollow"): 1, ("open", "hollow"): -1}).iloc[0]
        assert np.isfinite(row["se"])

    def test_without_the_interaction_tests_stand(self, trial: pd.DataFrame) -> None:
        gone = (trial["cover"] == "woven") & (trial["tine"] == "solid")
        found = fit_mixed(trial[~gone], "green", "cover + tine", ["block"]).anova()
        assert found["f"].notna().all()


class TestAliased:
    def test_a_term_without_anything_of_its_own(self, trial: pd.DataFrame) -> None:
        trial["wet"] = trial["block"].isin(["b1", "b2"]).astype(float)
        fit = fit_mixed(trial, "green", "block + wet + cover", ["plot"])
        found = fit.anova().set_index("term")
        assert np.isnan(found["f"]["wet"])
        assert found["df_num"].to_dict() == {"block": 2, "wet": 0, "cover": 2}
        assert {note.code: note.about for note in fit.notes}.items() >= {
            "aliased-columns": ("wet",),
            "non-estimable": ("wet",),
        }.items()

    def test_the_order_of_terms_does_not_matter(self, trial: pd.DataFrame) -> None:
        trial["wet"] = trial["block"].isin(["b1", "b2"]).astype(float)
        one = fit_mixed(trial, "green", "block + wet + cover", ["plot"]).anova()
        other = fit_mixed(trial, "green", "wet + block + cover", ["plot"]).anova()
        one, other = one.set_index("term"), other.set_index("term").loc[one["term"]]
        pd.testing.assert_frame_equal(one, other, rtol=1e-7)


def test_slope_of_a_covariate(trial: pd.DataFrame) -> None:
    trial["green"] += 1.5 * trial["sun"]
    fit = fit_mixed(trial, "green", "cover + sun", ["block"])
    assert fit.anova()["term"].tolist() == ["cover", "sun"]
    assert fit.anova()["df_num"].tolist() == [2, 1]
    t = fit.coefficients["sun"] / np.sqrt(fit.covariance.loc["sun", "sun"])
    assert t**2 == pytest.approx(fit.anova()["f"][1], rel=1e-8)


def test_no_terms_no_tests(trial: pd.DataFrame) -> None:
    found = fit_mixed(trial, "green", "1", ["block"]).anova()
    assert found.empty
    assert list(found.columns) == ["term", "f", "df_num", "df_den", "p"]


def test_other_methods_are_refused(fit: MixedFit) -> None:
    with pytest.raises(WinterswardError, match="allowed: kenward-roger"):
        fit.anova(method="guess")
