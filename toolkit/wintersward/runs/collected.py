"""What a check tells of what was gathered, for a person and for a program."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from wintersward.errors import Problem, WinterswardError
from wintersward.runs.collected_loggers import (
    Unnamed,
    flag_line,
    flags_dict,
    guess_lines,
    sum_lines,
    sums_dict,
)

if TYPE_CHECKING:
    import pandas as pd

    from wintersward.logged import Logged
    from wintersward.records import TableSums

__all__ = ["collected_dict", "collected_lines", "problems_dict"]

_MOST = 12
_IN_REPORT = "all of them stand in the report"


def collected_lines(
    sums: Sequence[TableSums],
    flags: pd.DataFrame | None,
    gaps: Sequence[Problem],
    logged: Logged | None = None,
    unnamed: Sequence[Unnamed] = (),
) -> list[str]:
    """Say what became of sheets and loggers, what looks odd, and which days of weather are missing.

    Parameters
    ----------
    sums : sequence of TableSums
        One a table.
    flags : DataFrame or None
        As `wintersward.records.flag_table` gives it.
    gaps : sequence of Problem
        Days that the weather file lacks.
    logged : Logged, optional
        What loggers gave.
    unnamed : sequence of Unnamed
        Files of loggers that the diary does not name.

    Returns
    -------
    list of str
        A heading over the lines of each part; a part without lines has none.
    """
    guessed = list(guess_lines(unnamed))
    return [
        *_under("the sheets", [one.words() for one in sums]),
        *_under("the loggers", [] if logged is None else sum_lines(logged.sums)),
        *_under(
            "look again at these; nothing was changed or left out",
            [] if flags is None else list(_flag_lines(flags)),
            _IN_REPORT,
        ),
        *_under(
            "look again at these loggers; nothing was removed for it",
            [] if logged is None else [flag_line(one) for one in logged.flags],
            _IN_REPORT,
        ),
        *_under("days without weather; a run goes on without them", [str(one) for one in gaps]),
        *(["files of loggers that are not read; a run goes on without them:"] if guessed else []),
        *guessed,
    ]


def _under(heading: str, lines: list[str], where: str = "") -> list[str]:
    """Put lines under a heading, the first of them where there are many."""
    if not lines:
        return []
    most = _MOST if where else len(lines)
    shown = [f"  - {line}" for line in lines[:most]]
    left = len(lines) - most
    return [f"{heading}:", *shown, *([f"  - ... and {left} more: {where}"] if left > 0 else [])]


def _flag_lines(flags: pd.DataFrame) -> Iterator[str]:
    from wintersward.records import flag_words

    return (flag_words(row) for row in flags.itertuples(index=False))


def collected_dict(
    sums: Sequence[TableSums],
    flags: pd.DataFrame | None,
    gaps: Sequence[Problem],
    logged: Logged | None = None,
    unnamed: Sequence[Unnamed] = (),
) -> dict[str, Any]:
    """Give the same as plain values for JSON: all of it, dates by ISO 8601, None for no value."""
    return {
        "sheets": [_sums_dict(one) for one in sums],
        "flags": [] if flags is None else [_flag_dict(row) for row in flags.to_dict("records")],
        "weather_gaps": [_problem_dict(one) for one in gaps],
        "loggers": [] if logged is None else [sums_dict(one) for one in logged.sums],
        "logger_flags": [] if logged is None else [flags_dict(one) for one in logged.flags],
        "loggers_unread": [one.as_dict() for one in unnamed],
    }


def _sums_dict(sums: TableSums) -> dict[str, Any]:
    from wintersward.records.sums import SUM_COLUMNS

    held = {name: getattr(sums, name) for name in SUM_COLUMNS[1:-1]}
    return {"file": sums.name, **held, "unread": list(sums.unread)}


def _flag_dict(row: dict[Any, Any]) -> dict[str, Any]:
    day, value = row["date"], float(row["value"])
    # A day that is not there is not equal to itself.
    told = {"date": day.date().isoformat() if day == day else None}
    told["value"] = None if math.isnan(value) else value
    return {str(name): told.get(str(name), cell) for name, cell in row.items()}


def problems_dict(error: WinterswardError) -> dict[str, Any]:
    """Give what is wrong as plain values for JSON.

    Parameters
    ----------
    error : WinterswardError
        What is wrong.

    Returns
    -------
    dict
        ``problems``: one entry for each, with the same keys always; what has no place in a file
        has a hint alone. ``sheets`` and ``loggers``: what became of the rows of tables, and of
        columns of loggers, that are wrong.
    """
    sums, logger_sums = getattr(error, "sums", []), getattr(error, "logger_sums", [])
    problems = error.problems[: len(error.problems) - len(sums) - len(logger_sums)]
    return {
        "problems": [_problem_dict(one) for one in problems],
        "sheets": [_sums_dict(one) for one in sums],
        "loggers": [sums_dict(one) for one in logger_sums],
    }


def _problem_dict(problem: Problem | str) -> dict[str, Any]:
    if isinstance(problem, str):
        problem = Problem("", hint=problem)
    return {
        "file": problem.path,
        "line": problem.line or None,
        "column": problem.column or None,
        "row": problem.row or None,
        "field": problem.field,
        "found": problem.found,
        "allowed": problem.allowed,
        "hint": problem.hint,
    }
