"""The daily weather of a season, read from a station's file."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

import pandas as pd

from wintersward.errors import Problem, closest, listed
from wintersward.records.cells import number_in, read_day, read_number, said
from wintersward.records.tables import SUFFIXES, Table, read_tables
from wintersward.trial.diary import Weather
from wintersward.trial.diary_checks import WEATHER_COLUMNS
from wintersward.units import UNITS, from_si, stands_for, to_si

__all__ = ["FOLDER", "DailyWeather", "read_weather"]

FOLDER = "loggers"
# How far down headings are looked for, to tell what stands above them.
_LOOK = 20
_VALUES = ("low", "high", "rain", "humidity", "radiation")
# Columns that are read where the diary names their heading; of each there is one unit, that of
# radiation for the sum of a day.
_NAMED = {"humidity": "%", "radiation": "MJ/m2"}
# No sports ground is colder or hotter than -60 and 55 degC (common practice, no source), and a
# file's -99 for a missing value lies beyond them in degF and degC. More than 1825 mm of rain in a
# day was never measured (Foc-Foc, 1966; World Meteorological Organization, World Weather and
# Climate Extremes Archive). On no day do 50 MJ/m2 reach the top of the air (from memory; Allen et
# al. 1998, FAO Irrigation and Drainage Paper 56, annex 2).
_LIMITS = {"low": (-60.0, 55.0), "high": (-60.0, 55.0), "rain": (0.0, 1825.0)}
_LIMITS |= {"humidity": (0.0, 100.0), "radiation": (0.0, 50.0)}
_WHY = {
    "low": "beyond which no sports ground lies",
    "high": "beyond which no sports ground lies",
    "rain": "which is all that was ever measured",
    "humidity": "as relative humidity can be",
    "radiation": "for a day's sum cannot be more than reaches the top of the air",
}
# Numbers that files write where nothing was measured; the other usual ones lie beyond all limits.
_CODES = (999.0, 999.9, 999.99)
# Rain too little to measure, as station reports write it.
_TRACE = ("t", "trace")


@dataclass(frozen=True)
class DailyWeather:
    """The days of a weather file.

    Parameters
    ----------
    days : DataFrame
        Columns date, low [degC], high [degC], rain [mm], humidity [%] (relative, mean of the day),
        radiation [MJ m-2 d-1] (sum of the day on a level surface), source (file and row); one row
        a day, ascending. What was not measured is not a number.
    problems : list of Problem
        What keeps the file from being used, sorted by place; days without fault are still there.
    gaps : list of Problem
        Days that are not in the file between its first and last one; told, and no hindrance.
    """

    days: pd.DataFrame
    problems: list[Problem] = field(default_factory=list)
    gaps: list[Problem] = field(default_factory=list)


def read_weather(folder: Path, weather: Weather) -> DailyWeather:
    """Read the weather file that the diary names.

    Parameters
    ----------
    folder : Path
        The study folder; the file lies in its folder ``loggers``.
    weather : Weather
        What the diary says about the file.

    Returns
    -------
    DailyWeather
        Nothing in it where the file cannot be read.

    Notes
    -----
    Columns are found by the headings that the diary gives, else by the names date, low, high
    and rain; capitals and a unit in brackets make no difference. Rain is read where the diary
    states its unit, humidity and radiation where it names their headings. Rain that a report calls
    a trace (T) counts as 0 mm.
    """
    table, problems = _table(folder, weather)
    if table is None:
        return DailyWeather(_frame([]), sorted(problems))
    reader = _Reader(table, weather)
    reader.problems += problems
    reader.read()
    days = _frame(reader.rows)
    return DailyWeather(days, sorted(set(reader.problems)), reader.gaps())


def _frame(rows: list[dict[str, object]]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=["date", *_VALUES, "source"])
    frame["date"] = pd.to_datetime(frame["date"]).astype("datetime64[us]")
    values = {name: frame[name].astype("float64") for name in _VALUES}
    frame = frame.assign(**values, source=frame["source"].astype("str"))
    return frame.sort_values("date", kind="stable", ignore_index=True)


def _table(folder: Path, weather: Weather) -> tuple[Table | None, list[Problem]]:
    """Find the file, and the tab that is meant."""
    name = weather.file.replace("\\", "/").removeprefix(f"{FOLDER}/")
    place = folder / FOLDER
    files = [path.name for path in sorted(place.iterdir())] if place.is_dir() else []
    files = [
        file for file in files if Path(file).suffix.lower() in SUFFIXES and file[0] not in ".~"
    ]
    if len(PurePosixPath(name).parts) != 1 or name not in files:
        allowed = f"a file of kind {listed(SUFFIXES)} in the folder {FOLDER}"
        allowed += f" ({listed(files)})" if files else ""
        hint = closest(name, files) or f"put it into {FOLDER}"
        return None, [_in_diary("file", f"'{weather.file}'", allowed, hint)]
    tables, problems = read_tables(place / name, f"{FOLDER}/{name}")
    if problems:
        return None, problems
    named = [t for t in tables if weather.tab is None or t.tab == weather.tab]
    if len(named) == 1:
        return named[0], []
    tabs = [table.tab for table in tables if table.tab]
    if not tables:
        return None, [Problem(f"{FOLDER}/{name}", found="an empty file", hint="save it again")]
    found = f"'{weather.tab}'" if weather.tab else f"no tab named, and {len(tabs)} in the workbook"
    allowed = listed(tabs) or "no tab, for it is not a workbook"
    return None, [_in_diary("tab", found, allowed, closest(weather.tab or "", tabs))]


def _in_diary(name: str, found: str, allowed: str, hint: str) -> Problem:
    return Problem("diary.yaml", 0, 0, f"weather.{name}", found, allowed, hint)


class _Reader:
    """Turns the rows of a table into days, and keeps what is wrong."""

    def __init__(self, table: Table, weather: Weather) -> None:
        self.table = table
        self.weather = weather
        degrees, depth = weather.units.temperature, weather.units.rain
        self.units: dict[str, str] = {"low": degrees, "high": degrees}
        if depth is not None:
            self.units["rain"] = depth
        self.units |= {n: unit for n, unit in _NAMED.items() if n in weather.columns}
        self.missing = {code.strip().casefold() for code in weather.missing}
        self.headings = [" ".join(h.split()) for h in table.rows[0]] if table.rows else []
        self.place: dict[str, int] = {}
        self.rows: list[dict[str, object]] = []
        self.seen: dict[dt.date, int] = {}
        self.problems: list[Problem] = []

    def read(self) -> None:
        """Read every row below the headings."""
        self._find_columns()
        if self.problems:
            return
        for number, cells in enumerate(self.table.rows[1:], 2):
            surplus = [cell for cell in cells[len(self.headings) :] if cell]
            if surplus:
                hint = "put a value that holds a comma in quotes"
                self._wrong(
                    number, "", f"'{surplus[-1]}' to the right of the last heading", "", hint
                )
                continue
            filled = {n: cells[at] if at < len(cells) else "" for n, at in self.place.items()}
            if any(filled.values()):
                self._day(number, filled)

    def _find_columns(self) -> None:
        wanted = [name for name in WEATHER_COLUMNS if name == "date" or name in self.units]
        if not any(any(row) for row in self.table.rows):
            self._wrong(0, "", "an empty file", "", "save it again")
            return
        if not any(self.headings):
            self._wrong(1, "", "no headings", "", "put the headings in row 1")
            return
        for at, row in enumerate(self.table.rows[1:_LOOK], 2):
            if all(len(self._spots(row, name)) == 1 for name in wanted):
                found = f"{_quoted(next(filter(None, self.headings)))} above the headings"
                hint = f"remove what stands above row {at}"
                self._wrong(1, "", found, "headings in row 1", hint)
                return
        for name in wanted:
            given = self.weather.columns.get(name)
            places = self._spots(self.headings, name)
            if len(places) == 1:
                self._unit_problem(name, self.headings[places[0]])
                self.place[name] = places[0]
                continue
            self._no_column(name, given, len(places))

    def _spots(self, headings: Sequence[str], name: str) -> list[int]:
        given = self.weather.columns.get(name)
        return _places(headings, given or name, exact=given is not None)

    def _unit_problem(self, name: str, heading: str) -> None:
        """Tell a heading whose unit, in brackets, is not that of the diary."""
        found = re.search(r"[\[(]([^\[\]()]*)[\])]\s*$", heading)
        unit = self.units.get(name, "")
        if found is None or not unit or found[1] == unit or stands_for(found[1], unit):
            return
        if any(found[1] == one or stands_for(found[1], one) for one in UNITS):
            hint = "correct 'units' of weather in diary.yaml, or the heading"
            self._wrong(1, heading, f"values in {found[1]}", number_in(unit), hint)

    def _no_column(self, name: str, given: str | None, count: int) -> None:
        headings = list(filter(None, self.headings))
        near = closest((given or name).casefold(), [h.casefold() for h in headings])
        if count:
            found, allowed, near = f"'{given or name}' in {count} columns", "one", ""
        else:
            found, allowed = f"no heading '{given or name}'", listed(headings)
        hint = "name the heading under 'columns' of weather in diary.yaml"
        if given is not None or count:
            hint = "correct 'columns' of weather in diary.yaml, or the headings"
        if name == "rain" and not count:
            hint += "; without a rain gauge leave out 'rain' under 'units'"
        self._wrong(1, name, found, allowed, f"{near} {hint}".strip())

    def _wrong(self, row: int, column: str, found: str, allowed: str, hint: str = "") -> None:
        self.problems.append(Problem(self.table.name, 0, 0, column, found, allowed, hint, row))

    def _heading(self, name: str) -> str:
        return self.headings[self.place[name]]

    def _day(self, number: int, cells: dict[str, str]) -> None:
        try:
            day = read_day(cells["date"], self.weather.date_order)
        except ValueError as error:
            self._wrong(number, self._heading("date"), _quoted(cells["date"]), *_there(error))
            return
        if day in self.seen:
            found = f"the day {day} a second time"
            hint = f"the first is in row {self.seen[day]}; keep one of the two"
            self._wrong(number, self._heading("date"), found, "one row a day", hint)
            return
        self.seen[day] = number
        values = {name: self._value(number, name, cells[name]) for name in self.units}
        if None in values.values():
            return
        read = {name: value for name, value in values.items() if value is not None}
        if read["low"] > read["high"]:
            found = f"a low of {cells['low']} and a high of {cells['high']}"
            hint = "if the columns are swapped, correct 'columns' of weather in diary.yaml"
            self._wrong(number, self._heading("low"), found, "a low no higher than the high", hint)
            return
        self.rows.append({"date": day, **read, "source": f"{self.table.name}:{number}"})

    def _value(self, number: int, name: str, text: str) -> float | None:
        """Read one value; not a number where it is missing, None where wrong."""
        if text.casefold() in self.missing:
            return float("nan")
        if name == "rain" and text.casefold() in _TRACE:
            return 0.0
        unit = self.units[name]
        try:
            stored = self.table.tab != ""
            value = read_number(text, self.weather.decimal, stored)
        except ValueError as error:
            allowed, hint = _there(error)
            hint = hint or _NO_VALUE
            rule = allowed.replace("a number", number_in(unit), 1)
            self._wrong(number, self._heading(name), _quoted(text), rule, hint)
            return None
        if value in _CODES or not _may_be(name, value, unit):
            ends = [_from_inside(name, end, unit) for end in _LIMITS[name]]
            allowed = f"{ends[0]:.4g} to {ends[1]:.4g} {unit}, {_WHY[name]}"
            hint, other = _NO_VALUE, _OTHER.get(unit)
            if other and value not in _CODES and _may_be(name, value, other):
                hint = f"is it in {other}? then correct 'units' of weather in diary.yaml"
            self._wrong(number, self._heading(name), _quoted(text), allowed, hint)
            return None
        return _inside(name, value, unit)

    def gaps(self) -> list[Problem]:
        """Tell the days that are not in the file, at the row after which they are missing."""
        told = []
        days = sorted(self.seen)
        for before, after in zip(days, days[1:], strict=False):
            away = (after - before).days - 1
            if away:
                count = "1 day is" if away == 1 else f"{away} days are"
                found, allowed = f"{after} as the day after {before}", "a row for every day"
                row, column = self.seen[before], self._heading("date")
                hint = f"{count} missing"
                told.append(Problem(self.table.name, 0, 0, column, found, allowed, hint, row))
        return told


_NO_VALUE = (
    "correct it, or, if it stands for a missing value, list it under 'missing' of weather in "
    "diary.yaml"
)
# Depths of rain are told in mm.
_DEPTHS = {"low": 1, "high": 1, "rain": 1000}


def _inside(name: str, value: float, unit: str) -> float:
    """Convert a value into degC or mm; what has one unit alone stays."""
    return value if name in _NAMED else to_si(value, unit) * _DEPTHS[name]


def _from_inside(name: str, value: float, unit: str) -> float:
    """Convert a value of degC or mm into the unit of the file."""
    return value if name in _NAMED else from_si(value / _DEPTHS[name], unit)


def _may_be(name: str, value: float, unit: str) -> bool:
    """Tell whether a value lies within the limits of what it is."""
    low, high = _LIMITS[name]
    # A value that is written in another unit may differ in the last digit.
    return low - 0.05 <= _inside(name, value, unit) <= high + 0.05


_OTHER = {"degF": "degC", "degC": "degF", "in": "mm", "mm": "in"}


def _there(error: ValueError) -> tuple[str, str]:
    """Say of an error where in the diary this file is described."""
    allowed, hint = said(error)
    return allowed, hint.replace("this table in diary.yaml", "weather in diary.yaml")


def _places(headings: Sequence[str], name: str, exact: bool) -> list[int]:
    """Find the columns of a name: capitals, spaces and a unit in brackets make no difference."""

    def key(heading: str) -> str:
        bare = heading if exact else re.sub(r"\s*[\[(][^\[\]()]*[\])]\s*$", "", heading)
        return " ".join(bare.casefold().split())

    return [at for at, heading in enumerate(headings) if key(heading) == key(name)]


def _quoted(text: str) -> str:
    plain = " ".join(text.split())
    shown = plain if len(plain) <= 60 else f"{plain[:57]}..."
    return f"'{shown}'" if shown else "nothing"
