from __future__ import annotations

import math

import pytest

from wintersward.report.bounds import bound_decimals, bounded


@pytest.mark.parametrize("value", [7.694, -2.3, 0.04, 5.443, 10.04, -0.5, 1e-9])
@pytest.mark.parametrize("decimals", [0, 1, 2])
def test_what_a_bound_claims_still_holds(value: float, decimals: int) -> None:
    assert bounded(value, decimals, "at least") <= value + 1e-8
    assert bounded(value, decimals, "at most") >= value - 1e-8
    step = 10.0**-decimals
    assert bounded(value, decimals, "at most") - bounded(value, decimals, "at least") <= step + 1e-9


def test_a_digit_that_the_table_cannot_hold_moves_no_bound() -> None:
    assert bounded(7.99999999996, 0, "at least") == 8.0
    assert bounded(8.00000000004, 0, "at most") == 8.0


@pytest.mark.parametrize(
    ("value", "side", "margin", "decimals"),
    [
        (5.443, "at least", 5.0, 1),
        (5.01, "at least", 5.0, 2),
        (4.96, "at most", 5.0, 2),
        (4.2, "at most", 5.0, 1),
        (6.1, "at least", 5.0, 0),
        (5.0, "at least", 5.0, 0),
    ],
)
def test_no_bound_is_shown_on_its_margin_or_beyond(
    value: float, side: str, margin: float, decimals: int
) -> None:
    found = bound_decimals(value, side, 0, margin)  # type: ignore[arg-type]
    assert found == decimals
    shown = bounded(value, found, side)  # type: ignore[arg-type]
    assert (shown > margin, shown < margin) == (value > margin, value < margin)


def test_what_is_not_finite_keeps_its_decimals() -> None:
    assert bound_decimals(math.nan, "at least", 1, 5.0) == 1
    assert bound_decimals(math.inf, "at most", 0) == 0
