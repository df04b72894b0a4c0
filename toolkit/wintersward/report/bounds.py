"""Bounds in a reader's digits: rounded to where they still hold, never onto their margin."""

from __future__ import annotations

import math
from typing import Literal

__all__ = ["Side", "bound_decimals", "bounded"]

Side = Literal["at least", "at most"]
"""What a bound claims of the true value."""

_MOST = 6
# Tables hold ten digits, so that what lies as near to a shown digit as this is that digit.
_NEAR = 1e-7


def bounded(value: float, decimals: int, side: Side) -> float:
    """Round a bound so that what it claims still holds.

    Parameters
    ----------
    value : float
        The bound, finite.
    decimals : int
        How it is shown.
    side : {'at least', 'at most'}
        What it claims: a lower bound is rounded down, an upper one up.

    Examples
    --------
    >>> bounded(7.694, 0, "at least"), bounded(10.04, 1, "at most"), bounded(-2.3, 0, "at least")
    (7.0, 10.1, -3.0)
    """
    scale = 10.0**decimals
    steps = value * scale
    if abs(steps - round(steps)) < _NEAR:
        return round(steps) / scale
    return (math.floor(steps) if side == "at least" else math.ceil(steps)) / scale


def bound_decimals(value: float, side: Side, decimals: int, margin: float = math.nan) -> int:
    """Choose the decimals of a bound.

    Parameters
    ----------
    value : float
        The bound; anything not finite keeps `decimals`.
    side : {'at least', 'at most'}
        What it claims.
    decimals : int
        Those of the estimate.
    margin : float, optional
        What it is held against; as shown it lies on the same side of it, and not on it.

    Returns
    -------
    int
        One more than `decimals` where whole steps would move the bound by more than half a step,
        and more where it would seem to lie on the margin or beyond.

    Examples
    --------
    >>> bound_decimals(6.79, "at most", 0), bound_decimals(10.04, "at most", 0)
    (0, 1)
    >>> bound_decimals(5.443, "at least", 0, margin=5), bound_decimals(4.97, "at most", 0, margin=5)
    (1, 2)
    """
    if not math.isfinite(value):
        return decimals
    if bounded(value, decimals, side) != round(value, decimals):
        decimals += 1
    while decimals < _MOST and math.isfinite(margin):
        if _place(bounded(value, decimals, side), margin) == _place(value, margin):
            break
        decimals += 1
    return decimals


def _place(value: float, margin: float) -> int:
    return (value > margin) - (value < margin)
