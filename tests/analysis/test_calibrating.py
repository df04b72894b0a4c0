"""The line from scores to counts, against NumPy and against leaving photos out one by one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.analysis.calibrating import count_error, fit_line, points_variance, raw_error


def drawn(seed: int, n: int = 24) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    scored = rng.uniform(10, 95, n)
    points = rng.integers(40, 101, n).astype(float)
    share = np.clip(4 + 0.9 * scored, 0, 100) / 100
    return scored, 100 * rng.binomial(points.astype(int), share) / points, points


@given(seed=st.integers(0, 10**6), n=st.integers(5, 40))
@settings(max_examples=30, deadline=None)
def test_it_is_weighted_least_squares(seed: int, n: int) -> None:
    scored, counted, points = drawn(seed, n)
    line = fit_line(scored, counted, points)
    assert line is not None
    (slope, intercept), spread = np.polyfit(scored, counted, 1, w=np.sqrt(points), cov=True)
    assert (line.slope, line.intercept) == pytest.approx((slope, intercept))
    assert line.slope_se == pytest.approx(np.sqrt(spread[0, 0]))


@given(seed=st.integers(0, 10**6))
@settings(max_examples=20, deadline=None)
def test_the_error_is_that_of_photos_left_out(seed: int) -> None:
    scored, counted, points = drawn(seed, 12)
    line = fit_line(scored, counted, points)
    assert line is not None
    squared = []
    for out in range(12):
        kept = np.arange(12) != out
        coefficients = np.polyfit(scored[kept], counted[kept], 1, w=np.sqrt(points[kept]))
        squared.append((counted[out] - np.polyval(coefficients, scored[out])) ** 2)
    assert line.left_out == pytest.approx(np.sqrt(np.average(squared, weights=points)))


def test_equal_points_weigh_nothing() -> None:
    scored, counted, _ = drawn(3)
    one, other = (fit_line(scored, counted, np.full(24, points)) for points in (1.0, 100.0))
    assert one is not None
    assert other is not None
    assert (one.slope, one.left_out) == pytest.approx((other.slope, other.left_out))
    plain = np.sqrt(np.mean((scored - counted) ** 2))
    assert raw_error(scored, counted, np.full(24, 100.0)) == pytest.approx(plain)


def test_what_bears_no_line_has_none() -> None:
    scored, counted, points = drawn(1)
    assert fit_line(scored[:3], counted[:3], points[:3]) is None
    assert fit_line(np.full(24, 40.0), counted, points) is None
    # One photo alone lies elsewhere: without it there is no slope.
    assert fit_line(np.append(np.full(23, 40.0), 80.0), counted, points) is None


def test_points_alone_have_binomial_variance() -> None:
    """The mean of the estimate is the variance of the share itself."""
    rng = np.random.default_rng(8)
    for share in (0.1, 0.5, 0.85):
        counts = rng.binomial(50, share, 40000) / 50 * 100
        found = points_variance(counts, np.full(40000, 50.0))
        assert found.mean() == pytest.approx(1e4 * share * (1 - share) / 50, rel=0.01)
        assert counts.var() == pytest.approx(found.mean(), rel=0.03)
        assert count_error(counts, np.full(40000, 50.0)) == pytest.approx(counts.std(), rel=0.02)


def test_a_single_point_does_not_break_it() -> None:
    assert points_variance(np.array([100.0, 0.0]), np.array([1.0, 1.0])).tolist() == [0, 0]
