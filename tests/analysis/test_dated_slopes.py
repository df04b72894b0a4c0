"""Slopes of the covariate in the model of all dates: known truth, generalised least squares."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.dated import COVER, SPLIT, TINE, dated_trial
from analysis.seasonal import COVERS, DAYS, scope_of, simulated
from wintersward.analysis.covariates import covariate_values, dated_slopes, slopes_of
from wintersward.analysis.results import TABLES
from wintersward.analysis.sensitivity import sensitivity
from wintersward.analysis.structures import fit_structure, random_terms
from wintersward.analysis.together import dates_together

ON = "  covariate: {measure: cover_share, on: 2025-12-27}\n"
BEFORE = (-64, *DAYS)


def started(slopes: dict[int, float], plain_se: float = 0.3) -> Any:
    """Plots that keep a known share of what they started with, another one on each date."""

    def value(plot: Any, day: int) -> float:
        start = np.random.default_rng([int(plot.plot), 5]).normal(0, 5)
        fresh = np.random.default_rng([int(plot.plot), 64 + day]).normal(0, plain_se)
        own = np.random.default_rng([int(plot.plot), 1]).normal(0, 0.2)
        kept = 1.0 if day < 0 else slopes[day]
        noise = 0.0 if day < 0 else fresh + own + COVERS[plot.cover]
        return float(50 + kept * start + noise)

    return value


SLOPES = {1: 0.9, 8: 0.6, 22: 0.3, 40: 0.0}


def test_the_covariate_has_a_slope_of_its_own_on_each_date(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", started(SLOPES), BEFORE, more=ON, primary=22)
    slopes = dates_together(trial)["slopes"]
    assert list(slopes.columns) == [column.name for column in TABLES["slopes"].columns]
    days = (slopes["date"] - pd.Timestamp("2026-03-01")).dt.days
    assert list(days) == [1, 8, 40]
    for day, row in zip(days, slopes.to_dict("records"), strict=True):
        assert row["lower"] < SLOPES[day] < row["upper"]
        assert row["slope"] == pytest.approx(SLOPES[day], abs=0.1)
    # The primary date keeps the slope of its own analysis; no key stands twice.
    both = pd.concat([slopes, sensitivity(trial)["slopes"]])
    assert len(both) == 4
    assert not both.duplicated(list(TABLES["slopes"].key)).any()


def test_slopes_are_those_of_generalised_least_squares(tmp_path: Path) -> None:
    # Covariate by date, written out as products, with the whole covariance matrix.
    trial = dated_trial(tmp_path / "a", started(SLOPES), BEFORE, more=ON, primary=22)
    scope, data = scope_of(trial)
    data["covariate"] = data["unit_name"].map(covariate_values(trial, scope.unit))
    with_slopes, names = dated_slopes(data)
    fixed = " + ".join(["cover * date", *names.values()])
    fit = fit_structure(with_slopes, fixed, scope.skeleton, "cs", by_date=False)
    rows = slopes_of(fit, names, 0.95).set_index("name")
    cells = pd.get_dummies(data["cover"].astype(str) + data["date"].astype(str), dtype=float)
    dates = pd.get_dummies(data["date"].astype(str), dtype=float)
    x = np.column_stack([cells, dates.mul(data["covariate"], axis=0)])
    covariance = fit.variances["residual"] * np.eye(len(data))
    for term in random_terms(scope.skeleton):
        key = data[term.split(":")].astype(str).agg(":".join, axis=1).to_numpy()
        covariance += fit.variances[term] * (key[:, None] == key[None, :])
    inverse = np.linalg.inv(covariance)
    expected = np.linalg.solve(x.T @ inverse @ x, x.T @ inverse @ data["value"].to_numpy())[-4:]
    assert rows.loc[list(dates.columns), "slope"].tolist() == pytest.approx(expected)
    table = dates_together(trial)
    chosen = table["structures"].set_index("verdict").loc["chosen"]
    by_date = chosen["by_date"] == "yes"
    fit = fit_structure(with_slopes, fixed, scope.skeleton, str(chosen["structure"]), by_date)
    rows = slopes_of(fit, names, 0.95).set_index("name")
    told = table["slopes"].assign(name=lambda t: t["date"].astype(str)).set_index("name")
    for name in ("slope", "se", "df", "lower", "upper", "p"):
        assert told[name].to_dict() == pytest.approx(rows.loc[told.index, name].to_dict())


def test_slopes_of_a_split_plot_are_those_of_the_primary_factor_units(tmp_path: Path) -> None:
    trial = dated_trial(
        tmp_path / "a", started(SLOPES), BEFORE, SPLIT, COVER + TINE, more=ON, primary=40
    )
    slopes = dates_together(trial)["slopes"]
    assert [str(day.date()) for day in slopes["date"]] == ["2026-03-02", "2026-03-09", "2026-03-23"]
    assert (slopes["df"] < 60).all()  # 18 whole plots, not 36 plots


def test_units_without_a_covariate_are_named(tmp_path: Path) -> None:
    value = started(SLOPES)

    def lost(plot: Any, day: int) -> float | None:
        return None if (plot.plot, day) == ("101", -64) else value(plot, day)

    trial = dated_trial(tmp_path / "a", lost, BEFORE, more=ON, primary=22)
    found = dates_together(trial)
    assert len(found["slopes"]) == 3
    assert "its slopes are without 101" in found["notes"]["text"].str.cat()


def test_a_covariate_that_does_not_vary_has_no_slopes(tmp_path: Path) -> None:
    value = started(SLOPES)
    trial = dated_trial(
        tmp_path / "a",
        lambda plot, day: 50.0 if day < 0 else value(plot, day),
        BEFORE,
        more=ON,
        primary=22,
    )
    found = dates_together(trial)
    assert found["slopes"].empty
    assert "the covariate is the same on every unit" in found["notes"]["text"].str.cat()


def test_without_a_covariate_there_are_no_slopes(tmp_path: Path) -> None:
    plain = dated_trial(tmp_path / "a", simulated(4), DAYS)
    assert dates_together(plain)["slopes"].empty
