"""On which days covers lay, and which days came soon after."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["Span", "came_off_within", "lay"]

# First day under cover, and the day on which it came off.
Span = tuple[dt.date, dt.date]


def lay(dates: pd.Series, spans: Sequence[Span]) -> NDArray[np.bool_]:
    """Tell on which days a cover lay.

    Parameters
    ----------
    dates : (n,) Series of datetime64
        Local days.
    spans : sequence of (date, date)
        As `wintersward.trial.covering.covered_spans` gives them.

    Returns
    -------
    (n,) bool
        The day on which it was laid counts as covered, the day on which it came off as open: the
        diary knows no hours.

    Examples
    --------
    >>> days = pd.Series(pd.date_range("2026-01-01", periods=3))
    >>> lay(days, [(dt.date(2026, 1, 1), dt.date(2026, 1, 3))]).tolist()
    [True, True, False]
    """
    found = np.zeros(len(dates), dtype=bool)
    for on, off in spans:
        found |= ((dates >= pd.Timestamp(on)) & (dates < pd.Timestamp(off))).to_numpy()
    return found


def came_off_within(dates: pd.Series, spans: Sequence[Span], days: int) -> NDArray[np.bool_]:
    """Tell which days lie within some days after a cover came off for the last time.

    Parameters
    ----------
    dates, spans
        As for `lay`.
    days : int
        How many days count, that on which it came off being the first.

    Returns
    -------
    (n,) bool
        None where a cover still lies: its span ends with the last of all dates.
    """
    off = max((span[1] for span in spans), default=dt.date.max)
    if off == dt.date.max:
        return np.zeros(len(dates), dtype=bool)
    last = pd.Timestamp(off) + pd.Timedelta(days=days)
    return np.asarray((dates >= pd.Timestamp(off)) & (dates < last), dtype=bool)
