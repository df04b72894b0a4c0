"""What a verification found: a line for each thing that was looked at, passed or failed."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from wintersward.errors import listed
from wintersward.handin.plain_names import printable

__all__ = ["MISSHAPEN", "Line", "Verified", "faults_told", "misshapen"]

MISSHAPEN = (
    *(ArithmeticError, AssertionError, AttributeError, LookupError, RecursionError, TypeError),
    *(ValueError, csv.Error),
)
"""What reading a file raises that was written by something else than wintersward."""

_TOLD = 5
_LONGEST = 200


@dataclass(frozen=True)
class Line:
    r"""One thing that was looked at.

    Parameters
    ----------
    passed : bool
        Whether it is as it should be.
    what : str
        What was looked at.
    found : str
        What was found, in one line.
    uncompared : str
        What could not be compared here, in words; empty where everything was.

    Examples
    --------
    >>> print(Line(False, "inventory", "study/trial.yaml: it is missing"))
    FAIL inventory: study/trial.yaml: it is missing
    >>> print(Line(False, "inventory", "a\nPASS rerun"))
    FAIL inventory: a\nPASS rerun
    """

    passed: bool
    what: str
    found: str
    uncompared: str = ""

    def __str__(self) -> str:
        """Write the line as it is shown.

        Notes
        -----
        Much of it was read in a bundle: what would end the line, or steer a terminal, is told in
        letters.
        """
        said = f"{'PASS' if self.passed else 'FAIL'} {self.what}: {self.found}"
        return printable(said)


@dataclass(frozen=True)
class Verified:
    """What became of a bundle.

    Parameters
    ----------
    lines : tuple of Line
        In the order in which things were looked at.
    """

    lines: tuple[Line, ...]

    @property
    def passed(self) -> bool:
        """Whether every line passed."""
        return all(line.passed for line in self.lines)

    @property
    def said(self) -> str:
        """The outcome in one line.

        Examples
        --------
        >>> Verified((Line(True, "archive", "9 files"), Line(False, "rerun", "broke off"))).said
        '1 of 2 lines failed'
        >>> Verified((Line(True, "pictures", "other libraries here", "pictures"),)).said
        'all 1 lines passed; NOT compared: pictures'
        """
        failed = sum(not line.passed for line in self.lines)
        if failed:
            return f"{failed} of {len(self.lines)} lines failed"
        if left := dict.fromkeys(line.uncompared for line in self.lines if line.uncompared):
            return f"all {len(self.lines)} lines passed; NOT compared: {listed(left)}"
        return f"verified: all {len(self.lines)} lines passed"


def misshapen(what: str, files: str, error: Exception) -> Line:
    """Tell that files are not of the shape that wintersward gives them.

    Examples
    --------
    >>> print(misshapen("inputs", "run/inputs.json", KeyError("sha256")))
    FAIL inputs: run/inputs.json is of another shape (KeyError: 'sha256')
    """
    said = " ".join(str(error).split())[:_LONGEST]
    why = f"{type(error).__name__}: {said}" if said else type(error).__name__
    return Line(False, what, f"{files} is of another shape ({why})")


def faults_told(what: str, faults: Sequence[str]) -> Iterator[Line]:
    """Tell what is wrong with one thing, a line each; many are summed up after the fifth."""
    for fault in faults[:_TOLD]:
        yield Line(False, what, fault)
    if len(faults) > _TOLD:
        yield Line(False, what, f"and {len(faults) - _TOLD} more")
