"""Which formats a column of times may be written in."""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["DAY_ORDERS", "formats_that_fit"]

# The order of a date, by its name, with one sign a part.
DAY_ORDERS = {"year first": "Ymd", "month first": "mdY", "day first": "dmY"}
_SIGNED = re.compile(r"([0-9]{1,4})([/.-])([0-9]{1,2})\2([0-9]{1,4})(?![0-9])")
_NAMED = re.compile(r"([0-9]{1,2})([ /.-])([A-Za-z]{3,9})\.?\2([0-9]{4}|[0-9]{2})(?![0-9])")
_CLOCK = re.compile(
    r"([0-9]{1,2}):([0-9]{2})(:[0-9]{2})?([.][0-9]{1,6})?( ?)([AaPp]\.?[Mm]\.?)?"
    r" ?(Z|[+-][0-9]{2}:?[0-9]{2})?"
)
_BETWEEN = re.compile(r",? +|T")
# No month or day beyond these, and no hour of a clock with two halves of the day.
_TOP = {"m": 12, "d": 31}
_HALF_DAY = 12


def formats_that_fit(texts: Sequence[str]) -> list[str]:
    """List the formats in which every text can be a time, or a day, or a time of day.

    Parameters
    ----------
    texts : sequence of str
        Cells of a column, or of two that are joined by a space; at least one.

    Returns
    -------
    list of str
        For ``strptime``. Several where month and day, or a year of two digits, may change places
        in every text; none where one form does not hold for all.

    Examples
    --------
    >>> formats_that_fit(["3/4/2026 2:05 PM", "3/5/2026 2:05 PM"])
    ['%m/%d/%Y %I:%M %p', '%d/%m/%Y %I:%M %p']
    >>> formats_that_fit(["3/14/2026 14:05"]), formats_that_fit(["2026-03-14T14:05:00"])
    (['%m/%d/%Y %H:%M'], ['%Y-%m-%dT%H:%M:%S'])
    """
    days: list[re.Match[str] | None] = []
    clocks: set[str] = set()
    for text in texts:
        day, clock = _split(text)
        if day is None and clock is None:
            return []
        days.append(day)
        clocks.add("" if clock is None else clock)
    if len(clocks) != 1:
        return []
    behind = clocks.pop()
    if all(day is None for day in days):
        return [behind]
    found = [day for day in days if day is not None]
    return [day + behind for day in _day_formats(found)] if len(found) == len(days) else []


def _split(text: str) -> tuple[re.Match[str] | None, str | None]:
    """Part a text into its day and the format of what stands behind; nothing where it is none."""
    day = _SIGNED.match(text) or _NAMED.match(text)
    if day is None:
        return None, _clock_format(text)
    rest = text[day.end() :]
    if not rest:
        return day, ""
    between = _BETWEEN.match(rest)
    clock = _clock_format(rest[between.end() :]) if between is not None else None
    if between is None or clock is None:
        return None, None
    return day, between[0] + clock


def _clock_format(text: str) -> str | None:
    """Tell the format of a time of day."""
    clock = _CLOCK.fullmatch(text)
    if clock is None or int(clock[1]) > (_HALF_DAY if clock[6] else 24):
        return None
    hours = f"%I:%M{':%S' if clock[3] else ''}" if clock[6] else None
    made = hours or f"%H:%M{':%S' if clock[3] else ''}"
    if clock[4]:
        made += ".%f"
    if clock[6]:
        made += f"{clock[5]}%p"
    if clock[7]:
        made += " " * (text[clock.start(7) - 1] == " ") + ("Z" if clock[7] == "Z" else "%z")
    return made


def _day_formats(days: Sequence[re.Match[str]]) -> list[str]:
    """List the formats in which every day exists."""
    first = days[0]
    between = first[2]
    if any(day.re is not first.re or day[2] != between for day in days):
        return []
    if first.re is _NAMED:
        years = {len(day[4]) for day in days}
        if len(years) > 1:
            return []
        # May is written alike in both forms.
        month = "%B" if any(len(day[3]) > 3 for day in days) else "%b"
        return [between.join(["%d", month, "%Y" if years == {4} else "%y"])]
    made = []
    for order in DAY_ORDERS.values():
        widths = {len(_part(day, order, "Y")) for day in days}
        if widths not in ({4}, {2}):
            continue
        if all(_exists(day, order) for day in days):
            signs = order if widths == {4} else order.replace("Y", "y")
            made.append(between.join(f"%{sign}" for sign in signs))
    return made


def _part(day: re.Match[str], order: str, sign: str) -> str:
    return (day[1], day[3], day[4])[order.index(sign)]


def _exists(day: re.Match[str], order: str) -> bool:
    parts = {sign: _part(day, order, sign) for sign in _TOP}
    return all(len(text) <= 2 and 1 <= int(text) <= _TOP[sign] for sign, text in parts.items())
