from __future__ import annotations

import numpy as np
import pytest

from models.fading import slope
from wintersward.models.pieces import Correlated, Linear

GAPS = np.array([[0, 1, 3.5, 0], [1, 0, 2.5, 0], [3.5, 2.5, 0, 0], [0, 0, 0, 0]])
CODES = np.array([[0, 1, 1, 0], [1, 2, 0, 1]])


def piece(kind: str, levels: int) -> Correlated:
    lags = GAPS if kind == "car1" else (GAPS > 0).astype(float)
    codes = CODES if levels == 3 else np.zeros_like(CODES)
    return Correlated(np.stack([lags, lags]), codes, levels)


every_kind = pytest.mark.parametrize(
    ("kind", "levels", "rho"),
    [("car1", 1, 0.6), ("car1", 3, 0.6), ("cs", 1, 0.4), ("cs", 3, 0.4), ("cs", 3, -0.2)],
)


def parameters(levels: int, rho: float) -> np.ndarray:
    return np.array([*[0.7, 1.9, 1.2][:levels], rho])


@every_kind
def test_covariance(kind: str, levels: int, rho: float) -> None:
    found, theta = piece(kind, levels), parameters(levels, rho)
    covariance = found.covariance(theta)
    for block, codes in zip(covariance, found.codes, strict=True):
        np.testing.assert_allclose(np.diag(block), theta[codes])
        size = np.sqrt(np.diag(block))
        correlation = block / np.outer(size, size)
        power = 3.5 if kind == "car1" else 1.0
        assert correlation[0, 2] == pytest.approx(rho**power)
        # The last row is another subject.
        np.testing.assert_array_equal(correlation[3, :3], 0.0)
        assert np.linalg.eigvalsh(block)[0] > 0


@every_kind
def test_first_derivatives(kind: str, levels: int, rho: float) -> None:
    found, theta = piece(kind, levels), parameters(levels, rho)
    assert found.count == levels + 1
    np.testing.assert_allclose(found.first(theta), slope(found.covariance, theta), atol=1e-9)


@every_kind
def test_second_derivatives(kind: str, levels: int, rho: float) -> None:
    found, theta = piece(kind, levels), parameters(levels, rho)
    expected = slope(lambda at: np.array(found.first(at)), theta)
    seconds = found.second(theta)
    assert all(i <= j for i, j in seconds)
    for i in range(found.count):
        for j in range(i, found.count):
            ours = seconds.get((i, j), np.zeros_like(expected[i, j]))
            np.testing.assert_allclose(ours, expected[i, j], atol=1e-8)


def test_no_correlation_at_all() -> None:
    found = piece("car1", 1)
    theta = np.array([2.0, 1e-8])
    np.testing.assert_allclose(found.covariance(theta), [2 * np.eye(4)] * 2, atol=1e-7)
    assert np.isfinite(found.first(theta)).all()
    assert all(np.isfinite(matrix).all() for matrix in found.second(theta).values())


def test_a_variance_enters_linearly() -> None:
    found = Linear(np.ones((2, 3, 3)))
    assert found.count == 1
    np.testing.assert_array_equal(found.covariance(np.array([2.0])), 2 * np.ones((2, 3, 3)))
    np.testing.assert_array_equal(found.first(np.array([2.0]))[0], np.ones((2, 3, 3)))
    assert found.second(np.array([2.0])) == {}
