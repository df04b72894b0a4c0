"""What a verification found: a line for each thing that was looked at, passed or failed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from wintersward.errors import listed

__all__ = ["Line", "Verified", "faults_told"]

_TOLD = 5


@dataclass(frozen=True)
class Line:
    """One thing that was looked at.

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
    """

    passed: bool
    what: str
    found: str
    uncompared: str = ""

    def __str__(self) -> str:
        """Write the line as it is shown."""
        return f"{'PASS' if self.passed else 'FAIL'} {self.what}: {self.found}"


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


def faults_told(what: str, faults: Sequence[str]) -> Iterator[Line]:
    """Tell what is wrong with one thing, a line each; many are summed up after the fifth."""
    for fault in faults[:_TOLD]:
        yield Line(False, what, fault)
    if len(faults) > _TOLD:
        yield Line(False, what, f"and {len(faults) - _TOLD} more")
