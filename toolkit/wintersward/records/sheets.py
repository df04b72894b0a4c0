"""Hand-filled tables: checked row by row, and turned into observations."""

from __future__ import annotations

import datetime as dt
import math
import re
from pathlib import Path
from typing import Any

import pandas as pd

from wintersward.errors import Problem, closest, listed
from wintersward.records.cells import read_day, read_number, said
from wintersward.records.headings import Columns, find_columns
from wintersward.records.observations import REPEAT, joined, observation_frame
from wintersward.records.tables import SUFFIXES, Table, read_tables
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import MISSING, Definition, Diary, Sheet, SheetMeasure
from wintersward.units import from_si, to_si

__all__ = ["read_sheets"]

# Tables that a spreadsheet program saves in a form that is not read here.
_OTHER_TABLES = (".xls", ".xlsb", ".ods", ".numbers", ".tsv")


def read_sheets(
    folder: Path, definition: Definition, diary: Diary, plots: pd.DataFrame
) -> tuple[pd.DataFrame, list[Problem]]:
    """Read every table in the folder ``sheets`` of a study.

    Parameters
    ----------
    folder : Path
        The study folder; without a folder ``sheets`` there are no observations yet.
    definition : Definition
        The trial as decided: measures, their units, limits, dates and raters.
    diary : Diary
        May say how a table is read.
    plots : DataFrame
        Columns plot and whole_plot, one row a plot.

    Returns
    -------
    observations : DataFrame
        Columns of `wintersward.records.COLUMNS`; values in the SI unit of their measure,
        ratings as they are; ``source`` is the file and the row in the spreadsheet; sorted
        by measure, date, plot, rater, sample. A value that is marked as missing makes no row.
        A rater's second look (column ``repeat``) has the flag `wintersward.records.REPEAT`.
    problems : list of Problem
        Everything that is wrong, sorted by place; rows without fault are still returned.
    """
    place = folder / "sheets"
    reader = _Reader(definition, plots)
    tables = _tables(place, reader.problems) if place.is_dir() else []
    entries = _entries(diary, [file.name for file in tables], reader.problems)
    for file in tables:
        called = f"sheets/{file.name}"
        found_tables, problems = read_tables(file, called)
        reader.problems += problems
        told = [(number, sheet) for name, number, sheet in entries if name == file.name]
        for table, sheet in _paired(called, found_tables, told, reader.problems):
            reader.read(table, sheet)
    observations = joined([observation_frame(reader.rows)], definition)
    return observations, sorted(set(reader.problems))


def _tables(place: Path, problems: list[Problem]) -> list[Path]:
    """List the tables of a folder, and tell of those that are not read."""
    tables = []
    for file in sorted(place.rglob("*")):
        inside = file.relative_to(place)
        kind = file.suffix.lower()
        if any(part[0] in "~." for part in inside.parts) or not file.is_file():
            continue
        if kind in _OTHER_TABLES:
            found, hint = f"a file of kind {kind}", "save it as .xlsx or .csv"
        elif kind in SUFFIXES and len(inside.parts) > 1:
            found, hint = "a sheet in a folder within sheets", "move it up into sheets"
        else:
            tables += [file] if kind in SUFFIXES else []
            continue
        problems.append(Problem(f"sheets/{inside.as_posix()}", found=found, hint=hint))
    return tables


def _entries(
    diary: Diary, files: list[str], problems: list[Problem]
) -> list[tuple[str, int, Sheet]]:
    """Match the diary's entries about sheets with the files that are there."""
    entries = []
    for number, sheet in enumerate(diary.sheets, 1):
        name = sheet.file.replace("\\", "/").removeprefix("sheets/")
        if name in files:
            entries.append((name, number, sheet))
            continue
        allowed = f"a file in sheets ({listed(files)})" if files else "a file in sheets"
        field = f"sheets.{number}.file"
        near = closest(name, files)
        problems.append(Problem("diary.yaml", 0, 0, field, f"'{sheet.file}'", allowed, near))
    return entries


def _paired(
    name: str, tables: list[Table], told: list[tuple[int, Sheet]], problems: list[Problem]
) -> list[tuple[Table, Sheet | None]]:
    """Pair tables with what the diary says; tabs that it does not name are then left out."""
    if not told:
        chosen = [t for t in tables if len(tables) == 1 or _has_keys(t)]
        if tables and not chosen:
            said = f"no tab with the headings date and plot among {listed(t.tab for t in tables)}"
            hint = "put the headings in row 1, name the tab in diary.yaml, or move the file out of"
            problems.append(Problem(name, found=said, hint=f"{hint} sheets"))
        return [(t, None) for t in chosen]
    pairs: list[tuple[Table, Sheet | None]] = []
    for number, sheet in told:
        named = [t for t in tables if t.tab == sheet.tab]
        if sheet.tab is None:
            # Of a workbook with remarks beside the records, the records are meant.
            named = [t for t in tables if _has_keys(t)] or tables
        if not named and tables:
            field, tabs = f"sheets.{number}.tab", [t.tab for t in tables if t.tab]
            allowed = listed(tabs) or "no tab, for it is not a workbook"
            near = closest(str(sheet.tab), tabs)
            problems.append(Problem("diary.yaml", 0, 0, field, f"'{sheet.tab}'", allowed, near))
        pairs += [(table, sheet) for table in named]
    return pairs


def _has_keys(table: Table) -> bool:
    """Tell a tab of records from a tab of remarks beside it."""
    headings = [heading.strip().casefold() for heading in table.rows[0]] if table.rows else []
    return "date" in headings or "plot" in headings


class _Reader:
    """Turns tables into rows of observations, and keeps what is wrong and what was seen."""

    def __init__(self, definition: Definition, plots: pd.DataFrame) -> None:
        self.definition = definition
        self.plots = list(plots["plot"])
        self.whole_plots = set(plots["whole_plot"]) - {""}
        self.people = [person.initials for person in definition.people]
        self.dates = {
            name: dates_meant(definition.dates, measure.dates)
            for name, measure in definition.measures.items()
        }
        self.rows: list[tuple[Any, ...]] = []
        self.problems: list[Problem] = []
        self.seen: dict[tuple[Any, ...], str] = {}

    def read(self, table: Table, sheet: Sheet | None) -> None:
        """Read one table."""
        columns = find_columns(table, sheet, self.definition)
        self.problems += columns.problems
        if columns.problems:
            return
        codes = sheet.missing if sheet else MISSING
        missing = {code.strip().casefold() for code in codes}
        for number, cells in enumerate(table.rows[1:], 2):
            surplus = [cell for cell in cells[len(table.rows[0]) :] if cell]
            if surplus:
                hint = "put a value that holds a comma in quotes"
                found = f"'{surplus[-1]}' to the right of the last heading"
                self.problems.append(Problem(table.name, row=number, found=found, hint=hint))
                continue
            filled = {
                name: cells[place] if place < len(cells) else ""
                for name, place in columns.place.items()
            }
            _Row(self, table, number, columns, filled, sheet).read(missing)


class _Row:
    """One row of a table."""

    def __init__(
        self,
        reader: _Reader,
        table: Table,
        number: int,
        columns: Columns,
        cells: dict[str, str],
        sheet: Sheet | None,
    ) -> None:
        self.reader = reader
        self.table = table
        self.number = number
        self.columns = columns
        self.cells = cells
        self.date_order = sheet.date_order if sheet else None
        self.decimal = sheet.decimal if sheet else "point"

    def read(self, missing: set[str]) -> None:
        """Add an observation for each measure that has a value here."""
        values = {
            name: self.cells[name]
            for name in self.columns.measures
            if self.cells[name].casefold() not in missing
        }
        if not values:
            return
        plot, day, again = self._plot(), self._day(), self._again()
        for name, text in values.items():
            measure = self.columns.measures[name]
            read = (
                self._planned(day, name),
                self._sample(measure),
                self._rater(measure),
                self._value(name, measure, text),
                again,
            )
            if plot is None or None in read:
                continue
            planned, sample, rater, value, repeat = read
            # A measure without raters is taken once, whoever took it.
            key = (name, planned, plot, rater if measure.raters else "", sample, repeat)
            source = f"{self.table.name}:{self.number}"
            if key in self.reader.seen:
                self._twice(name, measure, key)
                continue
            self.reader.seen[key] = source
            self.reader.rows.append(
                (planned, plot, name, sample, rater, value, measure.unit, source, repeat, "")
            )

    def _twice(self, name: str, measure: SheetMeasure, key: tuple[Any, ...]) -> None:
        said = f"a second value of {name} for this date, plot, rater and sample"
        hint = f"the first is in {self.reader.seen[key].replace(':', ', row ')}"
        if measure.repeat_share and key[-1] == "":
            hint += "; if it is the planned second look, write 1 in the column repeat"
        self._wrong("", said, "", hint)

    def _wrong(self, column: str, found: str, allowed: str = "", hint: str = "") -> None:
        self.reader.problems.append(
            Problem(
                self.table.name,
                row=self.number,
                field=column,
                found=found,
                allowed=allowed,
                hint=hint,
            )
        )

    def _plot(self) -> str | None:
        plots = self.reader.plots
        text = self.cells["plot"]
        plain = re.sub(r"\.0+$", "", text)  # some programs save 101 as 101.0
        if text in plots or plain in plots:
            return text if text in plots else plain
        shown = listed(plots[:6]) + (" ..." if len(plots) > 6 else "")
        whole = plain in self.reader.whole_plots
        hint = "that is a whole plot; write the plot within it" if whole else ""
        self._wrong("plot", _quoted(text), f"a plot of plan/plots.csv ({shown})", hint)
        return None

    def _day(self) -> dt.date | None:
        text = self.cells["date"]
        try:
            return read_day(text, self.date_order)
        except ValueError as error:
            self._wrong("date", _quoted(text), *said(error))
            return None

    def _planned(self, day: dt.date | None, name: str) -> dt.date | None:
        planned = self.reader.dates[name]
        if day is None or day in planned:
            return day
        rule = f"a date on which {name} is observed ({listed(planned)})"
        hint = "if the visit was moved, change trial.yaml and tell it under deviations"
        self._wrong("date", f"'{day}'", rule, hint)
        return None

    def _sample(self, measure: SheetMeasure) -> int | None:
        text = self.cells.get("sample", "")
        if text == "" and measure.per_plot == 1:
            return 1
        if re.fullmatch(r"[0-9]{1,9}(\.0+)?", text):
            number = int(float(text))
            if 1 <= number <= measure.per_plot:
                return number
        top = measure.per_plot
        rule = "1" if top == 1 else f"a whole number from 1 to {top}"
        self._wrong("sample", _quoted(text), rule, "see per_plot in trial.yaml")
        return None

    def _rater(self, measure: SheetMeasure) -> str | None:
        text = self.cells.get("rater", "")
        allowed = measure.raters or self.reader.people
        if text == "":
            if not measure.raters:
                return ""
            if len(measure.raters) == 1:
                return measure.raters[0]
        same = [name for name in allowed if name.casefold() == text.casefold()]
        if len(same) == 1:
            return same[0]
        if text in allowed:
            return text
        self._wrong("rater", _quoted(text), listed(allowed), closest(text, allowed))
        return None

    def _again(self) -> str | None:
        """Tell a rater's second look from the first: the flag, or nothing."""
        text = self.cells.get("repeat", "")
        if re.fullmatch(r"(0+(\.0+)?)?", text):
            return ""
        if re.fullmatch(r"1(\.0+)?", text):
            return REPEAT
        hint = "a column that counts the readings in a plot is called sample"
        self._wrong("repeat", _quoted(text), "nothing, or 1 for a second look at the plot", hint)
        return None

    def _value(self, name: str, measure: SheetMeasure, text: str) -> float | None:
        written = measure.unit_written
        number = text.removesuffix("%").strip() if written == "%" else text
        try:
            value = read_number(number, self.decimal, stored=self.table.tab != "")
        except ValueError as error:
            scale = f"on the scale {_range(measure)}"
            rule = f"a number in {written}" if written else f"a number {scale}"
            hint = said(error)[1] or _number_hint(number, written)
            self._wrong(name, _quoted(text), rule, hint)
            return None
        value = to_si(value, written) if written else value
        low, high = measure.readings
        too_low = low is not None and value < low
        too_high = high is not None and value > high
        if too_low or too_high or not math.isfinite(value):
            self._wrong(name, _quoted(text), _range(measure))
            return None
        return value


def _number_hint(text: str, unit: str | None) -> str:
    if unit and text.endswith(unit):
        return f"leave out '{unit}'"
    return "for a value that could not be taken, write NA"


def _range(measure: SheetMeasure) -> str:
    """Say which values may stand on the sheet, in the sheet's own unit."""
    written = measure.unit_written
    low, high = (
        from_si(end, written) if end is not None and written else end for end in measure.readings
    )
    if low is not None and high is not None:
        return f"{low:g} to {high:g}"
    return "0 or more" if low == 0 else "an ordinary number"


def _quoted(text: str) -> str:
    plain = " ".join(text.split())
    shown = plain if len(plain) <= 60 else f"{plain[:57]}..."
    return f"'{shown}'" if shown else "nothing"
