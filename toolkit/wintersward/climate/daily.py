"""Daily facts of a logger's readings: extremes, time-weighted means, and how much was seen."""

from __future__ import annotations

import pandas as pd

from wintersward.climate.held import SERIES, day_lengths, held
from wintersward.climate.local_days import local_times
from wintersward.errors import WinterswardError

__all__ = ["FACTS", "band_hours", "daily_facts", "every_day", "hours_in_band", "in_band", "means"]

FACTS = [
    "date",
    *SERIES,
    "minimum",
    "mean",
    "maximum",
    "amplitude",
    "readings",
    "completeness",
]
_KEYS = ["date", *SERIES]


def daily_facts(readings: pd.DataFrame) -> pd.DataFrame:
    """Sum up each local calendar day of every series.

    Parameters
    ----------
    readings : DataFrame
        Columns plot, measure, position, time (local, with the zone of the site), value.

    Returns
    -------
    DataFrame
        Columns date, plot, measure, position, minimum, mean, maximum, amplitude (all in the unit
        of the values), readings (how many were taken on the day), completeness [1] (share of the
        day that was seen). One row for every day from the first to the last reading of a series,
        days without readings among them; sorted by date, plot, measure, position.

    Raises
    ------
    WinterswardError
        A column is missing, times have no zone, or two readings of one series have one time.

    Notes
    -----
    The mean is weighted by time: each reading counts for the time for which it held
    (:mod:`wintersward.climate.held`), so that a burst of readings counts no more than a calm hour.
    A reading of the evening before that still held after midnight belongs to both days, also to
    the extremes. Of a day that was not wholly seen the extremes are those of what was seen.

    Examples
    --------
    >>> times = pd.date_range("2026-01-15", periods=25, freq="h", tz="America/New_York")
    >>> readings = pd.DataFrame({"plot": "101", "measure": "soil_temperature", "position": "",
    ...                          "time": times, "value": [2.0] * 12 + [4.0] * 13})
    >>> facts = ["minimum", "mean", "maximum", "readings", "completeness"]
    >>> daily_facts(readings)[facts].iloc[0].astype(float).tolist()
    [2.0, 3.0, 4.0, 24.0, 1.0]
    """
    return means(held(readings), local_times(readings["time"]).tz)


def means(pieces: pd.DataFrame, zone: object) -> pd.DataFrame:
    """Sum up each day from what held on it.

    Parameters
    ----------
    pieces : DataFrame
        As `wintersward.climate.held.held` gives them.
    zone : str or tzinfo
        Zone of the site.

    Returns
    -------
    DataFrame
        As of `daily_facts`.
    """
    weighted = pieces.assign(weighted=pieces["value"] * pieces["hours"])
    found = weighted.groupby(_KEYS, as_index=False).agg(
        minimum=("value", "min"),
        maximum=("value", "max"),
        weighted=("weighted", "sum"),
        seen=("hours", "sum"),
        readings=("own", "sum"),
    )
    days = every_day(found, zone)
    days["readings"] = days["readings"].fillna(0).astype("int64")
    days["seen"] = days["seen"].fillna(0.0)
    # A mean of equal values may come out a last digit beside them.
    mean = (days["weighted"] / days["seen"]).where(days["seen"] > 0)
    days["mean"] = mean.clip(days["minimum"], days["maximum"])
    days["amplitude"] = days["maximum"] - days["minimum"]
    days["completeness"] = (days["seen"] / days["day_hours"]).clip(upper=1.0)
    return days[FACTS]


def hours_in_band(
    readings: pd.DataFrame, low: float | None = None, high: float | None = None
) -> pd.DataFrame:
    """Count the hours of every day for which the values lay in a band.

    Parameters
    ----------
    readings : DataFrame
        As for `daily_facts`.
    low, high : float, optional [unit of the values]
        Limits, both within the band; without one the band has no end on that side.

    Returns
    -------
    DataFrame
        Columns date, plot, measure, position, hours [h] (not a number on a day of which nothing
        was seen), hours_seen [h], day_hours [h] (23 or 25 where the clocks change); rows as in
        `daily_facts`.

    Raises
    ------
    WinterswardError
        As for `daily_facts`; or no limit is given, or the lower one is above the upper one.
    """
    if low is None and high is None:
        raise WinterswardError("a band without limits; allowed: a low limit, a high one, or both")
    if low is not None and high is not None and low > high:
        raise WinterswardError(f"a band from {low:g} to {high:g}; allowed: the lower limit first")
    return band_hours(held(readings), local_times(readings["time"]).tz, low, high)


def band_hours(
    pieces: pd.DataFrame, zone: object, low: float | None, high: float | None
) -> pd.DataFrame:
    """Count the hours in a band from what held on each day.

    Parameters
    ----------
    pieces : DataFrame
        As `wintersward.climate.held.held` gives them.
    zone : str or tzinfo
        Zone of the site.
    low, high : float or None [unit of the values]
        Limits, both within the band.

    Returns
    -------
    DataFrame
        As of `hours_in_band`.
    """
    inside = pieces["hours"].where(in_band(pieces["value"], low, high), 0.0)
    found = pieces.assign(inside=inside).groupby(_KEYS, as_index=False)
    days = every_day(found.agg(hours=("inside", "sum"), hours_seen=("hours", "sum")), zone)
    days["hours_seen"] = days["hours_seen"].fillna(0.0)
    days["hours"] = days["hours"].where(days["hours_seen"] > 0)
    return days[[*_KEYS, "hours", "hours_seen", "day_hours"]]


def in_band(values: pd.Series, low: float | None, high: float | None) -> pd.Series:
    """Tell which values lie in a band; both limits are within it.

    Examples
    --------
    >>> in_band(pd.Series([1.0, 2.0, 3.0]), 2.0, None).tolist()
    [False, True, True]
    """
    inside = pd.Series(True, index=values.index)
    if low is not None:
        inside &= values >= low
    if high is not None:
        inside &= values <= high
    return inside


def every_day(found: pd.DataFrame, zone: object) -> pd.DataFrame:
    """Give every series a row for each day from its first to its last one.

    Parameters
    ----------
    found : DataFrame
        Columns date, plot, measure, position and others; a row a day that has something.
    zone : str or tzinfo
        Zone of the site; it says how long the days are.

    Returns
    -------
    DataFrame
        The rows of `found` and those of the days between, with day_hours [h] beside; sorted by
        date, plot, measure, position.
    """
    spans = found.groupby(SERIES)["date"].agg(["min", "max"])
    rows = [
        (day, *series)
        for series, first, last in zip(spans.index, spans["min"], spans["max"], strict=True)
        for day in pd.date_range(first, last, freq="D")
    ]
    wanted = pd.DataFrame(rows, columns=_KEYS)
    wanted["date"] = wanted["date"].astype("datetime64[us]")
    for name in SERIES:
        wanted[name] = wanted[name].astype("str")
    days = wanted.merge(found, on=_KEYS, how="left").sort_values(_KEYS, ignore_index=True)
    days["day_hours"] = day_lengths(days["date"], zone)
    # Where a place changed sides of the date line, a date may have no hours at all.
    return days[days["day_hours"] > 0].reset_index(drop=True)
