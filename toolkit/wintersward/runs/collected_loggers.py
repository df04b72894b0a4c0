"""What a check tells of loggers: sums of rows, flags, and files that the diary does not name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wintersward.errors import Problem, listed

if TYPE_CHECKING:
    from wintersward.logged import Logged
    from wintersward.records import LoggerGuess, LoggerSums
    from wintersward.records.logger_sums import LoggerFlag

__all__ = ["Unnamed", "flag_line", "flags_dict", "guess_lines", "sum_lines", "sums_dict", "unnamed"]

_FILE = "  - file: "


@dataclass(frozen=True)
class Unnamed:
    """A file in the folder of loggers that the diary does not name.

    Parameters
    ----------
    told : Problem
        The file, and what to do.
    guess : LoggerGuess
        How it may be read.
    """

    told: Problem
    guess: LoggerGuess

    def as_dict(self) -> dict[str, Any]:
        """Give it as plain values for JSON."""
        guess = self.guess
        why = [str(problem) for problem in guess.problems]
        held = {"to_fill": guess.to_fill, "left_out": guess.left_out, "why_not": why}
        return {"file": self.told.path, "guess": guess.yaml, **held}


def unnamed(study: Path, logged: Logged) -> tuple[Unnamed, ...]:
    """Guess how each file may be read that the diary does not name.

    Parameters
    ----------
    study : Path
        The study folder.
    logged : Logged
        What loggers gave; it tells those files.
    """
    from wintersward import records

    return tuple(Unnamed(one, records.guess_logger(study, one.path)) for one in logged.unread)


def sum_lines(sums: Sequence[LoggerSums]) -> list[str]:
    """Say what became of the rows of loggers: columns that lost readings one by one, the rest once.

    Parameters
    ----------
    sums : sequence of LoggerSums
        One a column of values.
    """
    whole = [one for one in sums if not any(one.removed.values())]
    lines = []
    if whole:
        files = len({one.file for one in whole})
        columns = "1 column" if len(whole) == 1 else f"{len(whole)} columns"
        of = "1 file" if files == 1 else f"{files} files"
        used = sum(one.used for one in whole)
        lines.append(f"{columns} of {of}: {used} readings, all of them used")
    return [*lines, *(one.words() for one in sums if any(one.removed.values()))]


def flag_line(flag: LoggerFlag) -> str:
    """Say a flag in one line."""
    where = [flag.file, flag.measure, f"plot {flag.plot}" if flag.plot else ""]
    return f"{', '.join(filter(None, where))}: flag {flag.kind}: {flag.found}; rule: {flag.rule}"


def guess_lines(files: Sequence[Unnamed]) -> Iterator[str]:
    """Say how files may be read, those that are read alike together.

    Parameters
    ----------
    files : sequence of Unnamed
        Files that the diary does not name.
    """
    alike: dict[str, list[Unnamed]] = {}
    for one in files:
        yield f"  - {one.told}"
        yield from (f"    {problem}" for problem in one.guess.problems)
        if one.guess.yaml:
            form = one.guess.yaml.partition("\n")[2]
            alike.setdefault(form, []).append(one)
    for several in alike.values():
        first = several[0]
        yield f"how {first.told.path} may be read, a guess; under 'loggers' in diary.yaml:"
        yield from first.guess.yaml.splitlines()
        more = [one.told.path for one in several[1:]]
        if more:
            yield f"  the same, with the name of the file, for {listed(more)}"
        if first.guess.to_fill:
            yield f"  to fill in: {'; '.join(first.guess.to_fill)}"
        if first.guess.left_out:
            yield f"  columns left out: {listed(first.guess.left_out)}"


def sums_dict(sums: LoggerSums) -> dict[str, Any]:
    """Give the sums of one column as plain values for JSON: the same keys always."""
    from wintersward.records.logger_sums import LOGGER_SUM_COLUMNS, REASONS

    held = {name: getattr(sums, name) for name in LOGGER_SUM_COLUMNS if name not in REASONS}
    return {**held, "removed": {name: sums.removed.get(name, 0) for name in REASONS}}


def flags_dict(flag: LoggerFlag) -> dict[str, Any]:
    """Give a flag as plain values for JSON: times in UTC by ISO 8601, None for none."""
    # A time that is not there is not equal to itself.
    begins, ends = (one.isoformat() if one == one else None for one in (flag.begins, flag.ends))
    named = {name: getattr(flag, name) for name in ("kind", "file", "measure", "plot")}
    return {**named, "from": begins, "to": ends, "found": flag.found, "rule": flag.rule}
