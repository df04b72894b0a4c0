"""What a check tells of sheets, flags and weather, for a person and for a program."""

from __future__ import annotations

import json
import math

import pandas as pd
import pytest

from wintersward.errors import Problem, WinterswardError
from wintersward.gathering import Unsound
from wintersward.records import FLAG_COLUMNS, TableSums, flag_words
from wintersward.runs.collected import collected_dict, collected_lines, problems_dict

SUMS = [
    TableSums("sheets/a.csv", 4, 1, 2, empty=1, values=3, values_used=2, values_missing=1),
    TableSums("sheets/b.csv", 2, 1, wrong=1, values=1, values_wrong=1, unread=("remarks", "wet")),
]
GAPS = [Problem("loggers/w.csv", row=2, field="date", found="x", hint="1 day is missing")]


def flags(many: int) -> pd.DataFrame:
    rows = [
        ("jump", "pull_force", pd.Timestamp("2026-03-24"), f"{101 + i}", "rx", "1", 30.5, "N",
         f"sheets/a.csv:{i + 2}", "30 lbf", "at most 12 lbf away")
        for i in range(many)
    ]  # fmt: skip
    frame = pd.DataFrame(rows, columns=list(FLAG_COLUMNS))
    return frame.astype({"date": "datetime64[ns]", "value": "float64"})


def test_every_part_has_its_heading() -> None:
    found = flags(2)
    said = [flag_words(row) for row in found.itertuples(index=False)]
    assert said[0].startswith("sheets/a.csv, row 2, column pull_force: flag jump: 30 lbf; rule: ")
    assert collected_lines(SUMS, found, GAPS) == [
        "the sheets:",
        "  - sheets/a.csv: 4 rows = 1 of headings + 2 used + 1 without values; 3 values = 2 used + "
        "1 marked missing",
        "  - sheets/b.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong; not read: remarks, "
        "wet",
        "look again at these; nothing was changed or left out:",
        f"  - {said[0]}",
        f"  - {said[1]}",
        "days without weather; a run goes on without them:",
        "  - loggers/w.csv, row 2, column date: found x; 1 day is missing",
    ]


@pytest.mark.parametrize("none", [None, flags(0)])
def test_what_is_not_there_has_no_heading(none: pd.DataFrame | None) -> None:
    assert collected_lines([], none, []) == []


@pytest.mark.parametrize(("many", "shown", "left"), [(12, 12, 0), (13, 12, 1), (40, 12, 28)])
def test_of_many_flags_the_first_are_shown(many: int, shown: int, left: int) -> None:
    lines = collected_lines([], flags(many), [])[1:]
    assert [line.startswith("  - sheets/a.csv, row ") for line in lines[:shown]] == [True] * shown
    more = f"  - ... and {left} more: all of them stand in the report"
    assert lines[shown:] == ([more] if left else [])


def test_a_program_is_told_all_of_it() -> None:
    found = flags(40)
    found.loc[0, ["date", "value"]] = [pd.NaT, math.nan]
    told = collected_dict(SUMS, found, GAPS)
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert len(told["flags"]) == 40
    assert (told["flags"][0]["date"], told["flags"][0]["value"]) == (None, None)
    assert told["flags"][1] == {
        "kind": "jump",
        "measure": "pull_force",
        "date": "2026-03-24",
        "plot": "102",
        "rater": "rx",
        "sample": "1",
        "value": 30.5,
        "unit": "N",
        "source": "sheets/a.csv:3",
        "found": "30 lbf",
        "rule": "at most 12 lbf away",
    }
    assert told["sheets"][1] == {
        "file": "sheets/b.csv",
        "rows": 2,
        "headings": 1,
        "used": 0,
        "excluded": 0,
        "empty": 0,
        "wrong": 1,
        "values": 1,
        "values_used": 0,
        "values_excluded": 0,
        "values_repeated": 0,
        "values_missing": 0,
        "values_wrong": 1,
        "unread": ["remarks", "wet"],
    }
    assert told["weather_gaps"] == [
        {
            "file": "loggers/w.csv",
            "line": None,
            "column": None,
            "row": 2,
            "field": "date",
            "found": "x",
            "allowed": "",
            "hint": "1 day is missing",
        }
    ]
    none = ("sheets", "flags", "weather_gaps", "loggers", "logger_flags", "loggers_unread")
    assert collected_dict([], None, []) == {name: [] for name in none}


def test_problems_have_the_same_keys_always() -> None:
    problem = Problem("diary.yaml", 3, 5, "exclusions.1", "f", "a", "h")
    told = problems_dict(Unsound(["a plain line", problem], SUMS[1:]))
    assert told["problems"] == [
        {
            "file": "diary.yaml",
            "line": 3,
            "column": 5,
            "row": None,
            "field": "exclusions.1",
            "found": "f",
            "allowed": "a",
            "hint": "h",
        },
        {
            "file": "",
            "line": None,
            "column": None,
            "row": None,
            "field": "",
            "found": "",
            "allowed": "",
            "hint": "a plain line",
        },
    ]
    assert [one["file"] for one in told["sheets"]] == ["sheets/b.csv"]
    assert json.loads(json.dumps(told)) == told
    plain = problems_dict(WinterswardError("a plain line"))
    assert [one["hint"] for one in plain["problems"]] == ["a plain line"]
    assert plain["sheets"] == []
