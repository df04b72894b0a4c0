"""Time zones that a definition and a diary may name, and what is said of others."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from wintersward.trial import zones
from wintersward.trial.zones import LoggerZone, TimeZone, zone_of

PLACE = "the IANA name of a time zone, such as America/New_York"
CLOCK = "site, the IANA name of a time zone such as America/New_York, or UTC-05:00 and the like"


def told(kind: Any, name: object) -> str:
    adapter: TypeAdapter[str] = TypeAdapter(kind)
    try:
        return f"takes {adapter.validate_python(name)}"
    except ValidationError as error:
        return str(error.errors()[0]["ctx"]["error"])


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("America/New_York", "takes America/New_York"),
        ("Europe/London", "takes Europe/London"),
        ("america/new_york", f"{PLACE}; did you mean America/New_York?"),
        ("New York", f"{PLACE}; did you mean America/New_York?"),
        ("Chicago", f"{PLACE}; did you mean America/Chicago?"),
        ("America/NewYork", f"{PLACE}; did you mean America/New_York?"),
        ("EST", f"{PLACE}; did you mean America/New_York?"),
        ("pdt", f"{PLACE}; did you mean America/Los_Angeles?"),
        # A place has no fixed distance, and these have no summer time.
        ("UTC-05:00", PLACE),
        ("UTC", PLACE),
        ("America", PLACE),
        ("posix/America/New_York", f"{PLACE}; did you mean America/New_York?"),
        ("/etc/localtime", PLACE),
        ("../America/New_York", f"{PLACE}; did you mean America/New_York?"),
        (-5, PLACE),
        (None, PLACE),
    ],
)
def test_the_zone_of_a_place(name: object, said: str) -> None:
    assert told(TimeZone, name) == said


@pytest.mark.parametrize(
    ("name", "said"),
    [
        *((name, f"takes {name}") for name in ("site", "UTC", "America/New_York", "Etc/GMT+5")),
        *((name, f"takes {name}") for name in ("UTC-05:00", "UTC+05:30", "UTC+14:00", "UTC-00:00")),
        ("UTC-5", f"{CLOCK}; did you mean UTC-05:00?"),
        ("GMT+5", f"{CLOCK}; did you mean UTC+05:00?"),
        ("-0500", f"{CLOCK}; did you mean UTC-05:00?"),
        (-5, f"{CLOCK}; did you mean UTC-05:00?"),
        ("UTC+15:00", CLOCK),
        ("UTC+14:30", f"{CLOCK}; did you mean UTC+14:30?".partition(";")[0]),
        ("UTC-05:60", CLOCK),
        (
            "EDT",
            f"{CLOCK}; write UTC-04:00 for a clock that is never changed, America/New_York for one "
            "that follows it",
        ),
        ("Sight", f"{CLOCK}; did you mean site?"),
    ],
)
def test_the_zone_of_a_clock(name: object, said: str) -> None:
    assert told(LoggerZone, name) == said


def test_summer_time_moves_a_place_and_no_fixed_zone() -> None:
    # In 2026 summer time begins in New York on 8 March (IANA time zone database).
    days = [dt.datetime(2026, 3, 7, 12), dt.datetime(2026, 3, 9, 12)]
    hours = {
        name: [zone_of(name, "America/New_York").utcoffset(day) for day in days]
        for name in ("site", "America/New_York", "UTC-05:00", "UTC")
    }
    five, four, none = dt.timedelta(hours=-5), dt.timedelta(hours=-4), dt.timedelta()
    assert hours == {
        "site": [five, four],
        "America/New_York": [five, four],
        "UTC-05:00": [five, five],
        "UTC": [none, none],
    }


@pytest.mark.parametrize("name", ["site", "EST", "UTC+15:00", "", "right/UTC"])
def test_what_is_no_zone_makes_none(name: str) -> None:
    with pytest.raises(ValueError, match="such as America/New_York"):
        zone_of(name)


@pytest.mark.parametrize("kind", [TimeZone, LoggerZone])
def test_a_computer_without_zones_says_so(kind: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(zones, "_places", frozenset)
    said = told(kind, "America/New_York")
    assert said.endswith("; this computer has no list of time zones; install the Python package "
                         "tzdata")  # fmt: skip
