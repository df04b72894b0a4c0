"""Rows in which everything is marked as missing: checked like the others."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.records import SheetsRead

Write = Callable[..., Path]
Reading = Callable[..., SheetsRead]

HEADS = ["date", "plot", "sample", "pull_force"]
DAY = "2026-03-24"


def told(read: SheetsRead) -> list[str]:
    return [*map(str, read.problems), *(sums.words() for sums in read.sums)]


def test_a_mark_stands_at_a_plot_a_date_and_a_sample_of_the_trial(
    write: Write, reading: Reading
) -> None:
    write(
        "sheets/p.csv", HEADS, [DAY, 999, 1, "NA"], ["2026-13-24", 101, 9, "NA"],
        ["2025-03-24", 101, 1, "-"], [DAY, 102, 1, "NA"],
    )  # fmt: skip
    read = reading()
    assert [(p.row, p.field, p.found) for p in read.problems] == [
        (2, "plot", "'999'"),
        (3, "date", "'2026-13-24'"),
        (3, "sample", "'9'"),
        (4, "date", "'2025-03-24'"),
    ]
    assert told(read)[-1] == (
        "sheets/p.csv: 5 rows = 1 of headings + 1 without values + 3 wrong; 4 values = 1 marked "
        "missing + 3 wrong"
    )
    assert read.observations.empty


@pytest.mark.parametrize(
    "row",
    [
        ["-", "-", "", "-", "-", "-"],
        [DAY, 101, "", "", "-", "-"],
        ["", 101, "", 1, "-", "-"],
        ["2026-03-10", 101, "", 2, "-", "-"],
        ["rain stopped us", "", "", "", "", "NA"],
    ],
    ids=["marks alone", "no sample", "no date", "another measure's day and sample", "a note"],
)
def test_a_mark_may_say_less(write: Write, reading: Reading, row: list[object]) -> None:
    heads = ["date", "plot", "rater", "sample", "colour_rating", "pull_force"]
    write("sheets/p.csv", heads, row)
    (sums,) = reading().sums
    assert (sums.empty, sums.wrong) == (1, 0)


@pytest.mark.parametrize(
    ("first", "second", "found"),
    [
        ("NA", 40, "a value where sheets/a.csv, row 2 has a mark for a missing one"),
        (40, "NA", "a mark for a missing value where sheets/a.csv, row 2 has a value"),
    ],
)
def test_a_mark_and_a_value_of_one_thing(
    write: Write, reading: Reading, first: object, second: object, found: str
) -> None:
    write("sheets/a.csv", HEADS, [DAY, 101, 1, first])
    write("sheets/b.csv", HEADS, [DAY, 101, 1, second], [DAY, 101, 2, 41])
    read = reading()
    assert told(read)[0] == (
        f"sheets/b.csv, row 2, column pull_force: found {found}; keep one of them, or correct "
        "date, plot or sample"
    )
    assert len(read.problems) == 1
    assert [(sums.wrong, sums.values_wrong) for sums in read.sums] == [(0, 0), (1, 1)]


def test_two_people_on_one_sheet_may_share_the_measures(write: Write, reading: Reading) -> None:
    heads = ["date", "plot", "rater", "sample", "pull_force"]
    write("sheets/p.csv", heads, [DAY, 101, "te", 1, 40], [DAY, 101, "rx", 1, "-"])
    read = reading()
    assert read.problems == []
    assert len(read.observations) == 1
