"""What is known of each plot before any treatment, ``plan/plot_values.csv``: by the person."""

from __future__ import annotations

import math
from pathlib import Path

import pandas as pd

from wintersward.design.table_lines import Line, known_as, repeated_headings, table_lines
from wintersward.errors import Problem, closest, listed

__all__ = ["read_plot_values"]

# So many plots are named in one message; more are counted.
_MOST_NAMED = 6


def read_plot_values(path: Path, plots: pd.DataFrame) -> tuple[pd.DataFrame | None, list[Problem]]:
    """Read what a person knows of each plot.

    Parameters
    ----------
    path : Path
        ``plan/plot_values.csv`` of the study folder: a column ``plot``, then any number of
        columns of numbers (hours of sun) or of words (where the sod came from), a value for
        every plot. It need not be there.
    plots : DataFrame
        The plots table.

    Returns
    -------
    values : DataFrame or None
        Indexed by plot in the order of the plots table; columns of numbers are float, the others
        text. None when there is no such file, or when anything is wrong with it.
    problems : list of Problem
        Everything that is wrong, sorted by row.
    """
    if not path.is_file():
        return None, []
    name, known = known_as(path), [str(plot) for plot in plots["plot"]]
    heading, lines, problems = table_lines(path, empty="remove it, or give it a column plot")
    if not heading:
        return None, problems
    problems += _heading_problems(heading, name, [str(column) for column in plots.columns])
    if problems:
        return None, sorted(problems)
    problems = [*_plot_problems(lines, name, known)]
    columns: dict[str, list[float] | list[str]] = {}
    for column in heading:
        if column != "plot":
            columns[column], wrong = _column(lines, column, name)
            problems += wrong
    if problems:
        return None, sorted(problems)
    frame = pd.DataFrame(columns, index=pd.Index([line.cells["plot"] for line in lines]))
    return frame.rename_axis("plot").loc[known], []


def _heading_problems(heading: list[str], name: str, taken: list[str]) -> list[Problem]:
    problems = []
    if "plot" not in heading:
        near = closest("plot", [word for word in heading if word])
        problems.append(Problem(name, found="no column plot", hint=near or "add plot", row=1))
    for at, column in enumerate(heading):
        if not column:
            found = "a column without a name"
            problems.append(Problem(name, found=found, hint="name it, or remove it", row=1))
        elif column in heading[:at]:
            problems.append(repeated_headings(name, column))
        elif column != "plot" and column in taken:
            found, hint = f"a column '{column}'", "plan/plots.csv has it; choose another name"
            problems.append(Problem(name, found=found, hint=hint, row=1))
    if heading == ["plot"]:
        rule = "at least one more, such as sun_hours or drainage"
        problems.append(Problem(name, found="the column plot alone", allowed=rule, row=1))
    return problems


def _plot_problems(lines: list[Line], name: str, known: list[str]) -> list[Problem]:
    problems = []
    first: dict[str, int] = {}
    for line in lines:
        plot = line.cells.get("plot", "")
        if plot not in known:
            rule = f"a plot of plan/plots.csv ({_some(known)})"
            found = f"'{plot}'" if plot else "nothing"
            problems.append(Problem(name, 0, 0, "plot", found, rule, "", line.row))
        elif plot in first:
            found = f"'{plot}', as in row {first[plot]}"
            problems.append(Problem(name, 0, 0, "plot", found, "each plot once", "", line.row))
        first.setdefault(plot, line.row)
    missing = [plot for plot in known if plot not in first]
    if missing:
        hint = "give every plot a line"
        problems.append(Problem(name, 0, 0, "plot", f"no line for {_some(missing)}", "", hint))
    return problems


def _column(
    lines: list[Line], column: str, name: str
) -> tuple[list[float] | list[str], list[Problem]]:
    """Read a column: of numbers where more cells than not are numbers, else of words."""
    cells = {line.row: line.cells.get(column, "") for line in lines}
    numbers = {row: number for row, cell in cells.items() if (number := _number(cell)) is not None}
    of_numbers = 2 * len(numbers) > sum(bool(cell) for cell in cells.values())
    problems = []
    for row, cell in cells.items():
        if not cell:
            hint = "find out what it is, or remove the column"
            rule = "a value for every plot"
            problems.append(Problem(name, 0, 0, column, "nothing", rule, hint, row))
        elif of_numbers and row not in numbers:
            rule = "a number with a decimal point, as in most of this column"
            problems.append(Problem(name, 0, 0, column, f"'{cell}'", rule, "", row))
    if of_numbers:
        return list(numbers.values()), problems
    return list(cells.values()), problems


def _number(cell: str) -> float | None:
    try:
        value = float(cell)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _some(names: list[str]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return listed(names[:_MOST_NAMED]) + more
