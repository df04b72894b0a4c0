"""The arithmetic of an aeration: holes, share of the ground, soil out, sand in, passes.

A hole is a cylinder of the tine's diameter, and stands alone in its cell of the spacing. A second
pass falls at random on the first, so that holes overlap as often as chance has it; all else is
geometry, and says nothing of how turf bears it.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Sequence
from typing import Any, SupportsIndex

import numpy as np

from wintersward.errors import WinterswardError

__all__ = [
    "SAND_DENSITY",
    "SAND_SOURCE",
    "aeration_area",
    "hole_count",
    "hole_volume",
    "passes_to_reach",
    "summed_area",
]

# 100 lb to the cubic foot, rounded [kg/m3].
SAND_DENSITY = 1600.0
SAND_SOURCE = "Daniels 2018: one cubic foot of dry sand weighs about 100 pounds"

_MOST_PASSES = 1_000_000
Spacing = float | Sequence[float]


def aeration_area(diameter: float, spacing: Spacing, passes: int = 1) -> float:
    """Give the share of the ground that the holes of an aeration take.

    Parameters
    ----------
    diameter : float [any length]
        Of the holes: the outside diameter of a tine for the ground that is affected, the inside
        one of a hollow tine for the ground that is removed.
    spacing : float or two floats [the same length]
        From the middle of one hole to the middle of the next, along and across; one number where
        both are alike.
    passes : int
        How often the machine goes over the ground.

    Returns
    -------
    float [%]
        Of one pass the area of a hole over that of its cell. Of several passes the share with at
        least one hole, where each falls at random on those before it: 100 (1 - (1 - p)^n).

    Raises
    ------
    WinterswardError
        For lengths that are not above 0, holes that are wider than their spacing, and passes that
        are no whole number from 1 on.

    References
    ----------
    Geometry; values for one pass agree with a forum of the Golf Course Superintendents
    Association of America (2013): 5/8 in at 1.5 in by 1.5 in, 13.63 %.

    Examples
    --------
    >>> round(aeration_area(0.625, 1.5), 2), round(aeration_area(0.5, (2, 2), passes=2), 2)
    (13.64, 9.58)
    """
    one = _one_pass(diameter, spacing)
    return 100 * -math.expm1(_checked(passes) * math.log1p(-one))


def summed_area(diameter: float, spacing: Spacing, passes: int = 1) -> float:
    """Add up the share of the ground that each pass takes, as yearly targets are counted.

    Parameters
    ----------
    diameter, spacing, passes
        As in `aeration_area`.

    Returns
    -------
    float [%]
        Holes that fall into holes are counted again, so that it may be more than 100.

    Raises
    ------
    WinterswardError
        As `aeration_area` does.

    Examples
    --------
    >>> round(summed_area(0.5, (2, 2), passes=2), 2)
    9.82
    """
    return 100 * _one_pass(diameter, spacing) * _checked(passes)


def hole_count(spacing: Spacing, passes: int = 1) -> float:
    """Count the holes of an aeration.

    Parameters
    ----------
    spacing : float or two floats [length]
        As in `aeration_area`.
    passes : int
        How often the machine goes over the ground.

    Returns
    -------
    float [per square of the length]

    Raises
    ------
    WinterswardError
        As `aeration_area` does.

    Examples
    --------
    >>> round(hole_count(0.05)), round(hole_count((2 / 12, 1.33 / 12)))
    (400, 54)
    """
    along, across = _pair(spacing)
    return _checked(passes) / along / across


def hole_volume(diameter: float, spacing: Spacing, depth: float, passes: int = 1) -> float:
    """Give the volume of the holes under a square of ground.

    Parameters
    ----------
    diameter, spacing, passes
        As in `aeration_area`.
    depth : float [the same length]
        Of the holes.

    Returns
    -------
    float [the length]
        Volume over area: m3/m2, or a depth over the whole ground. A hole in a hole adds nothing.

    Raises
    ------
    WinterswardError
        As `aeration_area` does, and for a depth that is not above 0.

    Examples
    --------
    Cubic feet for 1000 square feet, 0.4 in tines at 2.0 in by 1.33 in, 3 in deep:

    >>> round(1000 * hole_volume(0.4 / 12, (2 / 12, 1.33 / 12), 3 / 12), 2)
    11.81
    """
    return _length(depth, "a depth") * aeration_area(diameter, spacing, passes) / 100


def passes_to_reach(target: float, diameter: float, spacing: Spacing) -> tuple[int, int]:
    """Count the passes that a yearly share of the ground takes.

    Parameters
    ----------
    target : float [%]
        Above 0 and below 100.
    diameter, spacing
        As in `aeration_area`.

    Returns
    -------
    summed, union : int
        By the sum of the passes, as `summed_area` counts, and by the ground that is really hit,
        as `aeration_area` does; the second is never the smaller one.

    Raises
    ------
    WinterswardError
        As `aeration_area` does, and for another target.

    Examples
    --------
    >>> passes_to_reach(20, 0.5, (2, 2))
    (5, 5)
    >>> passes_to_reach(40, 0.5, (2, 2))
    (9, 11)
    """
    share = _length(target, "a share of the ground", "above 0, below 100")
    if share >= 100:
        raise WinterswardError(f"a share of the ground of {share:g} %; allowed: above 0, below 100")
    one, wanted = _one_pass(diameter, spacing), share / 100
    return _up(wanted / one), _up(math.log1p(-wanted) / math.log1p(-one))


def _up(passes: float) -> int:
    """Round up to whole passes, but for the last digits of a whole one."""
    return max(1, math.ceil(passes - 1e-9))


def _one_pass(diameter: float, spacing: Spacing) -> float:
    """Give the share of its cell that one hole takes, from 0 to 1."""
    wide, (along, across) = _length(diameter, "a diameter"), _pair(spacing)
    share = math.pi / 4 * (wide / along) * (wide / across)
    if wide > min(along, across):
        raise WinterswardError(
            f"holes of {wide:g} at a spacing of {along:g} by {across:g} overlap; allowed: the "
            "diameter or more, from the middle of one hole to the middle of the next"
        )
    if share <= 0:
        raise WinterswardError(
            f"holes of {wide:g} at {along:g} by {across:g} take no ground at all"
        )
    return share


def _pair(spacing: Spacing) -> tuple[float, float]:
    ordered = isinstance(spacing, Sequence | np.ndarray) and not isinstance(spacing, str)
    both: list[Any] = [*spacing] if ordered else [spacing, spacing]  # type: ignore[misc]
    if len(both) != 2:
        raise WinterswardError(f"{len(both)} spacings; allowed: one, or two: along and across")
    along, across = (_length(one, "a spacing") for one in both)
    return along, across


def _length(
    value: Any, what: str, rule: str = "a number above 0, all lengths in one unit"
) -> float:
    try:
        found = math.nan if isinstance(value, bool) else float(value)
    except (TypeError, ValueError, OverflowError):
        found = math.nan
    if not (math.isfinite(found) and found > 0):
        raise WinterswardError(f"{what} of {_short(value)}; allowed: {rule}")
    return found


def _short(value: object) -> str:
    """Quote what was given, and not all of its digits."""
    said = (
        "a number of many digits" if isinstance(value, int) and abs(value) > 1e300 else str(value)
    )
    return said if len(said) <= 40 else f"{said[:40]}..."


def _checked(passes: SupportsIndex) -> int:
    try:
        count = operator.index(passes)
    except TypeError:
        count = 0
    if isinstance(passes, bool) or not 1 <= count <= _MOST_PASSES:
        rule = f"a whole number from 1 on, {_MOST_PASSES:,} at most"
        raise WinterswardError(f"{_short(passes)} passes; allowed: {rule}")
    return count
