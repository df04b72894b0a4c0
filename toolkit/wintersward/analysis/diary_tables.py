"""What a run holds of the diary: covers that failed, care, mishaps, and the season's weather."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import pandas as pd

from wintersward.analysis.columns import Table
from wintersward.analysis.diary_columns import HAPPENED
from wintersward.errors import WinterswardError, listed
from wintersward.records.weather import read_weather
from wintersward.records.weather_months import month_summary
from wintersward.trial.diary import Diary, Lost

__all__ = ["happened_tables", "lost_words", "weather_tables"]


def happened_tables(diary: Diary) -> dict[str, pd.DataFrame]:
    """Put what the diary tells of covers, care and mishaps into tables.

    Returns
    -------
    dict of str to DataFrame
        ``cover_events``, ``management`` and ``mishaps``, each in the order of days.
    """
    return {
        "cover_events": _table(
            "cover_events",
            [(e.date, e.what, _plots(e.plots), e.note or "") for e in diary.cover_events],
        ),
        "management": _table(
            "management",
            [
                (m.date, m.what, _plots(m.plots), m.amount or "", m.note or "")
                for m in diary.management
            ],
        ),
        "mishaps": _table(
            "mishaps", [(m.date, _plots(m.plots), m.what, m.effect) for m in diary.mishaps]
        ),
    }


def lost_words(lost: Lost, label: Callable[[str], str]) -> str:
    """Say which planned observations were not made.

    Parameters
    ----------
    lost : Lost
        An entry under ``missing``.
    label : callable
        From the name of a measure to its label.
    """
    where = "all plots"
    if lost.named:
        where = f"{'plots' if len(lost.named) > 1 else 'plot'} {listed(lost.named)}"
    where += f", sample {lost.sample}" if lost.sample else ""
    where += f", rater {lost.rater}" if lost.rater else ""
    if lost.measure is None:
        return f"Nothing of what was due on {where} was observed."
    return f"{label(lost.measure)} of {where} was not observed."


def weather_tables(folder: Path, diary: Diary, days: Iterable[dt.date]) -> dict[str, pd.DataFrame]:
    """Sum up the weather of a trial month by month.

    Parameters
    ----------
    folder : Path
        The study folder.
    diary : Diary
        Names the file with the weather; without one the tables are empty.
    days : iterable of date
        Dates of the trial; the months from the first to the last are told.

    Returns
    -------
    dict of str to DataFrame
        ``weather_months`` and ``weather_gaps``.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the weather file.
    """
    if diary.weather is None:
        return {name: _table(name, []) for name in ("weather_months", "weather_gaps")}
    read = read_weather(folder, diary.weather)
    if read.problems:
        raise WinterswardError(read.problems)
    dates = sorted(days)
    months = month_summary(read.days, dates[0], dates[-1], diary.weather.normals)
    return {"weather_months": months, "weather_gaps": _gaps(read.days)}


def _gaps(days: pd.DataFrame) -> pd.DataFrame:
    """List runs of days without a row, and runs of rows without a value."""
    one = dt.timedelta(1)
    empty = days[["low", "high", "rain"]].isna().all(axis=1)
    what = {day.date(): "no values" for day in days.loc[empty, "date"]}
    dates = [day.date() for day in days["date"]]
    for before, after in itertools.pairwise(dates):
        what |= {before + i * one: "no row" for i in range(1, (after - before).days)}
    runs: list[tuple[dt.date, dt.date, int, str]] = []
    for day in sorted(what):
        if runs and runs[-1][1] + one == day and runs[-1][3] == what[day]:
            first, _, many, kind = runs.pop()
            runs.append((first, day, many + 1, kind))
        else:
            runs.append((day, day, 1, what[day]))
    return _table("weather_gaps", runs)


def _table(name: str, rows: Sequence[tuple[object, ...]]) -> pd.DataFrame:
    table: Table = HAPPENED[name]
    kinds = {"text": "str", "date": "datetime64[us]", "integer": "int64", "number": "float64"}
    frame = pd.DataFrame(rows, columns=[column.name for column in table.columns])
    frame = frame.astype({column.name: kinds[column.type] for column in table.columns})
    return frame.sort_values(list(frame.columns[:1]), kind="stable", ignore_index=True)


def _plots(plots: str | list[str]) -> str:
    return plots if isinstance(plots, str) else ", ".join(plots)
