"""Every broken file of a logger is told in exact lines, and left as it is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from faults.logger_file_cases import LOGGER_FILES
from faults.logger_telling import LoggerCase
from faults.logger_time_cases import LOGGER_TIMES
from faults.logger_value_cases import LOGGER_VALUES
from faults.test_faults import JARGON
from records.logger_studies import PLOTS, put, sound, with_loggers
from wintersward.records.logger_sums import LoggersRead
from wintersward.records.loggers import read_loggers
from wintersward.trial.reading import placed
from wintersward.trial.schema import Definition, Diary

BROKEN = {**LOGGER_FILES, **LOGGER_TIMES, **LOGGER_VALUES}
PLACE = re.compile(
    r"diary\.yaml: loggers\.[1-9][\w.]*: |loggers/[^:,]+(, row [1-9]\d*(, [^:]+)?)?: "
)


@pytest.fixture(scope="module")
def definition(tmp_path_factory: pytest.TempPathFactory) -> Definition:
    return with_loggers(tmp_path_factory.mktemp("definition"))


def reading(folder: Path, definition: Definition, case: LoggerCase) -> LoggersRead:
    for name, content in case.files.items():
        put(folder, content, name)
    diary = Diary.model_validate({"loggers": list(case.entries)})
    return read_loggers(folder, definition, diary, PLOTS)


def without_zone(definition: Definition) -> Definition:
    site = definition.site.model_copy(update={"time_zone": None})
    return definition.model_copy(update={"site": site})


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_file_is_told_and_left_as_it_is(
    tmp_path: Path, definition: Definition, name: str
) -> None:
    case = BROKEN[name]
    if name == "no zone of the site":
        definition = without_zone(definition)
    found = reading(tmp_path, definition, case)
    assert [str(problem) for problem in found.problems] == list(case.told)
    assert len(found.readings) == case.readings
    sound(found)
    for file, content in case.files.items():
        raw = content if isinstance(content, bytes) else content.encode("utf-8")
        assert (tmp_path / "loggers" / file).read_bytes() == raw


@pytest.mark.parametrize("name", BROKEN)
def test_every_line_says_where_and_is_in_plain_words(name: str) -> None:
    assert BROKEN[name].told
    for line in BROKEN[name].told:
        assert PLACE.match(line), line
        assert re.search(r"found |allowed: ", line)
        assert not JARGON.search(line)
        assert line.isprintable()


def test_there_are_many_cases() -> None:
    assert len(BROKEN) >= 40
    assert len(BROKEN) == len(LOGGER_FILES) + len(LOGGER_TIMES) + len(LOGGER_VALUES)


def test_what_is_told_of_the_diary_finds_its_line(tmp_path: Path, definition: Definition) -> None:
    text = (
        "loggers:\n"
        "  - file: soil.csv\n"
        "    time: Time\n"
        '    format: "%Y-%m-%d %H:%M"\n'
        "    zone: UTC-05:00\n"
        "    values:\n"
        "      - {column: Tmp, measure: soil, plot: 101, unit: degC}\n"
    )
    (tmp_path / "diary.yaml").write_text(text, encoding="utf-8")
    case = BROKEN["a heading that is not there"]
    put(tmp_path, "Time,Temp\n2026-02-01 00:00,1\n")
    entry = {**case.entries[0], "time": "Time"}
    found = reading(tmp_path, definition, LoggerCase({}, [entry], []))
    (problem,) = placed(tmp_path, found.problems)
    assert str(problem).startswith("diary.yaml:7:18: loggers.1.values.1.column: found 'Soil tmp'")
