"""For how long each reading of a logger holds, cut at the midnights of local days."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.climate.local_days import (
    MICROSECONDS_AN_HOUR,
    day_starts,
    instants,
    local_times,
)
from wintersward.errors import WinterswardError, closest, listed

__all__ = ["ENOUGH", "HOLDS", "SERIES", "day_lengths", "held", "usual_interval"]

SERIES = ["plot", "measure", "position"]
# A reading holds for at most so many of the logger's usual intervals: one lost reading is bridged,
# two are not (common practice, no source).
HOLDS = 2
# Share of a day that must have been seen before its mean or its degree days count as known
# (common practice, no source).
ENOUGH = 0.9
_COLUMNS = [*SERIES, "time", "value"]
_MOST_NAMED = 3


def held(readings: pd.DataFrame) -> pd.DataFrame:
    """Say for how long each reading holds, day by day.

    Parameters
    ----------
    readings : DataFrame
        Columns plot, measure, position, time (local, with its zone), value. A row without a
        time, or whose value is not a number, is left out.

    Returns
    -------
    DataFrame
        Columns plot, measure, position, date (local calendar day), hours [h] (true hours for which
        the value held on this day), value, own (whether it was read on this day, and did not only
        last into it). Sorted by plot, measure, position and time.

    Raises
    ------
    WinterswardError
        A column is missing, times have no zone, or two readings of one series have one time.

    Notes
    -----
    A reading holds until the next one of its plot, measure and position, but for at most `HOLDS`
    times the usual interval, which is the median of the intervals of that series. The last reading
    holds for one usual interval and no longer than its day. Between times nothing is known.
    """
    frame, times = _ordered(readings)
    if frame.empty:
        frame["date"] = pd.Series(dtype="datetime64[us]")
        frame["hours"], frame["own"] = pd.Series(dtype="float64"), pd.Series(dtype="bool")
        return frame[[*SERIES, "date", "hours", "value", "own"]]
    starts = instants(times)
    days = day_starts(times.min().date(), times.max().date(), times.tz)
    edges = instants(days)
    ends = _ends(frame, starts, edges)
    first = np.searchsorted(edges, starts, side="right") - 1
    last = np.maximum(first, np.searchsorted(edges, ends, side="left") - 1)
    row = np.repeat(np.arange(len(frame)), last - first + 1)
    day = np.arange(len(row)) - np.repeat(
        np.cumsum(last - first + 1) - (last + 1), last - first + 1
    )
    since = np.maximum(starts[row], edges[day])
    until = np.minimum(ends[row], edges[day + 1])
    pieces = frame.iloc[row].reset_index(drop=True)
    pieces["date"] = days.tz_localize(None).normalize()[day]
    pieces["hours"] = (until - since) / MICROSECONDS_AN_HOUR
    pieces["own"] = day == first[row]
    return pieces[[*SERIES, "date", "hours", "value", "own"]]


def usual_interval(starts: NDArray[np.int64]) -> float:
    """Give the usual interval of one series: the median of its intervals [microseconds].

    Examples
    --------
    >>> usual_interval(np.array([0, 10, 20, 90]))
    10.0
    """
    return float(np.median(np.diff(starts))) if len(starts) > 1 else 0.0


def day_lengths(dates: pd.Series, zone: object) -> pd.Series:
    """Give the true hours of local calendar days.

    Parameters
    ----------
    dates : (n,) Series of datetime64
        Local days, at midnight, without a zone.
    zone : str or tzinfo
        Zone of the site.

    Returns
    -------
    (n,) Series of float [h]
        24, but 23 or 25 where the clocks change.
    """
    if dates.empty:
        return pd.Series(dtype="float64")
    first = dates.min()
    edges = instants(day_starts(first.date(), dates.max().date(), zone))
    hours = np.diff(edges) / MICROSECONDS_AN_HOUR
    at = (dates - first) // pd.Timedelta(days=1)
    return pd.Series(hours[at.to_numpy(dtype=int)], index=dates.index)


def _ordered(readings: pd.DataFrame) -> tuple[pd.DataFrame, pd.DatetimeIndex]:
    """Check the readings and sort them by series and time."""
    missing = [column for column in _COLUMNS if column not in readings.columns]
    if missing:
        hint = closest(missing[0], readings.columns)
        said = f"columns {listed(missing)} are missing; there are: {listed(readings.columns)}"
        raise WinterswardError(f"{said}; {hint}" if hint else said)
    frame = readings[_COLUMNS].copy()
    for name in SERIES:
        frame[name] = frame[name].astype("str").fillna("")
    if not pd.api.types.is_numeric_dtype(frame["value"]):
        raise WinterswardError(f"values are {frame['value'].dtype}; allowed: numbers")
    frame["value"] = frame["value"].astype("float64")
    times = local_times(frame["time"])
    frame["time"] = times
    frame = frame.dropna(subset=["time", "value"])
    frame = frame.sort_values([*SERIES, "time"], kind="stable", ignore_index=True)
    twice = frame[frame.duplicated([*SERIES, "time"])]
    if len(twice):
        named = [f"{row.plot} {row.measure} at {row.time}" for row in twice.itertuples()]
        more = f" and {len(named) - _MOST_NAMED} more" if len(named) > _MOST_NAMED else ""
        raise WinterswardError(
            f"two readings at one time: {listed(named[:_MOST_NAMED])}{more}; allowed: one; "
            "remove the second"
        )
    return frame, pd.DatetimeIndex(frame["time"])


def _ends(
    frame: pd.DataFrame, starts: NDArray[np.int64], edges: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Give the instant until which each reading holds."""
    ends = np.empty_like(starts)
    for rows in frame.groupby(SERIES, sort=False).indices.values():
        own = starts[rows]
        usual = round(usual_interval(own))
        ends[rows[:-1]] = np.minimum(own[1:], own[:-1] + HOLDS * usual)
        midnight = edges[np.searchsorted(edges, own[-1], side="right")]
        ends[rows[-1]] = min(own[-1] + usual, midnight)
    return ends
