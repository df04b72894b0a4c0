"""Readings that are removed: impossible, spikes, missing, told twice; every one is counted."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from records.logger_studies import (
    entry,
    kinds,
    local,
    put,
    read,
    rows,
    series,
    told,
    value,
    with_loggers,
)
from wintersward.records.logger_clean import POSSIBLE, SPIKES, repeated_times, spikes
from wintersward.trial import Definition


@pytest.fixture
def definition(tmp_path: Path) -> Definition:
    return with_loggers(tmp_path)


def removed(folder: Path, definition: Definition, *cells: str, **how: Any) -> dict[str, int]:
    """Read these cells, half an hour apart, and give what is removed."""
    put(folder, series(range(len(cells)), write=lambda at: f'"{cells[int(at)]}"'))
    found = read(folder, definition, entry(**how))
    return dict(found.sums[0].removed)


class TestValues:
    @pytest.mark.parametrize(
        ("measure", "low", "high"), [("soil", -25, 50), ("canopy", -40, 70), ("air", -40, 70)]
    )
    def test_impossible_ones(
        self, tmp_path: Path, definition: Definition, measure: str, low: float, high: float
    ) -> None:
        cells = [f"{low}", f"{low - 0.1:.1f}", f"{high}", f"{high + 0.1:.1f}"]
        put(tmp_path, series(range(4), minutes=1440, write=lambda at: cells[int(at)]))
        found = read(tmp_path, definition, entry(values=[value(measure=measure)]))
        assert found.readings["value"].tolist() == [low, high]
        assert found.sums[0].removed == {"impossible": 2}
        assert sorted(POSSIBLE.values())[0] == (-40, 70)

    def test_limits_hold_in_degrees_fahrenheit(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        in_f = [value(unit="degF")]
        out = removed(tmp_path, definition, "-13", "-13.1", "122", "122.1", "32", values=in_f)
        assert out == {"impossible": 2}

    def test_marks_of_missing_values(self, tmp_path: Path, definition: Definition) -> None:
        cells = ("", "na", "-", "1.5", "--", "-999.0", "-999")
        out = removed(tmp_path, definition, *cells, missing=["", "NA", "-", "--", "-999"])
        assert out == {"declared_missing": 6}

    def test_an_empty_cell_that_is_not_declared(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        put(tmp_path, rows("2026-02-01 00:00,1.5", "2026-02-01 00:30,"))
        found = read(tmp_path, definition, entry(missing=["NA"]))
        assert found.sums[0].removed == {"unreadable": 1}
        assert "found nothing; allowed: a number in degC" in told(found)[0]

    def test_no_more_than_twelve_cells_are_told_one_by_one(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        cells = [*["x"] * 30, "1.5"]
        put(tmp_path, series(range(31), write=lambda at: cells[int(at)]))
        found = read(tmp_path, definition, entry())
        assert found.sums[0].removed == {"unreadable": 30}
        lines = told(found)
        assert len(lines) == 13
        assert lines[0].startswith("loggers/soil.csv, row 2, column Temp: found 'x'; ")
        assert lines[12] == (
            "loggers/soil.csv, row 14: found 18 more cells that cannot be read, from here on; "
            "correct what is told above first"
        )


class TestSpikes:
    @pytest.mark.parametrize("what", SPIKES)
    def test_a_reading_that_leaves_and_comes_back(self, what: str) -> None:
        limit = SPIKES[what]
        for minutes in (10, 30, 60, 120):
            hours = max(minutes / 60, 0.5)
            utc = (np.arange(5) * minutes).astype("datetime64[m]").astype("datetime64[us]")
            for sign in (1, -1):
                for share, found in ((1.01, [2]), (0.99, [])):
                    values = np.array([5, 5.1, 5.1 + sign * share * limit * hours, 5.1, 5])
                    assert np.flatnonzero(spikes(utc, values, what)).tolist() == found

    def test_a_step_that_stays_is_none(self) -> None:
        utc = np.arange(6).astype("datetime64[h]").astype("datetime64[us]")
        for values in ([5, 5, 25, 25, 25, 25], [5, 5, 25, 24, 5, 5], [25, 5, 5, 5, 5, 25]):
            assert not spikes(utc, np.array(values, float), "soil temperature").any()

    def test_two_spikes_leave_the_reading_between_them(self) -> None:
        utc = np.arange(7).astype("datetime64[h]").astype("datetime64[us]")
        values = np.array([5, 5, 30, 5, 30, 5, 5], float)
        assert np.flatnonzero(spikes(utc, values, "soil temperature")).tolist() == [2, 4]

    def test_across_a_gap_nothing_is_told(self) -> None:
        utc = np.array([0, 1, 6], "datetime64[h]").astype("datetime64[us]")
        assert not spikes(utc, np.array([5.0, 90.0, 5.0]), "soil temperature").any()

    def test_they_are_removed_and_counted(self, tmp_path: Path, definition: Definition) -> None:
        out = removed(tmp_path, definition, "2", "2.1", "19", "2.2", "2.3")
        assert out == {"spike": 1}

    def test_a_sunny_morning_above_ground_is_none(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        canopy = [value(measure="canopy")]
        cells = ("-2", "5", "12", "19", "12", "22", "12")
        assert removed(tmp_path, definition, *cells, values=canopy) == {}


class TestTwice:
    def test_equal_readings_are_kept_once_others_not_at_all(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        times = ["00:00", "00:30", "00:30", "01:00", "01:00", "01:00", "01:30"]
        cells = ["1", "1.1", "1.10", "1.2", "1.2", "1.3", "1.4"]
        lines = [f"2026-02-01 {at},{cell}" for at, cell in zip(times, cells, strict=True)]
        put(tmp_path, rows(*lines))
        found = read(tmp_path, definition, entry())
        assert found.sums[0].removed == {"repeated": 1, "contradicting": 3}
        assert local(found) == ["02-01 00:00", "02-01 00:30", "02-01 01:30"]
        assert found.readings["source"].tolist()[1] == "loggers/soil.csv:3"

    def test_an_empty_cell_beside_a_reading_contradicts_nothing(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        put(tmp_path, rows("2026-02-01 00:00,1.5", "2026-02-01 00:00,"))
        found = read(tmp_path, definition, entry())
        assert found.sums[0].removed == {"declared_missing": 1}

    def test_masks(self) -> None:
        utc = np.array([3, 1, 3, 1, 2], "datetime64[h]").astype("datetime64[us]")
        same, other = repeated_times(utc, np.array([5.0, 1.0, 5.0, 2.0, 9.0]))
        assert same.tolist() == [False, False, True, False, False]
        assert other.tolist() == [False, True, False, True, False]

    def test_two_read_outs_of_one_logger_that_overlap(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        put(tmp_path, series([1.0, 1.1, 1.2]), "january.csv")
        put(tmp_path, series([1.0, 1.1, 1.2, 1.3, 1.4]), "all.csv")
        found = read(tmp_path, definition, entry("january.csv"), entry("all.csv"))
        assert [one.used for one in found.sums] == [3, 2]
        assert found.sums[1].removed == {"repeated": 3}
        assert (told(found), kinds(found)) == ([], [])
        assert found.readings["source"].str.partition(":")[0].tolist() == [
            *["loggers/january.csv"] * 3,
            *["loggers/all.csv"] * 2,
        ]

    def test_two_sensors_in_one_place(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, series([1.0, 1.1, 1.2]), "a.csv")
        put(tmp_path, series([2.0, 2.1, 2.2]), "b.csv")
        found = read(tmp_path, definition, entry("a.csv"), entry("b.csv"))
        assert [one.removed for one in found.sums] == [{"contradicting": 3}] * 2
        assert "found other readings than in loggers/a.csv at 3 times" in told(found)[0]
        apart = read(
            tmp_path, definition, entry("a.csv"), entry("b.csv", values=[value(position="b")])
        )
        assert (told(apart), len(apart.readings)) == ([], 6)

    def test_two_columns_of_one_entry_are_told_by_the_diary(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        put(tmp_path, "Time,Temp,Other\n2026-02-01 00:00,1,2\n2026-02-01 00:30,1,2\n")
        found = read(tmp_path, definition, entry(values=[value(), value(column="Other")]))
        assert [one.removed for one in found.sums] == [{"contradicting": 2}] * 2
        assert told(found) == []

    def test_a_spike_between_two_files(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, series([1.0, 1.1]), "a.csv")
        put(tmp_path, series([19.0, 1.1, 1.0], "2026-02-01 01:00"), "b.csv")
        found = read(tmp_path, definition, entry("a.csv"), entry("b.csv"))
        assert [one.removed for one in found.sums] == [{}, {"spike": 1}]


class TestUse:
    def test_before_and_after_it_lay_elsewhere(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        put(tmp_path, series([1.0, 1.1, 1.2, 1.3], "2026-02-01 23:30", minutes=1440))
        found = read(tmp_path, definition, entry(used=["2026-02-02", "2026-02-03"]))
        assert found.sums[0].removed == {"outside_use": 2}
        assert local(found) == ["02-02 23:30", "02-03 23:30"]

    def test_days_of_use_are_those_of_the_site(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        # 04:30 and 05:30 UTC are 23:30 and 00:30 on the ground.
        put(tmp_path, rows("2026-02-02 04:30,1", "2026-02-02 05:30,2"))
        found = read(tmp_path, definition, entry(zone="UTC", used=["2026-02-02", "2026-02-02"]))
        assert local(found) == ["02-02 00:30"]

    def test_a_logger_that_was_moved(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, series([1.0, 1.1, 1.2, 1.3], minutes=1440))
        found = read(
            tmp_path,
            definition,
            entry(used=["2026-02-01", "2026-02-02"]),
            entry(used=["2026-02-03", "2026-02-04"], values=[value(plot="102")]),
        )
        assert found.readings["plot"].tolist() == ["101", "101", "102", "102"]
        assert told(found) == []
