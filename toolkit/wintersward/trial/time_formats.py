"""How the time of a reading is written in a logger's file, in the directives of strptime."""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

from wintersward.errors import listed

__all__ = ["TimeFormat"]

_EXAMPLE = "%m/%d/%Y %H:%M"
_RULE = f"how a time is written, in the letters of strptime, such as '{_EXAMPLE}'"
# Every directive that reads the same on every computer, so without %c, %x and %X.
_KNOWN = frozenset("YymdjBbAaHIMSfpz%")
# What must be told, by any of these sets of directives.
_PARTS = {
    "a year": ("Y", "y"),
    "a day": ("md", "Bd", "bd", "j"),
    "an hour": ("H", "Ip"),
}
_NEEDED = {
    "a year": "add %Y (four digits) or %y (two)",
    "a day": "add %m and %d",
    "an hour": "add %H, or %I with %p where the file has AM and PM",
}
# As spreadsheets write the same.
_SPREADSHEET = (
    ("yyyy", "%Y"),
    ("yy", "%y"),
    ("dd", "%d"),
    ("hh", "%H"),
    ("ss", "%S"),
)
# An afternoon in the second half of a month, so that nothing can stand for something else.
_SAMPLE = dt.datetime(2026, 3, 24, 17, 38, 42, tzinfo=dt.UTC)


def _time_format(value: object) -> object:
    """Check that a format can be read, and that it holds a year, a day and an hour."""
    if not isinstance(value, str) or not value.strip():
        raise ValueError(_RULE)
    if "%" not in value:
        near = _translated(value)
        raise ValueError(f"{_RULE}; did you mean '{near}'?" if near else _RULE)
    letters = re.findall("%(.?)", value, re.DOTALL)
    if "Z" in letters:
        hint = "write the letters as they stand in the file, such as EST, and tell 'zone'"
        raise ValueError(f"a format without %Z, since letters name no zone for certain; {hint}")
    unknown = [f"%{letter}" for letter in letters if letter not in _KNOWN]
    if unknown:
        known = listed(f"%{letter}" for letter in sorted(_KNOWN))
        raise ValueError(f"of these: {known}; remove {listed(dict.fromkeys(unknown))}")
    for part, ways in _PARTS.items():
        if not any({*way} <= {*letters} for way in ways):
            raise ValueError(f"a format with {part}; {_NEEDED[part]}")
    twice = [f"%{one}" for one in dict.fromkeys(letters) if one != "%" and letters.count(one) > 1]
    if twice:
        raise ValueError(f"{_RULE}; remove one {twice[0]}")
    if not _reads_what_it_writes(value):
        raise ValueError(_RULE)
    return value


def _translated(text: str) -> str:
    """Turn the letters of a spreadsheet into directives; empty where they are others."""
    made = text.strip()
    for letters, directive in _SPREADSHEET:
        made = re.sub(letters, directive, made, count=1, flags=re.IGNORECASE)
    # Beside the hour mm are minutes, else the month.
    made = re.sub("(?<=%H:)mm", "%M", made, flags=re.IGNORECASE)
    made = re.sub("mm", "%m", made, count=1, flags=re.IGNORECASE)
    return made if {"%m", "%d", "%H"} <= {*re.findall("%.", made)} else ""


def _reads_what_it_writes(form: str) -> bool:
    try:
        read = dt.datetime.strptime(_SAMPLE.strftime(form), form).replace(tzinfo=dt.UTC)
    except (ValueError, re.error):
        return False
    whole = _SAMPLE.replace(second=read.second, minute=read.minute, microsecond=read.microsecond)
    return read == whole


_schema = WithJsonSchema({"type": "string", "examples": [_EXAMPLE]})
TimeFormat = Annotated[str, BeforeValidator(_time_format), _schema]
