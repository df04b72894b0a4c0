"""Files of loggers and a forecast in the diary, and what a person reads where they do not fit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.trial import Diary, read_definition, read_diary
from wintersward.trial.diary import ClockCheck

Read = Callable[[str], tuple[Diary, list[str]]]

PLOTS = ["101", "102", "103", "1A", "1B"]
SHOWN = "a plot of plan/plots.csv (101, 102, 103, 1A, 1B)"
SEASON = "a day of the season, from 2025-07-16 to 2026-10-18; look at the year"
ZONE = ("  country: US\n", "  country: US\n  time_zone: America/New_York\n")
SOIL = (
    "analysis:\n",
    "  soil:\n    from: logger\n    what: soil temperature\n    depth: 4 in\n"
    "    dates: [2026-03-24]\nanalysis:\n",
)
HEAD = "loggers:\n  - file: a.csv\n"
TIME = '    time: When\n    format: "%m/%d/%Y %H:%M"\n'
AT_SITE = "    zone: site\n"
VALUE = "    values: [{column: T1, measure: soil, plot: 101, unit: degF}]\n"
ENTRY = HEAD + TIME + AT_SITE + VALUE
CLOCK = """    clock:
      - {logger: 2026-01-15 09:00, true: 2026-01-15 09:00}
      - {logger: 2026-04-18 09:12, true: 2026-04-18 09:00}
"""
USED = "    used: [2026-01-15, 2026-04-18]\n"


@pytest.fixture
def read(tmp_path: Path, sound: str) -> Read:
    """Read a text as ``diary.yaml`` of a trial with a measure of loggers."""
    for old, new in (ZONE, SOIL):
        assert sound.count(old) == 1
        sound = sound.replace(old, new)
    (tmp_path / "trial.yaml").write_text(sound, encoding="utf-8")
    definition, wrong = read_definition(tmp_path)
    assert definition is not None, wrong

    def read_text(text: str) -> tuple[Diary, list[str]]:
        (tmp_path / "diary.yaml").write_text(text, encoding="utf-8")
        diary, problems = read_diary(tmp_path, definition, PLOTS)
        return diary, [str(problem) for problem in problems]

    return read_text


def test_a_file_needs_its_time_its_zone_and_its_columns(read: Read) -> None:
    diary, said = read(ENTRY)
    assert said == []
    (one,) = diary.loggers
    assert (one.file, one.time_columns, one.format, one.zone) == (
        "a.csv",
        ("When",),
        "%m/%d/%Y %H:%M",
        "site",
    )
    assert (one.decimal, one.delimiter, one.skip) == ("point", None, 0)
    assert one.missing == ["", "NA", "-", "."]
    assert (one.clock, one.used) == (None, None)
    (value,) = one.values
    assert (value.column, value.measure, value.plot, value.position, value.unit) == (
        "T1",
        "soil",
        "101",
        None,
        "degF",
    )


def test_everything_that_can_be_told_of_a_file(read: Read) -> None:
    text = (
        HEAD + TIME.replace("When", "[Date, Time]") + "    zone: UTC-05:00\n    decimal: comma\n"
        '    delimiter: semicolon\n    skip: 2\n    missing: ["", "Error"]\n    values:\n'
        "      - {column: T1, measure: soil, plot: 1A, position: a, unit: degC}\n"
        "      - {column: T2, measure: soil, plot: 1A, position: b, unit: degC}\n" + CLOCK + USED
    )
    diary, said = read(text)
    assert said == []
    (one,) = diary.loggers
    assert (one.time_columns, one.zone, one.delimiter) == (
        ("Date", "Time"),
        "UTC-05:00",
        "semicolon",
    )
    assert [value.position for value in one.values] == ["a", "b"]
    assert one.missing == ["", "Error"]
    assert one.used == [dt.date(2026, 1, 15), dt.date(2026, 4, 18)]
    assert one.clock is not None
    assert one.clock[1] == ClockCheck(
        logger=dt.datetime(2026, 4, 18, 9, 12), true=dt.datetime(2026, 4, 18, 9)
    )


def test_a_logger_that_was_moved_has_an_entry_for_each_place(read: Read) -> None:
    second = ENTRY.removeprefix("loggers:\n").replace("plot: 101", "plot: 102")
    first = ENTRY + "    used: [2026-01-15, 2026-02-10]\n"
    assert read(first + second + "    used: [2026-02-11, 2026-04-18]\n")[1] == []
    assert len(read(first + second + "    used: [2026-02-10, 2026-04-18]\n")[1]) == 1
    assert len(read(first + second)[1]) == 1


@pytest.mark.parametrize(
    "clock",
    [
        # A clock may start anew, years back, where its battery was changed.
        CLOCK.replace("logger: 2026-01-15", "logger: 2000-01-01").replace(
            "logger: 2026-04-18", "logger: 2000-04-03"
        ),
        CLOCK.replace("09:12", "08:48:30"),
        CLOCK.replace("2026-01-15 09:00", "2026-01-15T09:00"),
    ],
)
def test_clocks_that_run(read: Read, clock: str) -> None:
    assert read(ENTRY + clock)[1] == []


def test_a_forecast_is_in_si(read: Read) -> None:
    diary, said = read("forecast:\n  - {date: 2026-03-02, low: 32 degF, high: 50 degF}\n")
    assert said == []
    (day,) = diary.forecast
    assert (day.date, day.low, day.high) == (dt.date(2026, 3, 2), 0.0, 10.0)


def test_before_the_plots_are_drawn_their_names_are_not_checked(tmp_path: Path, read: Read) -> None:
    definition, _ = read_definition(tmp_path)
    assert definition is not None
    (tmp_path / "diary.yaml").write_text(ENTRY.replace("101", "999"), encoding="utf-8")
    diary, problems = read_diary(tmp_path, definition)
    assert (problems, diary.loggers[0].values[0].plot) == ([], "999")


CLOCK_RULE = "two readings, the later one second, by both clocks; look at days and times"
CASES: dict[str, tuple[str, list[str]]] = {
    "nothing but a name": (
        HEAD,
        [
            f"diary.yaml:2:5: loggers.1.{name}: is missing; add '{name}: ...'"
            for name in ("format", "time", "values", "zone")
        ],
    ),
    "a value without measure, plot and unit": (
        HEAD + TIME + AT_SITE + "    values: [{column: T1}]\n",
        [
            f"diary.yaml:6:14: loggers.1.values.1.{name}: is missing; add '{name}: ...'"
            for name in ("measure", "plot", "unit")
        ],
    ),
    "no values": (
        HEAD + TIME + AT_SITE + "    values: []\n",
        ["diary.yaml:6:13: loggers.1.values: found no entry; allowed: at least 1"],
    ),
    "a format without a year, three columns of time, a zone that is none": (
        HEAD
        + TIME.replace("/%Y", "").replace("When", "[Y, M, D]")
        + "    zone: EST\n"
        + VALUE.replace("degF", "F"),
        [
            "diary.yaml:3:11: loggers.1.time: found 3 entries; allowed: at most 2",
            "diary.yaml:4:13: loggers.1.format: found '%m/%d %H:%M'; allowed: a format with a "
            "year; add %Y (four digits) or %y (two)",
            "diary.yaml:5:11: loggers.1.zone: found 'EST'; allowed: site, the IANA name of a time "
            "zone such as America/New_York, or UTC-05:00 and the like; write UTC-05:00 for a clock "
            "that is never changed, America/New_York for one that follows it",
            "diary.yaml:6:59: loggers.1.values.1.unit: found 'F'; allowed: degC, degF; did you "
            "mean degF?",
        ],
    ),
    "a unit that is no temperature": (
        HEAD + TIME + AT_SITE + VALUE.replace("degF", "lbf"),
        ["diary.yaml:6:59: loggers.1.values.1.unit: found 'lbf'; allowed: degC, degF"],
    ),
    "a measure of sheets, a plot that is not there, the column of time": (
        ENTRY.replace("soil", "pull_force").replace("101", "7Z").replace("T1", "When"),
        [
            "diary.yaml:6:23: loggers.1.values.1.column: found 'When', which holds the time; "
            "allowed: a column of readings",
            "diary.yaml:6:38: loggers.1.values.1.measure: found 'pull_force', which is taken from "
            "sheets; allowed: a measure of loggers (soil)",
            f"diary.yaml:6:56: loggers.1.values.1.plot: found '7Z'; allowed: {SHOWN}",
        ],
    ),
    "no such measure": (
        ENTRY.replace("soil", "soils"),
        [
            "diary.yaml:6:36: loggers.1.values.1.measure: found 'soils'; allowed: a measure of "
            "loggers (soil); did you mean soil?"
        ],
    ),
    "two sensors that cannot be told apart, a column twice": (
        HEAD + TIME + AT_SITE + "    values:\n"
        "      - {column: T1, measure: soil, plot: 101, unit: degF}\n"
        "      - {column: T2, measure: soil, plot: 101, unit: degF}\n"
        "      - {column: T1, measure: soil, plot: 102, unit: degF}\n",
        [
            "diary.yaml:8:9: loggers.1.values.2: found soil of plot 101 a second time; allowed: "
            "another position than that of value 1; add 'position: b', or correct the plot",
            "diary.yaml:9:18: loggers.1.values.3.column: found 'T1' of a.csv a second time; "
            "allowed: a column that is not read already (values.1 of entry 1); for a logger that "
            "was moved, give each entry its days under 'used'",
        ],
    ),
    "a file twice": (
        ENTRY + ENTRY.removeprefix("loggers:\n"),
        [
            "diary.yaml:11:23: loggers.2.values.1.column: found 'T1' of a.csv a second time; "
            "allowed: a column that is not read already (values.1 of entry 1); for a logger that "
            "was moved, give each entry its days under 'used'"
        ],
    ),
    "a comma for two things, days out of order": (
        ENTRY + "    decimal: comma\n    delimiter: comma\n",
        [
            "diary.yaml:8:16: loggers.1.delimiter: found 'comma' for both; allowed: semicolon or "
            "tab where decimals stand behind a comma; look into the file"
        ],
    ),
    "days of use out of order": (
        ENTRY + "    used: [2026-04-18, 2026-01-15]\n",
        [
            "diary.yaml:7:11: loggers.1.used: found '2026-01-15' as the last day; allowed: a first "
            "day and a last day, not before it (2026-04-18); swap the two"
        ],
    ),
    "another year": (
        ENTRY + CLOCK.replace("2026-", "2027-") + USED.replace("2026-01", "2024-01"),
        [
            "diary.yaml:8:42: loggers.1.clock.1.true: found '2027-01-15'; allowed: " + SEASON,
            "diary.yaml:9:42: loggers.1.clock.2.true: found '2027-04-18'; allowed: " + SEASON,
            "diary.yaml:10:12: loggers.1.used.1: found '2024-01-15'; allowed: " + SEASON,
        ],
    ),
    "one look at the clock": (
        ENTRY + "".join(CLOCK.splitlines(keepends=True)[:2]),
        ["diary.yaml:8:7: loggers.1.clock: found 1 entry; allowed: at least 2"],
    ),
    "looks in the wrong order": (
        ENTRY + CLOCK.replace("true: 2026-04-18", "true: 2026-01-14"),
        ["diary.yaml:8:7: loggers.1.clock: found readings out of order; allowed: " + CLOCK_RULE],
    ),
    "a clock off by an hour": (
        ENTRY + CLOCK.replace("09:12", "07:58"),
        [
            "diary.yaml:8:7: loggers.1.clock: found a clock that came to be off by an hour; "
            "allowed: both clocks read in the zone of the file; summer time may have begun between "
            "the two; correct the true time, or 'zone'"
        ],
    ),
    "a clock that was set": (
        ENTRY + CLOCK.replace("logger: 2026-04-18", "logger: 2026-04-20"),
        [
            "diary.yaml:8:7: loggers.1.clock: found a clock that gains or loses more than 15 "
            "minutes a day; allowed: two readings of one clock that was not set in between; look "
            "at days and times"
        ],
    ),
    "times that are none": (
        ENTRY
        + CLOCK.replace("2026-01-15 09:00, true", "2026-01-15, true").replace("09:12", "25:12"),
        [
            "diary.yaml:8:18: loggers.1.clock.1.logger: found '2026-01-15'; allowed: day and time "
            "written as 2026-01-15 09:00",
            "diary.yaml:9:18: loggers.1.clock.2.logger: found '2026-04-18 25:12'; allowed: a day "
            "and time that exist, such as 2026-01-15 09:00",
        ],
    ),
    "a forecast upside down, without unit, twice, of another year": (
        "forecast:\n  - {date: 2026-03-02, low: 52 degF, high: 30 degF}\n"
        "  - {date: 2026-03-03, low: 30, high: 52 degF}\n",
        [
            "diary.yaml:2:44: forecast.1.high: found less than the low; allowed: the low or more; "
            "swap the two",
            "diary.yaml:3:29: forecast.2.low: found '30'; allowed: a number and a unit (degC, "
            "degF), such as '50 degF'",
        ],
    ),
    "a day forecast twice, and one of another year": (
        "forecast:\n  - {date: 2026-03-02, low: 30 degF, high: 52 degF}\n"
        "  - {date: 2026-03-02, low: 31 degF, high: 52 degF}\n"
        "  - {date: 2062-03-03, low: 31 degF, high: 52 degF}\n",
        [
            "diary.yaml:3:12: forecast.2.date: found '2026-03-02' a second time; allowed: another "
            "day than that of entry 1; keep the newer",
            f"diary.yaml:4:12: forecast.3.date: found '2062-03-03'; allowed: {SEASON}",
        ],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_what_does_not_fit_is_told_where_it_stands(read: Read, name: str) -> None:
    text, said = CASES[name]
    diary, told = read(text)
    assert told == said
    assert diary == Diary()


def test_loggers_are_excluded_on_any_day_and_declared_missing_on_planned_ones(read: Read) -> None:
    day = "plot: 101, date: 2026-02-03, reason: wire cut"
    assert read(f"exclusions: [{{measure: soil, {day}}}, {{{day}}}]\n")[1] == []
    (said,) = read(f"exclusions: [{{measure: green_cover, {day}}}]\n")[1]
    assert "found '2026-02-03'; allowed: a date on which it is observed" in said
    (said,) = read(f"missing: [{{measure: soil, {day}}}]\n")[1]
    assert "allowed: a date on which it is observed (2026-03-24)" in said
