"""What an interval says against zero and against the smallest difference that matters."""

from __future__ import annotations

import math
from enum import Enum

from wintersward.report.numbers import decimals_for

__all__ = ["Verdict", "answer_decimals", "verdict"]


class Verdict(Enum):
    """What an interval says against zero and the smallest difference that matters."""

    LARGE = "beyond what matters"
    MAYBE_LARGE = "away from zero, perhaps beyond what matters"
    SMALL = "away from zero, smaller than what matters"
    NEGLIGIBLE = "holds zero, smaller than what matters"
    CANNOT_TELL = "holds zero and what matters on one side"
    CANNOT_TELL_AT_ALL = "holds zero and what matters on both sides"
    NO_INTERVAL = "no interval"


def verdict(lower: float, upper: float, matters_from: float) -> Verdict:
    """Compare an interval with zero and with the smallest difference that matters.

    Parameters
    ----------
    lower, upper : float
        Ends of the interval of a difference.
    matters_from : float
        Above 0; it counts in either direction.

    Returns
    -------
    Verdict

    Examples
    --------
    >>> verdict(9, 15, 8).name, verdict(-15, -9, 8).name, verdict(4, 18, 8).name
    ('LARGE', 'LARGE', 'MAYBE_LARGE')
    >>> verdict(1, 5, 8).name, verdict(-3, 5, 8).name, verdict(-3, 11, 8).name
    ('SMALL', 'NEGLIGIBLE', 'CANNOT_TELL')
    """
    if not (math.isfinite(lower) and math.isfinite(upper)):
        return Verdict.NO_INTERVAL
    nearest, farthest = sorted((abs(lower), abs(upper)))
    if lower > 0 or upper < 0:
        if nearest >= matters_from:
            return Verdict.LARGE
        return Verdict.MAYBE_LARGE if farthest >= matters_from else Verdict.SMALL
    if farthest < matters_from:
        return Verdict.NEGLIGIBLE
    return Verdict.CANNOT_TELL if nearest < matters_from else Verdict.CANNOT_TELL_AT_ALL


def answer_decimals(se: float, lower: float, upper: float, matters: float) -> int:
    """Choose decimals with which the written interval says the same as the computed one.

    Parameters
    ----------
    se, lower, upper, matters : float
        In the unit shown.
    """
    decimals = decimals_for(se)
    said = verdict(lower, upper, matters)
    if said is Verdict.NO_INTERVAL:
        return decimals
    most = decimals + 3
    while decimals < most:
        ends = round(lower, decimals), round(upper, decimals)
        # An end that is not zero must not be written as zero: it would seem to touch it.
        true_to_zero = all(
            (end == 0) == (short == 0) for end, short in zip((lower, upper), ends, strict=True)
        )
        if true_to_zero and verdict(*ends, matters) is said:
            break
        decimals += 1
    return decimals
