"""Every broken sheet and diary is told in the exact lines that a person gets from a check."""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from faults.diary_cases import DIARIES
from faults.entry_cases import ENTRIES
from faults.flag_cases import FLAGS
from faults.heading_cases import HEADINGS
from faults.row_cases import ROWS
from faults.table_cases import TABLES
from faults.telling import UNREAD, put
from faults.together_cases import TOGETHER
from faults.value_cases import VALUES
from faults.weather_cases import STATIONS
from wintersward.cli import main

SHEETS = {**ROWS, **VALUES, **HEADINGS, **TABLES}
DIARY = {**DIARIES, **ENTRIES}
KINDS = {"sheet": SHEETS, "diary": DIARY, "weather": STATIONS, "together": TOGETHER}
BROKEN = {f"{kind}: {name}": case for kind, of in KINDS.items() for name, case in of.items()}

# Where something is: a file with line and column, or a file and, in a table, its row.
PLACE = re.compile(
    r"diary\.yaml:[1-9]\d*:[1-9]\d*: |(sheets|loggers)/[^:]+?\.\w+(\[\w+\])?(, row [1-9]\d*[,:]|: )"
)
SUMS = re.compile(r"(sheets/[^:]+): ((no|\d+) rows?( = .*?)?; .*)")
# Words of programs that mean nothing to the person on the field.
JARGON = re.compile(r"Traceback|Error\b|Exception|None\b|NaN|DataFrame|pydantic|YAML|<[a-z]+ ?")


def checked(study: Path, *options: str) -> Result:
    return CliRunner().invoke(main, ["check", str(study), *options])


def everything(study: Path) -> dict[str, bytes]:
    """Give the content of every file of a study."""
    files = (path for path in study.rglob("*") if path.is_file())
    return {path.relative_to(study).as_posix(): path.read_bytes() for path in files}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_file_is_told_and_left_as_it_is(study: Path, name: str) -> None:
    case = BROKEN[name]
    put(study, case)
    before = everything(study)
    result = checked(study)
    assert result.stderr.splitlines() == list(case.told)
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    assert result.stdout.splitlines() == [f"{study}: Covers on the Alder Road ground"]
    assert everything(study) == before


@pytest.mark.parametrize("name", FLAGS)
def test_what_looks_odd_is_told_and_stops_nothing(study: Path, name: str) -> None:
    case = FLAGS[name]
    put(study, case)
    before = everything(study)
    result = checked(study)
    assert (result.exit_code, result.stderr) == (0, "")
    assert under(result.stdout, "look again", "days without weather") == list(case.told)
    assert everything(study) == before


def under(text: str, *headings: str) -> list[str]:
    """List the entries below headings that begin so."""
    found, inside = [], False
    for line in text.splitlines():
        if not line.startswith("  - "):
            inside = line.startswith(headings)
        elif inside:
            found.append(line.removeprefix("  - "))
    return found


def test_there_are_many_cases() -> None:
    assert len(SHEETS) >= 55
    assert len(DIARY) + len(STATIONS) >= 25
    assert len(BROKEN) == sum(len(of) for of in KINDS.values())
    assert sum(map(len, (ROWS, VALUES, HEADINGS, TABLES))) == len(SHEETS)
    assert len(DIARIES) + len(ENTRIES) == len(DIARY)


@pytest.mark.parametrize("name", BROKEN)
def test_every_line_says_where_and_is_in_plain_words(name: str) -> None:
    told = list(BROKEN[name].told)
    summed = [line for line in told if SUMS.fullmatch(line)]
    problems = told[: len(told) - len(summed)]
    assert problems != []
    assert told == [*problems, *summed]
    for line in problems:
        assert PLACE.match(line) or line == UNREAD
        assert re.search(r"found |allowed: |is missing", line) or line == UNREAD
        assert not JARGON.search(line)
        assert line.isprintable()
    placed = [placed_at(line) for line in problems if line != UNREAD]
    assert placed == sorted(placed)


def placed_at(line: str) -> tuple[str, int, int]:
    """Tell file, line and column, or file and row, for the order of lines."""
    if found := re.match(r"(diary\.yaml):(\d+):(\d+)", line):
        return found[1], int(found[2]), int(found[3])
    found = re.match(r"([^:,]+?)(?:, row (\d+))?[,:]", line)
    assert found is not None
    return found[1], 0, int(found[2] or 0)


@pytest.mark.parametrize("name", BROKEN)
def test_no_row_and_no_value_of_a_faulty_table_is_passed_over(name: str) -> None:
    for line in BROKEN[name].told:
        found = SUMS.fullmatch(line)
        if found is None:
            continue
        for part in found[2].split("; ")[:2]:
            total, _, made = part.partition(" = ")
            counts = [int(one) for one in re.findall(r"(?:^|\+ )(\d+)", made)]
            assert sum(counts) == int(re.sub(r"\D", "", total) or 0)
        assert re.search(r"\d wrong", found[2])


def test_a_program_is_told_the_same_places(study: Path) -> None:
    case = TOGETHER["diary, sheets and weather"]
    put(study, case)
    result = checked(study, "--json")
    told = json.loads(result.stdout)
    assert result.exit_code == 2
    places = Counter(one["file"] for one in told["problems"])
    assert places == {"diary.yaml": 3, "loggers/station.csv": 1, "sheets/pulls.csv": 1}
    assert [(one["file"], one["rows"], one["wrong"]) for one in told["sheets"]] == [
        ("sheets/pulls.csv", 3, 1)
    ]
    assert len(case.told) == len(told["problems"]) + len(told["sheets"])
