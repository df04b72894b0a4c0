"""Degree days: how far, and for how long, a temperature stayed above a base.

Notes
-----
The same day has different degree days by different methods. A number is worth nothing without its
method, base, upper limit and first day; name them wherever it is shown.

References
----------
Baskerville GL, Emin P (1969) Rapid estimation of heat accumulation from maximum and minimum
temperatures. Ecology 50:514-517.
Allen JC (1976) A modified sine wave method for calculating degree days. Environmental Entomology
5:388-396. doi:10.1093/ee/5.3.388.
Zalom FG et al. (1983) Degree-days: the calculation and use of heat units in pest management.
University of California leaflet 21373 (number of the leaflet from memory).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from wintersward.climate.held import ENOUGH, HOLDS, usual_interval
from wintersward.climate.local_days import (
    MICROSECONDS_AN_HOUR,
    day_starts,
    instants,
    local_times,
)
from wintersward.errors import WinterswardError, closest, listed

__all__ = ["METHODS", "degree_days", "from_readings", "summed"]

Floats = NDArray[np.float64]
_HOURS = 24.0


def degree_days(
    minimum: ArrayLike,
    maximum: ArrayLike,
    base: float,
    upper: float | None = None,
    method: str = "sine",
) -> Any:
    """Compute the degree days of each day from its lowest and highest temperature.

    Parameters
    ----------
    minimum, maximum : float or (n,) float [degC]
        Lowest and highest temperature of each day; not a number where none is known.
    base : float [degC]
        Temperature above which degrees count.
    upper : float, optional [degC]
        Horizontal upper limit: what is warmer counts as this temperature.
    method : {'sine', 'triangle', 'modified', 'average'}
        ``sine`` and ``triangle``: a single sine wave, or one straight rise and fall, through both
        temperatures. ``modified``: the average of both after each was raised to the base.
        ``average``: the average of both, less the base, never below zero. With an upper limit both
        temperatures are first lowered to it in ``modified`` and ``average``.

    Returns
    -------
    float or (n,) float [degC d]
        Not a number where a temperature is not known.

    Raises
    ------
    WinterswardError
        An unknown method, a lowest temperature above the highest, or an upper limit that is not
        above the base.

    Notes
    -----
    Temperatures and base may be in degF as well; the result is in degF d then. Without an upper
    limit, average <= triangle <= sine <= modified on every day. With the lowest temperature m - a
    below the base L and the highest m + a above it, the sine wave has
    ((m - L)(pi/2 - t) + a cos t) / pi degree days, where t = arcsin((L - m)/a), and the triangle
    (m + a - L)^2 / (4 a). An upper limit U takes away what lies above it: D(L) - D(U).

    References
    ----------
    Baskerville and Emin (1969), Allen (1976), Zalom et al. (1983); see the module.

    Examples
    --------
    >>> round(degree_days(-4, 8, base=0), 4)
    3.017
    >>> degree_days([-4, 12], [8, 20], base=0, method="average").tolist()
    [2.0, 16.0]
    """
    low, high = _extremes(minimum, maximum)
    _check_limits(base, upper)
    if method not in METHODS:
        hint = closest(method, METHODS)
        said = f"method: found '{method}'; allowed: {listed(METHODS)}"
        raise WinterswardError(f"{said}; {hint}" if hint else said)
    found = METHODS[method](low, high, base, upper)
    return float(found) if found.ndim == 0 else found


def from_readings(
    times: Any, values: ArrayLike, base: float, upper: float | None = None, least: float = ENOUGH
) -> pd.DataFrame:
    """Compute degree days from the readings of one sensor, a local day at a time.

    Parameters
    ----------
    times : (n,) of local times with the zone of the site
        Ascending or not; each once.
    values : (n,) float [degC]
        Temperatures; not a number where none was read.
    base, upper : float [degC]
        As in `degree_days`.
    least : float [1]
        A day of which less than this share was seen has no degree days; `ENOUGH` unless given
        (common practice, no source).

    Returns
    -------
    DataFrame
        Columns date, degree_days [degC d] (not a number where too little was seen), completeness
        [1], readings; one row for every day from the first to the last reading.

    Raises
    ------
    WinterswardError
        Times have no zone or come twice, or the upper limit is not above the base.

    Notes
    -----
    Between two readings the temperature is taken as a straight line (trapezoids, cut exactly where
    the line crosses base or upper limit). Over a gap longer than `HOLDS` usual intervals there is
    no line: nothing is known there. What was not seen of a day counts as if it had been like what
    was seen. Hours are true hours: a day of 23 hours at 1 degree above the base has 23/24 of a
    degree day, so that sums over days do not depend on where the days are cut.
    """
    _check_limits(base, upper)
    index, read = _series(times, values)
    if not len(index):
        columns = ["date", "degree_days", "completeness", "readings"]
        return pd.DataFrame(columns=columns).astype({"date": "datetime64[us]"})
    days = day_starts(index[0].date(), index[-1].date(), index.tz)
    edges, when = instants(days), instants(index)
    cut, height = _with_midnights(when, read, edges)
    length = np.diff(cut)
    gap = np.diff(when)[np.searchsorted(when, cut[:-1], side="right") - 1] if len(when) > 1 else 0
    seen = np.where(gap <= HOLDS * usual_interval(when), length, 0)
    low, high = np.minimum(height[:-1], height[1:]), np.maximum(height[:-1], height[1:])
    area = _triangle(low, high, base, upper) * seen
    day = np.searchsorted(edges, cut[:-1], side="right") - 1
    count = len(edges) - 1
    hours = np.bincount(day, seen, count) / MICROSECONDS_AN_HOUR
    warm = np.bincount(day, area, count) / MICROSECONDS_AN_HOUR
    whole = np.diff(edges) / MICROSECONDS_AN_HOUR
    share = np.divide(hours, whole, out=np.zeros(count), where=whole > 0)
    known = (share >= least) & (hours > 0)
    rate = np.divide(warm, hours, out=np.full(count, np.nan), where=known)
    taken = np.bincount(np.searchsorted(edges, when, side="right") - 1, minlength=count)
    found = {
        "date": days[:-1].tz_localize(None).normalize(),
        "degree_days": rate * whole / _HOURS,
        "completeness": share,
        "readings": taken,
    }
    return pd.DataFrame(found)[whole > 0].reset_index(drop=True)


def summed(days: Any, values: ArrayLike, start: dt.date) -> pd.DataFrame:
    """Add up daily values from a named first day.

    Parameters
    ----------
    days : (n,) of date or datetime64
        Local days, each once.
    values : (n,) float
        Value of each day, such as degree days [degC d].
    start : date
        First day that counts.

    Returns
    -------
    DataFrame
        Columns date, value, total (sum from `start` to the end of this day); one row for every day
        from `start` to the last one given. From the first day that is missing, or has no value,
        the total is not a number: a sum that left out a day would look like a cold spell.

    Raises
    ------
    WinterswardError
        A day comes twice, or the lengths differ.

    Examples
    --------
    >>> days = [dt.date(2026, 3, 1), dt.date(2026, 3, 2), dt.date(2026, 3, 4)]
    >>> summed(days, [2.0, 3.0, 1.0], dt.date(2026, 3, 1))["total"].tolist()
    [2.0, 5.0, nan, nan]
    """
    index = pd.DatetimeIndex(days).as_unit("us")
    given = pd.Series(np.asarray(values, dtype=float), index=index)
    if index.has_duplicates:
        twice = listed(sorted({str(day.date()) for day in index[index.duplicated()]}))
        raise WinterswardError(f"days given twice: {twice}; allowed: each day once")
    given = given[given.index >= pd.Timestamp(start)]
    if given.empty:
        return pd.DataFrame({"date": given.index, "value": given.values, "total": given.values})
    given = given.reindex(pd.date_range(start, given.index.max(), freq="D", unit="us"))
    # cumsum of numpy, unlike that of pandas, never passes over a missing day.
    total = np.cumsum(given.to_numpy())
    return pd.DataFrame({"date": given.index, "value": given.to_numpy(), "total": total})


def _extremes(minimum: ArrayLike, maximum: ArrayLike) -> tuple[Floats, Floats]:
    low, high = np.asarray(minimum, dtype=float), np.asarray(maximum, dtype=float)
    try:
        low, high = np.broadcast_arrays(low, high)
    except ValueError:
        raise WinterswardError(
            f"minimum and maximum have the shapes {low.shape} and {high.shape}; allowed: one shape"
        ) from None
    wrong = np.atleast_1d(low > high)
    if wrong.any():
        at = int(np.argmax(wrong))
        pair = np.atleast_1d(low).flat[at], np.atleast_1d(high).flat[at]
        raise WinterswardError(
            f"day {at + 1}: found a minimum of {pair[0]:g} and a maximum of {pair[1]:g}; "
            "allowed: a minimum no higher than the maximum"
        )
    unknown = np.isnan(low) | np.isnan(high)
    return np.where(unknown, np.nan, low), np.where(unknown, np.nan, high)


def _check_limits(base: float, upper: float | None) -> None:
    if not np.isfinite(base):
        raise WinterswardError(f"base: found {base}; allowed: a temperature")
    if upper is not None and not upper > base:
        raise WinterswardError(
            f"upper: found {upper:g}; allowed: a temperature above the base, {base:g}"
        )


def _series(times: Any, values: ArrayLike) -> tuple[pd.DatetimeIndex, Floats]:
    """Sort readings by time and leave out those without a value."""
    index, read = local_times(times), np.asarray(values, dtype=float)
    if read.shape != (len(index),):
        raise WinterswardError(
            f"{len(index)} times and values of shape {read.shape}; allowed: one value a time"
        )
    known = np.isfinite(read) & ~np.asarray(index.isna())
    index, read = index[known], read[known]
    order = np.argsort(instants(index), kind="stable")
    index, read = index[order], read[order]
    if index.has_duplicates:
        twice = index[index.duplicated()][0]
        raise WinterswardError(f"two readings at {twice}; allowed: one; remove the second")
    return index, read


def _with_midnights(
    when: NDArray[np.int64], read: Floats, edges: NDArray[np.int64]
) -> tuple[NDArray[np.int64], Floats]:
    """Put the midnights between the first and the last reading among the readings."""
    between = edges[(edges > when[0]) & (edges < when[-1])]
    cut = np.union1d(when, between)
    origin = when[0]
    return cut, np.interp((cut - origin).astype(float), (when - origin).astype(float), read)


def _average(low: Floats, high: Floats, base: float, upper: float | None) -> Floats:
    if upper is not None:
        low, high = np.minimum(low, upper), np.minimum(high, upper)
    return np.asarray(np.maximum((low + high) / 2 - base, 0.0))


def _modified(low: Floats, high: Floats, base: float, upper: float | None) -> Floats:
    return _average(np.maximum(low, base), np.maximum(high, base), base, upper)


def _triangle(low: Floats, high: Floats, base: float, upper: float | None) -> Floats:
    return _cut(_above_triangle, low, high, base, upper)


def _sine(low: Floats, high: Floats, base: float, upper: float | None) -> Floats:
    return _cut(_above_sine, low, high, base, upper)


def _cut(
    above: Callable[[Floats, Floats, float], Floats],
    low: Floats,
    high: Floats,
    base: float,
    upper: float | None,
) -> Floats:
    """Give what lies above the base, less what lies above the upper limit."""
    found = above(low, high, base)
    return found if upper is None else np.asarray(np.maximum(found - above(low, high, upper), 0.0))


def _above_triangle(low: Floats, high: Floats, level: float) -> Floats:
    span = np.where(high > low, high - low, 1.0)
    # No more than the span, so that a day of hardly any amplitude divides nothing large by it.
    part = np.clip(high - level, 0.0, span) ** 2 / (2 * span)
    return np.asarray(np.where(low >= level, (low + high) / 2 - level, part))


def _above_sine(low: Floats, high: Floats, level: float) -> Floats:
    middle, half = (low + high) / 2, np.where(high > low, (high - low) / 2, 1.0)
    angle = np.arcsin(np.clip(level - middle, -half, half) / half)
    part = ((middle - level) * (np.pi / 2 - angle) + half * np.cos(angle)) / np.pi
    part = np.where(high <= level, 0.0 * part, np.maximum(part, 0.0))
    return np.asarray(np.where(low >= level, middle - level, part))


METHODS: dict[str, Callable[[Floats, Floats, float, float | None], Floats]] = {
    "average": _average,
    "modified": _modified,
    "triangle": _triangle,
    "sine": _sine,
}
