"""What looks odd in readings of loggers: told, and left as it is."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from records.logger_studies import (
    entry,
    kinds,
    put,
    read,
    rows,
    series,
    swinging,
    told,
    value,
    with_loggers,
)
from wintersward.records.logger_sums import (
    LOGGER_FLAG_COLUMNS,
    LOGGER_FLAG_KINDS,
    LOGGER_SUM_COLUMNS,
    LoggersRead,
    logger_flag_table,
    logger_sums_table,
)
from wintersward.trial import Definition


@pytest.fixture
def definition(tmp_path: Path) -> Definition:
    return with_loggers(tmp_path)


def reading(folder: Path, definition: Definition, values: list[float]) -> LoggersRead:
    put(folder, series(values))
    found = read(folder, definition, entry())
    assert told(found) == []
    assert found.sums[0].removed == {}
    return found


class TestFlatLines:
    def test_a_sensor_that_stands_still(self, tmp_path: Path, definition: Definition) -> None:
        values = [*swinging(2, 4, 2), *[4.21] * 30, *swinging(1, 4, 2)]
        found = reading(tmp_path, definition, values)
        (flag,) = found.flags
        assert (flag.kind, flag.measure, flag.plot) == ("flat line", "soil", "101")
        assert flag.found == "30 readings of 4.21 degC in 14 h"
        assert flag.begins == pd.Timestamp("2026-02-03 05:00", tz="UTC")
        assert flag.ends - flag.begins == pd.Timedelta(hours=14.5)
        assert "common practice, no source" in flag.rule

    def test_a_shorter_one_is_none(self, tmp_path: Path, definition: Definition) -> None:
        values = [*swinging(2, 4, 2), *[4.21] * 24, *swinging(1, 4, 2)]
        assert kinds(reading(tmp_path, definition, values)) == []

    @pytest.mark.parametrize(("hours", "expected"), [(40, []), (62, ["flat line"])])
    def test_a_coarse_sensor_is_given_longer(
        self, tmp_path: Path, definition: Definition, hours: int, expected: list[str]
    ) -> None:
        values = [*np.round(np.array(swinging(2, 4, 3)) * 2) / 2, *[6.5] * (2 * hours), 6.0]
        assert kinds(reading(tmp_path, definition, values)) == expected

    def test_soil_that_freezes_stands_still(self, tmp_path: Path, definition: Definition) -> None:
        values = [*swinging(1, 3, 2), *[0.12] * 200, *swinging(1, 3, 2)]
        assert kinds(reading(tmp_path, definition, values)) == []
        assert kinds(reading(tmp_path, definition, [0.0] * 100)) == ["flat line"]


class TestGaps:
    def test_readings_that_are_lacking(self, tmp_path: Path, definition: Definition) -> None:
        lines = series(swinging(2, 4, 2)).splitlines()
        put(tmp_path, rows(*lines[1:20], *lines[30:]))
        found = read(tmp_path, definition, entry())
        (flag,) = found.flags
        assert (flag.kind, flag.found) == ("gap", "no reading for 5.5 h")
        assert flag.begins == pd.Timestamp("2026-02-01 14:00", tz="UTC")
        assert flag.ends == pd.Timestamp("2026-02-01 19:30", tz="UTC")

    def test_short_ones_and_rare_readings_are_none(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        lines = series(swinging(2, 4, 2)).splitlines()
        put(tmp_path, rows(*lines[1:20], *lines[23:]))
        assert kinds(read(tmp_path, definition, entry())) == []
        put(tmp_path, series(swinging(2, 4, 2)[:20], minutes=240))
        assert kinds(read(tmp_path, definition, entry())) == []

    def test_many_are_told_together(self, tmp_path: Path, definition: Definition) -> None:
        lines = series(swinging(12, 4, 2)).splitlines()[1:]
        put(tmp_path, rows(*(line for at, line in enumerate(lines) if at % 20 < 14)))
        found = read(tmp_path, definition, entry())
        assert [(flag.kind, flag.found) for flag in found.flags] == [
            ("gap", "28 gaps, 98 h in all")
        ]

    def test_a_file_that_ends_before_its_use(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, series(swinging(3, 4, 2)))
        whole = read(tmp_path, definition, entry(used=["2026-02-01", "2026-02-04"]))
        assert kinds(whole) == []
        (flag,) = read(tmp_path, definition, entry(used=["2026-02-01", "2026-02-09"])).flags
        assert (flag.kind, flag.found) == ("ends early", "the last reading at 2026-02-03 23:30")
        (flag,) = read(tmp_path, definition, entry(used=["2026-01-20", "2026-02-03"])).flags
        assert (flag.kind, flag.found) == ("gap", "the first reading at 2026-02-01 00:00")

    def test_a_file_without_a_reading_in_use(self, tmp_path: Path, definition: Definition) -> None:
        put(tmp_path, series([1.0, 1.1]))
        found = read(tmp_path, definition, entry(used=["2025-02-01", "2025-02-09"]))
        assert kinds(found) == []
        assert "without a reading that can be used (2 outside the time of use)" in told(found)[0]


class TestSwappedSensors:
    def pair(
        self,
        folder: Path,
        definition: Definition,
        soil: list[float],
        canopy: list[float],
        above: str = "101",
        measure: str = "canopy",
    ) -> LoggersRead:
        put(folder, series(soil))
        put(folder, series(canopy), "canopy.csv")
        values = [value(measure=measure, plot=above)]
        return read(folder, definition, entry(), entry("canopy.csv", values=values))

    def test_soil_that_behaves_as_air(self, tmp_path: Path, definition: Definition) -> None:
        soil, canopy = swinging(8, 4, 2), swinging(8, 5, 14)
        assert kinds(self.pair(tmp_path, definition, soil, canopy)) == []
        (flag,) = self.pair(tmp_path, definition, canopy, soil).flags
        assert (flag.kind, flag.file, flag.plot) == ("swapped sensors", "loggers/soil.csv", "101")
        assert flag.found == (
            "8 days in a row, with a swing of 14.0 degC a day in the soil and 2.0 degC in the "
            "canopy"
        )

    def test_from_a_day_on(self, tmp_path: Path, definition: Definition) -> None:
        soil = [*swinging(5, 4, 2), *swinging(4, 4, 14)]
        canopy = [*swinging(5, 4, 14), *swinging(4, 4, 2)]
        (flag,) = self.pair(tmp_path, definition, soil, canopy).flags
        assert flag.begins == pd.Timestamp("2026-02-06 05:00", tz="UTC")
        assert flag.ends == pd.Timestamp("2026-02-10 04:30", tz="UTC")

    @pytest.mark.parametrize(("above", "count"), [("1A", 1), ("103", 0), ("1B", 0)])
    def test_only_on_the_same_plot_or_its_whole_plot(
        self, tmp_path: Path, definition: Definition, above: str, count: int
    ) -> None:
        soil, canopy = swinging(4, 4, 2), swinging(4, 5, 14)
        assert len(self.pair(tmp_path, definition, canopy, soil, above).flags) == count

    def test_against_the_air_where_there_is_no_canopy(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        soil, air = swinging(4, 4, 2), swinging(4, 5, 14)
        (flag,) = self.pair(tmp_path, definition, air, soil, measure="air").flags
        assert flag.found.endswith("and 2.0 degC in the air")

    def test_both_still_under_snow(self, tmp_path: Path, definition: Definition) -> None:
        found = self.pair(tmp_path, definition, swinging(6, 3, 1.2), swinging(6, 1, 0.4))
        assert kinds(found) == []

    def test_soil_that_is_rougher_from_hour_to_hour(
        self, tmp_path: Path, definition: Definition
    ) -> None:
        rough = (np.array(swinging(5, 4, 2)) + np.tile([0.9, 0.9, -0.9, -0.9], 60)).tolist()
        found = self.pair(tmp_path, definition, rough, swinging(5, 4, 9))
        assert kinds(found) == ["swapped sensors"]

    def test_two_days_are_not_enough(self, tmp_path: Path, definition: Definition) -> None:
        found = self.pair(tmp_path, definition, swinging(2, 4, 14), swinging(2, 4, 2))
        assert kinds(found) == []


def test_flags_and_sums_as_tables(tmp_path: Path, definition: Definition) -> None:
    found = reading(tmp_path, definition, [0.0] * 100)
    flags, sums = logger_flag_table(found.flags), logger_sums_table(found.sums)
    assert list(flags) == list(LOGGER_FLAG_COLUMNS)
    assert flags["kind"].tolist() == ["flat line"]
    assert flags.dtypes.equals(logger_flag_table([]).dtypes)
    assert list(sums) == list(LOGGER_SUM_COLUMNS)
    assert sums.loc[0, ["rows", "headings", "used", "spike"]].tolist() == [101, 1, 100, 0]
    assert sums.dtypes.equals(logger_sums_table([]).dtypes)


def test_the_example_of_each_kind_has_a_place(tmp_path: Path, definition: Definition) -> None:
    put(tmp_path, series([*[0.0] * 60, *swinging(3, 5, 14)]))
    put(tmp_path, series(swinging(5, 5, 2)), "canopy.csv")
    looks = [{"logger": f"2026-02-0{day} 09:05", "true": f"2026-02-0{day} 09:00"} for day in (1, 5)]
    first = entry(clock=looks, used=["2026-01-20", "2026-02-28"])
    second = entry("canopy.csv", values=[value(measure="canopy")])
    found = read(tmp_path, definition, first, second)
    ranks = [LOGGER_FLAG_KINDS.index(kind) for kind in kinds(found)]
    assert ranks == sorted(ranks)
    assert set(kinds(found)) == {"swapped sensors", "clock drift", "gap", "ends early"}
