"""How far holes had closed, and how green turf was, on each plot since its aeration."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd

from wintersward.analysis.units import plot_values
from wintersward.decisions.planner import aerating_days
from wintersward.study import Trial
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, PhotoMeasure, SheetMeasure

__all__ = ["CLOSED", "aerated_on", "closure", "closure_measures", "cover_measure", "values_on"]

# Holes count as closed, and turf as back, from this share on [%] (common practice, no source).
CLOSED = 95.0


def aerated_on(definition: Definition) -> dt.date | None:
    """Give the day of the aeration; None where the definition names none.

    Parameters
    ----------
    definition : Definition
        The trial. The day on which its treatments with a tine were applied; else the one that is
        planned, or the date that is called ``aeration``.
    """
    for factor in definition.treatments.values():
        tined = any(level.tine is not None for level in factor.levels.values())
        if tined and factor.applied is not None:
            return dates_meant(definition.dates, factor.applied)[0]
    day = aerating_days(definition)[0]
    if day is None and "aeration" in definition.dates:
        day = dates_meant(definition.dates, "aeration")[0]
    return day


def closure_measures(definition: Definition) -> list[str]:
    """Name the measures that tell how far holes have closed."""
    measures = definition.measures.items()
    return [n for n, m in measures if isinstance(m, SheetMeasure) and m.kind == "hole_closure"]


def cover_measure(definition: Definition) -> str | None:
    """Name the measure of green cover from photos: that of the primary question, or the first."""
    measures = definition.measures.items()
    found = [n for n, m in measures if isinstance(m, PhotoMeasure) and m.score == "cover"]
    asked = definition.analysis.primary.measure
    return asked if asked in found else next(iter(found), None)


def values_on(trial: Trial, measure: str, date: dt.date) -> pd.DataFrame:
    """Average the used observations of a measure on each plot, on one date.

    Returns
    -------
    DataFrame
        Columns plot, value, n; one row a plot with an observation.
    """
    seen = trial.observations(measure)
    chosen = seen[(seen["date"] == pd.Timestamp(date)) & (seen["excluded"] == "")]
    return plot_values(chosen)[0]


def closure(trial: Trial, measures: list[str], on: dt.date, sums: pd.DataFrame) -> pd.DataFrame:
    """Set the values of each plot beside the days and degree days since the aeration.

    Parameters
    ----------
    trial : Trial
        The study.
    measures : list of str
        Measures of it. Of each the dates after the aeration are told, and the last one before,
        where there is one.
    on : date
        Day of the aeration.
    sums : DataFrame
        The table ``degree_day_sums`` of the run, in degC d.

    Returns
    -------
    DataFrame
        Columns measure, date, plot, days [day], degree_days [degC d], value [unit of the measure],
        and one a treatment factor.

    Notes
    -----
    Degree days are the difference of two sums, each to the end of its day. A plot without a logger
    of its own has those of its whole plot, or of the air. Where a day between was not seen there
    are none.
    """
    parts = []
    for measure in measures:
        dates = trial.dates(measure)
        before = [date for date in dates if date <= on][-1:]
        for date in [*before, *(date for date in dates if date > on)]:
            found = values_on(trial, measure, date)
            warmth = _summed(trial, sums, date) - _summed(trial, sums, on)
            found["degree_days"] = found["plot"].map(warmth).astype("float64")
            parts.append(
                found.assign(measure=measure, date=pd.Timestamp(date), days=(date - on).days)
            )
    filled = [part for part in parts if len(part)]
    if not filled:
        return pd.DataFrame()
    factors = trial.plots[["plot", *trial.factors]].astype("str")
    return pd.concat(filled, ignore_index=True).merge(factors, on="plot")


def _summed(trial: Trial, sums: pd.DataFrame, date: dt.date) -> pd.Series:
    """Give the sum of degree days of every plot to the end of a day; not a number where unknown."""
    plots = trial.plots["plot"].astype("str")
    found = pd.Series(np.nan, index=plots)
    day = sums[pd.to_datetime(sums["date"]) == pd.Timestamp(date)]
    known = day.assign(plot=day["plot"].fillna("").astype(str)).set_index("plot")["sum"]
    wholes = trial.plots["whole_plot"].astype("str")
    for names in (plots, wholes, pd.Series("", index=plots.index)):
        own = known.reindex(names.to_numpy()).to_numpy(dtype=float)
        found = found.fillna(pd.Series(own, index=plots))
    return found
