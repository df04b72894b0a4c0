"""Time zones: that of a place, by its IANA name, or a fixed distance from universal time."""

from __future__ import annotations

import datetime as dt
import re
from functools import cache
from typing import Annotated
from zoneinfo import ZoneInfo, available_timezones

from pydantic import BeforeValidator, WithJsonSchema

from wintersward.errors import closest

__all__ = ["SITE", "LoggerZone", "TimeZone", "zone_of"]

# Said of a clock that keeps the zone of the site.
SITE = "site"

_PLACE = "the IANA name of a time zone, such as America/New_York"
_CLOCK = "site, the IANA name of a time zone such as America/New_York, or UTC-05:00 and the like"
_NO_LIST = "this computer has no list of time zones; install the Python package tzdata"
_FIXED = re.compile(r"UTC([+-])([0-9]{2}):([0-5][0-9])")
# No zone lies further from universal time than 14 hours (IANA time zone database, Kiritimati).
_FURTHEST = dt.timedelta(hours=14)
# As people write a distance from universal time; the minutes may be left out.
_LOOSE = re.compile(r"(?:UTC|GMT)?\s*([+-])\s*([0-9]{1,2})(?::?([0-5][0-9]))?")

# Letters for a zone: a place that keeps it, and its distance (IANA time zone database). As zones
# some of them are known too, but stand for a clock without summer time or another place.
_LETTERS = {
    "EST": ("America/New_York", "UTC-05:00"),
    "EDT": ("America/New_York", "UTC-04:00"),
    "CST": ("America/Chicago", "UTC-06:00"),
    "CDT": ("America/Chicago", "UTC-05:00"),
    "MST": ("America/Denver", "UTC-07:00"),
    "MDT": ("America/Denver", "UTC-06:00"),
    "PST": ("America/Los_Angeles", "UTC-08:00"),
    "PDT": ("America/Los_Angeles", "UTC-07:00"),
    "AST": ("America/Halifax", "UTC-04:00"),
    "GMT": ("Europe/London", "UTC+00:00"),
    "BST": ("Europe/London", "UTC+01:00"),
    "CET": ("Europe/Berlin", "UTC+01:00"),
    "CEST": ("Europe/Berlin", "UTC+02:00"),
}


def zone_of(name: str, site: str | None = None) -> dt.tzinfo:
    """Make the zone that a name of a definition or a diary means.

    Parameters
    ----------
    name : str
        ``site``, an IANA name, ``UTC`` or a distance such as ``UTC-05:00``.
    site : str, optional
        The zone of the site, for ``site``.

    Raises
    ------
    ValueError
        When the name means no zone, with what is allowed.

    Examples
    --------
    >>> str(zone_of("UTC-05:00")), str(zone_of("site", "America/New_York"))
    ('UTC-05:00', 'America/New_York')
    """
    if name == SITE and site:
        return zone_of(site)
    if name == "UTC":
        return dt.UTC
    fixed = _fixed(name)
    if fixed is None and name not in _places():
        raise ValueError(_CLOCK)
    return fixed or ZoneInfo(name)


def _fixed(name: str) -> dt.timezone | None:
    """Make the zone of a distance that exists, such as ``UTC-05:00``."""
    match = _FIXED.fullmatch(name)
    if match is None:
        return None
    ahead = dt.timedelta(hours=int(match[2]), minutes=int(match[3]))
    if ahead > _FURTHEST:
        return None
    return dt.timezone(-ahead if match[1] == "-" else ahead)


@cache
def _places() -> frozenset[str]:
    """Name every zone of a place; those without a place are letters with several meanings."""
    return frozenset(name for name in available_timezones() if "/" in name)


def _time_zone(value: object) -> object:
    """Read the zone of a place, where clocks may change twice a year."""
    word = str(value).strip()
    places = {name for name in _places() if not name.startswith("Etc/")}
    if word in places:
        return word
    hint = f"did you mean {_LETTERS[word.upper()][0]}?" if word.upper() in _LETTERS else ""
    hint = hint or ("" if places else _NO_LIST) or _near(word, places)
    raise ValueError(f"{_PLACE}; {hint}" if hint else _PLACE)


def _logger_zone(value: object) -> object:
    """Read the zone that the clock of a logger keeps."""
    word = str(value).strip()
    if word in (SITE, "UTC") or word in _places():
        return word
    try:
        zone_of(word)
    except ValueError:
        hint = _clock_hint(word)
        raise ValueError(f"{_CLOCK}; {hint}" if hint else _CLOCK) from None
    return word


def _clock_hint(word: str) -> str:
    if word.upper() in _LETTERS:
        place, fixed = _LETTERS[word.upper()]
        return f"write {fixed} for a clock that is never changed, {place} for one that follows it"
    loose = _LOOSE.fullmatch(word.upper())
    if loose:
        meant = f"UTC{loose[1]}{int(loose[2]):02}:{loose[3] or '00'}"
        return f"did you mean {meant}?" if _fixed(meant) else ""
    return _near(word, _places() | {SITE}) if _places() else _NO_LIST


def _near(word: str, names: frozenset[str] | set[str]) -> str:
    """Suggest the zone of a city, or the name that is spelt most alike."""
    plain = "_".join(word.lower().split())
    if any(name.lower().startswith(f"{plain}/") for name in names):
        return ""  # half the world would be as near
    known = {name.lower(): name for name in sorted(names)}
    cities = {name.rpartition("/")[2]: known[name] for name in known}
    if plain in known or plain in cities:
        return f"did you mean {known.get(plain) or cities[plain]}?"
    near = closest(plain, known).removeprefix("did you mean ").removesuffix("?")
    return f"did you mean {known[near]}?" if near else ""


_schema = WithJsonSchema({"type": "string", "examples": ["America/New_York"]})
_clock_schema = WithJsonSchema({"type": "string", "examples": [SITE, "UTC-05:00"]})
TimeZone = Annotated[str, BeforeValidator(_time_zone), _schema]
LoggerZone = Annotated[str, BeforeValidator(_logger_zone), _clock_schema]
