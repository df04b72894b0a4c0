"""When the definition's own rule for taking covers off would have been met.

Notes
-----
The rule asks for a daily mean of soil temperature, held for some days in a row, and names a last
day. Means of air may stand in for it and then say so: soil follows air later and more evenly, which
is not modelled.
"""

from __future__ import annotations

import datetime as dt
from typing import Literal

import numpy as np
import pandas as pd

from wintersward.errors import WinterswardError, listed

__all__ = ["AIR_IS_NOT_SOIL", "HELD", "LAST_DAY", "days_fired", "means_of_extremes"]

HELD = "held"
LAST_DAY = "last day"
AIR_IS_NOT_SOIL = (
    "These are means of air. Soil follows air later and more evenly, which is not modelled."
)
# A limit given in degF may differ in the last digit.
_ROUNDING = 1e-9


def days_fired(
    daily_means: pd.Series,
    threshold: float,
    days_in_a_row: int,
    not_after: dt.date,
    measured: Literal["soil", "air"] = "soil",
    forecast_from: dt.date | None = None,
) -> pd.DataFrame:
    """Find the days on which the rule for taking covers off would have been met.

    Parameters
    ----------
    daily_means : (n,) Series of float [degC]
        Mean temperature by local day; not a number where too little was seen.
    threshold : float [degC]
        Temperature that the mean must reach.
    days_in_a_row : int [d]
        On how many days in a row.
    not_after : date
        Last day, on which covers come off in any case.
    measured : {'soil', 'air'}
        What was measured or is forecast.
    forecast_from : date, optional
        First day that is a forecast.

    Returns
    -------
    DataFrame
        Columns date, mean [degC], in_a_row [d] (days up to this one that reached it without a
        break), fired, why (`HELD`, `LAST_DAY` or empty), basis (such as ``soil, record`` or ``air,
        forecast``); one row for every day from the first one given to `not_after`.

    Raises
    ------
    WinterswardError
        A day comes twice, or the number of days is not a whole number of 1 or more.

    Notes
    -----
    A day without a mean breaks the row: what nobody measured is not counted as warm. Before the
    first day given nothing counts. The rule is met when the last of the days has ended. Nothing
    here takes a cover off: who looks after the ground does.

    Examples
    --------
    >>> days = pd.date_range("2026-03-01", periods=4)
    >>> found = days_fired(pd.Series([9.0, 10.0, 11.0, 9.0], days), 10, 2, dt.date(2026, 3, 4))
    >>> found.loc[found["fired"], ["in_a_row", "why"]].values.tolist()
    [[2, 'held'], [0, 'last day']]
    """
    if days_in_a_row < 1 or int(days_in_a_row) != days_in_a_row:
        raise WinterswardError(f"days in a row: found {days_in_a_row}; allowed: 1 or more")
    means = _each_day(daily_means, not_after)
    warm = means.to_numpy() >= threshold - _ROUNDING
    row = np.zeros(len(means), dtype="int64")
    for at, reached in enumerate(warm):
        row[at] = (row[at - 1] if at else 0) + 1 if reached else 0
    held = row >= days_in_a_row
    last = np.asarray(means.index == pd.Timestamp(not_after))
    ahead = np.zeros(len(means), dtype=bool)
    if forecast_from is not None:
        ahead = np.asarray(means.index >= pd.Timestamp(forecast_from))
    found = {
        "date": means.index,
        "mean": means.to_numpy(),
        "in_a_row": row,
        "fired": held | last,
        "why": np.where(held, HELD, np.where(last, LAST_DAY, "")),
        "basis": np.where(ahead, f"{measured}, forecast", f"{measured}, record"),
    }
    return pd.DataFrame(found)


def means_of_extremes(days: pd.DataFrame) -> pd.Series:
    """Take the mean of the lowest and the highest temperature for that of the day.

    Parameters
    ----------
    days : DataFrame
        Columns date, low, high [degC], as of a weather station or a forecast: of air.

    Returns
    -------
    (n,) Series of float [degC]
        By day; not a number where one of the two is missing.
    """
    middle = (days["low"].to_numpy(dtype=float) + days["high"].to_numpy(dtype=float)) / 2
    return pd.Series(middle, index=pd.DatetimeIndex(days["date"]).as_unit("us"), name="mean")


def _each_day(daily_means: pd.Series, not_after: dt.date) -> pd.Series:
    """Give a value, or none, to every day up to the last one."""
    index = pd.DatetimeIndex(daily_means.index).as_unit("us")
    if index.has_duplicates:
        twice = listed(sorted({str(day.date()) for day in index[index.duplicated()]}))
        raise WinterswardError(f"days given twice: {twice}; allowed: each day once")
    given = pd.Series(daily_means.to_numpy(dtype=float), index=index)
    first = min(index.min(), pd.Timestamp(not_after)) if len(index) else pd.Timestamp(not_after)
    return given.reindex(pd.date_range(first, not_after, freq="D", unit="us"))
