"""Spots in a plot: places that keep their distance from one another and from the photos."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, hypot, sqrt

from wintersward.design.areas import Box

__all__ = ["SPACING_M", "spread"]

# A core or a pull disturbs the turf around it: spots are circles this far across [m] that touch
# neither one another nor a photo (common practice, no source).
SPACING_M = 0.15
# Places are kept to the millimetre; this much is added so that rounding brings none too near.
_SLACK = 0.002
_LEAST = SPACING_M + _SLACK
_RADIUS = _LEAST / 2
# Each next lattice is finer by this factor.
_FINER = 0.97
_TINY = 1e-9
Spot = tuple[float, float]


def spread(inside: Box, kept: Sequence[Box], count: int) -> list[Spot]:
    """Spread spots over a rectangle.

    Parameters
    ----------
    inside : tuple of float
        Left, lower, right and upper side [m] of what is sampled of a plot.
    kept : sequence of tuple
        Sides [m] of what no spot may touch.
    count : int
        How many spots are wanted.

    Returns
    -------
    list of tuple of float
        Middles of the spots [m], row by row from the lowest up; fewer than wanted where there is
        no room for more.

    Notes
    -----
    The spots are points of the widest lattice that has enough of them free, either one lattice
    over the whole rectangle or one for each strip around what is kept clear; no lattice is finer
    than `SPACING_M` and 2 mm.

    Examples
    --------
    >>> spread((0.0, 0.0, 1.0, 0.2), [], 2)
    [(0.076, 0.1), (0.924, 0.1)]
    """
    if count < 1:
        return []
    area = max(inside[2] - inside[0], 0.0) * max(inside[3] - inside[1], 0.0)
    step = max(_LEAST, 2 * sqrt(area / count))
    while True:
        found = _free(inside, kept, step)
        if len(found) >= count or step <= _LEAST:
            break
        step = max(_LEAST, step * _FINER)
    found.sort(key=lambda spot: (spot[1], spot[0]))
    if len(found) <= count:
        return found
    return [found[(2 * at + 1) * len(found) // (2 * count)] for at in range(count)]


def _free(inside: Box, kept: Sequence[Box], step: float) -> list[Spot]:
    """Find the free points of the lattices with a step [m], by the way that finds most."""
    whole = [spot for spot in _lattice(_shrunk(inside), step) if _clear(spot, kept)]
    if not kept:
        return whole
    around = (
        min(box[0] for box in kept),
        min(box[1] for box in kept),
        max(box[2] for box in kept),
        max(box[3] for box in kept),
    )
    turned = [(y, x) for x, y in _frame(_turned(inside), _turned(around), step)]
    return max(whole, _frame(inside, around, step), turned, key=len)


def _frame(inside: Box, around: Box, step: float) -> list[Spot]:
    """Put a lattice into each strip beside, below and above what is kept clear."""
    left, low, right, high = _shrunk(inside)
    # A strip ends where spots would touch what is kept clear, or those of the strip beside it.
    before, after = around[0] - _RADIUS, around[2] + _RADIUS
    below, above = around[1] - _RADIUS, around[3] + _RADIUS
    beside = [(left, low, min(before, right), high), (max(after, left), low, right, high)]
    start = before + step if before >= left else left
    end = after - step if after <= right else right
    between = [(start, low, end, min(below, high)), (start, max(above, low), end, high)]
    return [spot for strip in beside + between for spot in _lattice(strip, step)]


def _lattice(within: Box, step: float) -> list[Spot]:
    """List the points of a lattice from side to side of a rectangle."""
    xs = _marks(within[0], within[2], step)
    return [(x, y) for y in _marks(within[1], within[3], step) for x in xs]


def _marks(start: float, end: float, step: float) -> list[float]:
    if end < start - _TINY:
        return []
    gaps = floor((end - start) / step + _TINY)
    if gaps < 1:
        return [(start + end) / 2]
    return [start + at * (end - start) / gaps for at in range(gaps + 1)]


def _shrunk(inside: Box) -> Box:
    """Give the rectangle in which the middles of spots may lie."""
    return inside[0] + _RADIUS, inside[1] + _RADIUS, inside[2] - _RADIUS, inside[3] - _RADIUS


def _clear(spot: Spot, kept: Sequence[Box]) -> bool:
    x, y = spot
    return all(
        hypot(max(left - x, 0, x - right), max(low - y, 0, y - high)) >= _RADIUS - _TINY
        for left, low, right, high in kept
    )


def _turned(box: Box) -> Box:
    """Exchange width and length."""
    return box[1], box[0], box[3], box[2]
