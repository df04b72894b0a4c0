"""Hand-filled tables: checked row by row, and turned into observations."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from wintersward.errors import Problem
from wintersward.records.cells import plain
from wintersward.records.heading_names import KEYS, Names
from wintersward.records.observations import joined, observation_frame
from wintersward.records.sections import has_headings
from wintersward.records.sheet_files import Entry, entries, paired, table_files
from wintersward.records.sheet_rows import Seen, Trial
from wintersward.records.sheet_tables import cleaned, read_table
from wintersward.records.sums import SheetsRead, TableSums
from wintersward.records.tables import Table, read_tables
from wintersward.trial.schema import Definition, Diary, Sheet

__all__ = ["read_sheets"]


def read_sheets(
    folder: Path, definition: Definition, diary: Diary, plots: pd.DataFrame
) -> SheetsRead:
    """Read every table in the folder ``sheets`` of a study.

    Parameters
    ----------
    folder : Path
        The study folder; without a folder ``sheets`` there are no observations yet.
    definition : Definition
        The trial as decided: measures, their units, limits, dates and raters.
    diary : Diary
        May say how a table is read; its exclusions make no difference here.
    plots : DataFrame
        Columns plot and whole_plot, one row a plot.

    Returns
    -------
    SheetsRead
        Observations, everything that is wrong, and what became of every row and value.

    Notes
    -----
    A table may have a title above its headings, rows of notes, the headings once more on each
    printed page, and a second table below with headings of its own. What cannot be read without
    guessing is told: two tables side by side, a heading over several columns, rows of sums, a
    date that stands once for many rows.
    """
    place = folder / "sheets"
    problems: list[Problem] = []
    files = table_files(place, problems) if place.is_dir() else []
    told = entries(diary, [file.name for file in files], problems)
    trial, seen = Trial(definition, plots), Seen()
    sums: list[TableSums] = []
    for file in files:
        called = f"sheets/{file.name}"
        for table, sheet in _tables(file, called, definition, told.get(file.name, []), problems):
            names = Names(definition, sheet)
            counted, wrong = read_table(table, sheet, names, trial, seen)
            sums.append(counted)
            problems += wrong
    observations = joined([observation_frame(seen.rows)], definition)
    return SheetsRead(observations, sorted(set(problems)), sums)


def _tables(
    file: Path, called: str, definition: Definition, told: list[Entry], problems: list[Problem]
) -> list[tuple[Table, Sheet | None]]:
    """Read a file, and choose its tables of records."""
    known = [Names(definition, sheet) for _, sheet in told] or [Names(definition, None)]

    def is_heading(cells: list[str]) -> bool:
        row = [plain(text) for text in cells]
        return any(set(KEYS) <= set(names.places(row)) for names in known)

    def holds_records(table: Table, sheet: Sheet | None) -> bool:
        return has_headings(table.rows, Names(definition, sheet))

    found, wrong = read_tables(file, called, is_heading)
    problems += wrong
    return paired(called, [cleaned(table) for table in found], told, holds_records, problems)
