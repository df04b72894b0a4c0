"""Tables that people fill in, read as text: CSV files and workbooks."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any
from zipfile import BadZipFile, ZipFile

from wintersward.errors import Problem, listed
from wintersward.records.cells import is_number

__all__ = ["SUFFIXES", "Table", "read_tables"]

SUFFIXES = (".csv", ".xlsx", ".xlsm")
_SEPARATORS = ",;\t"
# How far down the headings of a CSV file are looked for.
_LOOK = 20
# Parts of a number format that are shown as they are: 0"%" is no percentage.
_LITERAL = re.compile(r'"[^"]*"|\\.')
# A formula in a tab of a workbook (ECMA-376, part 1, 18.3.1.40).
_FORMULA = re.compile(rb"<(\w+:)?f[\s/>]")
_FORMULA_HINT = "open the workbook, let it compute, and save it again"


@dataclass(frozen=True)
class Table:
    """A table as it stands in a file.

    Parameters
    ----------
    name : str
        File, and tab where a workbook has several, as the person knows it.
    tab : str
        Name of the tab; empty for a CSV file.
    rows : list of list of str
        Every row from the top, blank ones too, so that row numbers are those of the
        spreadsheet; cells without surrounding spaces.
    unsolved : tuple of (int, int)
        Row, counted from 1, and column, counted from 0, of formulas without a result.
    problems : tuple of Problem
        What keeps rows from being read whatever they mean: these formulas, and quotes that hold
        whole rows.
    beside : tuple of str
        Tabs of the workbook that hold something and are not read.
    """

    name: str
    tab: str
    rows: list[list[str]]
    unsolved: tuple[tuple[int, int], ...] = ()
    problems: tuple[Problem, ...] = ()
    beside: tuple[str, ...] = ()


def read_tables(
    path: Path, name: str, is_heading: Callable[[list[str]], bool] | None = None
) -> tuple[list[Table], list[Problem]]:
    """Read every table of a file.

    Parameters
    ----------
    path : Path
        A file that ends in one of `SUFFIXES`.
    name : str
        What to call it in messages.
    is_heading : callable, optional
        Tells whether cells are the row of headings: then the separator of a CSV file is told
        from that row, where a title may stand above it. Without it, from the first row.

    Returns
    -------
    tables : list of Table
        One for a CSV file; for a workbook one for each visible tab that is not blank.
        Numbers are text, to 15 digits; percentages as shown; dates year-month-day.
    problems : list of Problem
        What could not be read; those of the tables are among them.
    """
    if path.suffix.lower() == ".csv":
        return _csv(path, name, is_heading)
    return _workbook(path, name)


def _csv(
    path: Path, name: str, is_heading: Callable[[list[str]], bool] | None
) -> tuple[list[Table], list[Problem]]:
    try:
        content = path.read_bytes()
    except OSError as error:
        return [], [Problem(name, hint=f"the file cannot be read: {error.strerror}")]
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content[: error.start].count(b"\n") + 1
        hint = "save it again as 'CSV UTF-8'"
        return [], [Problem(name, row=row, found="a character that is not in UTF-8", hint=hint)]
    if "\0" in text:
        hint = "save the table as .csv or .xlsx in a spreadsheet program"
        return [], [Problem(name, found="a file that is not text", hint=hint)]
    separator = _separator(text, is_heading)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[list[str]] = []
    held: list[Problem] = []
    try:
        for cells in reader:
            rows.append([cell.strip() for cell in cells])
            if any(_holds_rows(cell, separator, len(cells)) for cell in cells):
                found, hint = "a quoted cell that holds whole rows", "check the quotes in this row"
                held.append(Problem(name, row=len(rows), found=found, hint=hint))
    except csv.Error as error:
        found, hint = _quotes(str(error))
        return [], [Problem(name, row=len(rows) + 1, found=found, hint=hint)]
    return [Table(name, "", rows, problems=tuple(held))], held


def _holds_rows(cell: str, separator: str, width: int) -> bool:
    """Tell a cell that a quote out of place made of several rows.

    Each line end within it took along as many separators as a row has.
    """
    ends = cell.count("\n") or cell.count("\r")
    if not ends or width < 3:
        return False
    lines = cell.splitlines()[1:]
    many = cell.count(separator) >= ends * (width - 1)
    if not many and all(line.count(separator) < width - 1 for line in lines):
        return False
    # A remark may be of several lines with commas in them; records hold numbers between these.
    parts = re.split(f"[\r\n{separator}]", cell)
    return sum(is_number(re.sub("[/.-]", "", part.strip())) for part in parts) > 1


def _quotes(said: str) -> tuple[str, str]:
    """Say in words what the csv module could not read, and what to do."""
    if "end of data" in said:
        return "a quote that is not closed", 'close it, or take out the "'
    if "expected after" in said:
        return "text after a closing quote", 'write a " within quotes twice, or take it out'
    return f"a cell that cannot be read ({said})", "check the quotes in this row"


def _separator(text: str, is_heading: Callable[[list[str]], bool] | None) -> str:
    """Tell the separator of a CSV file from its headings."""
    for separator in _SEPARATORS if is_heading else "":
        lines = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
        try:
            if is_heading and any(is_heading(row) for row in islice(lines, _LOOK)):
                return separator
        except csv.Error:
            continue
    heading = re.sub('"[^"]*"', "", text.lstrip("\r\n").partition("\n")[0])
    return max(_SEPARATORS, key=heading.count)


def _workbook(path: Path, name: str) -> tuple[list[Table], list[Problem]]:
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        with warnings.catch_warnings():
            # Drop-down lists and colours that openpyxl does not know change no value.
            warnings.simplefilter("ignore")
            shown, hidden = _cells(path, stored=True)
            written = _cells(path, stored=False)[0] if _has_formulas(path) else shown
    except OSError as error:
        return [], [Problem(name, hint=f"the file cannot be read: {error.strerror or error}")]
    except (BadZipFile, InvalidFileException, KeyError, ValueError, TypeError, SyntaxError):
        hint = "open it in a spreadsheet program and save it again as .xlsx or .csv"
        return [], [Problem(name, found="a file that is not a sound workbook", hint=hint)]
    tabs = {tab: rows for tab, rows in shown.items() if any(any(row) for row in written[tab])}
    if hidden and not tabs:
        found, hint = f"nothing but hidden tabs ({listed(hidden)})", "show the tabs to be read"
        return [], [Problem(name, found=found, hint=hint)]
    beside = tuple(f"hidden tab {tab}" for tab in hidden)
    tables, problems = [], []
    for tab, rows in tabs.items():
        called = f"{name}[{tab}]" if len(tabs) > 1 else name
        unsolved, told = [], []
        pairs = enumerate(zip(rows, written[tab], strict=False), 1) if written is not shown else ()
        for number, (values, sources) in pairs:
            for at, (value, source) in enumerate(zip(values, sources, strict=False)):
                if value == "" and source.startswith("="):
                    unsolved.append((number, at))
                    found = f"the formula '{source}' without a result"
                    told.append(Problem(called, row=number, found=found, hint=_FORMULA_HINT))
        tables.append(Table(called, tab, rows, tuple(unsolved), tuple(told), beside))
        problems += told
    return tables, problems


def _has_formulas(path: Path) -> bool:
    """Tell whether a tab holds a formula, since reading one for formulas takes as long again."""
    with ZipFile(path) as archive:
        parts = [part for part in archive.namelist() if part.startswith("xl/worksheets/")]
        return any(_FORMULA.search(archive.read(part)) for part in parts)


def _cells(path: Path, stored: bool) -> tuple[dict[str, list[list[str]]], list[str]]:
    """Read the visible tabs, with the stored results of formulas or the formulas.

    Hidden tabs in which anything stands are named.
    """
    from openpyxl import load_workbook

    book = load_workbook(path, read_only=True, data_only=stored)
    try:
        made, hidden = {}, []
        for tab in book.worksheets:
            tab.reset_dimensions()  # programs other than Excel may store wrong ones
            if tab.sheet_state == "visible":
                # Above a cell that went astray there may be a million rows without any.
                made[tab.title] = [
                    [_shown(c) for c in row] if row else [] for row in tab.iter_rows()
                ]
            elif any(any(_shown(cell) for cell in row) for row in tab.iter_rows()):
                hidden.append(tab.title)
        return made, hidden
    finally:
        book.close()


def _shown(cell: Any) -> str:
    """Write a cell as text: as shown, but dates by year, month and day."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        midnight = value.time() == dt.time()
        return value.date().isoformat() if midnight else value.isoformat(" ")
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        percent = "%" in _LITERAL.sub("", str(cell.number_format))
        return f"{value * 100:.15g}%" if percent else f"{value:.15g}"
    # A formula for several cells at once is an object that holds its text.
    return str(getattr(value, "text", value)).strip()
