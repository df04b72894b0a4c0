"""Hand-filled tables: checked row by row, and turned into observations."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from wintersward.errors import Problem
from wintersward.records.cells import plain
from wintersward.records.heading_names import KEYS, Names
from wintersward.records.observations import joined, observation_frame
from wintersward.records.sections import first_record, has_headings
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

    Of a workbook the tabs with headings are read, or those that the diary names; where it names
    none, a tab in which a record stands is read as well, so that what its headings lack is told.
    """
    place = folder / "sheets"
    problems: list[Problem] = []
    files = table_files(place, problems) if place.is_dir() else []
    told = entries(diary, [file.name for file in files], problems)
    trial, seen = Trial(definition, plots), Seen()
    sums: list[TableSums] = []
    for file in files:
        called = f"sheets/{file.name}"
        about = told.get(file.name, [])
        for table, sheet in _tables(file, called, definition, about, trial, problems):
            names = Names(definition, sheet)
            counted, wrong = read_table(table, sheet, names, trial, seen)
            sums.append(counted)
            problems += wrong
    observations = joined([observation_frame(seen.rows)], definition)
    return SheetsRead(observations, sorted(set(problems)), sums)


def _tables(
    file: Path,
    called: str,
    definition: Definition,
    told: list[Entry],
    trial: Trial,
    problems: list[Problem],
) -> list[tuple[Table, Sheet | None]]:
    """Read a file, and choose its tables of records."""
    known = [Names(definition, sheet) for _, sheet in told] or [Names(definition, None)]

    def is_heading(cells: list[str]) -> bool:
        row = [plain(text) for text in cells]
        return any(set(KEYS) <= set(names.places(row)) for names in known)

    def holds_records(table: Table, sheet: Sheet | None) -> bool:
        if has_headings(table.rows, Names(definition, sheet)):
            return True
        record = first_record(table.rows, lambda text: trial.plot(text) is not None)
        if record is None or len(found) == 1:
            return False
        shown = f"a record of plot {record[1]} in a tab without headings that are known"
        hint = "if the tab is not to be read, name those that are in diary.yaml"
        problems.append(Problem(table.name, row=record[0], found=shown, hint=hint))
        return True

    found, wrong = read_tables(file, called, is_heading)
    if not found and not wrong:
        hint = "fill it in, or move it out of sheets"
        problems.append(Problem(called, found="an empty workbook", hint=hint))
    # What is wrong in a table is told where it is read.
    problems += set(wrong) - {problem for table in found for problem in table.problems}
    return paired(called, [cleaned(table) for table in found], told, holds_records, problems)
