"""The plots table, ``plan/plots.csv``: written once, read with every cell checked."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from wintersward.design.checks import redraw
from wintersward.design.layouts import block_names, columns, is_blocked, is_split
from wintersward.design.plan_checks import plan_problems
from wintersward.errors import Problem, WinterswardError, closest, listed
from wintersward.paths import command
from wintersward.trial import Definition

__all__ = ["read_plots", "unit_names", "write_plots"]

_COUNTS = ("row", "column", "walk")
_SIZES = ("width_m", "length_m")
_PLACES = ("x_m", "y_m")
# What a cell holds once it is read, or what may stand there.
_Value = str | int | float
_Reader = Callable[[str], _Value]


@dataclass(frozen=True)
class _Line:
    """One line of the table: its row as a spreadsheet counts, and its cells."""

    row: int
    cells: dict[str, str]


def write_plots(frame: pd.DataFrame, path: Path) -> None:
    """Write the plots table; a plan that is there already is never replaced.

    Parameters
    ----------
    frame : DataFrame
        As `wintersward.design.draw` returns it.
    path : Path
        ``plan/plots.csv`` of the study folder; the folder is made when it is not there.

    Raises
    ------
    WinterswardError
        When the file exists and holds another plan.
    """
    text = frame.to_csv(index=False, lineterminator="\n", float_format="%.10g")
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with path.open("xb") as file:
            file.write(text.encode("utf-8"))
    except FileExistsError:
        if path.read_bytes() == text.encode("utf-8"):
            return
        raise WinterswardError(
            Problem(
                _known_as(path),
                found="another plan, which is never overwritten",
                hint="if it is no longer wanted, move it away and draw again",
            )
        ) from None


def read_plots(path: Path, definition: Definition) -> tuple[pd.DataFrame | None, list[Problem]]:
    """Read the plots table and check it against the definition.

    Parameters
    ----------
    path : Path
        ``plan/plots.csv`` of the study folder.
    definition : Definition
        Its treatments and layout say what the table must hold.

    Returns
    -------
    plots : DataFrame or None
        One row a plot, by block and plot; None when anything is wrong. plot, whole_plot and
        block are text, row, column and walk whole numbers, lengths in metres, factors ordered
        by the definition's levels.
    problems : list of Problem
        Everything that is wrong, sorted by row.
    """
    name, advice = _known_as(path), redraw(path.parent.parent)
    lines, problems = _lines(path, name, columns(definition))
    if problems:
        return None, problems
    frame, problems = _checked(lines, name, definition, advice)
    doubtful = {problem.row for problem in problems}
    problems += _repeats(lines, name)
    unsure = _doubtful_blocks(lines, doubtful, definition)
    problems += plan_problems(frame, definition, name, unsure, advice)
    if problems:
        return None, sorted(problems)
    return _finished(frame, definition), []


def unit_names(plots: pd.DataFrame) -> list[str]:
    """Name every plot and then every whole plot, as a diary may name them.

    Examples
    --------
    >>> unit_names(pd.DataFrame({"plot": ["101", "102"], "whole_plot": ["1A", "1A"]}))
    ['101', '102', '1A']
    """
    wholes = [name for name in plots["whole_plot"].drop_duplicates() if name]
    return [*plots["plot"], *wholes]


def _known_as(path: Path) -> str:
    """Name the file as the person knows it, from the study folder."""
    return f"{path.parent.name}/{path.name}" if path.parent.name else path.name


def _lines(path: Path, name: str, wanted: list[str]) -> tuple[list[_Line], list[Problem]]:
    draw = command("plan", path.parent.parent)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        hint = f"no plots are drawn yet; run: {draw}"
        return [], [Problem(name, hint=hint)]
    except UnicodeDecodeError as error:
        row = path.read_bytes()[: error.start].count(b"\n") + 1
        hint = "save the table as CSV in UTF-8"
        return [], [Problem(name, found="a byte that is not UTF-8", hint=hint, row=row)]
    table = [[cell.strip() for cell in record] for record in csv.reader(io.StringIO(text))]
    if not any(any(record) for record in table):
        return [], [Problem(name, found="an empty file", hint=f"draw it: {draw}")]
    heading = table[0]
    problems = _heading_problems(heading, name, wanted)
    lines = []
    for row, record in enumerate(table[1:], 2):
        if not any(record):
            continue
        if len(record) != len(heading):
            found, rule = f"{len(record)} cells", f"{len(heading)} cells, as in row 1"
            problems.append(Problem(name, found=found, allowed=rule, row=row))
        lines.append(_Line(row, dict(zip(heading, record, strict=False))))
    if not lines and not problems:
        hint = f"no plot stands in it; move it away and run: {draw}"
        problems.append(Problem(name, found="a heading alone", hint=hint))
    return lines, problems


def _heading_problems(heading: list[str], name: str, wanted: list[str]) -> list[Problem]:
    if len(heading) == 1 and ";" in heading[0]:
        hint = "save it as CSV with commas between the cells"
        return [Problem(name, found="semicolons between the cells", hint=hint, row=1)]
    problems = []
    for column in wanted:
        if column not in heading:
            near = closest(column, [word for word in heading if word and word not in wanted])
            found = f"no column {column}"
            problems.append(Problem(name, 0, 0, "", found, "", near or f"add {column}", 1))
    for at, column in enumerate(heading):
        if column in heading[:at] and column:
            problems.append(Problem(name, 0, 0, column, "it twice", "once", "remove one", 1))
        elif column not in wanted:
            hint = "remove it; notes belong in diary.yaml"
            found = f"a column '{column}'" if column else "a column without a name"
            problems.append(Problem(name, 0, 0, "", found, listed(wanted), hint, 1))
    return problems


def _checked(
    lines: list[_Line], name: str, definition: Definition, advice: str
) -> tuple[pd.DataFrame, list[Problem]]:
    """Read every cell; the frame has the sound lines alone, indexed by their row."""
    readers = _readers(definition, len(lines), advice)
    problems, sound = [], {}
    for line in lines:
        values = {}
        for column, reader in readers.items():
            try:
                values[column] = reader(line.cells[column])
            except ValueError as error:
                allowed, _, hint = str(error).partition("; ")
                found = f"'{line.cells[column]}'" if line.cells[column] else "nothing"
                problems.append(Problem(name, 0, 0, column, found, allowed, hint, line.row))
        if len(values) == len(readers):
            sound[line.row] = values
    frame = pd.DataFrame.from_dict(sound, orient="index", columns=columns(definition))
    return frame, problems


def _readers(definition: Definition, plots: int, advice: str) -> dict[str, _Reader]:
    """Make the reader of each column; it raises ValueError with the rule."""
    readers: dict[str, _Reader] = {
        "plot": _text,
        "whole_plot": _text if is_split(definition) else _blank(definition, "whole plots"),
        "block": _block_reader(definition, advice),
    }
    readers |= dict.fromkeys(("row", "column"), _count)
    readers |= dict.fromkeys(_PLACES, _number)
    readers |= dict.fromkeys(_SIZES, _size)
    for factor, treatment in definition.treatments.items():
        readers[factor] = _level_reader(list(treatment.levels), advice)
    readers["walk"] = lambda cell: _count(cell, plots)
    return readers


def _block_reader(definition: Definition, advice: str) -> _Reader:
    if not is_blocked(definition):
        return _blank(definition, "blocks")
    blocks = block_names(definition)
    return lambda cell: _one_of(cell, blocks, f"a block from 1 to {len(blocks)}; {advice}")


def _level_reader(levels: list[str], advice: str) -> _Reader:
    def read(cell: str) -> str:
        near = closest(cell, levels) if cell else ""
        return _one_of(cell, levels, f"{listed(levels)}; {near or advice}")

    return read


def _one_of(cell: str, allowed: list[str], rule: str) -> str:
    if cell not in allowed:
        raise ValueError(rule)
    return cell


def _text(cell: str) -> str:
    if not cell:
        raise ValueError("a name")
    return cell


def _blank(definition: Definition, what: str) -> _Reader:
    def read(cell: str) -> str:
        if cell:
            raise ValueError(f"nothing, since the layout ({definition.layout.kind}) has no {what}")
        return cell

    return read


def _count(cell: str, most: int | None = None) -> int:
    rule = "a whole number from 1" + (f" to {most}" if most else "")
    if not re.fullmatch(r"[1-9][0-9]{0,8}", cell) or (most and int(cell) > most):
        raise ValueError(rule)
    return int(cell)


def _number(cell: str) -> float:
    rule = "a number of metres, with a decimal point"
    try:
        value = float(cell)
    except ValueError:
        raise ValueError(rule) from None
    if not math.isfinite(value):
        raise ValueError(rule)
    return value


def _size(cell: str) -> float:
    rule = "a number of metres above 0, with a decimal point"
    try:
        value = _number(cell)
    except ValueError:
        raise ValueError(rule) from None
    if value <= 0:
        raise ValueError(rule)
    return value


def _repeats(lines: list[_Line], name: str) -> list[Problem]:
    """Find what may stand in the table only once."""
    problems = []
    rules = {
        ("plot",): "each plot once",
        ("row", "column"): "one plot in each place",
        ("walk",): "each number once",
    }
    for fields, rule in rules.items():
        first: dict[tuple[str, ...], int] = {}
        for line in lines:
            cells = tuple(line.cells[field] for field in fields)
            if not all(cells):
                continue
            if cells in first:
                found = f"'{' and '.join(cells)}', as in row {first[cells]}"
                where = " and ".join(fields)
                problems.append(Problem(name, 0, 0, where, found, rule, "", line.row))
            first.setdefault(cells, line.row)
    return problems


def _doubtful_blocks(lines: list[_Line], rows: set[int], definition: Definition) -> set[str]:
    """Name the blocks with a doubtful line: what they lack cannot be told yet."""
    blocks = set(block_names(definition))
    hit = {line.cells["block"] for line in lines if line.row in rows}
    # A line without a sound block may belong to any of them.
    return hit if hit <= blocks else blocks


def _finished(frame: pd.DataFrame, definition: Definition) -> pd.DataFrame:
    by_number = frame.assign(
        _block=pd.to_numeric(frame["block"].replace("", "0")),
        _digits=frame["plot"].str.len(),
    ).sort_values(["_block", "_digits", "plot"])
    made = by_number.drop(columns=["_block", "_digits"]).reset_index(drop=True)
    made[list(_COUNTS)] = made[list(_COUNTS)].astype("int64")
    for factor, treatment in definition.treatments.items():
        made[factor] = pd.Categorical(made[factor], categories=list(treatment.levels), ordered=True)
    return made
