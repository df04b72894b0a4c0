"""Loggers become daily facts, and daily facts become observations."""

from __future__ import annotations

import functools
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from wintersward import records
from wintersward.climate.daily import daily_facts
from wintersward.climate.held import SERIES
from wintersward.climate.local_days import local_times
from wintersward.errors import Problem
from wintersward.records.logger_sums import LoggerFlag
from wintersward.records.observations import observation_frame
from wintersward.trial import Definition, Diary
from wintersward.trial.applied import begins
from wintersward.trial.schema import LoggerMeasure

__all__ = ["OF_WHOLE_PLOT", "Logged", "logger_observations", "plots_within", "read_logged"]

# Flag of a value that one logger gave for a whole plot, and so for each plot within.
OF_WHOLE_PLOT = "of the whole plot"
_KEYS = ["date", *SERIES]
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Logged:
    """What the loggers of a study gave.

    Parameters
    ----------
    readings : DataFrame
        Columns plot (a plot or a whole plot, as the diary names it), measure, position, time (by
        the clock of the site), value [degC], source (file and line).
    facts : DataFrame
        As `wintersward.climate.daily_facts` gives them, and source: the first line of the day.
    observations : DataFrame
        Columns `wintersward.records.COLUMNS`, nothing marked.
    sums : list of LoggerSums
        What became of every row, one a column of values.
    flags : list of LoggerFlag
        What looks odd.
    unread : list of Problem
        Files that the diary does not name; no hindrance.
    """

    readings: pd.DataFrame
    facts: pd.DataFrame
    observations: pd.DataFrame
    sums: list[records.LoggerSums] = field(default_factory=list)
    flags: list[LoggerFlag] = field(default_factory=list)
    unread: list[Problem] = field(default_factory=list)

    @property
    def faulty(self) -> list[records.LoggerSums]:
        """What became of the rows of columns in which something cannot be read."""
        wrong = ("unreadable", "refused")
        return [one for one in self.sums if any(one.removed.get(name) for name in wrong)]

    @property
    def files(self) -> int:
        """Number of files that gave readings."""
        return len({one.file for one in self.sums if one.used})


def read_logged(
    folder: Path, definition: Definition, diary: Diary, plots: pd.DataFrame
) -> tuple[Logged, list[Problem]]:
    """Read the loggers of a study, and sum up their days.

    Parameters
    ----------
    folder : Path
        The study folder.
    definition, diary : Definition, Diary
        Measures from loggers and the zone of the site; how each file is read.
    plots : DataFrame
        ``plan/plots.csv``, one row a plot.

    Returns
    -------
    logged : Logged
        As far as the files can be read.
    problems : list of Problem
        What is wrong in them, without line and column where it stands in the diary.
    """
    read = records.read_loggers(folder, definition, diary, plots)
    zone = definition.site.time_zone or "UTC"
    readings = read.readings.assign(time=read.readings["time"].dt.tz_convert(zone))
    readings = readings[[*SERIES, "time", "value", "source"]]
    facts = _no_facts(zone).copy() if readings.empty else daily_facts(readings)
    facts["source"] = _first_lines(readings, facts)
    seen = logger_observations(definition, plots, facts)
    return Logged(readings, facts, seen, read.sums, read.flags, read.unread), read.problems


@functools.cache
def _no_facts(zone: str) -> pd.DataFrame:
    """Give the facts of no readings, which most studies have, with the types of their columns."""
    times = pd.DatetimeIndex([], dtype=f"datetime64[us, {zone}]")
    series = {name: pd.Series(dtype="str") for name in SERIES}
    return daily_facts(pd.DataFrame({**series, "time": times, "value": pd.Series(dtype="float64")}))


def _first_lines(readings: pd.DataFrame, facts: pd.DataFrame) -> pd.Series:
    """Name the first line of each day, or the last one before where none was read on the day."""
    if readings.empty:
        return pd.Series(dtype="str")
    dates = local_times(readings["time"]).tz_localize(None).normalize()
    firsts = readings.assign(date=dates).drop_duplicates(_KEYS)[[*_KEYS, "source"]]
    named = facts[_KEYS].merge(firsts, on=_KEYS, how="left")
    return named.groupby(SERIES, sort=False)["source"].ffill().astype("str")


def logger_observations(
    definition: Definition, plots: pd.DataFrame, facts: pd.DataFrame
) -> pd.DataFrame:
    """Make observations of the measures from loggers out of daily facts.

    Parameters
    ----------
    definition : Definition
        Says which fact of a day is the observation, and how much of it must have been seen.
    plots : DataFrame
        ``plan/plots.csv``, one row a plot.
    facts : DataFrame
        As `Logged` has them.

    Returns
    -------
    DataFrame
        Columns `wintersward.records.COLUMNS`, one row a plot, measure and day; the source is the
        first line of the day.

    Notes
    -----
    Of several sensors in one plot it is the mean of those that saw enough of the day; a flag tells
    where one is lacking. What a logger of a whole plot saw is the value of each plot within, as
    long as nothing that differs within it was applied: until then the whole plot is one
    experimental unit. From then on one logger would pass for several, and gives no observation.
    A plot with a logger of its own has that one's value.
    """
    frames = [
        _of_measure(name, measure, facts[facts["measure"] == name])
        for name, measure in definition.measures.items()
        if isinstance(measure, LoggerMeasure)
    ]
    if not frames:
        return observation_frame([])
    seen = pd.concat(frames, ignore_index=True)
    own = seen["plot"].isin(plots["plot"])
    spread = _within(seen[~own], definition, plots)
    seen = pd.concat([seen[own], spread], ignore_index=True)
    seen = seen.drop_duplicates(["date", "plot", "measure"])
    told = seen.assign(sample=1, rater="", unit="degC", excluded="")
    return told[list(records.COLUMNS)].reset_index(drop=True)


def _of_measure(name: str, measure: LoggerMeasure, facts: pd.DataFrame) -> pd.DataFrame:
    """Give the value of each day and named plot, of one measure."""
    value = facts[measure.daily]
    known = (100 * facts["completeness"] >= measure.complete - _ROUNDING) & value.notna()
    used = facts.assign(value=value)[known]
    by_day = used.groupby(["date", "plot"], sort=False)
    found = by_day.agg(
        value=("value", "mean"), source=("source", "; ".join), used=("value", "size")
    )
    there = facts.groupby(["date", "plot"]).size().reindex(found.index)
    lacking = found["used"].to_numpy() < there.to_numpy()
    told = [f"{k} of {n} sensors" for k, n in zip(found["used"], there, strict=True)]
    found["flags"] = np.where(lacking, told, "")
    return found.reset_index().assign(measure=name).drop(columns="used")


def _within(seen: pd.DataFrame, definition: Definition, plots: pd.DataFrame) -> pd.DataFrame:
    """Give each plot within a whole plot the value of its logger, while it is one unit."""
    parts = []
    for whole, own in seen.groupby("plot", sort=False):
        within = plots[plots["whole_plot"] == whole]
        differing = [name for name in definition.treatments if within[name].nunique() > 1]
        until = [pd.Timestamp(begins(definition, name)) for name in differing]
        kept = own[own["date"] <= min(until)] if until else own
        flags = [f"{OF_WHOLE_PLOT}; {flag}".removesuffix("; ") for flag in kept["flags"]]
        parts += [kept.assign(plot=str(plot), flags=flags) for plot in within["plot"]]
    return pd.concat(parts, ignore_index=True) if parts else seen


def plots_within(plots: pd.DataFrame, named: str) -> list[str]:
    """List the plots that a name stands for: itself, or those within a whole plot.

    Examples
    --------
    >>> plan = pd.DataFrame({"plot": ["101", "102"], "whole_plot": ["1A", "1A"]})
    >>> plots_within(plan, "1A"), plots_within(plan, "102")
    (['101', '102'], ['102'])
    """
    meant = (plots["plot"] == named) | (plots["whole_plot"] == named)
    return [str(plot) for plot in plots.loc[meant, "plot"]]
