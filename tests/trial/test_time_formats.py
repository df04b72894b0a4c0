"""Formats of time that are taken, and what is said of those that are not."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from wintersward.trial.time_formats import TimeFormat

RULE = "how a time is written, in the letters of strptime, such as '%m/%d/%Y %H:%M'"
KNOWN = "of these: %%, %A, %B, %H, %I, %M, %S, %Y, %a, %b, %d, %f, %j, %m, %p, %y, %z"


def told(form: object) -> str:
    try:
        return f"takes {TypeAdapter(TimeFormat).validate_python(form)}"
    except ValidationError as error:
        return str(error.errors()[0]["ctx"]["error"])


@pytest.mark.parametrize(
    "form",
    [
        "%m/%d/%Y %H:%M",
        "%Y-%m-%dT%H:%M:%S",
        "%Y-%m-%dT%H:%M:%SZ",
        "%Y-%m-%d %H:%M:%S.%f",
        "%Y-%m-%dT%H:%M:%S%z",
        "%d.%m.%y %H:%M",
        "%m/%d/%y %I:%M:%S %p",
        "%d-%b-%Y %H",
        "%a %d %B %Y, %H:%M EST",
        "%Y %j %H%M",
        "100%% %Y-%m-%d %H",
    ],
)
def test_formats_with_year_day_and_hour_are_taken(form: str) -> None:
    assert told(form) == f"takes {form}"


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ("%m/%d %H:%M", "a format with a year; add %Y (four digits) or %y (two)"),
        ("%Y %H:%M", "a format with a day; add %m and %d"),
        ("%Y-%m %H:%M", "a format with a day; add %m and %d"),
        (
            "%m/%d/%Y",
            "a format with an hour; add %H, or %I with %p where the file has AM and PM",
        ),
        (
            "%m/%d/%Y %I:%M",
            "a format with an hour; add %H, or %I with %p where the file has AM and PM",
        ),
        ("%m/%d/%Y %H:%N", f"{KNOWN}; remove %N"),
        ("%c", f"{KNOWN}; remove %c"),
        ("%-m/%d/%Y %H:%M", f"{KNOWN}; remove %-"),
        ("%m/%d/%Y %H:%M%", f"{KNOWN}; remove %"),
        ("%d/%d/%m/%Y %H:%M", f"{RULE}; remove one %d"),
        ("%Y-%m-%d %H\0", RULE),
        (
            "%Y-%m-%d %H:%M %Z",
            "a format without %Z, since letters name no zone for certain; write the letters as "
            "they stand in the file, such as EST, and tell 'zone'",
        ),
        ("MM/DD/YYYY hh:mm", f"{RULE}; did you mean '%m/%d/%Y %H:%M'?"),
        ("yyyy-mm-dd hh:mm:ss", f"{RULE}; did you mean '%Y-%m-%d %H:%M:%S'?"),
        ("month first", RULE),
        ("", RULE),
        (None, RULE),
        (5, RULE),
    ],
)
def test_what_leaves_something_open_is_told(form: object, said: str) -> None:
    assert told(form) == said
