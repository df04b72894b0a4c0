"""Dates repeated on the same subjects, as a person asks for them, and the residual they make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintersward.errors import WinterswardError, listed
from wintersward.models.columns import Columns, Times
from wintersward.models.formula import split_random
from wintersward.models.grouping import Grouping, group_rows
from wintersward.models.residual import Residual, Serial, plain_residual

__all__ = ["STRUCTURES", "Repeated", "build_residual"]

Floats = NDArray[np.float64]
STRUCTURES = {
    "car1": "correlation that fades with time apart, phi^days: a continuous first-order process",
    "cs": "the same correlation between any two times; it may be negative",
}
_TOLD = 3


@dataclass(frozen=True)
class Repeated:
    """Residuals of one subject correlated over time.

    Parameters
    ----------
    subject : str
        Column of what was observed again and again, such as ``plot``; a colon joins columns.
    time : str
        Column of numbers, in any unit, or of dates, which count in days.
    structure : {"car1", "cs"}
        ``car1``: correlation phi^|t - s|, for times at any gaps. ``cs``: one correlation between
        any two times (compound symmetry), negative ones among them.

    Raises
    ------
    WinterswardError
        If the structure is not one of these.

    Examples
    --------
    >>> Repeated(subject="plot", time="day").structure
    'car1'
    """

    subject: str
    time: str
    structure: str = "car1"

    def __post_init__(self) -> None:
        if self.structure not in STRUCTURES:
            raise WinterswardError(
                f"repeated: structure is '{self.structure}'; allowed: {listed(STRUCTURES)}"
            )


def build_residual(
    repeated: Repeated | None, variance_by: str | None, columns: Columns
) -> Residual:
    """Describe the residual of a model.

    Parameters
    ----------
    repeated : Repeated or None
        Correlation within subjects.
    variance_by : str or None
        Factor whose levels have their own residual variances.
    columns : Columns
        The rows; subject and factor among its groups.

    Returns
    -------
    Residual

    Raises
    ------
    WinterswardError
        All of: a factor with one level, a subject with two rows at one time, subjects without
        two times.
    """
    problems: list[str] = []
    residual = plain_residual(len(columns.response))
    names, codes = residual.names, residual.codes
    if variance_by is not None:
        grouping, levels = group_rows(variance_by, columns.groups)
        names, codes = tuple(f"residual[{level}]" for level in levels), grouping.codes
        if len(levels) == 1:
            problems.append(
                f"variance_by {variance_by}: has only one level, {levels[0]}; leave it out"
            )
    serial = None
    if repeated is not None and columns.times is not None:
        times = columns.times.values
        subject, said = group_rows(repeated.subject, columns.groups)
        twice = _twice(repeated, subject, said, columns.times)
        problems += twice
        gaps = _gaps(subject, times)
        if not twice and not gaps.size:
            problems.append(
                f"repeated: no {repeated.subject} has rows at two times of {repeated.time}, so"
                " there is no correlation to estimate; leave repeated out"
            )
        elif not twice:
            most = int(np.bincount(subject.codes).max())
            shortest, median = float(gaps.min()), float(np.median(gaps))
            serial = Serial(repeated.structure, subject, times, shortest, median, most)
    if problems:
        raise WinterswardError(problems)
    return Residual(names, codes, serial)


def _gaps(subject: Grouping, times: Floats) -> Floats:
    """Give the gaps between successive rows of each subject."""
    order = np.lexsort((times, subject.codes))
    same = np.diff(subject.codes[order]) == 0
    return np.asarray(np.diff(times[order])[same])


def _twice(repeated: Repeated, subject: Grouping, said: Sequence[str], times: Times) -> list[str]:
    pairs = np.column_stack([subject.codes, times.values])
    found, counts = np.unique(pairs, axis=0, return_counts=True)
    many = np.flatnonzero(counts > 1)
    if not many.size:
        return []
    told = [
        f"{repeated.subject} {said[int(found[i, 0])]} at {repeated.time}"
        f" {times.said(found[i, 1])} has {counts[i]} rows"
        for i in many[:_TOLD]
    ]
    more = f" (and {many.size - _TOLD} more)" if many.size > _TOLD else ""
    columns = [*split_random(repeated.subject), repeated.time]
    return [
        f"repeated: allowed: one row for each {repeated.subject} and {repeated.time}; found:"
        f" {listed(told)}{more}; average them first, or leave repeated out and take"
        f" {':'.join(columns)} as a random term"
    ]
