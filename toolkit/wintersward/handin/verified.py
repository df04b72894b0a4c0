"""What a verification found: a line for each thing that was looked at, passed or failed."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Line", "Verified"]


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

    Examples
    --------
    >>> print(Line(False, "inventory", "study/trial.yaml: it is missing"))
    FAIL inventory: study/trial.yaml: it is missing
    """

    passed: bool
    what: str
    found: str

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
        """
        failed = sum(not line.passed for line in self.lines)
        if failed:
            return f"{failed} of {len(self.lines)} lines failed"
        return f"verified: all {len(self.lines)} lines passed"
