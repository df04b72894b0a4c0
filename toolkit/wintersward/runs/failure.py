"""What stopped a run: which stage, which cell, why, and what to do."""

from __future__ import annotations

import re
from dataclasses import dataclass

from wintersward.errors import DISK_ADVICE, WinterswardError

__all__ = ["Failure", "StageFailed", "exception_line"]

_ADVICE = {
    "study": "put right what is listed, then run again",
    "own copy": (
        "the notebook or the page's template is the study's own copy, in notebooks/ or "
        "templates/reports/: put it right there, or move it away and the package's own is used; "
        "then run again"
    ),
    "fault": (
        "this is a fault in the notebook or in wintersward, not in the study; pass "
        "failure.txt and the .failed.ipynb notebook on to whoever looks after wintersward"
    ),
    "memory": (
        "mostly the memory was full: close other programs and run again; photos that are "
        "scored already are not scored again"
    ),
    "disk": DISK_ADVICE,
    "time": "see in the .failed.ipynb notebook how far it came; then run again",
    "kernel": (
        "start wintersward from the environment that it is installed in, with its own Jupyter, "
        "then run again"
    ),
    "changed": "leave the study's files alone while a run goes, then run again",
    "stopped": "run again when there is time; nothing was lost",
    "broke off": "the computer or the program was stopped from outside; run again",
}


@dataclass(frozen=True)
class Failure:
    """What stopped a run.

    Parameters
    ----------
    stage : str
        Name of the stage; empty outside the stages.
    kind : str
        One of ``study``, ``own copy``, ``fault``, ``memory``, ``disk``, ``time``,
        ``kernel``, ``changed``, ``stopped``, ``broke off``: it decides what is advised.
    reason : str
        What happened; one line or several.
    cell, cells : int
        Number of the cell it stopped in, counted from 1, and how many there are; 0 where it
        stopped outside the cells.
    source : str
        Source of that cell.
    """

    stage: str
    kind: str
    reason: str
    cell: int = 0
    cells: int = 0
    source: str = ""

    @property
    def advice(self) -> str:
        """What to do about it."""
        return _ADVICE[self.kind]

    @property
    def place(self) -> str:
        r"""Stage and cell, in words.

        Examples
        --------
        >>> Failure("50-report", "fault", "KeyError: 'x'", 2, 9, "a = made()\nshow(a)").place
        'stage 50-report, cell 2 of 9 (a = made())'
        """
        stage = f"stage {self.stage}" if self.stage else "the run"
        if not self.cell:
            return stage
        lines = [line.strip() for line in self.source.splitlines() if line.strip()]
        first = f" ({lines[0]})" if lines else ""
        return f"{stage}, cell {self.cell} of {self.cells}{first}"

    def text(self) -> str:
        """Write what ``failure.txt`` holds."""
        reason = self.reason.replace("\n", "\n            ")
        return (
            f"stopped in: {self.place}\n"
            f"reason:     {reason}\n"
            f"what to do: {self.advice}\n"
            "\n"
            "This folder holds an unfinished run. Nothing in the study depends on it: it may be\n"
            "kept or deleted.\n"
        )


class StageFailed(WinterswardError):
    """A run that stopped before its end.

    Parameters
    ----------
    failure : Failure
        What stopped it.
    folder : str
        Folder of the unfinished run, as the person knows it.
    """

    def __init__(self, failure: Failure, folder: str) -> None:
        self.failure = failure
        self.folder = folder
        see = f"{failure.advice}; see {folder}/failure.txt"
        if failure.kind == "study":
            said = [*failure.reason.splitlines(), f"{failure.place}: {see}"]
        else:
            said = [f"{failure.place}: {failure.reason}", see]
        super().__init__(said)


def exception_line(name: str, message: str) -> str:
    r"""Write the last line of an exception, as Python would, without colours.

    Examples
    --------
    >>> exception_line("ValueError", "two\nlines")
    'ValueError: lines'
    """
    plain = re.sub(r"\x1b\[[0-9;]*[A-Za-z]", "", message)
    lines = [line.strip() for line in plain.splitlines() if line.strip()]
    return f"{name}: {lines[-1]}" if lines else name
