"""Comparisons by ranks, for ratings: what is said of their order is said of nothing else.

References
----------
Hodges J. L., Lehmann E. L. (1963) Estimates of location based on rank tests. Annals of
Mathematical Statistics 34(2), 598-611. doi:10.1214/aoms/1177704172

Hollander M., Wolfe D. A. (1973) Nonparametric Statistical Methods, Wiley, chapters 3 and 4 (from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import NDArray
from scipy import stats

__all__ = ["Ranked", "rank_sum", "signed_rank"]

Floats = NDArray[np.float64]
# Below this share of the largest, two distances differ by rounding only.
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Ranked:
    """A comparison by ranks.

    Parameters
    ----------
    estimate : float [unit of the measure]
        Hodges and Lehmann's difference, left minus right.
    lower, upper : float [unit of the measure]
        Its interval; NaN where so few units cannot have one at the level.
    p : float
        Two-sided, exact over all arrangements, ties as they are.
    smallest_p : float
        Smallest p that so many units can give.
    units : int
        Differences, or values, that entered.
    """

    estimate: float
    lower: float
    upper: float
    p: float
    smallest_p: float
    units: int


def signed_rank(differences: Floats, level: float = 0.95) -> Ranked:
    """Compare two treatments that stand side by side, by Wilcoxon's signed ranks.

    Parameters
    ----------
    differences : (n,) float [unit of the measure]
        Left minus right in each pair.
    level : float
        Of the interval; what it truly is lies at or above that.

    Returns
    -------
    Ranked

    Notes
    -----
    Differences of zero leave the test and stay in the estimate, the median of the averages of all
    two differences (each with itself too). P is exact: every sign is as likely as the other,
    ranks of tied sizes are averaged. The interval runs between averages counted in from either
    end, by the distribution without ties.
    """
    size = np.abs(differences)
    moved = size > _ROUNDING * max(float(size.max(initial=0.0)), 1e-300)
    ranks = np.rint(2 * stats.rankdata(_rounded(size[moved]))).astype(int)
    ways = _sums(ranks)
    total = int(ranks.sum())
    high = int(ranks[differences[moved] > 0].sum())
    p = float(ways[np.abs(2 * np.arange(total + 1) - total) >= abs(2 * high - total)].sum())
    first, second = np.triu_indices(len(differences))
    averages = np.sort((differences[first] + differences[second]) / 2)
    plain = np.cumsum(_sums(np.arange(1, len(differences) + 1)))
    lower, upper = _ends(averages, plain, level)
    smallest = min(1.0, 2.0 / 2 ** int(moved.sum()))
    return Ranked(float(np.median(averages)), lower, upper, min(1.0, p), smallest, len(differences))


def rank_sum(left: Floats, right: Floats, level: float = 0.95) -> Ranked:
    """Compare two treatments on units that stand anywhere, by the rank sum of Mann and Whitney.

    Parameters
    ----------
    left, right : (n,), (m,) float [unit of the measure]
        Values of the units.
    level : float
        Of the interval; what it truly is lies at or above that.

    Returns
    -------
    Ranked

    Notes
    -----
    The estimate is the median of all differences between a unit of the left and one of the right.
    P is exact over all ways to deal out the values, ranks of ties averaged. The interval runs
    between differences counted in from either end, by the distribution without ties.
    """
    every = np.concatenate([left, right])
    ranks = np.rint(2 * stats.rankdata(_rounded(every))).astype(int)
    ways = _chosen_sums(ranks, len(left))
    middle = len(left) * int(ranks.sum()) / len(every)
    away = abs(int(ranks[: len(left)].sum()) - middle)
    p = float(ways[np.abs(np.arange(len(ways)) - middle) >= away - 1e-9].sum())
    apart = np.sort((left[:, None] - right[None, :]).ravel())
    plain = _chosen_sums(np.arange(1, len(every) + 1), len(left))
    start = len(left) * (len(left) + 1) // 2
    lower, upper = _ends(apart, np.cumsum(plain[start:]), level)
    smallest = min(1.0, 2.0 / comb(len(every), len(left)))
    return Ranked(float(np.median(apart)), lower, upper, min(1.0, p), smallest, len(every))


def _rounded(values: Floats) -> Floats:
    """Make values equal that differ by rounding only, so that they tie."""
    step = _ROUNDING * max(float(np.abs(values).max(initial=0.0)), 1e-300)
    return np.rint(values / step)


def _sums(ranks: NDArray[np.intp]) -> Floats:
    """Give the probability of each sum of ranks, every rank in or out with probability 1/2."""
    ways = np.ones(1)
    for rank in ranks:
        longer = np.zeros(len(ways) + rank)
        longer[: len(ways)] += ways / 2
        longer[rank:] += ways / 2
        ways = longer
    return ways


def _chosen_sums(ranks: NDArray[np.intp], chosen: int) -> Floats:
    """Give the probability of each sum of so many ranks, every choice equally likely."""
    ways = np.zeros((chosen + 1, int(ranks.sum()) + 1))
    ways[0, 0] = 1.0
    for rank in ranks:
        for count in range(chosen, 0, -1):
            ways[count, rank:] += ways[count - 1, : ways.shape[1] - rank]
    return np.asarray(ways[chosen] / comb(len(ranks), chosen))


def _ends(ordered: Floats, below: Floats, level: float) -> tuple[float, float]:
    """Count in from either end as far as the level allows."""
    allowed = np.flatnonzero(below <= (1 - level) / 2 + 1e-12)
    if not allowed.size:
        return float("nan"), float("nan")
    inside = int(allowed[-1])
    return float(ordered[inside]), float(ordered[-1 - inside])
