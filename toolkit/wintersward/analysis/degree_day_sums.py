"""Degree days of every plot, as the definition counts them; and growth beside them."""

from __future__ import annotations

import pandas as pd

from wintersward.analysis.climate_facts import day_facts, used_readings
from wintersward.analysis.dollar_spot import weather_days
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.results import empty
from wintersward.analysis.under_cover import less_control, with_levels
from wintersward.analysis.units import plot_values
from wintersward.climate.degree_days import degree_days, from_readings, summed
from wintersward.study import Trial
from wintersward.trial.climate import DegreeDays
from wintersward.trial.schema import PhotoMeasure

__all__ = ["degree_day_sums", "growth", "sums_by_level"]

_DAYS = ["date", "plot", "degree_days"]


def degree_day_sums(trial: Trial) -> pd.DataFrame:
    """Sum the degree days of every plot from the day that the definition names.

    Parameters
    ----------
    trial : Trial
        The study.

    Returns
    -------
    DataFrame
        The table ``degree_day_sums``; empty where the definition asks for none, or where nothing
        of it was measured. Without a measure they are those of the air, and have no plot.

    Raises
    ------
    WinterswardError
        With everything that is wrong in what was gathered.

    Notes
    -----
    From the first day that is missing or set aside on, a plot has no sum: one that left out a day
    would look like a cold spell. Of several sensors in a plot it is the mean.
    """
    none = empty("degree_day_sums")
    asked = trial.definition.climate.degree_days if trial.definition.climate else None
    if asked is None:
        return none
    days = _air(trial, asked) if asked.measure is None else _of_plots(trial, asked, asked.measure)
    start = trial.date(asked.from_)
    parts = []
    for plot, own in days.groupby("plot", sort=True):
        made = summed(own["date"], own["degree_days"], start)
        made = made.rename(columns={"value": "degree_days", "total": "sum"})
        parts.append(made.assign(plot=str(plot)))
    found = [part for part in parts if not part.empty]
    return pd.concat(found, ignore_index=True)[list(none.columns)] if found else none


def _of_plots(trial: Trial, asked: DegreeDays, measure: str) -> pd.DataFrame:
    """Give the degree days of every day of every plot, from readings or from extremes."""
    if asked.method != "integrated":
        days = day_facts(trial)
        days = days[days["measure"] == measure]
        found = degree_days(days["minimum"], days["maximum"], asked.base, asked.upper, asked.method)
        return days.assign(degree_days=found)[_DAYS]
    readings = used_readings(trial)
    readings = readings[readings["measure"] == measure]
    least = getattr(trial.measure(measure), "complete", 100.0) / 100
    parts = [
        from_readings(own["time"], own["value"], asked.base, asked.upper, least).assign(
            plot=str(plot)
        )
        for (plot, _), own in readings.groupby(["plot", "position"], sort=True)
    ]
    if not parts:
        return pd.DataFrame(columns=_DAYS)
    known = pd.concat(parts, ignore_index=True).dropna(subset=["degree_days"])
    return known.groupby(["plot", "date"])["degree_days"].mean().reset_index()[_DAYS]


def _air(trial: Trial, asked: DegreeDays) -> pd.DataFrame:
    """Give the degree days of the air, from the weather file."""
    days = weather_days(trial)
    found = degree_days(days["low"], days["high"], asked.base, asked.upper, asked.method)
    return days.assign(degree_days=found, plot="")[_DAYS]


def sums_by_level(trial: Trial, plots: LoggedPlots, sums: pd.DataFrame) -> pd.DataFrame:
    """Average the sums of degree days over the plots of each treatment.

    Parameters
    ----------
    trial : Trial
        The study.
    plots : LoggedPlots
        Its plots, and the covers on them.
    sums : DataFrame
        As `degree_day_sums` gives them.

    Returns
    -------
    DataFrame
        The table ``degree_days_by_level``; empty until the primary question has its data, and for
        degree days of the air, which all plots share. On each day over the plots whose sum is
        known; their number stands beside it.
    """
    none = empty("degree_days_by_level")
    if not trial.ready:
        return none
    known = with_levels(sums[sums["sum"].notna()], plots)
    by_level = known.groupby(["date", "level"], as_index=False)
    found = by_level.agg(sum=("sum", "mean"), plots=("plot", "nunique"))
    found["more"] = less_control(found, ["date"], "sum", plots.control)
    return found[list(none.columns)]


def growth(trial: Trial, sums: pd.DataFrame) -> pd.DataFrame:
    """Set the photo measure of every plot beside the sum of its degree days.

    Parameters
    ----------
    trial : Trial
        The study.
    sums : DataFrame
        As `degree_day_sums` gives them.

    Returns
    -------
    DataFrame
        The table ``growth``, of the primary measure where that comes from photos, else of the
        first that does. A plot without a logger of its own has the sum of its whole plot, or that
        of the air.
    """
    none = empty("growth")
    measures, asked = trial.definition.measures, trial.definition.analysis.primary.measure
    first = sorted(trial.photo_measures, key=lambda name: name != asked)[:1]
    if not first or sums.empty or not isinstance(measures[first[0]], PhotoMeasure):
        return none
    seen = trial.observations(first[0])
    seen = seen[seen["excluded"] == ""]
    parts = [plot_values(day)[0].assign(date=date) for date, day in seen.groupby("date")]
    if not parts:
        return none
    known = sums.set_index(["date", "plot"])["sum"]
    found = pd.concat(parts, ignore_index=True).assign(measure=first[0])
    wholes = dict(zip(trial.plots["plot"], trial.plots["whole_plot"], strict=True))
    found["degree_days"] = float("nan")
    for names in (found["plot"], found["plot"].map(wholes), pd.Series("", found.index)):
        keys = pd.MultiIndex.from_arrays([found["date"].astype("datetime64[us]"), names])
        own = pd.Series(known.reindex(keys).to_numpy(), found.index)
        found["degree_days"] = found["degree_days"].fillna(own)
    return found.dropna(subset=["degree_days"])[list(none.columns)].reset_index(drop=True)
