"""Bounds and verdicts by cases, against printed numbers and against plain arithmetic."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from wintersward.decisions.limits import (
    AT_LEAST,
    AT_MOST,
    CANNOT_TELL,
    MET,
    MOST,
    NOT_MET,
    Estimate,
    beyond,
    bounds,
    copies_to_tell,
    joined,
    verdict,
)

nan = math.nan
CASES = [
    ((46, 54), AT_LEAST, 45, MET),
    ((45, 54), AT_LEAST, 45, MET),
    ((44.9, 54), AT_LEAST, 45, CANNOT_TELL),
    ((40, 45), AT_LEAST, 45, CANNOT_TELL),
    ((40, 44.9), AT_LEAST, 45, NOT_MET),
    ((6, 9), AT_MOST, 10, MET),
    ((6, 10), AT_MOST, 10, MET),
    ((6, 10.1), AT_MOST, 10, CANNOT_TELL),
    ((10, 12), AT_MOST, 10, CANNOT_TELL),
    ((10.1, 12), AT_MOST, 10, NOT_MET),
    ((nan, nan), AT_LEAST, 45, CANNOT_TELL),
    ((46, 54), AT_LEAST, nan, CANNOT_TELL),
]


@pytest.mark.parametrize(("ends", "at", "limit", "wanted"), CASES)
def test_a_verdict_follows_from_one_bound(
    ends: tuple[float, float], at: str, limit: float, wanted: str
) -> None:
    assert verdict(ends, at, limit) == wanted


def test_the_two_sides_mirror_one_another() -> None:
    for ends, at, limit, wanted in CASES:
        turned = AT_MOST if at == AT_LEAST else AT_LEAST
        assert verdict((-ends[1], -ends[0]), turned, -limit) == wanted
    assert (beyond(4, AT_LEAST, 5), beyond(5, AT_LEAST, 5)) == (True, False)
    assert (beyond(6, AT_MOST, 5), beyond(5, AT_MOST, 5)) == (True, False)


def test_bounds_are_one_sided() -> None:
    # t(0.90, 10) = 1.3722 and t(0.95, 10) = 1.8125: Student's t, as printed in any table of it.
    low, high = bounds(Estimate(50.0, 2.0, 10), 90)
    assert (low, high) == pytest.approx((50 - 2 * 1.3722, 50 + 2 * 1.3722), abs=1e-4)
    assert bounds(Estimate(0.0, 1.0, 10), 95)[1] == pytest.approx(1.8125, abs=1e-4)


@pytest.mark.parametrize("found", [Estimate(5, 0, 10), Estimate(5, 1, 0), Estimate(nan, 1, 5)])
def test_without_spread_there_is_no_bound(found: Estimate) -> None:
    assert all(math.isnan(end) for end in bounds(found, 90))


def test_two_means_with_both_errors() -> None:
    # Constructed: means 5.75 and 5.60, sd 0.60, eight each. SE 0.300, 14 df; the 90 % interval of
    # two one-sided tests (Schuirmann 1987) is -0.3784 to 0.6784.
    se = 0.60 / math.sqrt(8)
    found = joined(Estimate(5.75, se, 7), 1.0, Estimate(5.60, se, 7))
    assert (found.se, found.df) == pytest.approx((0.300, 14.0))
    low, high = bounds(found, 95)
    assert (low - 5.60, high - 5.60) == pytest.approx((-0.3784, 0.6784), abs=5e-5)
    assert verdict((low, high), AT_LEAST, 5.60 - 1.0) == MET
    assert verdict((low, high), AT_LEAST, 5.60) == CANNOT_TELL


def test_degrees_of_freedom_of_unlike_means() -> None:
    # Welch 1947 for 3.1 and 12 df, as scipy has it for two samples of these sizes and spreads.
    first, second = stats.norm.ppf([0.1, 0.3, 0.5, 0.7, 0.9]), [2.0, 5.0, 3.5]
    own = Estimate(float(first.mean()), float(stats.sem(first)), 4)
    other = Estimate(3.5, float(stats.sem(second)), 2)
    found = joined(own, 1.0, other)
    welch = stats.ttest_ind(first, second, equal_var=False)
    assert found.df == pytest.approx(welch.df)
    assert (own.mean - other.mean) / found.se == pytest.approx(welch.statistic)


def test_a_share_scales_the_error_of_the_reference() -> None:
    found = joined(Estimate(100.0, 3.0, 10), 0.8, Estimate(120.0, 5.0, 4))
    assert found.se == pytest.approx(5.0)
    assert found.df == pytest.approx(5.0**4 / (3.0**4 / 10 + 4.0**4 / 4))
    assert not Estimate(120.0, 0.0, 4).judges


def test_blocks_that_would_have_told() -> None:
    own, limit = Estimate(47.0, 2.0, 10), 45.0
    many = copies_to_tell(own, limit, 90, 6)
    assert many is not None
    for blocks, enough in ((many, True), (many - 1, False)):
        se = 2.0 * math.sqrt(6 / blocks)
        reach = float(stats.t.ppf(0.9, 10 * (blocks - 1) / 5)) * se
        assert (reach <= 2.0) is enough
    assert verdict(bounds(own, 90), AT_LEAST, limit) == CANNOT_TELL


def test_too_close_to_tell() -> None:
    assert copies_to_tell(Estimate(45.01, 2.0, 10), 45.0, 90, 6) is None
    assert copies_to_tell(Estimate(47.0, 2.0, 10), nan, 90, 6) is None
    near = copies_to_tell(Estimate(46.3, 2.0, 10), 45.0, 90, 6)
    assert near is not None
    assert near <= MOST


def test_blocks_do_not_shrink_the_error_of_the_reference() -> None:
    own, reference = Estimate(47.0, 2.0, 10), Estimate(56.25, 4.0, 4)
    assert copies_to_tell(own, 45.0, 90, 6) is not None
    assert copies_to_tell(own, 45.0, 90, 6, 0.8, reference) is None


def test_one_latin_square_more_is_one_copy_more() -> None:
    many = copies_to_tell(Estimate(47.0, 1.6, 6), 45.0, 90, 1)
    assert many == 2
