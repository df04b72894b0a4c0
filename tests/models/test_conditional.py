from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from wintersward.models import MixedFit, Repeated, fit_mixed
from wintersward.models.fixed import FixedPart


def columns_of(part: FixedPart) -> np.ndarray:
    return part.basis @ part.triangle


def whole_matrices(fit: MixedFit) -> tuple[np.ndarray, np.ndarray]:
    """Give R and V of a fit, rows by rows, on the scale of the response."""
    size, theta = fit._scale.size**2, fit._point.parameters
    terms = len(fit._groupings)
    rows = np.arange(fit.rows)
    r = fit._residual.covariance(theta[terms:], [rows])[0] * size
    v = r.copy()
    for grouping, variance in zip(fit._groupings, theta, strict=False):
        z = grouping.indicator()
        v += variance * size * z @ z.T
    return r, v


def by_hand(fit: MixedFit, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Give R P y and the diagonal of R P R."""
    r, v = whole_matrices(fit)
    x, inverse = columns_of(fit.fixed_part), np.linalg.inv(v)
    p = inverse - inverse @ x @ np.linalg.solve(x.T @ inverse @ x, x.T @ inverse)
    return r @ p @ y, np.diag(r @ p @ r)


@pytest.fixture
def dates(make_trial: Callable[..., pd.DataFrame]) -> pd.DataFrame:
    rng = np.random.default_rng(2)
    plots = make_trial(2)
    plots["unit"] = plots["plot"] + plots["tine"].str[0]
    parts = [
        plots.assign(day=day, green=plots["green"] + rng.normal(0, 1 + day / 20, len(plots)))
        for day in (0, 10, 17, 38)
    ]
    return pd.concat(parts, ignore_index=True).drop(index=[3, 9, 50])


UNIT = Repeated("unit", "day")
MODELS = [
    ({"random": ["block", "plot", "unit"]}),
    ({"random": ["block", "day"]}),
    ({"repeated": UNIT}),
    ({"random": ["block", "plot"], "repeated": UNIT}),
    ({"random": ["plot"], "repeated": Repeated("unit", "day", "cs"), "variance_by": "day"}),
    ({"random": ["block", "unit"], "variance_by": "day"}),
    ({"variance_by": "day"}),
]


@pytest.mark.parametrize("model", MODELS)
def test_by_whole_matrices(dates: pd.DataFrame, model: dict[str, object]) -> None:
    fit = fit_mixed(dates, "green", "cover * tine + day", **model)
    residual, variance = by_hand(fit, dates["green"].to_numpy())
    np.testing.assert_allclose(fit.residuals, residual, rtol=1e-7, atol=1e-9)
    np.testing.assert_allclose(fit.studentised, residual / np.sqrt(variance), rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(fit.fitted + fit.residuals, dates["green"], rtol=1e-12)
    assert fit.residuals.index.equals(dates.index)
    assert [fit.residuals.name, fit.fitted.name, fit.studentised.name] == [
        "residual",
        "fitted",
        "studentised",
    ]


def test_without_random_terms_as_statsmodels_has_it(trial: pd.DataFrame) -> None:
    fit = fit_mixed(trial, "green", "cover * tine + sun")
    whole = sm.OLS(trial["green"].to_numpy(), columns_of(fit.fixed_part)).fit()
    expected = whole.get_influence().resid_studentized_internal
    np.testing.assert_allclose(fit.studentised, expected, rtol=1e-9)
    np.testing.assert_allclose(fit.residuals, whole.resid, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(fit.fitted, whole.fittedvalues, rtol=1e-12)


def test_a_row_that_the_model_reproduces(trial: pd.DataFrame) -> None:
    alone = trial.assign(cover=["alone", *trial["cover"][1:]])
    fit = fit_mixed(alone, "green", "cover")
    assert np.isnan(fit.studentised.iloc[0])
    assert fit.studentised[1:].notna().all()
    assert fit.residuals.iloc[0] == pytest.approx(0, abs=1e-9)


def test_a_wild_row_stands_out(trial: pd.DataFrame) -> None:
    trial.loc[7, "green"] += 40.0
    for random in ([], ["block"], ["block", "plot"]):
        fit = fit_mixed(trial, "green", "cover * tine", random)
        assert fit.studentised.abs().idxmax() == 7
        assert fit.studentised.abs()[7] > 3
