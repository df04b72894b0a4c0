"""The covariate: a published analysis of covariance, units, what is left out."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from analysis.dated import COVER, SPLIT, TINE, dated_trial
from wintersward.analysis import model_for
from wintersward.analysis.covariates import (
    adjusted,
    covariate_asked,
    covariate_name,
    covariate_values,
    slope,
)
from wintersward.analysis.model import TrialModel
from wintersward.analysis.skeleton import Skeleton, Term
from wintersward.analysis.strata import compare, stratum
from wintersward.errors import WinterswardError
from wintersward.study import Trial

# Leprosy bacilli before and after treatment with antibiotics A and D and an inert drug F, ten
# patients each. Snedecor G. W., Cochran W. G. (1967) Statistical Methods, 6th edition, page 422
# (from memory; also the worked example of analysis of covariance in the manual of SAS PROC GLM).
LEPROSY = {
    "A": "11 6 8 0 5 2 14 8 19 11 6 4 10 13 6 1 11 8 3 0",
    "D": "6 0 6 2 7 3 8 1 18 18 8 4 19 14 8 9 5 1 15 9",
    "F": "16 13 13 10 11 18 9 5 21 23 16 12 12 5 12 16 7 1 12 20",
}


def leprosy() -> tuple[TrialModel, pd.Series]:
    rows = [
        (drug, float(x), float(y))
        for drug, text in LEPROSY.items()
        for x, y in zip(text.split()[::2], text.split()[1::2], strict=True)
    ]
    data = pd.DataFrame(rows, columns=["drug", "before", "value"])
    data["plot"] = data["unit_name"] = [str(i) for i in range(30)]
    data["drug"] = pd.Categorical(data["drug"], ["A", "D", "F"], ordered=True)
    terms = (Term("drug", "treatment", "plot", 27, "plot"), Term("residual", "residual", "plot"))
    skeleton = Skeleton(("drug",), "plot", "plot", (), terms, True)
    model = TrialModel("bacilli", dt.date(2000, 1, 1), skeleton, data, 0.95)
    return model, data.set_index("plot")["before"]


def test_a_published_analysis_of_covariance() -> None:
    model, before = leprosy()
    found = adjusted(model, [("A", "F"), ("D", "F")], "drug", before)
    # Slope 0.98718381, standard error 0.16449757, t 6.00; least-squares means 6.7149635 (A),
    # 6.8239348 (D) and 10.1611017 (F), error 417.2026 on 26: manual of SAS PROC GLM, analysis
    # of covariance (from memory).
    assert found.slope["slope"] == pytest.approx(0.98718381, abs=1e-8)
    assert found.slope["se"] == pytest.approx(0.16449757, abs=1e-8)
    assert found.slope["df"] == 26
    assert found.rows["left_mean"].tolist() == pytest.approx([6.7149635, 6.8239348], abs=1e-7)
    assert found.rows["right_mean"].tolist() == pytest.approx([10.1611017] * 2, abs=1e-7)
    # Coefficients of the same table: A - F -3.446138, standard error 1.88678; D - F -3.337167,
    # 1.85386.
    assert found.rows["difference"].tolist() == pytest.approx([-3.446138, -3.337167], abs=1e-6)
    assert found.rows["se"].tolist() == pytest.approx([1.88678065, 1.85386642], abs=1e-7)


def test_another_library_agrees_in_blocks() -> None:
    rng = np.random.default_rng(8)
    cells = [(b, c) for b in "stuvw" for c in "xyz"]
    data = pd.DataFrame(cells, columns=["block", "cover"])
    data["before"] = rng.normal(50, 5, 15)
    data["value"] = 0.6 * data["before"] + rng.normal(0, 2, 15) + (data["cover"] == "x") * 4
    data["plot"] = data["unit_name"] = [str(i) for i in range(15)]
    data["cover"] = pd.Categorical(data["cover"], ["x", "y", "z"], ordered=True)
    terms = (Term("cover", "treatment", "plot", 8, "plot", ("block",)),)
    skeleton = Skeleton(("cover",), "plot", "plot", ("block",), terms, True)
    model = TrialModel("green", dt.date(2000, 1, 1), skeleton, data, 0.9)
    found = adjusted(model, [("x", "z")], "cover", data.set_index("plot")["before"])
    theirs = smf.ols("value ~ C(block) + C(cover, Treatment('z')) + before", data).fit()
    name = "C(cover, Treatment('z'))[T.x]"
    assert found.rows["difference"].iloc[0] == pytest.approx(theirs.params[name])
    assert found.rows["se"].iloc[0] == pytest.approx(theirs.bse[name])
    assert found.slope["slope"] == pytest.approx(theirs.params["before"])
    assert found.slope["p"] == pytest.approx(theirs.pvalues["before"])
    low, high = theirs.conf_int(0.1).loc["before"]
    assert (found.slope["lower"], found.slope["upper"]) == pytest.approx((low, high))


def test_where_the_covariate_is_counted_from_does_not_matter() -> None:
    model, before = leprosy()
    made = stratum(model, "drug")
    one = slope(made, made.data["unit"].map(before), 0.95)
    assert one == pytest.approx(slope(made, made.data["unit"].map(before + 1000), 0.95))
    fit = adjusted(model, [("A", "F")], "drug", before - 1000)
    assert fit.rows["left_mean"].iloc[0] == pytest.approx(6.7149635, abs=1e-7)


def starting(plot: Any, day: int) -> float:
    rng = np.random.default_rng([int(plot.plot), 5])
    start = 40 + rng.normal(0, 6)
    return float(start if day < 0 else start + 8 * (plot.cover == "fleece") + day / 10)


def before_covers(folder: Path, **more: Any) -> Trial:
    on = "  covariate: {measure: cover_share, on: 2025-12-27}\n"
    return dated_trial(folder, starting, days=(-64, 1, 8, 40), more=on, **more)


def test_values_are_averaged_onto_the_units_asked_for(tmp_path: Path) -> None:
    trial = before_covers(tmp_path / "study", layout=SPLIT, treatments=COVER + TINE)
    assert covariate_asked(trial) == ("cover_share", dt.date(2025, 12, 27))
    assert covariate_name(trial) == "cover share on 27 December 2025"
    by_plot, by_whole = covariate_values(trial, "plot"), covariate_values(trial, "whole_plot")
    assert (len(by_plot), len(by_whole)) == (36, 18)
    inside = trial.plots.loc[trial.plots["whole_plot"] == "1A", "plot"]
    assert by_whole["1A"] == pytest.approx(by_plot[list(inside)].mean())


def test_a_perfect_covariate_leaves_the_difference_alone(tmp_path: Path) -> None:
    trial = before_covers(tmp_path / "study")
    model = model_for(trial, "cover_share", trial.primary_date)
    values = covariate_values(trial, "plot") + np.linspace(0, 0.01, 18)
    found = adjusted(model, [("fleece", "open")], "cover", values)
    assert found.rows["difference"].iloc[0] == pytest.approx(8.0, abs=0.02)
    assert found.slope["slope"] == pytest.approx(1.0, abs=0.01)


def test_units_without_a_covariate_are_left_out_and_named(tmp_path: Path) -> None:
    trial = before_covers(tmp_path / "study")
    model = model_for(trial, "cover_share", trial.primary_date)
    rng = np.random.default_rng(1)
    values = covariate_values(trial, "plot") + rng.normal(0, 1, 18)
    found = adjusted(model, [("fleece", "open")], "cover", values.drop(["101", "203"]))
    assert found.lacking == ("101", "203")
    full = compare(model, [("fleece", "open")], 0.95, covariate=values)
    assert found.rows["df"].iloc[0] == full["df"].iloc[0] - 2


def test_a_covariate_that_does_not_vary_is_refused() -> None:
    model, before = leprosy()
    with pytest.raises(WinterswardError, match="the same on every unit"):
        adjusted(model, [("A", "F")], "drug", before * 0 + 7)


def test_without_a_covariate_there_are_no_values(rated_trial: Trial) -> None:
    assert covariate_asked(rated_trial) is None
    assert covariate_name(rated_trial) == ""
    with pytest.raises(WinterswardError, match="names no covariate"):
        covariate_values(rated_trial, "plot")
