"""What went wrong, told in one line: where, what was found, what is allowed, what to do."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

__all__ = ["DISK_ADVICE", "Problem", "WinterswardError", "closest", "disk_reason", "listed"]

DISK_ADVICE = (
    "make room on the disk, see that files and folders can be read and written, close what is "
    "open in another program; then run again"
)


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong in something a person wrote or gathered.

    Problems are sorted by place: path, line, column, row and field.

    Parameters
    ----------
    path : str
        File as the person knows it, relative to the study folder.
    line, column : int
        Position in a text file, counted from 1; 0 where there is none.
    field : str
        Field of a definition (``layout.blocks``) or column of a sheet.
    found : str
        What stands there.
    allowed : str
        What may stand there.
    hint : str
        What to do about it.
    row : int
        Row of a table, counted from 1 with the heading as row 1; 0 where there is none.

    Examples
    --------
    >>> print(Problem("trial.yaml", 3, 8, "units", "'imperial'", "us or metric", "write us"))
    trial.yaml:3:8: units: found 'imperial'; allowed: us or metric; write us
    >>> print(Problem("sheets/pulls.csv", row=5, field="force", found="'x'", allowed="a number"))
    sheets/pulls.csv, row 5, column force: found 'x'; allowed: a number
    """

    path: str
    line: int = 0
    column: int = 0
    field: str = ""
    found: str = ""
    allowed: str = ""
    hint: str = ""
    row: int = 0

    def __lt__(self, other: Problem) -> bool:
        """Tell whether this one stands before another."""
        return self._rank() < other._rank()

    def _rank(self) -> tuple[object, ...]:
        place = (self.path, self.line, self.column, self.row, self.field)
        return (*place, self.found, self.allowed, self.hint)

    def __str__(self) -> str:
        """Say the problem in one line."""
        parts = [f"found {self.found}" if self.found else ""]
        parts.append(f"allowed: {self.allowed}" if self.allowed else "")
        parts.append(self.hint)
        said = "; ".join(part for part in parts if part)
        return f"{self._where()}: {said}"

    def _where(self) -> str:
        if self.row:
            column = f", column {self.field}" if self.field else ""
            return f"{self.path}, row {self.row}{column}"
        at = f"{self.path}:{self.line}:{self.column}" if self.line else self.path
        return f"{at}: {self.field}" if self.field else at


class WinterswardError(Exception):
    """Something that a person can put right; holds every problem found, sorted by place.

    Parameters
    ----------
    problems : Problem, str or sequence of these
        A plain string is used for what has no place in a file.

    Examples
    --------
    >>> str(WinterswardError("the study has no plots yet; run: wintersward plan my_trial"))
    'the study has no plots yet; run: wintersward plan my_trial'
    """

    def __init__(self, problems: Problem | str | Sequence[Problem | str]) -> None:
        if isinstance(problems, (Problem, str)):
            problems = [problems]
        placed = sorted(p for p in problems if isinstance(p, Problem))
        said = [p for p in problems if isinstance(p, str)]
        self.problems: list[Problem | str] = [*placed, *said]
        super().__init__("\n".join(str(p) for p in self.problems))


def closest(word: str, known: Iterable[str]) -> str:
    """Suggest the nearest known word, as a sentence, or nothing.

    Examples
    --------
    >>> closest("wovn", ["open", "woven"])
    'did you mean woven?'
    >>> closest("zebra", ["open", "woven"])
    ''
    """
    near = difflib.get_close_matches(str(word), [str(k) for k in known], n=1, cutoff=0.6)
    return f"did you mean {near[0]}?" if near else ""


def disk_reason(error: OSError) -> str:
    """Say in words what the system could not do with which file or folder.

    Examples
    --------
    >>> disk_reason(PermissionError(13, "Permission denied", "plan/plots.csv"))
    'plan/plots.csv: permission denied'
    >>> disk_reason(OSError(28, "No space left on device"))
    'the disk: no space left on device'
    """
    # Of two names the second is where a file was to be put.
    path = error.filename2 or error.filename or "the disk"
    said = error.strerror or "it cannot be read or written"
    return f"{path}: {said[0].lower()}{said[1:]}"


def listed(words: Iterable[object]) -> str:
    """Join words for a sentence.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b, c'
    """
    return ", ".join(str(word) for word in words)
