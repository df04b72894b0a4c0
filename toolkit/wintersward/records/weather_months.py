"""The weather of a season month by month, held against stated averages."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from wintersward.trial.diary import MONTHS, Normals

__all__ = ["MONTH_COLUMNS", "QUANTITIES", "month_summary"]

MONTH_COLUMNS = (
    "month",
    "what",
    "value",
    "unit",
    "days",
    "of_days",
    "first_day",
    "last_day",
    "normal",
    "departure",
    "why_not",
    "source",
)
# What is told of a month, with its unit: means of the lows and highs, sums of the others.
QUANTITIES = {"low": "degC", "high": "degC", "rain": "mm", "days_below_zero": "day"}
_MEANS = ("low", "high")
# A mean of a month stands for the month unless this many days, or so many in a row, are missing.
_TOO_MANY, _TOO_MANY_IN_A_ROW = 11, 5


def month_summary(
    days: pd.DataFrame, first: dt.date, last: dt.date, normals: Normals | None = None
) -> pd.DataFrame:
    """Sum up every calendar month that a trial touches.

    Parameters
    ----------
    days : DataFrame
        Columns date, low [degC], high [degC], rain [mm], as `wintersward.records.weather` gives
        them; one row a day.
    first, last : date
        First and last day of the trial. Months are taken whole, as normals are.
    normals : Normals, optional
        What months are like on average.

    Returns
    -------
    DataFrame
        Columns `MONTH_COLUMNS`: the first day of the month; one of `QUANTITIES`; its value;
        the days measured out of those in the month; the first and the last of them, as a day of
        the month, 0 for none; the normal; value minus normal; why there is no such difference
        (else empty); where the normals come from. Rain has no rows where none was ever measured.
        Ascending by month, quantities in their order.

    Notes
    -----
    A mean is held against its normal unless eleven days or more are missing, or five or more
    in a row; a sum only where no day is missing (World Meteorological Organization 2017). With
    days missing a sum is that of the days measured. A day below zero has a low below 0 degC.

    References
    ----------
    World Meteorological Organization (2017) Guidelines on the Calculation of Climate Normals,
    WMO-No. 1203; the limits on missing days from memory.
    """
    told = [name for name in QUANTITIES if name != "rain" or days["rain"].notna().any()]
    dated = days.set_index(pd.DatetimeIndex(days["date"]))
    rows = []
    for month in pd.period_range(first, last, freq="M"):
        calendar = pd.date_range(month.start_time.normalize(), periods=month.days_in_month)
        within = dated.reindex(calendar)
        for name in told:
            rows.append(_row(within, month, name, normals))
    return pd.DataFrame(rows, columns=list(MONTH_COLUMNS)).astype({"month": "datetime64[us]"})


def _row(
    within: pd.DataFrame, month: pd.Period, name: str, normals: Normals | None
) -> tuple[object, ...]:
    measured = within["low" if name == "days_below_zero" else name]
    count = int(measured.notna().sum())
    value = float("nan")
    if count:
        value = float(measured.mean()) if name in _MEANS else float(measured.sum())
    if count and name == "days_below_zero":
        value = float((measured < 0).sum())
    normal = _normal(normals, month, name)
    why_not = _why_not(measured, name, normal)
    departure = float("nan") if why_not else value - normal
    source = normals.source if normals is not None and pd.notna(normal) else ""
    there = measured.index[measured.notna()]
    ends = (there[0].day, there[-1].day) if count else (0, 0)
    unit, length = QUANTITIES[name], len(measured)
    start = month.start_time.normalize()
    return (start, name, value, unit, count, length, *ends, normal, departure, why_not, source)


def _normal(normals: Normals | None, month: pd.Period, name: str) -> float:
    held = normals.months.get(MONTHS[month.month - 1]) if normals is not None else None
    value = getattr(held, name) if held is not None else None
    return float("nan") if value is None else float(value)


def _why_not(measured: pd.Series, name: str, normal: float) -> str:
    """Say why a month is not held against its normal; empty where it is."""
    missing = measured.isna()
    lost = int(missing.sum())
    if lost == len(measured):
        return "nothing was measured"
    if pd.isna(normal):
        return "no normal is stated"
    # Days measured before each day number the runs of days that are missing.
    in_a_row = int(missing.groupby((~missing).cumsum()).sum().max())
    if name not in _MEANS:
        return f"{_days(lost)} missing, and a sum needs all" if lost else ""
    if lost >= _TOO_MANY:
        return f"{_days(lost)} missing, and a mean may lack {_TOO_MANY - 1}"
    if in_a_row >= _TOO_MANY_IN_A_ROW:
        return f"{in_a_row} days in a row missing, and a mean may lack {_TOO_MANY_IN_A_ROW - 1}"
    return ""


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
