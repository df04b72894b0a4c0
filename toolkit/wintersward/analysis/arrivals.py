"""The day on which a curve first reaches a level, and what can be said where it does not."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from wintersward.errors import WinterswardError, closest, listed

__all__ = [
    "AFTER",
    "NOT_KNOWN",
    "ONE_EACH",
    "ON_OR_BEFORE",
    "REACHED",
    "Arrival",
    "first_day",
    "unit_arrivals",
]

# What is known of the day.
REACHED = "reached"
ON_OR_BEFORE = "on or before"
AFTER = "after"
NOT_KNOWN = "not known"
# Begins the note on days of units that are one a treatment.
ONE_EACH = "one logger a treatment: described"

# Means of several readings at the level come out a last digit beside it.
_ROUNDING = 1e-9


class Arrival(NamedTuple):
    """When one unit first reached a level.

    Parameters
    ----------
    day : float [day]
        The day, on the scale of the days given; where censored, the bound. NaN without a visit.
    censored : str
        Empty; ``on or before`` where the level was already there at the first visit; ``after``
        where it was not there at any visit, `day` then being the last.
    dipped : bool
        Whether it fell below the level again at a later visit.
    """

    day: float
    censored: str
    dipped: bool


def first_day(days: ArrayLike, values: ArrayLike, level: float, since: float = -np.inf) -> Arrival:
    """Find the first day on which a level is reached from below.

    Parameters
    ----------
    days : (n,) float [day]
        Days of the visits, ascending.
    values : (n,) float
        What was seen; NaN where nothing was.
    level : float [unit of the values]
        The level; a value equal to it has reached it.
    since : float [day]
        Visits before this day are left out.

    Returns
    -------
    Arrival

    Raises
    ------
    WinterswardError
        If the days do not ascend, the lengths differ, or something is not a number.

    Notes
    -----
    Between two visits the curve is taken as a straight line, also where visits between them saw
    nothing. A unit that is at the level when it is first seen got there on or before that day,
    whatever it does later; one that is below it at every visit gets there after the last one that
    saw it, if at all.

    Examples
    --------
    >>> day, censored, dipped = first_day([0, 7, 21], [40, 60, 90], 80)
    >>> round(day, 3), censored, dipped
    (16.333, '', False)
    >>> first_day([0, 7, 21], [40, 60, 70], 80)
    Arrival(day=21.0, censored='after', dipped=False)
    """
    when, seen = _checked(days, values, level)
    kept = (when >= since) & ~np.isnan(seen)
    when, seen = when[kept], seen[kept]
    if not when.size:
        return Arrival(float("nan"), "", False)
    there = seen >= level - _ROUNDING * max(1.0, abs(level))
    if not there.any():
        return Arrival(float(when[-1]), AFTER, False)
    first = int(np.argmax(there))
    dipped = bool((~there[first:]).any())
    if first == 0:
        return Arrival(float(when[0]), ON_OR_BEFORE, dipped)
    share = (level - seen[first - 1]) / (seen[first] - seen[first - 1])
    gap = when[first] - when[first - 1]
    return Arrival(float(when[first - 1] + min(1.0, share) * gap), "", dipped)


def unit_arrivals(
    data: pd.DataFrame,
    level: float,
    since: float = -np.inf,
    keep: Sequence[str] = (),
    unit: str = "unit_name",
) -> tuple[pd.DataFrame, list[str]]:
    """Find the first day at a level of every experimental unit.

    Parameters
    ----------
    data : DataFrame
        One row a unit and visit: the unit, ``day`` [day], ``value``, and the columns of `keep`.
    level, since
        As in `first_day`.
    keep : sequence of str
        Columns that are the same on all visits of a unit, such as its block and its treatment.
    unit : str
        Column that names the units.

    Returns
    -------
    arrivals : DataFrame
        Columns unit_name, those of `keep`, days, censored, dipped (true or false); one row a unit
        that was seen, sorted by unit.
    unseen : list of str
        Units without a single value from `since` on.

    Raises
    ------
    WinterswardError
        If a column is missing, a unit was seen twice on a day, or changes what is to be the same.
    """
    wanted = [unit, "day", "value", *keep]
    missing = [column for column in wanted if column not in data.columns]
    if missing:
        hint = closest(missing[0], data.columns)
        said = f"columns {listed(missing)} are missing; there are: {listed(data.columns)}"
        raise WinterswardError(f"{said}; {hint}" if hint else said)
    rows, unseen = [], []
    for name, visits in data.groupby(unit, sort=True, observed=True):
        constant = {column: visits[column].iloc[0] for column in keep}
        for column in keep:
            if visits[column].nunique(dropna=False) > 1:
                raise WinterswardError(
                    f"unit {name}: {column} is {listed(visits[column].unique())}; "
                    "allowed: one for all its visits"
                )
        if visits["day"].duplicated().any():
            raise WinterswardError(
                f"unit {name}: seen twice on one day; average the rows of a day first"
            )
        ordered = visits.sort_values("day")
        found = first_day(ordered["day"], ordered["value"], level, since)
        if np.isnan(found.day):
            unseen.append(str(name))
            continue
        told = {"days": found.day, "censored": found.censored, "dipped": found.dipped}
        rows.append({"unit_name": str(name), **constant, **told})
    columns = ["unit_name", *keep, "days", "censored", "dipped"]
    return pd.DataFrame(rows, columns=columns), unseen


def _checked(days: ArrayLike, values: ArrayLike, level: float) -> tuple[np.ndarray, np.ndarray]:
    when, seen = (np.asarray(given, dtype=float) for given in (days, values))
    if when.ndim != 1 or when.shape != seen.shape:
        raise WinterswardError(
            f"days and values have the shapes {when.shape} and {seen.shape}; "
            "allowed: two lists of one length"
        )
    if not np.isfinite(level):
        raise WinterswardError(f"level: found {level}; allowed: a number")
    if not np.isfinite(when).all() or np.isinf(seen).any():
        raise WinterswardError("days and values must be numbers; a value that was not seen is NaN")
    if (np.diff(when) <= 0).any():
        raise WinterswardError(f"days: found {listed(when)}; allowed: ascending, each day once")
    return when, seen
