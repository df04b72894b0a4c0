"""Lines of a partial budget: the money of one season on the whole area, as a range and as draws.

References
----------
CIMMYT Economics Program (1988) From Agronomic Data to Farmer Recommendations: An Economics
Training Manual, Mexico (from memory): the partial budget of a trial on farms, costs that vary.
Iowa State University Extension (2018) Partial Budgeting: A Tool to Analyze Farm Business Changes,
AgDM file C1-50: added income and reduced costs, less added costs and reduced income.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from wintersward.decisions.futures import DRAWS, evenly, shares
from wintersward.trial.diary_costs import AREAS, BudgetPart, CostItem

__all__ = ["Ends", "Estimate", "Gain", "Line", "added", "line_of"]

Floats = NDArray[np.float64]
Ends = tuple[float, float]

_SPENT = ("added cost", "reduced income")
# Streams of numbers: of the entries, of what a step is worth, of the estimates.
_ENTRIES, _WORTHS, _ESTIMATES = 0, 1, 2
_SEASONS = 9


def added(ends: Sequence[Ends]) -> Ends:
    """Add up ranges: the lowest that all can be together, and the highest.

    Examples
    --------
    >>> added([(1.0, 2.0), (10.0, 10.0)]), added([])
    ((11.0, 12.0), (0.0, 0.0))
    """
    return float(sum(low for low, _ in ends)), float(sum(high for _, high in ends))


@dataclass(frozen=True)
class Line:
    """One entry of a partial budget.

    Parameters
    ----------
    part : str
        added cost, reduced cost, added income or reduced income.
    factors : tuple of (float, float)
        What is multiplied: a price and how many, or hours, their rate and how many; the area.
    seasons : (float, float), optional
        Over which it is spread in equal parts, without interest; left out, all is of one season.
    number : int
        Of the entry, from 1: its stream of random numbers.
    """

    part: BudgetPart
    factors: tuple[Ends, ...]
    seasons: Ends | None = None
    number: int = 1

    @property
    def sign(self) -> int:
        """1 where it adds to what is left, -1 where it takes from it."""
        return -1 if self.part in _SPENT else 1

    @property
    def price(self) -> Ends:
        """Lowest and highest amount before it is spread over seasons."""
        return prod(low for low, _ in self.factors), prod(high for _, high in self.factors)

    @property
    def season(self) -> Ends:
        """Lowest and highest amount of one season."""
        fewest, most = self.seasons or (1.0, 1.0)
        return self.price[0] / most, self.price[1] / fewest

    def prices(self, seed: int) -> Floats:
        """Draw the amount before it is spread, every factor evenly within its range."""
        made = [
            evenly(ends, shares(seed, _ENTRIES, self.number, at)) if ends[0] < ends[1] else ends[0]
            for at, ends in enumerate(self.factors)
        ]
        return np.broadcast_to(prod(made), (DRAWS,)).astype(np.float64)

    def drawn(self, seed: int) -> Floats:
        """Draw the amount of one season."""
        if self.seasons is None:
            return self.prices(seed)
        return self.prices(seed) / evenly(
            self.seasons, shares(seed, _ENTRIES, self.number, _SEASONS)
        )


def line_of(item: CostItem, area: float, number: int = 1) -> Line:
    """Make a line of an entry of the diary.

    Parameters
    ----------
    item : CostItem
        The entry.
    area : float [m2]
        That the budget is for.
    number : int
        Of the entry, from 1.
    """
    priced = (item.amount,) if item.amount is not None else (item.hours, item.rate)
    times = 1.0 if item.per == "all" else area / AREAS[item.per]
    factors = (*(ends for ends in priced if ends is not None), item.quantity, (times, times))
    return Line(item.belongs_to, factors, item.seasons, number)


@dataclass(frozen=True)
class Estimate:
    """What a trial found of one treatment against its control, in days or in SI.

    Parameters
    ----------
    value, se, df : float
        The estimate, its standard error and its degrees of freedom; an error that is not a
        number means a bound, which has none.
    lower, upper : float
        Its interval.
    says : str
        ``exactly``, or as a bound ``at least`` or ``at most``.
    role : str
        ``primary`` or ``secondary``.
    """

    value: float
    se: float
    df: float
    lower: float
    upper: float
    says: str = "exactly"
    role: str = "primary"

    @property
    def carried(self) -> bool:
        """Whether it has an error that can be carried through."""
        return self.says == "exactly" and bool(np.isfinite([self.value, self.se, self.df]).all())

    def drawn(self, seed: int, number: int, sign: int = 1) -> Floats:
        """Draw what is true, by Student's t about the estimate; a bound stays as it is.

        Notes
        -----
        One stream a treatment, turned round where less is a gain: two gains of one treatment rise
        and fall together, since both come from the same plots. That spreads their sum most.
        """
        drawn = shares(seed, _ESTIMATES, number)
        if not self.carried:
            return np.full(drawn.shape, self.value)
        error = sign * self.se * stats.t.ppf(drawn, self.df)
        return np.asarray(self.value + error, dtype=np.float64)


@dataclass(frozen=True)
class Gain:
    """What an estimate is worth in one season.

    Parameters
    ----------
    each : (float, float)
        Worth of one step.
    step : float
        In the unit of the estimate.
    sign : int
        1 where more is a gain, -1 where less is.
    estimate : Estimate
        Of the treatment.
    number : int
        Of the worth, from 1.
    treatment : int
        Of the treatment, from 1.
    """

    each: Ends
    step: float
    sign: int
    estimate: Estimate
    number: int = 1
    treatment: int = 1

    @property
    def season(self) -> Ends:
        """Least and most between the ends of both ranges."""
        ends = [self.sign * end / self.step for end in (self.estimate.lower, self.estimate.upper)]
        corners = [worth * end for worth in self.each for end in ends]
        return min(corners), max(corners)

    def steps(self, seed: int) -> Floats:
        """Draw how many steps were gained."""
        return self.sign * self.estimate.drawn(seed, self.treatment, self.sign) / self.step

    def drawn(self, seed: int) -> Floats:
        """Draw what they are worth."""
        return self.steps(seed) * evenly(self.each, shares(seed, _WORTHS, self.number))
