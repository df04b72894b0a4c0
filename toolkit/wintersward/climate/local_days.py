"""Local calendar days: where each begins, and how many true hours it has."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.errors import WinterswardError

__all__ = ["MICROSECONDS_AN_HOUR", "day_starts", "instants", "local_times"]

MICROSECONDS_AN_HOUR = 3_600_000_000


def local_times(times: Any) -> pd.DatetimeIndex:
    """Take times as an index that knows its zone.

    Parameters
    ----------
    times : (n,) of times with a zone
        An index, a column, a list of timestamps, or one timestamp.

    Returns
    -------
    DatetimeIndex
        In the zone given, to the microsecond.

    Raises
    ------
    WinterswardError
        For times without a zone: nobody could tell to which instants they belong.

    Examples
    --------
    >>> str(local_times(["2026-03-08 12:00:00-04:00"])[0])
    '2026-03-08 12:00:00-04:00'
    """
    single = isinstance(times, (dt.datetime, str))
    index = pd.DatetimeIndex([times] if single else times)
    if index.tz is None:
        raise WinterswardError(
            "times without a zone; allowed: local times with the zone of the site, such as "
            "America/New_York"
        )
    return index.as_unit("us")


def instants(times: pd.DatetimeIndex) -> NDArray[np.int64]:
    """Give times as whole microseconds of universal time."""
    return np.asarray(times.as_unit("us").asi8)


def day_starts(first: dt.date, last: dt.date, zone: Any) -> pd.DatetimeIndex:
    """Give the instants at which local calendar days begin.

    Parameters
    ----------
    first, last : date
        First and last day.
    zone : str or tzinfo
        Zone of the site.

    Returns
    -------
    (n + 1,) DatetimeIndex
        The beginning of every day and the end of the last. A day on which clocks change has 23 or
        25 hours between two of them; where the clock leaps over midnight the day begins with the
        first instant that it has.

    Examples
    --------
    >>> edges = day_starts(dt.date(2026, 3, 8), dt.date(2026, 3, 8), "America/New_York")
    >>> str(edges[1] - edges[0])
    '0 days 23:00:00'
    """
    midnights = pd.date_range(first, last + dt.timedelta(days=1), freq="D", unit="us")
    # Of a midnight that comes twice the first is meant.
    first_of_two = np.ones(len(midnights), dtype=bool)
    edges = midnights.tz_localize(zone, ambiguous=first_of_two, nonexistent="shift_forward")
    # A day that was left out of the calendar begins when the next one does.
    ordered = np.minimum.accumulate(instants(edges)[::-1])[::-1]
    return pd.DatetimeIndex(ordered.view("datetime64[us]"), tz="UTC").tz_convert(zone)
