"""The dates of a trial: named once in the definition, referred to by name everywhere else."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping

from wintersward.errors import closest, listed

__all__ = ["dates_meant", "shift_dates"]

NamedDates = Mapping[str, dt.date | list[dt.date]]


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


def shift_dates(named: NamedDates, days: int) -> dict[str, dt.date | list[dt.date]]:
    """Shift every date by the same number of days.

    Examples
    --------
    >>> shift_dates({"visits": [dt.date(2026, 3, 10)]}, 364)
    {'visits': [datetime.date(2027, 3, 9)]}
    """
    step = dt.timedelta(days=days)
    return {
        name: [day + step for day in when] if isinstance(when, list) else when + step
        for name, when in named.items()
    }
