"""The day on which a running sum, or a mean over some days, reached a level."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from wintersward.errors import WinterswardError, listed

__all__ = ["mean_reached", "reached"]

Floats = NDArray[np.float64]
# Sums of many days come out a last digit beside the level.
_ROUNDING = 1e-9
_DAY = pd.Timedelta(days=1)


def reached(days: Any, values: ArrayLike, level: float) -> Any:
    """Find when a curve first reaches a level from below.

    Parameters
    ----------
    days : (n,) float [d], or (n,) of date
        Ascending. Numbers are instants at which the values stood. Dates are whole local days of a
        running sum that began with the first of them: each value stood at the end of its day.
    values : (n,) float
        Such as totals of `wintersward.climate.summed`; not a number where none is known.
    level : float [unit of the values]
        The level; a value equal to it has reached it.

    Returns
    -------
    float [d], Timestamp or None
        For numbers, the instant on their scale; for dates, the local time within the day, the sum
        taken to grow evenly through it. None where the level is never known to have been reached:
        censored, which is not the last day. The first number where the curve is there already: on
        or before it.

    Raises
    ------
    WinterswardError
        Lengths differ or days do not ascend.

    Notes
    -----
    Between two values the curve is taken as a straight line, also where values between them are
    missing.

    Examples
    --------
    >>> round(reached([0, 7, 21], [40, 60, 90], 80), 3)
    16.333
    >>> reached([0, 7, 21], [40, 60, 90], 95) is None
    True
    """
    when, dates = _scale(days)
    seen = _checked(when, values, level)
    if dates is not None and len(when):
        # The sum was nothing when its first day began.
        when, seen = np.concatenate([[when[0] - 1.0], when]), np.concatenate([[0.0], seen])
    known = np.isfinite(seen)
    when, seen = when[known], seen[known]
    there = seen >= level - _ROUNDING * max(1.0, abs(level))
    if not there.any():
        return None
    at = int(np.argmax(there))
    day = float(when[at])
    if at:
        share = min(1.0, (level - seen[at - 1]) / (seen[at] - seen[at - 1]))
        day = float(when[at - 1] + share * (when[at] - when[at - 1]))
    if dates is None:
        return day
    # A value of a date stood at the end of it, which is one day after its beginning.
    moment: pd.Timestamp = (dates[0] + (day + 1.0) * _DAY).round("s")
    # What is reached with the last minute of a day is reached on that day.
    return min(moment, dates[0] + (when[at] + 1.0) * _DAY - pd.Timedelta(seconds=1))


def mean_reached(days: Any, means: ArrayLike, level: float, over: int) -> Any:
    """Find the first day up to which the mean of some days reached a level.

    Parameters
    ----------
    days : (n,) float [d], or (n,) of date
        Whole days, ascending.
    means : (n,) float
        Mean of each day; not a number where none is known.
    level : float [unit of the means]
        The level; a mean equal to it has reached it.
    over : int [d]
        Over how many days in a row the mean is taken.

    Returns
    -------
    float [d], Timestamp or None
        The last of these days. None where the level is never known to have been reached.

    Raises
    ------
    WinterswardError
        Lengths differ, days do not ascend, or the number of days is not 1 or more.

    Notes
    -----
    A mean needs all its days: over a missing one there is none.

    Examples
    --------
    >>> mean_reached([1, 2, 3, 4], [8.0, 10.0, 12.0, 14.0], 11.0, over=2)
    3.0
    """
    if over < 1 or int(over) != over:
        raise WinterswardError(f"mean over days: found {over}; allowed: 1 or more")
    when, dates = _scale(days)
    seen = _checked(when, means, level)
    for last in range(int(over) - 1, len(when)):
        first = last - int(over) + 1
        whole = when[last] - when[first] == over - 1
        if whole and seen[first : last + 1].mean() >= level - _ROUNDING * max(1.0, abs(level)):
            return float(when[last]) if dates is None else dates[last]
    return None


def _scale(days: Any) -> tuple[Floats, pd.DatetimeIndex | None]:
    """Give days as numbers; dates count from the first of them, and come along."""
    plain = np.asarray(days)
    if plain.dtype.kind in "iuf":
        return plain.astype(float), None
    dates = pd.DatetimeIndex(days).as_unit("us")
    if not len(dates):
        return np.zeros(0), dates
    return np.asarray((dates - dates[0]) / _DAY, dtype=float), dates


def _checked(when: Floats, values: ArrayLike, level: float) -> Floats:
    seen = np.asarray(values, dtype=float)
    if when.ndim != 1 or when.shape != seen.shape:
        raise WinterswardError(
            f"days and values have the shapes {when.shape} and {seen.shape}; "
            "allowed: two lists of one length"
        )
    if not np.isfinite(level):
        raise WinterswardError(f"level: found {level}; allowed: a number")
    if not np.isfinite(when).all() or (np.diff(when) <= 0).any():
        raise WinterswardError(f"days: found {listed(when)}; allowed: ascending, each day once")
    return seen
