"""Which readings of a logger are removed, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from wintersward.records.cells import number_in, plain, quoted, read_number, said
from wintersward.records.logger_sums import REASONS
from wintersward.records.logger_times import Mask, Stamps, runs_backwards
from wintersward.trial.logger_measure import LOGGED
from wintersward.units import to_si

__all__ = ["POSSIBLE", "SPIKES", "Fault", "Trace", "code_of", "read_values", "repeated_times"]
__all__ += ["spikes", "tidy_trace"]

# Readings that can be [degC]; a sensor that is cut off or wet within shows others.
POSSIBLE = {what: logged.range for what, logged in LOGGED.items()}
_ANYWHERE = POSSIBLE["air temperature"]
# A single reading is a spike where it leaves both neighbours by more than this, to one side, and
# the neighbours are alike [degC per hour] (common practice, no source).
SPIKES = {"soil temperature": 8.0, "canopy temperature": 30.0, "air temperature": 20.0}
_ANY_SPIKE = 30.0
# Over shorter steps than this the limit stays what it is for this one, since the last digit of a
# reading would pass for a steep rise; over longer ones nothing can be told [h].
_SHORTEST, _LONGEST = 0.5, 3.0
# How far apart the neighbours may be, as a share of what the reading leaves them by.
_BACK = 0.5
_HOUR = np.timedelta64(1, "h")
_MISSING_HINT = (
    "correct it, or, if it stands for a missing value, list it under 'missing' of this file in "
    "diary.yaml"
)
_CODE = {reason: at for at, reason in enumerate(REASONS, 1)}


def code_of(reason: str) -> int:
    """Tell the number of one of `REASONS` in a trace."""
    return _CODE[reason]


class Fault(NamedTuple):
    """A cell that cannot be read: its line, its column, and what is told of it."""

    line: int
    column: str
    found: str
    allowed: str
    hint: str


@dataclass
class Trace:
    """One column of values of one file, with what becomes of each.

    Parameters
    ----------
    entry, part : int
        Which entry of the diary it comes from, and which of its values, counted from 1.
    file, column, measure, plot, position, what : str
        Where it stands and what it is; ``what`` as in `POSSIBLE`.
    lines : (n,) int
        Lines of the file, in the order in which time runs.
    utc : (n,) datetime64[us]
        True times; NaT where there is none.
    values : (n,) float [degC]
        Not a number where there is none.
    reason : (n,) int
        0 where the reading is used, else which of `REASONS`, counted from 1.
    """

    entry: int
    part: int
    file: str
    column: str
    measure: str
    plot: str
    position: str
    what: str
    lines: npt.NDArray[np.int64]
    utc: Stamps
    values: npt.NDArray[np.float64]
    reason: npt.NDArray[np.int8]

    @property
    def used(self) -> Mask:
        """Which readings are used."""
        return self.reason == 0

    def remove(self, out: Mask, reason: str) -> None:
        """Remove readings that are not removed yet."""
        self.reason[out & (self.reason == 0)] = _CODE[reason]

    def remove_used(self, out: Mask, reason: str) -> None:
        """Remove some of the readings that are used, told in their order."""
        self.reason[np.flatnonzero(self.used)[out]] = _CODE[reason]

    def removed(self) -> dict[str, int]:
        """Count what is removed by its reason."""
        counts = np.bincount(self.reason, minlength=len(REASONS) + 1)
        return {name: int(counts[code]) for name, code in _CODE.items() if counts[code]}


def read_values(
    trace: Trace, cells: Sequence[str], decimal: str, missing: Sequence[str], unit: str
) -> list[Fault]:
    """Read the cells of a trace into degC, and remove what is no possible value.

    Parameters
    ----------
    trace : Trace
        Its values and reasons are filled in.
    cells : sequence of str
        What stands in the column, one a line of the trace.
    decimal : {'point', 'comma'}
        What stands before the decimals.
    missing : sequence of str
        What stands for no value; a number means any way of writing it.
    unit : str
        Unit of the cells, degC or degF.

    Returns
    -------
    list of Fault
        The cells that cannot be read and were not removed for another reason.
    """
    codes, texts = pd.factorize(np.array(cells, dtype=object))
    marks = {mark.strip().casefold() for mark in missing}
    numbers = {_number(mark, decimal) for mark in marks} - {None}
    low, high = POSSIBLE.get(trace.what, _ANYWHERE)
    values = np.full(len(texts), np.nan)
    why = np.zeros(len(texts), np.int8)
    errors: dict[int, ValueError] = {}
    for at, text in enumerate(texts):
        shown = plain(text)
        if shown.casefold() in marks:
            why[at] = _CODE["declared_missing"]
            continue
        try:
            value = read_number(shown, decimal)
        except ValueError as error:
            why[at], errors[at] = _CODE["unreadable"], error
            continue
        values[at] = to_si(value, unit)
        if value in numbers:
            why[at] = _CODE["declared_missing"]
        # A value that is written in another unit may differ in the last digit.
        elif not low - 1e-6 <= values[at] <= high + 1e-6:
            why[at] = _CODE["impossible"]
    trace.values = values[codes]
    before = trace.reason != 0
    trace.reason = np.where(before, trace.reason, why[codes])
    faults = []
    for at in np.flatnonzero(~before & (why[codes] == _CODE["unreadable"])).tolist():
        allowed, hint = said(errors[int(codes[at])])
        hint = hint.replace("this table", "this file")
        rule = allowed.replace("a number", number_in(unit), 1)
        shown = quoted(plain(cells[at]))
        line = int(trace.lines[at])
        faults.append(Fault(line, trace.column, shown, rule, hint or _MISSING_HINT))
    return faults


def _number(text: str, decimal: str) -> float | None:
    try:
        return read_number(text, decimal)
    except ValueError:
        return None


def tidy_trace(trace: Trace) -> None:
    """Remove what a trace tells twice, and what runs backwards."""
    same, other = repeated_times(trace.utc[trace.used], trace.values[trace.used])
    used = np.flatnonzero(trace.used)
    trace.reason[used[same]] = _CODE["repeated"]
    trace.reason[used[other]] = _CODE["contradicting"]
    trace.remove_used(runs_backwards(trace.utc[trace.used]), "backwards")


def repeated_times(utc: Stamps, values: npt.NDArray[np.float64]) -> tuple[Mask, Mask]:
    """Find readings of one place at one time.

    Parameters
    ----------
    utc : (n,) datetime64[us]
        Times, in any order, without NaT.
    values : (n,) float
        Readings.

    Returns
    -------
    same : (n,) bool
        Those that say the same as one before them, which is kept.
    other : (n,) bool
        All those of a time at which readings differ: none can be kept.
    """
    same, other = np.zeros(len(utc), bool), np.zeros(len(utc), bool)
    if len(utc) < 2 or (np.diff(utc) > np.timedelta64(0, "us")).all():
        return same, other
    order = np.argsort(utc, kind="stable")
    fresh = np.r_[True, np.diff(utc[order]) > np.timedelta64(0, "us")]
    starts = np.flatnonzero(fresh)
    low = np.minimum.reduceat(values[order], starts)
    high = np.maximum.reduceat(values[order], starts)
    differs = (high > low)[np.cumsum(fresh) - 1]
    other[order] = differs
    same[order] = ~fresh & ~differs
    return same, other


def spikes(utc: Stamps, values: npt.NDArray[np.float64], what: str) -> Mask:
    """Find single readings that leave their neighbours and come back.

    Parameters
    ----------
    utc : (n,) datetime64[us]
        Ascending, each once.
    values : (n,) float [degC]
        Readings of one place.
    what : str
        As in `SPIKES`.

    Returns
    -------
    (n,) bool
        The first and the last reading have one neighbour and are none.
    """
    out = np.zeros(len(values), bool)
    if len(values) < 3:
        return out
    hours = np.diff(utc) / _HOUR
    steps = np.diff(values)
    allowed = SPIKES.get(what, _ANY_SPIKE) * np.maximum(hours, _SHORTEST)
    far = (np.abs(steps) > allowed) & (hours <= _LONGEST)
    leaves, comes = steps[:-1], steps[1:]
    apart = np.abs(leaves + comes)
    least = np.minimum(np.abs(leaves), np.abs(comes))
    back = (np.sign(leaves) == -np.sign(comes)) & (apart < _BACK * least)
    out[1:-1] = far[:-1] & far[1:] & back
    # Between two spikes a sound reading leaves them both.
    between = np.zeros(len(values), bool)
    between[1:-1] = out[:-2] & out[2:]
    return out & ~between
