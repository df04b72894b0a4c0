"""Times of loggers: zones, hours that are there never or twice, clocks that drift."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from records.logger_studies import (
    entry,
    kinds,
    local,
    put,
    read,
    rows,
    series,
    told,
    with_loggers,
)
from wintersward.records.logger_formats import formats_that_fit
from wintersward.records.logger_times import in_utc, read_times, runs_backwards
from wintersward.trial import Definition

NEW_YORK = ZoneInfo("America/New_York")


@pytest.fixture
def definition(tmp_path: Path) -> Definition:
    return with_loggers(tmp_path)


def stamps(*texts: str) -> np.ndarray:
    return np.array(texts, "datetime64[us]")


class TestFormats:
    @pytest.mark.parametrize(
        ("text", "form"),
        [
            ("03/24/2026 14:05", "%m/%d/%Y %H:%M"),
            ("3/24/26 2:05:30 PM", "%m/%d/%y %I:%M:%S %p"),
            ("24.03.2026 14:05", "%d.%m.%Y %H:%M"),
            ("24-Mar-2026 14:05:30.5", "%d-%b-%Y %H:%M:%S.%f"),
            ("2026-03-24T14:05", "%Y-%m-%dT%H:%M"),
            ("24 March 2026 2:05 p.m.", "%d %B %Y %I:%M %p"),
            ("2026-03-24T18:05:00+0400", "%Y-%m-%dT%H:%M:%S%z"),
        ],
    )
    def test_times_are_read_by_their_format(self, text: str, form: str) -> None:
        (read,) = read_times([text], form)
        assert read.astype("datetime64[m]") == np.datetime64("2026-03-24T14:05")
        assert form in formats_that_fit([text])

    def test_midnight_at_the_end_of_a_day(self) -> None:
        found = read_times(["2026-02-28 24:00", "2026-03-01 00:30"], "%Y-%m-%d %H:%M")
        assert found.tolist() == stamps("2026-03-01T00:00", "2026-03-01T00:30").tolist()

    @pytest.mark.parametrize(
        "text", ["", "now", "Today", "2026-02-30 00:00", "1900-01-01 00:00", "2026-02-01", "nan"]
    )
    def test_what_is_no_time(self, text: str) -> None:
        assert np.isnat(read_times([text], "%Y-%m-%d %H:%M")).all()

    @pytest.mark.parametrize("form", ["%Q", "%d %d", "%", "%U"])
    def test_what_is_no_format(self, form: str) -> None:
        with pytest.raises(ValueError, match=r"."):
            read_times(["5"], form)

    def test_month_and_day_that_may_change_places(self) -> None:
        both = ["%m/%d/%Y", "%d/%m/%Y"]
        assert formats_that_fit(["3/4/2026", "5/6/2026"]) == both
        assert formats_that_fit(["3/4/2026", "5/13/2026"]) == both[:1]
        assert formats_that_fit(["13/4/2026", "5/13/2026"]) == []
        assert formats_that_fit(["3/4/2026", "3.4.2026"]) == []
        assert formats_that_fit(["May 4"]) == []


class TestZones:
    def test_the_site_s_zone_has_summer_time(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, rows("2026-02-01 12:00,1", "2026-04-01 12:00,1"))
        found = read(tmp_path, definition, entry(zone="site"))
        assert found.readings["time"].dt.hour.tolist() == [17, 16]

    def test_a_fixed_distance_has_none(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, rows("2026-02-01 12:00,1", "2026-04-01 12:00,1"))
        found = read(tmp_path, definition, entry(zone="UTC-05:00"))
        assert found.readings["time"].dt.hour.tolist() == [17, 17]
        found = read(tmp_path, definition, entry(zone="Europe/Berlin"))
        assert found.readings["time"].dt.hour.tolist() == [11, 10]

    def test_times_that_tell_their_distance(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, rows("2026-02-01 12:00-0500,1", "2026-04-01 12:00-0400,1"))
        found = read(tmp_path, definition, entry(format="%Y-%m-%d %H:%M%z"))
        assert found.readings["time"].dt.hour.tolist() == [17, 16]


# In 2026 the clocks of New York jump on 8 March from 2:00 to 3:00; in 2025 they are put back on
# 2 November from 2:00 to 1:00 (IANA time zone database).
class TestJumps:
    def test_a_clock_that_jumps_has_no_gap(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, rows("2026-03-08 01:30,1", "2026-03-08 03:00,1", "2026-03-08 03:30,1"))
        found = read(tmp_path, definition, entry(zone="site"))
        steps = found.readings["time"].diff().dropna().dt.total_seconds().tolist()
        assert (steps, told(found), kinds(found)) == ([1800, 1800], [], [])

    def test_times_that_were_never_there(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, series([1.0, 1.1, 1.2, 1.3], "2026-03-08 01:30"))
        found = read(tmp_path, definition, entry(zone="site"))
        (sums,) = found.sums
        assert (sums.used, sums.removed) == (2, {"skipped_hour": 2})
        (flag,) = found.flags
        assert (flag.kind, flag.found) == (
            "clock drift",
            "2 readings at a time that the clocks jumped over",
        )
        assert "look at 'zone'" in flag.rule

    @pytest.mark.parametrize("minutes", [10, 15, 30, 60])
    def test_a_repeated_hour_is_told_apart_by_order(
        self, tmp_path: Path, definition: Definition, minutes: int
    ) -> None:
        first = dt.datetime(2025, 11, 2, 3, 0, tzinfo=dt.UTC)
        true = [first + dt.timedelta(minutes=minutes) * at for at in range(6 * 60 // minutes)]
        lines = [
            f"{one.astimezone(NEW_YORK):%Y-%m-%d %H:%M},{at % 7}" for at, one in enumerate(true)
        ]
        put(tmp_path, rows(*lines))
        found = read(tmp_path, definition, entry(zone="site"))
        assert found.readings["time"].dt.to_pydatetime().tolist() == true
        assert (told(found), kinds(found)) == ([], [])
        put(tmp_path, rows(*lines[::-1]))
        again = read(tmp_path, definition, entry(zone="site"))
        assert again.readings["time"].tolist() == found.readings["time"].tolist()

    def test_a_repeated_hour_passed_once(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, series([1.0, 1.1, 1.2, 1.3], "2025-11-02 00:30"))
        found = read(tmp_path, definition, entry(zone="site"))
        assert found.sums[0].removed == {"repeated_hour": 2}
        assert local(found) == ["11-02 00:30", "11-02 02:00"]

    def test_a_row_written_twice_is_no_second_hour(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        times = ["00:30", "01:00", "01:00", "01:30", "02:00", "02:30"]
        put(tmp_path, rows(*(f"2025-11-02 {one},1" for one in times)))
        found = read(tmp_path, definition, entry(zone="site"))
        assert found.sums[0].removed == {"repeated_hour": 3}

    @settings(max_examples=50, deadline=None)
    @given(st.datetimes(dt.datetime(2025, 9, 1), dt.datetime(2026, 6, 1)))  # noqa: DTZ001
    def test_any_time_comes_back(self, when: dt.datetime) -> None:
        true = when.replace(microsecond=0, tzinfo=dt.UTC)
        here = true.astimezone(NEW_YORK).replace(tzinfo=None)
        found = in_utc(np.array([here], "datetime64[us]"), NEW_YORK)
        if found.repeated[0]:
            # Both hours of that name, as the standard library tells them apart.
            utc = [here.replace(tzinfo=NEW_YORK, fold=fold).astimezone(dt.UTC) for fold in (0, 1)]
            assert utc[0] != utc[1]
        else:
            assert found.utc[0] == np.datetime64(true.replace(tzinfo=None), "us")


class TestDrift:
    LOOKS = (
        {"logger": "2026-02-01 00:00", "true": "2026-02-01 00:02"},
        {"logger": "2026-02-03 00:00", "true": "2026-02-02 23:50"},
    )

    def test_it_is_taken_out_straight(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, series([1.0, 1.1, 1.2, 1.3, 1.4], minutes=1440))
        found = read(tmp_path, definition, entry(clock=list(self.LOOKS)))
        # 2 minutes behind, then 10 ahead after two days: 6 minutes a day.
        expected = ["02-01 00:02", "02-01 23:56", "02-02 23:50", "02-03 23:44", "02-04 23:38"]
        assert local(found) == expected
        assert [flag.found for flag in found.flags if flag.kind == "clock drift"] == [
            "the clock was 2 min behind at 2026-02-01 00:02 and 10 min ahead at 2026-02-02 23:50"
        ]
        assert told(found) == []

    def test_a_clock_that_is_right(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, series([1.0, 1.1, 1.2]))
        looks = [
            {"logger": f"2026-02-0{day} 09:00:20", "true": f"2026-02-0{day} 09:00"}
            for day in (1, 9)
        ]
        found = read(tmp_path, definition, entry(clock=looks))
        assert kinds(found) == []
        assert found.readings["time"].dt.second.tolist() == [40, 40, 40]

    def test_a_clock_that_began_anew(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, series([1.0, 1.1], "2000-01-01 00:00"))
        looks = [
            {"logger": "2000-01-01 00:00", "true": "2026-02-01 12:00"},
            {"logger": "2000-01-11 00:00", "true": "2026-02-11 12:00"},
        ]
        found = read(tmp_path, definition, entry(clock=looks))
        assert local(found) == ["02-01 12:00", "02-01 12:30"]

    def test_both_times_stand_in_the_zone_of_the_file(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        put(tmp_path, series([1.0, 1.1], "2026-03-20 12:00"))
        looks = [
            {"logger": "2026-03-01 12:00", "true": "2026-03-01 12:00"},
            {"logger": "2026-03-20 12:00", "true": "2026-03-20 12:00"},
        ]
        found = read(tmp_path, definition, entry(zone="site", clock=looks))
        assert (local(found), kinds(found)) == (["03-20 12:00", "03-20 12:30"], [])


class TestOrder:
    def test_a_time_far_ahead_alone_is_removed(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        put(tmp_path, rows("2026-02-01 00:00,1", "2099-02-01 00:30,1.1", "2026-02-01 01:00,1.2"))
        found = read(tmp_path, definition, entry())
        assert found.sums[0].removed == {"backwards": 1}
        assert kinds(found) == ["clock drift"]
        assert found.flags[0].found == "1 reading whose time runs backwards"

    def test_a_clock_that_was_set_back(self, tmp_path: Path, definition: Definition) -> None:
        times = ["10:00", "10:30", "11:00", "10:40", "11:10", "11:40"]
        put(tmp_path, rows(*(f"2026-02-01 {one},{at}" for at, one in enumerate(times))))
        found = read(tmp_path, definition, entry())
        assert found.sums[0].removed == {"backwards": 1}
        assert len(found.readings) == 5

    def test_a_second_copy_below_the_first(self, tmp_path: Path, definition: Definition) -> None:
        text = series([1.0, 1.1, 1.2, 1.3])
        put(tmp_path, text + text.split("\n", 1)[1])
        found = read(tmp_path, definition, entry())
        assert (found.sums[0].used, found.sums[0].removed) == (4, {"repeated": 4})

    @settings(max_examples=80, deadline=None)
    @given(st.lists(st.integers(0, 9), max_size=9))
    def test_the_fewest_are_taken_out(self, days: list[int]) -> None:
        utc = np.array(days, "int64").astype("datetime64[us]")
        out = runs_backwards(utc)
        left = [day for day, gone in zip(days, out, strict=True) if not gone]
        assert left == sorted(left)
        assert len(left) == max(map(len, _rising(days)), default=0)


def _rising(days: list[int]) -> list[list[int]]:
    """List every choice of days, in their order, that never falls."""
    chosen: list[list[int]] = [[]]
    for day in days:
        chosen += [[*one, day] for one in chosen]
    return [one for one in chosen if all(a <= b for a, b in pairwise(one))]
