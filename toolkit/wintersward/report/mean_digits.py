"""Decimals with which two means, as they are shown, give their difference as it is shown."""

from __future__ import annotations

import math
from collections.abc import Iterable

import pandas as pd

from wintersward.report.views import MeasureView
from wintersward.report.words import shown_decimals

__all__ = ["answer_digits", "subtracts", "subtracting_digits"]

_MOST_MORE = 2


def subtracts(left: float, right: float, difference: float, decimals: int, shown: int) -> bool:
    """Tell whether a reader who subtracts the means finds the difference.

    Parameters
    ----------
    left, right, difference : float
        In the unit shown; anything not finite raises no question.
    decimals, shown : int
        Of the means, and of the difference.

    Examples
    --------
    >>> subtracts(65.30, 53.66, 11.64, 0, 0), subtracts(65.30, 53.66, 11.64, 1, 0)
    (False, True)
    """
    if not all(map(math.isfinite, (left, right, difference))):
        return True
    found = round(left, decimals) - round(right, decimals)
    # With more decimals than the difference, what is found must round to it.
    room = 0.5 * 10.0**-shown if decimals > shown else 0.0
    return abs(found - round(difference, shown)) <= room + 1e-9


def subtracting_digits(
    compared: Iterable[tuple[float, float, float]], shown: int
) -> tuple[int, bool]:
    """Choose the decimals of means that stand beside their differences.

    Parameters
    ----------
    compared : iterable of (float, float, float)
        Two means and the first minus the second, in the unit shown.
    shown : int
        Decimals of the differences.

    Returns
    -------
    decimals : int
        As few as let a reader subtract, at most two more than the differences have.
    subtracting : bool
        Whether that many do; else they are as few as the differences have.
    """
    all_of = list(compared)
    for decimals in range(shown, shown + 1 + _MOST_MORE):
        if all(subtracts(*one, decimals, shown) for one in all_of):
            return decimals, True
    return shown, False


def answer_digits(rows: Iterable[pd.Series], view: MeasureView) -> int:
    """Choose the decimals of the means of the primary question.

    Parameters
    ----------
    rows : iterable of Series
        Planned rows of the table ``primary``, in SI; at least one.
    view : MeasureView
        Its measure.
    """
    held = list(rows)
    shown = max(shown_decimals(row, view) for row in held)
    compared = [
        (
            view.value(float(row["left_mean"])),
            view.value(float(row["right_mean"])),
            view.difference(float(row["difference"])),
        )
        for row in held
    ]
    return subtracting_digits(compared, shown)[0]
