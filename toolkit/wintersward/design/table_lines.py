"""Small tables that a person may have typed: the lines of a CSV file, with their rows."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from wintersward.errors import Problem, closest, listed

__all__ = ["Line", "heading_problems", "known_as", "repeated_headings", "table_lines"]


@dataclass(frozen=True)
class Line:
    """One line of a table: its row as a spreadsheet counts, and its cells by their headings."""

    row: int
    cells: dict[str, str]


def known_as(path: Path) -> str:
    """Name a file as the person knows it, from the study folder."""
    return f"{path.parent.name}/{path.name}" if path.parent.name else path.name


def table_lines(path: Path, empty: str) -> tuple[list[str], list[Line], list[Problem]]:
    """Read the heading and the lines of a CSV file; blank lines are passed over.

    Parameters
    ----------
    path : Path
        A file that is there.
    empty : str
        What to do about a file without anything in it.

    Returns
    -------
    heading : list of str
        Row 1; empty when nothing can be read.
    lines : list of Line
        What follows; a line with too many or too few cells is a problem.
    problems : list of Problem
    """
    name = known_as(path)
    content = path.read_bytes()
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content[: error.start].count(b"\n") + 1
        hint = "save the table as CSV in UTF-8"
        return [], [], [Problem(name, found="a byte that is not UTF-8", hint=hint, row=row)]
    table = [[cell.strip() for cell in record] for record in csv.reader(io.StringIO(text))]
    if not any(any(record) for record in table):
        return [], [], [Problem(name, found="an empty file", hint=empty)]
    heading = table[0]
    if len(heading) == 1 and ";" in heading[0]:
        hint = "save it as CSV with commas between the cells"
        return [], [], [Problem(name, found="semicolons between the cells", hint=hint, row=1)]
    problems, lines = [], []
    for row, record in enumerate(table[1:], 2):
        if not any(record):
            continue
        if len(record) != len(heading):
            found, rule = f"{len(record)} cells", f"{len(heading)} cells, as in row 1"
            problems.append(Problem(name, found=found, allowed=rule, row=row))
        lines.append(Line(row, dict(zip(heading, record, strict=False))))
    return heading, lines, problems


def heading_problems(heading: list[str], name: str, wanted: list[str]) -> list[Problem]:
    """Compare a heading with the columns that a table must have, in any order."""
    problems = []
    for column in wanted:
        if column not in heading:
            near = closest(column, [word for word in heading if word and word not in wanted])
            found = f"no column {column}"
            problems.append(Problem(name, 0, 0, "", found, "", near or f"add {column}", 1))
    for at, column in enumerate(heading):
        if column in heading[:at] and column:
            problems.append(repeated_headings(name, column))
        elif column not in wanted:
            hint = "remove it; notes belong in diary.yaml"
            found = f"a column '{column}'" if column else "a column without a name"
            problems.append(Problem(name, 0, 0, "", found, listed(wanted), hint, 1))
    return problems


def repeated_headings(name: str, column: str) -> Problem:
    """Tell of a column that stands in a heading twice."""
    return Problem(name, 0, 0, column, "it twice", "once", "remove one", 1)
