"""Readings of turf long established on the same ground, as something to hold a limit against."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from wintersward.decisions.limits import Estimate
from wintersward.trial.diary_counts import EstablishedTurf

__all__ = ["Reference", "reference_for"]


@dataclass(frozen=True)
class Reference:
    """The established turf beside the trial.

    Parameters
    ----------
    estimate : Estimate
        Mean of its readings [unit of the measure], or of its places where there are several.
    readings : int
        Number of readings.
    day : date
        When they were taken.
    places : tuple of str
        Where, each place once.
    """

    estimate: Estimate
    readings: int
    day: dt.date
    places: tuple[str, ...]


def reference_for(
    readings: Sequence[EstablishedTurf], measure: str, day: dt.date
) -> Reference | None:
    """Take the readings of established turf that lie nearest to a day.

    Parameters
    ----------
    readings : sequence of EstablishedTurf
        Of a diary.
    measure : str
        What was read.
    day : date
        Day of the limit.

    Returns
    -------
    Reference or None
        Of the nearest day, the earlier of two as near; None where nobody read that measure.

    Notes
    -----
    The readings of one place are subsamples: their standard error is sd / sqrt(n) with n - 1
    degrees of freedom, and says how well that place is known. From several places the means of
    the places are taken, with the spread between places as their error.
    """
    own = [one for one in readings if one.measure == measure]
    if not own:
        return None
    nearest = min((abs((one.date - day).days), one.date) for one in own)[1]
    places: dict[str, list[float]] = {}
    for one in own:
        if one.date == nearest:
            place = " ".join(one.where.split())
            places.setdefault(place, []).extend(value.value for value in one.values)
    count = sum(map(len, places.values()))
    single = len(places) == 1
    values = next(iter(places.values())) if single else [fmean(held) for held in places.values()]
    se = stdev(values) / math.sqrt(len(values))
    found = Estimate(fmean(values), se, len(values) - 1)
    return Reference(found, count, nearest, tuple(places))
