"""A tab of a workbook cut into its tables: what stands above, headings, rows below them."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from wintersward.errors import Problem
from wintersward.records.cells import is_number
from wintersward.records.heading_faults import BESIDE, cell, neighbour
from wintersward.records.heading_names import KEYS, Names, key
from wintersward.records.headings import Columns, find_columns
from wintersward.trial.schema import SheetMeasure
from wintersward.units import stands_for

__all__ = ["Section", "Sections", "cut", "first_record", "has_headings"]

# How far down the first headings are looked for.
_LOOK = 20
# A day in words, such as 24 March or Mar. 24, 2026.
_MONTH = "(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[.]?"
_DAY = "[0-9]{1,2}(?:st|nd|rd|th)?[.]?"
_IN_WORDS = re.compile(f"(?:{_DAY}[ -]?{_MONTH}|{_MONTH}[ -]?{_DAY})(?:[ ,-]+[0-9]{{2,4}})?", re.I)
_Rows = Sequence[Sequence[str]]


@dataclass
class Section:
    """Headings and the rows below them, up to the next other headings.

    Parameters
    ----------
    columns : Columns
        What the headings mean.
    body : list of int
        The rows below in which anything stands, counted from 0.
    headings : list of int
        Rows of headings, counted from 0: the first, the same again further down, and a row of
        units below them.
    """

    columns: Columns
    body: list[int] = field(default_factory=list)
    headings: list[int] = field(default_factory=list)


@dataclass
class Sections:
    """What a tab holds from top to bottom.

    Parameters
    ----------
    above : list of int
        Rows above the first headings in which anything stands, such as a title; counted from 0.
    parts : list of Section
        At least one.
    problems : list of Problem
        Records above the first headings.
    """

    above: list[int]
    parts: list[Section]
    problems: list[Problem]


def has_headings(rows: _Rows, names: Names) -> bool:
    """Tell a table of records from remarks beside it.

    Parameters
    ----------
    rows : sequence of sequences of str
        From the top.
    names : Names
        What headings may mean.
    """
    top = [row for row in rows[:_LOOK] if any(row)]
    first = names.places(top[0]) if top else {}
    return bool(set(KEYS) & set(first)) or any(len(names.places(row)) > 1 for row in top)


def cut(name: str, rows: _Rows, names: Names, is_plot: Callable[[str], bool]) -> Sections:
    """Cut a tab into its tables.

    Parameters
    ----------
    name : str
        The tab, in messages.
    rows : sequence of sequences of str
        All of its rows, without what nobody sees (`wintersward.records.cells.plain`).
    names : Names
        What headings may mean.
    is_plot : callable
        Tells whether a text is a plot of the trial.

    Returns
    -------
    Sections

    Notes
    -----
    Headings are a row that holds date and plot, the first one among the first rows; or a measure
    beside any other word that is known, so that a word that is misspelt hides no values. Where
    there is none, the row with most words that are known is taken for the headings, and what it
    lacks is told.
    """
    held = [at for at, row in enumerate(rows) if any(row)]
    meant = {at: names.places(rows[at]) for at in held}
    whole = [at for at in held if set(KEYS) <= set(meant[at])]
    partly = [at for at in held if at in whole or _partly(set(meant[at]), names)]
    best = max(held[:_LOOK], key=lambda at: len(meant[at]), default=0)
    starts = partly if whole else [best]
    parts: list[Section] = []
    for at in starts:
        if parts and _same(rows[at], parts[-1].columns.headings):
            parts[-1].headings.append(at)
            continue
        columns = find_columns(name, rows, at, names)
        if parts and _beside(rows[at], columns, parts[-1].columns, is_plot):
            told = "headings of a second table beside records of the first"
            columns.problems = [Problem(name, row=at + 1, found=told, hint=BESIDE)]
        if not parts and at >= _LOOK:
            told, allowed = "headings this far down", f"headings in the first {_LOOK} rows"
            hint = "remove what stands above them, or put it into a tab or file of its own"
            columns.problems = [Problem(name, 0, 0, "", told, allowed, hint, at + 1)]
        parts.append(Section(columns, headings=[at] if columns.headings else []))
    _declared(parts)
    _share_out(rows, held, starts, parts)
    above = [at for at in held if at < starts[0]]
    return Sections(above, parts, _records_above(name, rows, above, parts[0].columns, is_plot))


def _partly(meant: set[str], names: Names) -> bool:
    return len(meant) > 1 and bool(meant & set(names.wanted))


def _same(row: Sequence[str], headings: Sequence[str]) -> bool:
    width = max(len(row), len(headings))
    return all(key(cell(row, at)) == key(cell(headings, at)) for at in range(width))


def _beside(
    row: Sequence[str], columns: Columns, before: Columns, is_plot: Callable[[str], bool]
) -> bool:
    """Tell headings that stand beside a record of the table above."""
    spot = before.place.get("plot")
    return spot is not None and spot != columns.place.get("plot") and is_plot(cell(row, spot))


def _declared(parts: list[Section]) -> None:
    """Tell the headings of the diary that no part of the tab has, or that a part cannot lack."""
    first = parts[0].columns
    for part in parts:
        columns = part.columns
        lacking = columns.absent if not columns.measures else {}
        for name, problem in columns.absent.items():
            everywhere = all(name in one.columns.absent for one in parts)
            if name in KEYS or name in lacking or (everywhere and columns is first):
                columns.problems.append(problem)


def _share_out(rows: _Rows, held: list[int], starts: list[int], parts: list[Section]) -> None:
    """Give every row to the headings above it."""
    by_start = {part.columns.row - 1: part for part in parts}
    part = parts[0]
    for at in held:
        if at < starts[0]:
            continue
        part = by_start.get(at, part)
        if at in starts and part.headings:
            continue
        if neighbour(rows, at, -1)[0] in starts and _units(rows[at], part.columns):
            part.headings.append(at)
        else:
            part.body.append(at)


def _units(row: Sequence[str], columns: Columns) -> bool:
    """Tell a row of units below the headings."""
    if not columns.measures or any(
        any(letter.isdigit() for letter in cell(row, columns.place[one]))
        for one in KEYS
        if one in columns.place
    ):
        return False
    said = {one: cell(row, columns.place[one]).strip("()[] ") for one in columns.measures}
    return any(said.values()) and all(
        word == "" or _is_unit(word, columns.measures[one]) for one, word in said.items()
    )


def _is_unit(word: str, measure: SheetMeasure) -> bool:
    written = measure.unit_written
    if written:
        return word == written or stands_for(word, written)
    return key(word) == key(measure.unit.removeprefix("rating "))


def _records_above(
    name: str, rows: _Rows, above: list[int], columns: Columns, is_plot: Callable[[str], bool]
) -> list[Problem]:
    """Tell rows above the first headings that look like records."""
    hint = f"put it below row {columns.row}, or put headings above it"
    found = []
    for at in above:
        if plots := _plots_of(rows[at], is_plot):
            told = f"a record of plot {plots[0]} above the headings"
            found.append(Problem(name, row=at + 1, found=told, hint=hint))
    return found


def first_record(rows: _Rows, is_plot: Callable[[str], bool]) -> tuple[int, str] | None:
    """Find a row that looks like a record, whatever the headings are.

    Parameters
    ----------
    rows : sequence of sequences of str
        All rows of a tab.
    is_plot : callable
        Tells whether a text is a plot of the trial.

    Returns
    -------
    tuple of int and str, or None
        The row in the spreadsheet, and the plot; a row of a map holds plots alone and is none.
    """
    for number, row in enumerate(rows, 1):
        plots = _plots_of(row, is_plot)
        if plots and len(_numbers(row)) - len(plots) > 1:
            return number, plots[0]
    return None


def _plots_of(row: Sequence[str], is_plot: Callable[[str], bool]) -> list[str]:
    """Name the plots in a row that looks like a record; in another one, none."""
    values = _numbers(row)
    plots = [text for text in values if is_plot(text)]
    # Of a line such as "blocks: 6, plots: 36" every second cell is a word.
    like = len(values) > 2 and sum(text != "" for text in row) - len(values) <= 2
    return plots if like else []


def _numbers(row: Sequence[str]) -> list[str]:
    return [t for t in row if is_number(re.sub("[/.-]", "", t)) or _IN_WORDS.fullmatch(t)]
