"""Other scales for shares of ground, and dates on which shares have nothing left to tell."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["arcsine", "at_ceiling", "logit"]

Floats = NDArray[np.float64]
# Shares [%] from which, and up to which, all plots look alike.
_FULL, _BARE = 99.0, 1.0


def logit(offset: float) -> Callable[[Floats], Floats]:
    """Make the transformation to log odds.

    Parameters
    ----------
    offset : float [%]
        Added to the share and to what it lacks of 100 %, so that 0 and 100 % have log odds too.

    Returns
    -------
    callable
        Takes shares [%], (n,) float, and gives log((share + offset) / (100 - share + offset)).

    Examples
    --------
    >>> logit(0.5)(np.array([50.0, 100.0])).round(3).tolist()
    [0.0, 5.303]
    """

    def transform(shares: Floats) -> Floats:
        return np.log((shares + offset) / (100.0 - shares + offset))

    return transform


def arcsine(shares: Floats) -> Floats:
    """Give the arcsine of the square root of shares.

    Parameters
    ----------
    shares : (n,) float [%]
        From 0 to 100.

    Returns
    -------
    (n,) float [radian]

    Examples
    --------
    >>> arcsine(np.array([0.0, 50.0, 100.0])).round(4).tolist()
    [0.0, 0.7854, 1.5708]
    """
    return np.arcsin(np.sqrt(np.clip(shares, 0.0, 100.0) / 100.0))


def at_ceiling(values: pd.Series | Floats, unit: str) -> str:
    """Say why shares of a date are described and not compared: all plots are full, or bare.

    Parameters
    ----------
    values : (n,) float
        Of every unit of one measure and date.
    unit : str
        Unit of the measure; only % has an end to run into.

    Returns
    -------
    str
        The reason; empty where the values may be compared.

    Examples
    --------
    >>> at_ceiling(np.array([99.2, 100.0]), "%")
    'every plot is at 99 % or more: described, not compared'
    >>> at_ceiling(np.array([80.0, 100.0]), "%")
    ''
    """
    seen = np.asarray(values, dtype=float)
    seen = seen[np.isfinite(seen)]
    if unit != "%" or not seen.size:
        return ""
    if (seen >= _FULL).all():
        return f"every plot is at {_FULL:g} % or more: described, not compared"
    if (seen <= _BARE).all():
        return f"every plot is at {_BARE:g} % or less: described, not compared"
    return ""
