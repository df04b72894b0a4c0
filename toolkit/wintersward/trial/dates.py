"""The dates of a trial: named once in the definition, referred to by name everywhere else."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import TypeVar

from wintersward.errors import WinterswardError, closest, listed

__all__ = ["dates_meant", "shift_dates"]

NamedDates = Mapping[str, dt.date | list[dt.date]]
_When = TypeVar("_When", dt.date, dt.date | list[dt.date])


def dates_meant(named: NamedDates, words: dt.date | str | Iterable[dt.date | str]) -> list[dt.date]:
    """Resolve names and dates into sorted dates without repeats.

    Parameters
    ----------
    named : mapping of str to date or list of date
        The ``dates`` of the definition.
    words : date, str or iterable of these
        Names out of ``named``, or dates.

    Returns
    -------
    list of date
        Ascending.

    Raises
    ------
    ValueError
        For a name that is not there, with the names that are.

    Examples
    --------
    >>> named = {"baseline": dt.date(2026, 1, 15), "visits": [dt.date(2026, 3, 10)]}
    >>> [str(day) for day in dates_meant(named, ["visits", "baseline"])]
    ['2026-01-15', '2026-03-10']
    """
    found: set[dt.date] = set()
    for word in [words] if isinstance(words, (str, dt.date)) else words:
        if isinstance(word, dt.date):
            found.add(word)
        elif word in named:
            days = named[word]
            found.update([days] if isinstance(days, dt.date) else days)
        else:
            near = closest(word, named)
            raise ValueError(
                f"a name from 'dates' ({listed(named)}) or a date; {near or 'name it there first'}"
            )
    return sorted(found)


def shift_dates(named: Mapping[str, _When], days: int) -> dict[str, _When]:
    """Shift every date by the same number of days.

    Raises
    ------
    WinterswardError
        Where a date would leave the calendar.

    Examples
    --------
    >>> shift_dates({"visits": [dt.date(2026, 3, 10)]}, 364)
    {'visits': [datetime.date(2027, 3, 9)]}
    """
    return {
        name: [_shifted(day, days) for day in when]
        if isinstance(when, list)
        else _shifted(when, days)
        for name, when in named.items()
    }


def _shifted(day: dt.date, days: int) -> dt.date:
    try:
        return day + dt.timedelta(days=days)
    except OverflowError:
        raise WinterswardError(
            f"{day} cannot be shifted by {days} days; choose another day"
        ) from None
