"""The plots table, ``plan/plots.csv``: written once, read with every cell checked."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from wintersward.design.cells import cell_readers
from wintersward.design.checks import amend
from wintersward.design.layouts import block_names, columns, units
from wintersward.design.plan_checks import plan_problems
from wintersward.design.table_lines import Line, heading_problems, known_as, table_lines
from wintersward.errors import Problem, WinterswardError, listed
from wintersward.paths import command
from wintersward.trial import Definition

__all__ = ["plots_to_fill_in", "read_plots", "unit_names", "write_plots"]

_COUNTS = ("row", "column", "walk")


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
                known_as(path),
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
        One row a plot, by block and plot; None when anything is wrong. plot, whole_plot, block
        and, where several are declared, ground are text, row, column and walk whole numbers,
        lengths in metres, factors ordered by the definition's levels.
    problems : list of Problem
        Everything that is wrong, sorted by row.
    """
    name, advice = known_as(path), amend(definition, path.parent.parent)
    lines, problems = _lines(path, definition)
    if problems:
        return None, problems
    frame, problems = _checked(lines, name, definition, advice)
    doubtful = {problem.row for problem in problems}
    problems += _repeats(lines, name)
    unsure = _doubtful_blocks(lines, doubtful, definition)
    if 0 in doubtful:  # a whole column is missing
        unsure = set(block_names(definition))
    problems += plan_problems(frame, definition, name, unsure, advice)
    if problems:
        return None, sorted(problems)
    return _finished(frame, definition), []


def plots_to_fill_in(definition: Definition) -> pd.DataFrame:
    """Lay out the plots table of plots laid by hand, for the person to put the treatments in.

    Parameters
    ----------
    definition : Definition
        Its layout places the plots.

    Returns
    -------
    DataFrame
        The columns of the plots table; the factors are empty.
    """
    frame = units(definition).assign(**dict.fromkeys(definition.treatments, ""))
    return frame[columns(definition)]


def unit_names(plots: pd.DataFrame) -> list[str]:
    """Name every plot and then every whole plot, as a diary may name them.

    Examples
    --------
    >>> unit_names(pd.DataFrame({"plot": ["101", "102"], "whole_plot": ["1A", "1A"]}))
    ['101', '102', '1A']
    """
    wholes = [name for name in plots["whole_plot"].drop_duplicates() if name]
    return [*plots["plot"], *wholes]


def _lines(path: Path, definition: Definition) -> tuple[list[Line], list[Problem]]:
    name, draw = known_as(path), command("plan", path.parent.parent)
    if not path.is_file():
        hint = f"no plots are drawn yet; run: {draw}"
        if definition.layout.laid_by_hand is not None:
            hint = f"the plots were laid by hand and their table is missing; run: {draw}"
        return [], [Problem(name, hint=hint)]
    heading, lines, problems = table_lines(path, empty=f"draw it: {draw}")
    if heading:
        problems = heading_problems(heading, name, columns(definition)) + problems
    if heading and not lines and not problems:
        hint = f"no plot stands in it; move it away and run: {draw}"
        problems.append(Problem(name, found="a heading alone", hint=hint))
    return lines, problems


def _checked(
    lines: list[Line], name: str, definition: Definition, advice: str
) -> tuple[pd.DataFrame, list[Problem]]:
    """Read every cell; the frame has the sound lines alone, indexed by their row."""
    readers = cell_readers(definition, len(lines), advice)
    empty = [c for c in definition.treatments if not any(line.cells[c] for line in lines)]
    problems, sound = [], {}
    for column in empty:
        # A table that nobody filled in yet: once is enough.
        found = f"no {column} in any row"
        known = listed(definition.treatments[column].levels)
        problems.append(Problem(name, 0, 0, column, found, known, "fill in the column"))
    for line in lines:
        values = {}
        for column, reader in readers.items():
            if column in empty:
                continue
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


def _repeats(lines: list[Line], name: str) -> list[Problem]:
    """Find what may stand in the table only once."""
    problems = []
    place = (*(["ground"] if "ground" in lines[0].cells else []), "row", "column")
    rules: dict[tuple[str, ...], str] = {
        ("plot",): "each plot once",
        place: "one plot in each place",
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


def _doubtful_blocks(lines: list[Line], rows: set[int], definition: Definition) -> set[str]:
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
