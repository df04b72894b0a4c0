"""How long the holes of an aeration are open: figures, scaled by diameter and by warmth."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

import pandas as pd

from wintersward.trial.aerating import Recovery

__all__ = [
    "BY_DIAMETER",
    "GOOD_GROWTH",
    "GOOD_GROWTH_SOURCE",
    "PUBLISHED",
    "Known",
    "Warmth",
    "good_warmth",
    "growing_warmth",
    "lengthening",
    "scaled",
]

# Soil in which cool-season grasses grow best [degC].
GOOD_GROWTH = (13.0, 18.0)
GOOD_GROWTH_SOURCE = "Owen 2013"
BY_DIAMETER = "Landreth et al. 2007–08"
# Days after the aeration from which warmth is taken, and the fewest that will do.
_LONGEST, _FEWEST = 28, 7
# Below this share of the warmth of good growth holes hardly close, and no figure is given.
_HARDLY = 0.1


class Known(NamedTuple):
    """How long the holes of one diameter were open.

    Parameters
    ----------
    diameter : float [m]
        Outside diameter of the tine.
    low, high : float [day]
        Fewest and most days; high is NaN where some were still open when they were last seen.
    source : str
        Who saw it.
    """

    diameter: float
    low: float
    high: float
    source: str

    @classmethod
    def stated(cls, recovery: Recovery) -> Known:
        """Take what a definition states."""
        return cls(recovery.diameter, recovery.days[0], recovery.days[1], recovery.source)


PUBLISHED = Known(0.0127, 10.0, 14.0, "note of a golf course 2013, hollow tine in good growth")


def scaled(known: Known, diameter: float) -> tuple[float, float]:
    """Scale days by the diameter of the holes.

    Parameters
    ----------
    known : Known
        What is known of another diameter.
    diameter : float [m]
        Outside diameter of the tine.

    Returns
    -------
    low, high : float [day]

    Notes
    -----
    Holes of 1/4 in closed in half the time of 1/2 in, and the spacing did not change it (Landreth
    et al. 2007-08, Arkansas): days in proportion to the diameter. Beyond those two diameters that
    is assumed.

    Examples
    --------
    >>> scaled(PUBLISHED, 0.00635)
    (5.0, 7.0)
    """
    times = diameter / known.diameter
    return known.low * times, known.high * times


@dataclass(frozen=True)
class Warmth:
    """Degree days of the soil around an aeration.

    Parameters
    ----------
    a_day : float [degC]
        Mean degree days of a day.
    first, last : date
        Days between which they were taken, both included.
    """

    a_day: float
    first: dt.date
    last: dt.date


def growing_warmth(
    dates: Iterable[dt.date], degree_days: Iterable[float], on: dt.date, event: dt.date | None
) -> Warmth | None:
    """Average the degree days of the days in which the holes close.

    Parameters
    ----------
    dates, degree_days : iterable of date and of float [degC d]
        Degree days of single days, of as many plots as there are.
    on : date
        Day of the aeration.
    event : date, optional
        First use after it.

    Returns
    -------
    Warmth or None
        Of the days from the aeration to the day before the event, four weeks at most. Where fewer
        than seven of them are known, of the last fourteen before the aeration; None where fewer
        than seven of those are known.
    """
    frame = pd.DataFrame({"date": [*dates], "value": [*degree_days]}).dropna()
    by_day = frame.assign(date=pd.to_datetime(frame["date"])).groupby("date")["value"].mean()
    longest = on + dt.timedelta(days=_LONGEST - 1)
    end = longest if event is None else min(longest, event - dt.timedelta(days=1))
    day = dt.timedelta(days=1)
    for first, last in ((on, end), (on - 14 * day, on - day)):
        held = by_day[(by_day.index >= pd.Timestamp(first)) & (by_day.index <= pd.Timestamp(last))]
        if len(held) >= _FEWEST:
            known = [moment.date() for moment in pd.DatetimeIndex(held.index)]
            return Warmth(float(held.mean()), known[0], known[-1])
    return None


def good_warmth(base: float, upper: float | None = None) -> float:
    """Give the degree days of a day in the middle of `GOOD_GROWTH`.

    Parameters
    ----------
    base, upper : float [degC]
        As degree days are counted; without an upper one nothing is cut off.

    Returns
    -------
    float [degC]
        None is left, 0, where the base lies above good growth.

    Examples
    --------
    >>> good_warmth(0.0), good_warmth(10.0), good_warmth(20.0)
    (15.5, 5.5, 0.0)
    """
    middle = sum(GOOD_GROWTH) / 2
    return max(0.0, min(middle, math.inf if upper is None else upper) - base)


def lengthening(a_day: float, good: float) -> float:
    """Tell how many times longer holes are open than in good growth.

    Parameters
    ----------
    a_day : float [degC]
        Mean degree days of a day.
    good : float [degC]
        As `good_warmth` gives it.

    Returns
    -------
    float
        Good warmth over that which was there: at least 1, since nothing says that holes close
        sooner in more than that. NaN where there was hardly any warmth.

    Notes
    -----
    That holes close in proportion to degree days is assumed; the range of good growth is that of
    Owen (2013).

    Examples
    --------
    >>> lengthening(7.75, 15.5), lengthening(16.0, 15.5)
    (2.0, 1.0)
    """
    if good <= 0 or a_day < _HARDLY * good:
        return math.nan
    return max(1.0, good / a_day)
