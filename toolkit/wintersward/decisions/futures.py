"""Futures of a budget: numbers drawn from ranges, the same whenever they are drawn again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["DRAWS", "Spread", "evenly", "shares"]

Floats = NDArray[np.float64]

DRAWS = 20_000
"""Futures that are drawn; the standard error of a share of them is 0.35 points at most."""

_STREAM = 4
_BITS = 52


def shares(seed: int, *stream: int) -> Floats:
    """Draw numbers between 0 and 1, each equally likely.

    Parameters
    ----------
    seed : int
        Of the layout.
    *stream : int
        Which numbers; others for every line of a budget, so that one more line at the end
        of the list changes no other.

    Returns
    -------
    (20000,) float
        Never 0 and never 1.

    Notes
    -----
    Raw words of PCG64, started from the seed, a 4 and the stream, so that a budget can be drawn
    again years later; the upper 52 bits of a word and a half make a number.

    Examples
    --------
    >>> drawn = shares(20260119, 0, 1)
    >>> bool((drawn > 0).all() and (drawn < 1).all()), len(drawn)
    (True, 20000)
    """
    source = np.random.PCG64(np.random.SeedSequence([seed, _STREAM, *stream]))
    words = np.asarray(source.random_raw(DRAWS), dtype=np.uint64)
    return ((words >> np.uint64(64 - _BITS)).astype(np.float64) + 0.5) / 2.0**_BITS


def evenly(ends: tuple[float, float], drawn: Floats) -> Floats:
    """Place numbers between 0 and 1 evenly between the ends of a range."""
    low, high = ends
    return low + (high - low) * drawn


@dataclass(frozen=True)
class Spread:
    """How far futures lie apart.

    Parameters
    ----------
    low, median, high : float
        A tenth, a half and nine tenths of the futures are at or below; infinite where those
        futures are.
    never : float [%]
        Share of the futures that are infinite.
    """

    low: float
    median: float
    high: float
    never: float

    @classmethod
    def of(cls, futures: Floats, at: Sequence[float] = (0.1, 0.5, 0.9)) -> Spread:
        """Sum up futures, infinite ones among them.

        Examples
        --------
        >>> Spread.of(np.array([1.0, 2.0, 3.0, np.inf]))
        Spread(low=1.0, median=2.0, high=inf, never=25.0)
        """
        # A quantile that is one of the futures: between a number and infinity lies nothing.
        low, median, high = (
            float(np.quantile(futures, share, method="inverted_cdf")) for share in at
        )
        return cls(low, median, high, 100 * float(np.isinf(futures).mean()))
