"""What flags are made of: one flag, and the words for values in the sheet's own unit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.errors import listed
from wintersward.trial.schema import LoggerMeasure, Measure, PhotoMeasure, SheetMeasure
from wintersward.units import from_si

__all__ = ["Flag", "Floats", "Wording", "medians", "medians_of", "shortened", "spread"]
__all__ += ["spreads_of"]

Floats = NDArray[np.float64]

# More plots than this are not named one by one in a sentence.
_NAMED = 6
# Values are kept in SI; what stood on the sheet comes back within this many decimals.
_DECIMALS = 6
# Of normal values the median of their distances is this part of the standard deviation.
_OF_MEDIAN, _OF_MEAN = 1.4826, 1.2533
# A scale of nine has eight steps from end to end: two marks are a quarter of it.
_QUARTER = 0.25


class Flag(NamedTuple):
    """Something that looks odd in the records; the fields are the columns of the table.

    Parameters
    ----------
    kind, measure : str
        Kind of flag, and the measure that it is about.
    date : Timestamp
        Day of the observations; NaT for what is about all dates.
    plot, rater, sample : str
        Empty where the flag is not about one of them; several plots are joined by ", ".
    value : float
        In ``unit``, as the observation has it; NaN where the flag is not about one value.
    unit, source : str
        Of the observation; several places are joined by "; ".
    found, rule : str
        For a reader, in the sheet's own unit.
    """

    kind: str
    measure: str
    date: pd.Timestamp | None = None
    plot: str = ""
    rater: str = ""
    sample: str = ""
    value: float = math.nan
    unit: str = ""
    source: str = ""
    found: str = ""
    rule: str = ""


@dataclass(frozen=True)
class Wording:
    """How values of a measure are written.

    Parameters
    ----------
    measure : PhotoMeasure, SheetMeasure or LoggerMeasure
        The measure.
    """

    measure: Measure

    @property
    def rated(self) -> bool:
        """Whether the values are marks on a scale."""
        return isinstance(self.measure, SheetMeasure) and self.measure.scale is not None

    @property
    def least(self) -> float:
        """The smallest difference worth a word: a quarter of a scale, or nothing."""
        low, high = self.measure.limits if self.rated else (0.0, 0.0)
        return _QUARTER * ((high or 0.0) - (low or 0.0))

    @property
    def _unit(self) -> str:
        if isinstance(self.measure, SheetMeasure):
            return self.measure.unit_written or ""
        if isinstance(self.measure, LoggerMeasure):
            return self.measure.unit
        return "%" if self.measure.unit == "%" else ""

    def written(self, values: Floats) -> Floats:
        """Turn values of observations into those that stand on the sheet."""
        unit = self._unit
        if not unit:
            return np.asarray(values, dtype=float)
        slope = from_si(1.0, unit, difference=True)
        return np.round(np.asarray(values) * slope + from_si(0.0, unit), _DECIMALS)

    def decimals(self, values: Floats, share: float = 0.0) -> int:
        """Count the decimals that more than a share of the values on the sheet need."""
        for places in range(_DECIMALS):
            if (np.abs(values - np.round(values, places)) > 1e-9).mean() <= share:
                return places
        return _DECIMALS

    def value(self, written: float) -> str:
        """Say a value of the sheet.

        Examples
        --------
        >>> pulls = SheetMeasure(from_="sheet", unit="lbf", dates=["visits"])
        >>> Wording(pulls).value(61.2), Wording(pulls).difference(21.968)
        ('61.2 lbf', '22 lbf')
        """
        computed = isinstance(self.measure, PhotoMeasure | LoggerMeasure)
        shown = _three(written) if computed else f"{round(written, 4):.10g}"
        return f"{shown} {self._unit}".rstrip()

    def difference(self, amount: float, beside: float = 0.0) -> str:
        """Say how far two values of the sheet lie apart, as finely as a number beside it."""
        shown = _three(amount, beside)
        if self.rated:
            return f"{shown} mark" if shown == "1" else f"{shown} marks"
        return f"{shown} {'points' if self._unit == '%' else self._unit}".rstrip()


def _three(value: float, beside: float = 0.0) -> str:
    """Write a number with three digits, or more before the point."""
    size = max(abs(value), abs(beside))
    if size == 0 or not math.isfinite(size):
        return "0"
    text = f"{value:.{max(0, 2 - math.floor(math.log10(size)))}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def shortened(words: Sequence[str]) -> str:
    """Name at most six.

    Examples
    --------
    >>> shortened(["101", "102"]), shortened([str(plot) for plot in range(101, 108)])
    ('101, 102', '101, 102, 103, 104, 105, 106, ...')
    """
    return listed(words[:_NAMED]) + (", ..." if len(words) > _NAMED else "")


def medians(values: Floats) -> Floats:
    """Give the median of each row, (n, k) to (n,); NaN counts as nothing there."""
    ordered = np.sort(values, axis=1)  # NaN comes last
    count = np.isfinite(values).sum(axis=1)
    rows = np.arange(len(values))
    low, high = np.maximum(count - 1, 0) // 2, np.minimum(count // 2, values.shape[1] - 1)
    return np.asarray((ordered[rows, low] + ordered[rows, high]) / 2)


def medians_of(values: Floats, group: NDArray[np.intp], count: int) -> Floats:
    """Give the median of each group, (n,) to (count,); NaN counts as nothing there.

    Examples
    --------
    >>> medians_of(np.array([3.0, 1.0, np.nan, 8.0]), np.array([0, 0, 0, 2]), 3).tolist()
    [2.0, nan, 8.0]
    """
    use = np.isfinite(values)
    order = np.lexsort((values[use], group[use]))
    ordered = values[use][order]
    size = np.bincount(group[use], minlength=count)
    start, some = np.cumsum(size) - size, size > 0
    found = np.full(count, np.nan)
    low, high = start + (size - 1) // 2, start + size // 2
    found[some] = (ordered[low[some]] + ordered[high[some]]) / 2
    return found


def spread(distances: Iterable[float], step: float = 0.0, coarse: bool = False) -> float:
    """Estimate a standard deviation from distances, whatever a few of them are.

    Parameters
    ----------
    distances : iterable of float
        From where they should be; NaN counts as nothing there.
    step : float
        The smallest step of the values, below which no spread can be seen.
    coarse : bool
        Whether the values are marks, so few that the median itself moves in steps.

    Returns
    -------
    float
        1.4826 times the median of the absolute distances; where more than half of them are 0,
        1.2533 times their mean; of marks the larger of the two; never less than ``step``. 0 where
        there are none.

    References
    ----------
    Iglewicz B., Hoaglin D. C. (1993) How to Detect and Handle Outliers (from memory).

    Examples
    --------
    >>> spread([-1.0, 1.0, 1.0, -1.0, 50.0])
    1.4826
    """
    size = np.asarray(list(distances), dtype=float)
    return float(spreads_of(size, np.zeros(len(size), dtype=np.intp), 1, step, coarse)[0])


def spreads_of(
    distances: Floats,
    group: NDArray[np.intp],
    count: int,
    step: float = 0.0,
    coarse: bool = False,
) -> Floats:
    """Estimate a standard deviation for each group as `spread` does, (n,) to (count,).

    Examples
    --------
    >>> spreads_of(np.array([-1.0, 1.0, np.nan, 2.0]), np.array([0, 0, 0, 2]), 3).tolist()
    [1.4826, 0.0, 2.9652]
    """
    size = np.abs(distances)
    use = np.isfinite(size)
    held = np.bincount(group[use], minlength=count)
    middle = _OF_MEDIAN * np.nan_to_num(medians_of(size, group, count))
    mean = _OF_MEAN * np.bincount(group[use], size[use], minlength=count) / np.maximum(held, 1)
    found = np.maximum(middle, np.where(coarse | (middle == 0), mean, 0.0))
    return np.where(held > 0, np.maximum(found, step), 0.0)
