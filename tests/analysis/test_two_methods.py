"""Two methods on the same plots."""

from __future__ import annotations

import numpy as np
import pytest

from wintersward.analysis.two_methods import correlation_within, limits_of_agreement

PLOTS = np.repeat(np.arange(8), 5)


def drawn(seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    x = rng.normal(0, 1, 40) + 3 * PLOTS
    return x, -0.5 * (x - 3 * PLOTS) + rng.normal(0, 0.4, 40) + 2 * PLOTS


def test_the_correlation_is_that_within_groups_not_that_between_them() -> None:
    x, y = drawn()
    assert np.corrcoef(x, y)[0, 1] > 0.9
    found = correlation_within(x, y, PLOTS)
    assert found is not None
    assert found.value < -0.6
    assert found.slope == pytest.approx(-0.5, abs=0.15)
    assert (found.n, found.df) == (40, 31)
    assert found.lower < found.value < found.upper < 0


def test_it_does_not_heed_shift_scale_or_what_groups_have_in_common() -> None:
    x, y = drawn()
    found = correlation_within(x, y, PLOTS)
    again = correlation_within(4 * x + 7, y / 3 - 10 * PLOTS, PLOTS)
    assert found is not None
    assert again is not None
    assert (again.value, again.lower) == pytest.approx((found.value, found.lower))
    assert again.slope == pytest.approx(found.slope / 12)


def test_one_group_is_the_plain_correlation() -> None:
    x, y = drawn()
    found = correlation_within(x, y, np.zeros(40))
    assert found is not None
    assert found.value == pytest.approx(np.corrcoef(x, y)[0, 1])
    assert found.df == 38


def test_groups_of_one_say_nothing() -> None:
    x, y = drawn()
    alone = np.append(PLOTS, 99)
    found = correlation_within(np.append(x, 1e3), np.append(y, -1e3), alone)
    assert found == correlation_within(x, y, PLOTS)
    assert correlation_within(x, y, np.arange(40)) is None


def test_what_does_not_vary_within_groups_has_no_correlation() -> None:
    x, _ = drawn()
    assert correlation_within(x, PLOTS / 3.0, PLOTS) is None
    assert correlation_within(PLOTS / 3.0, x, PLOTS) is None


def test_a_perfect_line_has_no_interval() -> None:
    x, _ = drawn()
    found = correlation_within(x, 2 * x + PLOTS, PLOTS)
    assert found is not None
    assert found.value == pytest.approx(1)
    assert np.isnan([found.lower, found.upper]).all()


def test_limits_move_and_stretch_with_the_differences() -> None:
    rng = np.random.default_rng(4)
    apart = rng.normal(2, 3, 40)
    found, moved = (limits_of_agreement(d, PLOTS) for d in (apart, 2 * apart + 5))
    assert found is not None
    assert moved is not None
    for name in ("bias", "lower", "upper"):
        one, other = getattr(found, name), getattr(moved, name)
        assert other.value == pytest.approx(2 * one.value + 5)
        assert (other.lower, other.upper) == pytest.approx((2 * one.lower + 5, 2 * one.upper + 5))
        assert one.lower < one.value < one.upper


def test_plots_that_come_back_make_the_interval_wider() -> None:
    rng = np.random.default_rng(4)
    values = 0.1 * rng.normal(0, 1, 40) + rng.normal(0, 1, 8)[PLOTS]
    alike = limits_of_agreement(values, np.arange(40))
    apart = limits_of_agreement(values, PLOTS)
    assert alike is not None
    assert apart is not None
    assert alike.method != apart.method
    assert apart.bias.upper - apart.bias.lower > 1.5 * (alike.bias.upper - alike.bias.lower)


def test_too_little_has_no_limits() -> None:
    assert limits_of_agreement(np.array([]), np.array([])) is None
    assert limits_of_agreement(np.array([1.0, 2.0]), np.array([1, 2])) is None
    assert limits_of_agreement(np.full(40, 3.0), PLOTS) is None
