from __future__ import annotations

import numpy as np
import pytest

from models.fading import THETA, dense, fading_stacks, slope
from wintersward.models.reml import evaluate


def test_gradient() -> None:
    fading = fading_stacks()
    expected = slope(lambda theta: evaluate(fading, theta).deviance, THETA)
    np.testing.assert_allclose(evaluate(fading, THETA).gradient, expected, rtol=1e-7, atol=1e-8)


def test_criterion_and_estimates() -> None:
    fading = fading_stacks()
    v, _, x, y = dense(fading, THETA)
    inverse = np.linalg.inv(v)
    information = x.T @ inverse @ x
    coefficients = np.linalg.solve(information, x.T @ inverse @ y)
    left = y - x @ coefficients
    deviance = np.linalg.slogdet(v)[1] + np.linalg.slogdet(information)[1] + left @ inverse @ left
    point = evaluate(fading, THETA)
    assert point.deviance == pytest.approx(deviance, rel=1e-12)
    np.testing.assert_allclose(point.coefficients, coefficients, rtol=1e-10)


def test_a_covariance_that_is_none() -> None:
    with pytest.raises(np.linalg.LinAlgError):
        evaluate(fading_stacks(), np.array([0.4, 1.3, 0.2, -5.0]))
