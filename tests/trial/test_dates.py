"""Dates are named once, and meant by name everywhere else."""

from __future__ import annotations

import datetime as dt

import pytest

from wintersward.errors import WinterswardError
from wintersward.trial.dates import dates_meant, shift_dates

NAMED: dict[str, dt.date | list[dt.date]] = {
    "baseline": dt.date(2026, 1, 15),
    "visits": [dt.date(2026, 3, 10), dt.date(2026, 3, 16)],
}


def test_names_and_dates_mix_and_repeats_count_once() -> None:
    words = ["visits", dt.date(2026, 3, 16), "baseline", "visits", dt.date(2026, 3, 12)]
    assert [str(day) for day in dates_meant(NAMED, words)] == [
        "2026-01-15",
        "2026-03-10",
        "2026-03-12",
        "2026-03-16",
    ]


def test_one_word_needs_no_list() -> None:
    assert dates_meant(NAMED, "baseline") == [dt.date(2026, 1, 15)]
    assert dates_meant(NAMED, dt.date(2026, 5, 1)) == [dt.date(2026, 5, 1)]
    assert dates_meant(NAMED, []) == []


@pytest.mark.parametrize(
    ("word", "hint"), [("visit", "did you mean visits?"), ("x", "name it there first")]
)
def test_a_name_that_is_not_there_is_refused(word: str, hint: str) -> None:
    with pytest.raises(ValueError, match="a name from 'dates'") as refused:
        dates_meant(NAMED, word)
    assert str(refused.value) == f"a name from 'dates' (baseline, visits) or a date; {hint}"


def test_every_date_is_shifted_and_the_first_ones_stay() -> None:
    shifted = shift_dates(NAMED, 365)
    assert shifted["baseline"] == dt.date(2027, 1, 15)
    assert shifted["visits"] == [dt.date(2027, 3, 10), dt.date(2027, 3, 16)]
    assert NAMED["baseline"] == dt.date(2026, 1, 15)
    assert shift_dates(shifted, -365) == NAMED


def test_a_date_beyond_the_calendar() -> None:
    with pytest.raises(WinterswardError, match="9999-12-31 cannot be shifted by 1 days"):
        shift_dates({"late": dt.date(9999, 12, 31)}, 1)
