"""What no single field on loggers and forecast can tell: measures, plots, columns, days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from wintersward.trial.climate_checks import logger_measure
from wintersward.trial.diary_loggers import ForecastDay, LoggerFile
from wintersward.trial.plot_lists import known_plot
from wintersward.trial.question_checks import Found
from wintersward.trial.reading import Place
from wintersward.trial.schema import Definition

__all__ = ["forecast_found", "loggers_found"]


def loggers_found(
    loggers: Sequence[LoggerFile],
    definition: Definition,
    plots: Sequence[str] | None,
    season: tuple[dt.date, dt.date],
) -> Found:
    """Check what a diary tells of the files of loggers.

    Parameters
    ----------
    loggers : sequence of LoggerFile
        Of the diary.
    definition : Definition
        The trial as decided.
    plots : sequence of str or None
        Names of plots and whole plots; None before they are drawn.
    season : (date, date)
        First and last day on which something of the trial can have been.
    """
    for i, one in enumerate(loggers):
        for j, value in enumerate(one.values):
            place: Place = ("loggers", i, "values", j)
            yield from logger_measure(value.measure, definition.measures, (*place, "measure"))
            yield from known_plot((*place, "plot"), value.plot, plots)
            if value.column in one.time_columns:
                rule = "a column of readings"
                yield (*place, "column"), f"'{value.column}', which holds the time", rule, ""
        yield from _told_apart(i, one)
        yield from _in_season(i, one, season)
    yield from _columns_once(loggers)


def _told_apart(i: int, one: LoggerFile) -> Found:
    """Two sensors for the same thing in one plot need a name each."""
    seen: dict[tuple[str, str, str], int] = {}
    for j, value in enumerate(one.values):
        key = (value.plot, value.measure, value.position or "")
        if key in seen:
            place: Place = ("loggers", i, "values", j)
            found = f"{value.measure} of plot {value.plot} a second time"
            rule = f"another position than that of value {seen[key] + 1}"
            yield place, found, rule, "add 'position: b', or correct the plot"
        seen.setdefault(key, j)


def _in_season(i: int, one: LoggerFile, season: tuple[dt.date, dt.date]) -> Found:
    """Find days so long before or after the trial that the year is wrong.

    The logger's own clock may show any year: it starts anew where the battery was changed.
    """
    days: list[tuple[Place, dt.date]] = [
        (("loggers", i, "used", j), day) for j, day in enumerate(one.used or [])
    ]
    days += [
        (("loggers", i, "clock", j, "true"), look.true.date())
        for j, look in enumerate(one.clock or [])
    ]
    for place, day in days:
        yield from _year(place, day, season)


def _year(place: Place, day: dt.date, season: tuple[dt.date, dt.date]) -> Found:
    if not season[0] <= day <= season[1]:
        rule = f"a day of the season, from {season[0]} to {season[1]}"
        yield place, f"'{day}'", rule, "look at the year"


def _columns_once(loggers: Sequence[LoggerFile]) -> Found:
    """Find a column that is read twice for the same time."""
    columns = list(_columns(loggers))
    for at, (place, one, column) in enumerate(columns):
        for earlier, other, before in columns[:at]:
            if (one.file, column) == (other.file, before) and not _apart(one, other):
                first = f"values.{int(earlier[3]) + 1} of entry {int(earlier[1]) + 1}"
                found = f"'{column}' of {one.file} a second time"
                rule = f"a column that is not read already ({first})"
                hint = "for a logger that was moved, give each entry its days under 'used'"
                yield (*place, "column"), found, rule, hint
                break


def _columns(loggers: Sequence[LoggerFile]) -> Iterator[tuple[Place, LoggerFile, str]]:
    for i, one in enumerate(loggers):
        for j, value in enumerate(one.values):
            yield ("loggers", i, "values", j), one, value.column


def _apart(one: LoggerFile, other: LoggerFile) -> bool:
    """Tell two entries of one file that hold for different days."""
    if one.used is None or other.used is None:
        return False
    return one.used[1] < other.used[0] or other.used[1] < one.used[0]


def forecast_found(forecast: Sequence[ForecastDay], season: tuple[dt.date, dt.date]) -> Found:
    """Check the days of a forecast: each once, and within the season.

    Parameters
    ----------
    forecast : sequence of ForecastDay
        Of the diary.
    season : (date, date)
        First and last day on which something of the trial can have been.
    """
    seen: dict[dt.date, int] = {}
    for i, one in enumerate(forecast):
        if one.date in seen:
            rule = f"another day than that of entry {seen[one.date] + 1}"
            yield ("forecast", i, "date"), f"'{one.date}' a second time", rule, "keep the newer"
        seen.setdefault(one.date, i)
        yield from _year(("forecast", i, "date"), one.date, season)
