"""The files of loggers: which there are, which the diary names, and the rows of each."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from wintersward.errors import Problem, closest, listed
from wintersward.records.cells import plain
from wintersward.records.logger_formats import formats_that_fit
from wintersward.records.logger_text import (
    SEPARATORS,
    cells_of,
    heading_key,
    read_lines,
    separator,
    unit_in,
)
from wintersward.records.weather import FOLDER
from wintersward.trial.diary_loggers import LoggerFile
from wintersward.trial.schema import Diary

__all__ = ["LoggerTable", "file_meant", "files_there", "read_table", "unread_files"]

# How far down headings are looked for where they are not where the diary says [lines].
_LOOK = 60


@dataclass(frozen=True)
class LoggerTable:
    """The rows of a file.

    Parameters
    ----------
    name : str
        The file, as the person knows it.
    rows : int
        Lines of the file.
    above, blank : int
        Lines above the headings that are not blank; blank lines.
    headings : tuple of str
        As they stand in the file; empty where there are none.
    again : int
        How often the headings stand once more further down.
    lines : list of int
        The lines below in which anything else stands, counted from 1.
    cells : list of list of str
        What stands in them, without spaces around.
    """

    name: str
    rows: int
    above: int
    blank: int
    headings: tuple[str, ...]
    again: int
    lines: list[int]
    cells: list[list[str]]

    def column(self, at: int) -> list[str]:
        """Give the cells of a column; a row that ends before it has an empty one."""
        return [row[at].strip() if at < len(row) else "" for row in self.cells]

    def places(self, name: str) -> list[int]:
        """Find the columns whose heading is meant by a name."""
        key = heading_key(name)
        return [at for at, heading in enumerate(self.headings) if heading_key(heading) == key]


def files_there(folder: Path) -> dict[str, Path]:
    """List the files in the folder of loggers, by their names within it.

    Letters with accents are one sign each; some systems write two.

    Parameters
    ----------
    folder : Path
        The study folder.
    """
    place = folder / FOLDER
    found = {}
    for file in sorted(place.rglob("*"), key=lambda path: path.as_posix()):
        inside = file.relative_to(place)
        # Spreadsheet programs keep a file ~$... or .~lock... beside one that is open.
        if file.is_file() and not any(part.startswith((".", "~$")) for part in inside.parts):
            found[unicodedata.normalize("NFC", inside.as_posix())] = file
    return found


def file_meant(text: str) -> str:
    r"""Write the name of a file as within the folder of loggers.

    Examples
    --------
    >>> file_meant("loggers/soil_101.csv"), file_meant("north\\soil_101.csv")
    ('soil_101.csv', 'north/soil_101.csv')
    """
    composed = unicodedata.normalize("NFC", text.replace("\\", "/"))
    return composed.removeprefix("./").removeprefix(f"{FOLDER}/")


def unread_files(diary: Diary, there: dict[str, Path]) -> list[Problem]:
    """Tell the files that the diary names neither as loggers nor as weather."""
    named = {file_meant(entry.file) for entry in diary.loggers}
    if diary.weather is not None:
        named.add(file_meant(diary.weather.file))
    hint = "not read; name it under 'loggers' in diary.yaml, or move it out"
    found = "a file that diary.yaml does not name"
    unread = [name for name in there if name not in named]
    return [Problem(f"{FOLDER}/{name}", found=found, hint=hint) for name in unread]


def read_table(
    entry: LoggerFile, number: int, path: Path, name: str
) -> tuple[LoggerTable | None, list[Problem]]:
    """Read the rows of a file.

    Parameters
    ----------
    entry : LoggerFile
        What the diary says about it.
    number : int
        Its place among the loggers of the diary, counted from 1.
    path, name : Path, str
        The file, and what to call it.

    Returns
    -------
    table : LoggerTable or None
        None where the file cannot be read. Without headings where these cannot be found; then
        every row below the skipped ones counts as one of readings.
    problems : list of Problem
        Why.
    """
    lines, problems = read_lines(path, name)
    if problems:
        return None, problems
    start = next((at for at in range(entry.skip, len(lines)) if lines[at].strip()), len(lines))
    wanted = [*entry.time_columns, *(value.column for value in entry.values)]
    if start == len(lines):
        rule = "headings below the lines that are skipped"
        found = f"'{entry.skip}', and the file has {_lines(len(lines))}"
        problems = [
            _in_diary(number, "skip", found, rule, _hint_of_skip(lines, wanted, entry.skip))
        ]
        table = LoggerTable(name, len(lines), 0, 0, (), 0, [], [])
        return _filled(table, cells_of(lines, ","), 0), problems
    between = SEPARATORS.get(entry.delimiter or "") or separator(lines[start], wanted)
    cells = cells_of(lines, between)
    headings = tuple(plain(cell) for cell in cells[start])
    above = sum(line.strip() != "" for line in lines[:start])
    table = LoggerTable(name, len(lines), above, start - above, headings, 0, [], [])
    table = _filled(table, cells, start + 1)
    return table, _heading_problems(table, entry, number, lines)


def _filled(table: LoggerTable, cells: Sequence[list[str]], start: int) -> LoggerTable:
    """Put the rows from a line on into a table."""
    again, blank, lines, rows = 0, table.blank, [], []
    headings = cells[start - 1] if table.headings else None
    for number, row in enumerate(cells[start:], start + 1):
        if not "".join(row).strip():
            blank += 1
        elif row == headings:
            again += 1
        else:
            lines.append(number)
            rows.append(row)
    return LoggerTable(
        table.name, table.rows, table.above, blank, table.headings, again, lines, rows
    )


def _heading_problems(
    table: LoggerTable, entry: LoggerFile, number: int, lines: Sequence[str]
) -> list[Problem]:
    """Tell the columns that are not there, or several times, and units that differ."""
    named = [("time", name) for name in entry.time_columns]
    named += [(f"values.{at}.column", value.column) for at, value in enumerate(entry.values, 1)]
    problems = []
    shown = [f"'{heading}'" for heading in table.headings if heading]
    for field, name in named:
        count = len(table.places(name))
        if count == 1:
            continue
        if count:
            found, allowed, hint = f"'{name}' in {count} columns", "one column of that name", ""
            hint = f"let the headings in {table.name} differ"
        else:
            found, allowed = f"'{name}'", f"a heading of {table.name} ({listed(shown)})"
            hint = _hint_of_headings(table, name)
            hint = _hint_of_skip(lines, [name for _, name in named], entry.skip) or hint
        problems.append(_in_diary(number, field, found, allowed, hint))
    for at, value in enumerate(entry.values, 1):
        for place in table.places(value.column):
            unit = unit_in(table.headings[place])
            if unit not in ("", value.unit):
                rule = f"{unit}, as the heading '{table.headings[place]}' of {table.name} says"
                field = f"values.{at}.unit"
                found, hint = f"'{value.unit}'", f"write {unit}"
                problems.append(_in_diary(number, field, found, rule, hint))
    return problems


def _hint_of_headings(table: LoggerTable, name: str) -> str:
    """Say what may be wrong with headings among which a name is not found."""
    if any(formats_that_fit([heading]) for heading in table.headings):
        return "put a line of headings above the readings"
    parts = {heading_key(part) for part in name.split(",")}
    if len(parts) > 1 and parts <= {heading_key(heading) for heading in table.headings}:
        return "a heading that holds a comma has to stand in quotes"
    return closest(name, filter(None, table.headings))


def _hint_of_skip(lines: Sequence[str], wanted: Sequence[str], skip: int) -> str:
    """Say how many lines to skip, or what parts the cells, where the headings are elsewhere."""
    keys = {heading_key(name) for name in wanted}
    for at, line in enumerate(lines[:_LOOK]):
        between = separator(line, wanted)
        cells = cells_of([line], between)[0]
        if keys <= {heading_key(cell) for cell in cells}:
            word = next(word for word, sign in SEPARATORS.items() if sign == between)
            elsewhere = f"the headings are in line {at + 1}: write 'skip: {at}'"
            return elsewhere if at != skip else f"write 'delimiter: {word}'"
    return ""


def _in_diary(number: int, field: str, found: str, allowed: str, hint: str) -> Problem:
    return Problem("diary.yaml", 0, 0, f"loggers.{number}.{field}", found, allowed, hint)


def _lines(count: int) -> str:
    return "1 line" if count == 1 else f"{count} lines"
