"""A file of a logger, looked at without a diary: how it may be read, as lines for the diary."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from wintersward.errors import Problem, listed
from wintersward.records.cells import is_number, plain
from wintersward.records.logger_files import file_meant, files_there
from wintersward.records.logger_formats import formats_that_fit
from wintersward.records.logger_text import SEPARATORS, cells_of, read_lines, unit_in
from wintersward.records.logger_times import read_times
from wintersward.records.weather import FOLDER
from wintersward.trial.parts import MISSING

__all__ = ["LoggerGuess", "guess_logger"]

# How far down readings are looked for, and so many lines in a row make them certain.
_LOOK, _IN_A_ROW = 200, 3
# A column of values holds numbers in this share of its cells that are not empty.
_NUMBERS = 0.5
# Units of columns that hold no temperature; those that name one are known by it.
_OTHER_UNIT = re.compile(
    r"%|\b(rh|m?v|volts?|lux|lx|hpa|kpa|mbar|mm|w/m|umol|µmol|dbm|battery|humidity)\b",
    re.IGNORECASE,
)
_ZONE = re.compile(r"(?:UTC|GMT)\s?([+-])([0-9]{1,2}):?([0-9]{2})?\b")
_POINTED, _COMMAED = re.compile(r"[-+]?[0-9]*\.[0-9]+"), re.compile(r"[-+]?[0-9]*,[0-9]+")
_MOST_MARKS = 5


@dataclass(frozen=True)
class LoggerGuess:
    """How a file may be read. It confirms nothing: a person looks at every line.

    Parameters
    ----------
    yaml : str
        An entry for the list ``loggers`` of the diary; empty where the file holds no readings.
    to_fill : list of str
        What the file cannot tell, to be filled in by hand.
    left_out : list of str
        Headings of columns that hold no temperature.
    problems : list of Problem
        Why there is no entry.
    """

    yaml: str = ""
    to_fill: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


@dataclass(frozen=True)
class _Layout:
    """Where things stand in a file: lines counted from 0, columns from 0."""

    between: str
    headings: list[str]
    skip: int
    cells: list[list[str]]
    times: tuple[int, ...]
    formats: list[str]
    texts: list[str]

    def column(self, at: int) -> list[str]:
        return [row[at].strip() if at < len(row) else "" for row in self.cells]


def guess_logger(folder: Path, file: str) -> LoggerGuess:
    """Guess how a file of a logger is read.

    Parameters
    ----------
    folder : Path
        The study folder.
    file : str
        A file in its folder ``loggers``.

    Returns
    -------
    LoggerGuess
        Lines for the diary, and what a person has to fill in: at least measure and plot of each
        column.

    Notes
    -----
    Whether month or day stands first is told from the file alone: where both can be, both
    formats are offered and neither is chosen.
    """
    name = file_meant(file)
    there = files_there(folder)
    if name not in there:
        rule = f"a file in the folder {FOLDER} ({listed(there)})"
        return LoggerGuess(problems=[Problem(f"{FOLDER}/{name}", found="no file", allowed=rule)])
    called = f"{FOLDER}/{name}"
    lines, problems = read_lines(there[name], called)
    if problems:
        return LoggerGuess(problems=problems)
    found = _layout(lines)
    if found is None:
        rule = "lines of times and values below a line of headings"
        hint = "look into the file, and let the logger's program export it as CSV"
        wrong = Problem(called, found="no readings that are known", allowed=rule, hint=hint)
        return LoggerGuess(problems=[wrong])
    return _entry(name, found, lines)


def _layout(lines: Sequence[str]) -> _Layout | None:
    """Find headings and times, by the separator that gives most cells."""
    for between in sorted(SEPARATORS.values(), key=lambda one: -_most_cells(lines, one)):
        cells = cells_of(lines, between)
        for start in range(min(len(cells), _LOOK)):
            times = _time_columns(cells[start : start + _IN_A_ROW])
            if not times:
                continue
            above = [at for at in range(start) if "".join(cells[at]).strip()]
            if not above or len(cells[above[-1]]) <= max(times):
                break
            return _with_times(between, cells, above[-1], times)
    return None


def _most_cells(lines: Sequence[str], between: str) -> int:
    counts = Counter(len(row) for row in cells_of(lines[:_LOOK], between))
    return counts.most_common(1)[0][0]


def _time_columns(rows: Sequence[list[str]]) -> tuple[int, ...]:
    """Find the column, or the two side by side, in which every row has a day and a time of day."""
    width = min(map(len, rows))
    columns = [[" ".join(row[at].split()) for row in rows] for at in range(width)]
    fits = [formats_that_fit(texts) for texts in columns]
    for at, formats in enumerate(fits):
        if any("%d" in one and "%M" in one for one in formats):
            return (at,) if width > 1 else ()
    for at in range(width - 1):
        days = any("%d" in one for one in fits[at])
        if days and any("%M" in one and "%d" not in one for one in fits[at + 1]):
            return (at, at + 1) if width > 2 else ()
    return ()


def _with_times(
    between: str, cells: list[list[str]], skip: int, times: tuple[int, ...]
) -> _Layout | None:
    """Read all times below the headings, and leave out the rows that have none."""
    headings = [plain(cell) for cell in cells[skip]]
    below = cells[skip + 1 :]
    texts = [" ".join(" ".join(row[at].split()) for at in times if at < len(row)) for row in below]
    forms = list(dict.fromkeys(form for text in texts[:_LOOK] for form in formats_that_fit([text])))
    # A time cut off, or of another form, is no reason to read none: the most that can be read.
    read = {form: ~np.isnat(read_times(texts, form)) for form in forms}
    most = max((int(known.sum()) for known in read.values()), default=0)
    formats = [form for form, known in read.items() if most and known.sum() == most]
    if not formats:
        return None
    known = np.flatnonzero(np.any([read[form] for form in formats], axis=0)).tolist()
    rows, texts = [below[at] for at in known], [texts[at] for at in known]
    return _Layout(between, headings, skip, rows, times, formats, texts)


def _entry(name: str, found: _Layout, lines: Sequence[str]) -> LoggerGuess:
    named = [found.headings[at] if at < len(found.headings) else "" for at in found.times]
    to_fill: list[str] = []
    heads = named[0] if len(named) == 1 else named
    told = [f"  - file: {_quoted(name)}", f"    time: {_quoted(heads)}"]
    told += _format_lines(found, to_fill)
    told += _zone_lines(found, lines, to_fill)
    numbers, left_out = _value_columns(found)
    decimal = _decimal(found, numbers)
    if decimal == "comma":
        told.append("    decimal: comma")
    if found.skip:
        told.append(f"    skip: {found.skip}")
    marks = _marks(found, numbers)
    if marks:
        told.append(f"    missing: {_quoted([*MISSING, *marks])}")
    told.append("    values:")
    for at in numbers:
        heading = found.headings[at]
        unit = unit_in(heading)
        told += [
            f"      - column: {_quoted(heading)}",
            "        measure:    # a measure with 'from: logger' in trial.yaml",
            "        plot:    # such as 101",
            f"        unit: {unit}" if unit else "        unit:    # degC or degF",
        ]
        to_fill.append(
            f"measure and plot of '{heading}'" if unit else f"measure, plot and unit of '{heading}'"
        )
    if not numbers:
        wrong = Problem(f"{FOLDER}/{name}", found="no column of numbers beside the times")
        return LoggerGuess(left_out=left_out, problems=[wrong])
    return LoggerGuess("".join(f"{line}\n" for line in told), to_fill, left_out)


def _format_lines(found: _Layout, to_fill: list[str]) -> list[str]:
    if len(found.formats) == 1:
        return [f"    format: {_quoted(found.formats[0])}"]
    to_fill.append("which of the formats is meant: take one of them, without the sign #")
    told = []
    for form in found.formats:
        times = read_times(found.texts, form)
        days = np.sort(times[~np.isnat(times)]).astype("datetime64[D]")
        span = f"    # from {days[0]} to {days[-1]}" if len(days) else ""
        told.append(f"    # format: {_quoted(form)}{span}")
    return told


def _zone_lines(found: _Layout, lines: Sequence[str], to_fill: list[str]) -> list[str]:
    """Tell the zone where the file names its distance from UTC; else ask."""
    if all(form.endswith("Z") for form in found.formats):
        return ["    zone: UTC"]
    stated = _ZONE.search("\n".join(lines[: found.skip + 1]))
    if stated:
        return [f"    zone: UTC{stated[1]}{int(stated[2]):02}:{stated[3] or '00'}"]
    if any("%z" in form for form in found.formats):
        return ["    zone: UTC    # the times tell their own distance from it"]
    to_fill.append(
        "whether the clock was put forward in spring ('site') or not (such as UTC-05:00)"
    )
    return ["    zone:    # site, or such as UTC-05:00 for a clock that is never put forward"]


def _value_columns(found: _Layout) -> tuple[list[int], list[str]]:
    """Choose the columns of numbers that may be temperatures; the headings of others."""
    numbers, left_out = [], []
    for at, heading in enumerate(found.headings):
        if at in found.times:
            continue
        filled = [cell for cell in found.column(at) if cell]
        share = sum(map(is_number, filled)) / len(filled) if filled else 0.0
        counts = _counts_up(filled)
        other = not unit_in(heading) and _OTHER_UNIT.search(heading)
        if heading and share >= _NUMBERS and not counts and not other:
            numbers.append(at)
        elif heading:
            left_out.append(heading)
    return numbers, left_out


def _counts_up(cells: Sequence[str]) -> bool:
    """Tell a column that numbers its rows."""
    if len(cells) < _IN_A_ROW or not all(cell.isascii() and cell.isdigit() for cell in cells):
        return False
    first = int(cells[0])
    return all(int(cell) == first + at for at, cell in enumerate(cells))


def _decimal(found: _Layout, numbers: Sequence[int]) -> str:
    cells = [cell for at in numbers for cell in found.column(at)]
    commas = sum(_COMMAED.fullmatch(cell) is not None for cell in cells)
    return "comma" if commas > sum(_POINTED.fullmatch(cell) is not None for cell in cells) else ""


def _marks(found: _Layout, numbers: Sequence[int]) -> list[str]:
    """List the words that stand where numbers should, the most frequent first."""
    held = Counter(
        cell
        for at in numbers
        for cell in map(plain, found.column(at))
        if not is_number(cell) and cell not in MISSING
    )
    return [mark for mark, _ in held.most_common(_MOST_MARKS)]


def _quoted(value: str | list[str]) -> str:
    """Write text so that a diary reads it as it stands."""
    return json.dumps(value, ensure_ascii=False)
