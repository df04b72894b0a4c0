"""The sums of rows and values hold for every table, whatever stands in it."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from wintersward.records import (
    COLUMNS,
    SheetsRead,
    TableSums,
    excluded,
    settled,
    sums_table,
)
from wintersward.records.cells import plain
from wintersward.records.tables import read_tables
from wintersward.trial import Diary

Write = Callable[..., Path]
Read = Callable[..., SheetsRead]

HEADS = ["date", "plot", "sample", "rater", "colour_rating", "pull_force", "repeat", "remarks"]
DAY = "2026-03-24"
COUNTS = [name for name in TableSums.__dataclass_fields__ if name.startswith("values_")]


def holds(sums: TableSums) -> None:
    """Check that every row and every value is accounted for once."""
    ends = (sums.headings, sums.used, sums.excluded, sums.empty, sums.wrong)
    assert min(ends) >= 0
    assert sums.rows == sum(ends)
    values = [getattr(sums, name) for name in COUNTS]
    assert min(values) >= 0
    assert sums.values == sum(values)
    assert sums.wrong == len(sums.wrong_rows)
    assert sums.words().startswith(f"{sums.name}: ")


def sound(read: SheetsRead, lengths: dict[str, int]) -> None:
    """Check observations, and that each stands where it says."""
    seen = read.observations
    assert tuple(seen.columns) == COLUMNS
    assert seen["value"].notna().all()
    assert str(seen["date"].dtype).startswith("datetime64")
    for source in seen["source"]:
        name, _, row = source.rpartition(":")
        assert 1 <= int(row) <= lengths[name]
    assert all("\n" not in str(problem) for problem in read.problems)
    for sums in read.sums:
        holds(sums)
        own = [source for source in seen["source"] if source.rpartition(":")[0] == sums.name]
        assert len(own) == sums.values_used + sums.values_repeated
        assert sums.wrong == 0 or any(p.path == sums.name for p in read.problems)


def test_every_row_and_value_is_counted(write: Write, reading: Read) -> None:
    write(
        "sheets/a.csv",
        ["Visit of March"],
        HEADS,
        [DAY, 101, 1, "te", 5, 40, "", "wet"],
        [DAY, 101, "", "te", 6, "", 1, ""],
        [],
        ["", "", "", "", "", "", "", "rain"],
        HEADS,
        [DAY, 102, 1, "te", "NA", "", "", ""],
        [DAY, 102, 2, "te", "-", 44, "", ""],
        [DAY, 199, 1, "te", 7, "NA", "", ""],
        [DAY, 103, 1, "te", 7, 400, "", ""],
        [DAY, 103, 2, "te", "x", 41, "", ""],
    )
    read = reading()
    assert [problem.row for problem in read.problems] == [10, 12, 12]
    (sums,) = read.sums
    assert sums == TableSums(
        "sheets/a.csv",
        rows=11,
        headings=3,
        used=4,
        empty=2,
        wrong=2,
        values=12,
        values_used=6,
        values_repeated=1,
        values_missing=3,
        values_wrong=2,
        unread=("remarks",),
        wrong_rows=frozenset({10, 12}),
    )
    assert sums.words() == (
        "sheets/a.csv: 11 rows = 3 of headings + 4 used + 2 without values + 2 wrong; 12 values = "
        "6 used + 1 of second looks + 3 marked missing + 2 wrong; not read: remarks"
    )


def test_a_refused_table_is_wrong_but_for_its_headings(write: Write, reading: Read) -> None:
    write(
        "sheets/a.csv",
        ["Pulls"],
        ["date", "plot", "pull_force", "remarks"],
        [DAY, 101, 40, ""],
        ["", "", "", "rain"],
        [DAY, 101, "NA", ""],
    )
    (sums,) = reading().sums
    assert (sums.rows, sums.headings, sums.wrong) == (5, 2, 3)
    assert (sums.values, sums.values_wrong) == (2, 2)
    assert sums.unread == ("remarks",)


def test_a_blank_table_and_one_without_headings(study: Path, write: Write, reading: Read) -> None:
    (study / "sheets" / "a.csv").write_bytes(b"\n\n")
    write("sheets/b.csv", [DAY, 101, 1, 40], [DAY, 102, 1, 40])
    read = reading()
    assert [one.words() for one in read.sums] == [
        "sheets/a.csv: no rows; no values",
        "sheets/b.csv: 2 rows = 2 wrong; no values; not read: column A, column B, column C, "
        "column D",
    ]
    assert [str(p) for p in read.problems] == [
        "sheets/a.csv: found an empty table; fill it in, or move the file out of sheets",
        "sheets/b.csv, row 1: found no headings; allowed: headings, among them date, plot and one "
        "of colour_rating, pull_force; put the headings in row 1",
    ]


def test_a_row_of_one_second_look_is_used(write: Write, reading: Read) -> None:
    write(
        "sheets/a.csv", ["date", "plot", "rater", "colour rating", "repeat"], [DAY, 101, "te", 5, 1]
    )
    (sums,) = reading().sums
    assert sums.words() == (
        "sheets/a.csv: 2 rows = 1 of headings + 1 used; 1 value = 1 of second looks"
    )


def test_tables_stand_in_the_order_of_files_and_tabs(study: Path, reading: Read) -> None:
    book = Workbook()
    book.active.title = "Second half"
    book.active.append(HEADS[:4] + ["pull_force"])
    book.create_sheet("First half").append(HEADS[:4] + ["pull_force"])
    book.create_sheet("What to do").append(["What to do"])
    book.save(study / "sheets" / "b.xlsx")
    (study / "sheets" / "a.csv").write_text("date,plot\n")
    assert [one.name for one in reading().sums] == [
        "sheets/a.csv",
        "sheets/b.xlsx[Second half]",
        "sheets/b.xlsx[First half]",
    ]


def test_exclusions_move_rows_and_values(write: Write, reading: Read, plots: pd.DataFrame) -> None:
    write(
        "sheets/a.csv",
        HEADS,
        [DAY, 101, 1, "te", 5, 40, "", ""],
        [DAY, 101, 1, "te", 6, "", 1, ""],
        [DAY, 102, 1, "te", 4, 41, "", ""],
        [DAY, 103, 1, "te", 10, 42, "", ""],
    )
    write("sheets/b.csv", HEADS, [DAY, 104, 1, "te", 5, 40, "", ""])
    read = reading()
    entries = [
        {"plot": "101", "reason": "flooded"},
        {"plot": "102", "measure": "pull_force", "reason": "bent spike"},
        {"plot": "103", "reason": "flooded"},
    ]
    diary = Diary.model_validate({"exclusions": entries})
    marked, problems = excluded(read.observations, diary, plots)
    assert problems == []
    first, second = settled(read.sums, marked)
    holds(first)
    # Of row 5 one value is wrong: the row stays wrong, its other value is excluded.
    assert (first.used, first.excluded, first.wrong) == (1, 2, 1)
    counts = {name.removeprefix("values_"): getattr(first, name) for name in COUNTS}
    assert counts == {"used": 1, "excluded": 4, "repeated": 1, "missing": 0, "wrong": 1}
    assert second == read.sums[1]
    assert settled([first, second], marked) == [first, second]
    assert "2 excluded" in first.words()


def test_without_observations_nothing_moves(write: Write, reading: Read) -> None:
    write("sheets/a.csv", HEADS)
    read = reading()
    assert settled(read.sums, read.observations) == read.sums
    assert settled([], read.observations) == []


def test_the_sums_are_a_table() -> None:
    made = sums_table(
        [TableSums("sheets/a.csv", 2, 1, 1, values=1, values_used=1, unread=("x", "y"))]
    )
    ends = ["headings", "used", "excluded", "empty", "wrong"]
    assert list(made.columns) == ["file", "rows", *ends, "values", *COUNTS, "unread"]
    assert made.iloc[0].tolist() == ["sheets/a.csv", 2, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, "x, y"]
    none = sums_table([])
    assert list(none.columns) == list(made.columns)
    assert (none.dtypes == made.dtypes).all()


WORDS = [*HEADS, "", "", " ", "NA", "Mean", "Total", "=1+1", "column sample", "Pull force 1"]
ITEMS = [
    DAY,
    "3/24/2026",
    "101",
    "102",
    "1A",
    "999",
    "1",
    "2",
    "te",
    "rx",
    "40",
    "5",
    "40,5",
    "45%",
]
TEXTS = st.one_of(
    st.sampled_from(WORDS),
    st.sampled_from(ITEMS),
    st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=5),
)
VALUES = st.one_of(
    TEXTS,
    st.integers(-5, 120),
    st.floats(0, 60, allow_nan=False),
    st.booleans(),
    st.dates(dt.date(2026, 3, 23), dt.date(2026, 3, 25)),
    st.none(),
)
ANY = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def rows_of(cells: st.SearchStrategy[Any]) -> st.SearchStrategy[list[list[Any]]]:
    return st.lists(
        st.one_of(
            st.lists(cells, max_size=9),
            st.permutations(HEADS),
            st.just([DAY, "101", "1", "te", "5", "40", "", "wet"]),
        ),
        max_size=8,
    )


def parted(path: Path, separator: str) -> list[list[str]] | None:
    """Read a CSV file by a separator; nothing where that cannot be."""
    with path.open(encoding="utf-8", newline="") as file:
        try:
            return list(csv.reader(file, delimiter=separator, strict=True))
        except csv.Error:
            return None


@ANY
@given(rows=rows_of(TEXTS), separator=st.sampled_from(",;\t"))
def test_the_sums_of_any_text_hold(
    study: Path, write: Write, reading: Read, rows: list[list[str]], separator: str
) -> None:
    path = write("sheets/p.csv", *rows, separator=separator)
    read = reading()
    seen = [table for table in map(partial(parted, path), ",;\t") if table is not None]
    sound(read, {"sheets/p.csv": max(map(len, seen), default=0)})
    if read.sums:
        (sums,) = read.sums
        assert sums.rows in [sum(any(map(plain, row)) for row in table) for table in seen]
    else:
        assert "check the quotes" in str(read.problems[0])


@ANY
@given(rows=rows_of(VALUES))
def test_the_sums_of_any_workbook_hold(study: Path, reading: Read, rows: list[list[Any]]) -> None:
    book = Workbook()
    for down, row in enumerate(rows, 1):
        for across, value in enumerate(row, 1):
            book.active.cell(down, across, value)
    path = study / "sheets" / "p.xlsx"
    book.save(path)
    read = reading()
    tables, _ = read_tables(path, "sheets/p.xlsx")
    sound(read, {"sheets/p.xlsx": len(rows)})
    for sums, table in zip(read.sums, tables, strict=True):
        solved = {number for number, _ in table.unsolved}
        held = [any(map(plain, row)) or at in solved for at, row in enumerate(table.rows, 1)]
        assert sums.rows == sum(held)


@ANY
@given(
    heads=st.permutations(HEADS),
    rows=st.lists(
        st.lists(st.sampled_from([*ITEMS, "NA", "-", "", "wet"]), max_size=8), max_size=8
    ),
    above=st.integers(0, 3),
)
def test_values_are_the_cells_under_the_headings_of_measures(
    write: Write, reading: Read, heads: list[str], rows: list[list[str]], above: int
) -> None:
    write("sheets/p.csv", *[["wet weather"]] * above, heads, *rows)
    (sums,) = reading().sums
    spots = [heads.index(name) for name in ("colour_rating", "pull_force")]
    cells = [row[spot] for row in rows for spot in spots if spot < len(row)]
    assert sums.values == sum(text != "" for text in cells)
    # Where a row of marks alone is wrong, so are its marks.
    marks = sum(text in ("NA", "-") for text in cells)
    assert sums.values_missing <= marks <= sums.values_missing + sums.values_wrong
    assert sums.rows == above + 1 + sum(any(row) for row in rows)
    assert sums.headings == above + 1


def test_columns_of_csv_are_what_was_written(study: Path, reading: Read) -> None:
    with (study / "sheets" / "p.csv").open("w", newline="") as file:
        csv.writer(file).writerows(
            [["", *HEADS], *[[n, DAY, 101, n, "te", "", 40, "", ""] for n in (1, 2)]]
        )
    read = reading()
    assert read.problems == []
    assert read.sums[0].unread == ("column A",)


@pytest.mark.parametrize("first", [["5", "7"], ["2", "3"], ["1", "1"]])
def test_numbers_in_front_that_do_not_count_the_rows_are_told(
    write: Write, reading: Read, first: list[str]
) -> None:
    rows = [[n, DAY, 101, at, "te", "", 40, "", ""] for at, n in enumerate(first, 1)]
    write("sheets/p.csv", ["", *HEADS], *rows)
    read = reading()
    assert [str(problem) for problem in read.problems] == [
        "sheets/p.csv, row 2: found numbers without a heading in A2 to A3; give the column a "
        "heading; of several readings in a plot, write one row a reading, with its number in a "
        "column sample"
    ]
    assert read.sums[0].wrong == 2
