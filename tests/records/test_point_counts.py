"""Filled sheets of a point count: read as meant, or told what is wrong, by file, row and column."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from wintersward.records.point_counts import COUNT_COLUMNS, KEY, read_point_counts

Write = Callable[..., Path]
HEADINGS = ["photo", "rater", "points", "green", "unsure"]


@pytest.fixture
def drawn(study: Path, write: Write) -> Path:
    """Three photos and their key."""
    rows = []
    for number in (1, 2, 3):
        path = study / "photos" / "2026-03-24" / f"10{number}_1.jpg"
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"picture %d" % number)
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        rows.append([number, path.relative_to(study).as_posix(), digest, 40 + number])
    write(KEY, ["number", "photo", "sha256", "seed"], *rows)
    return study


def told(study: Path) -> list[str]:
    found = read_point_counts(study).problems
    assert found == sorted(found)
    return [str(one) for one in found]


def test_nothing_counted_is_no_fault(study: Path) -> None:
    read = read_point_counts(study)
    assert (len(read.counts), read.drawn, read.problems) == (0, 0, [])
    assert tuple(read.counts.columns) == COUNT_COLUMNS


def test_counts_are_read(drawn: Path, write: Write) -> None:
    rows = [[2, "te", 100, 41, 3], ["01", "te", 100, 0, ""], [3, "te", 100, "", ""]]
    write("photos/point_count.csv", HEADINGS, *rows)
    read = read_point_counts(drawn)
    assert read.problems == []
    assert read.drawn == 3
    assert read.counts.values.tolist() == [
        [1, "photos/2026-03-24/101_1.jpg", "te", 100, 0, 0, "photos/point_count.csv:3"],
        [2, "photos/2026-03-24/102_1.jpg", "te", 100, 41, 3, "photos/point_count.csv:2"],
    ]


def test_several_raters_in_files_of_their_own(drawn: Path, write: Write) -> None:
    write("photos/point_count_te.csv", HEADINGS, [1, "te", 100, 40, 0])
    write("photos/point_count_rx.csv", HEADINGS, [1, "rx", 100, 44, 0], [2, "rx", 100, 9, 1])
    read = read_point_counts(drawn)
    assert read.problems == []
    found = read.counts[["photo", "rater", "green"]].values.tolist()
    assert found == [[1, "rx", 44], [1, "te", 40], [2, "rx", 9]]


def test_a_workbook_with_remarks_beside(drawn: Path) -> None:
    book = Workbook()
    tab = book.active
    for row in (["Photo", "Rater", "Points", "Green (of 100)", "Note"], [1, "te", 100, 52.0, "x"]):
        tab.append(row)
    book.create_sheet("What to do").append([1, "Count."])
    book.save(drawn / "photos" / "point_count.xlsx")
    read = read_point_counts(drawn)
    assert read.problems == []
    assert read.counts[["rater", "green", "unsure"]].values.tolist() == [["te", 52, 0]]


def test_one_person_need_not_be_named(drawn: Path, write: Write) -> None:
    write("photos/point_count.csv", ["photo", "points", "green"], [1, 100, 40], [2, 100, 60])
    read = read_point_counts(drawn)
    assert read.problems == []
    assert set(read.counts["rater"]) == {""}


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ([9, "te", 100, 40, 0], "column photo: found '9'; allowed: a number of plan/papers/"),
        (["x", "te", 100, 40, 0], "column photo: found 'x'; allowed: a number of plan/papers/"),
        ([1, "te", 100, 101, 0], "column green: found '101'; allowed: a whole number, 0 to 100"),
        ([1, "te", 100, -1, 0], "column green: found '-1'; allowed: a whole number, 0 to 100"),
        ([1, "te", 100, 4.5, 0], "column green: found '4.5'; allowed: a whole number, 0 to 100"),
        ([1, "te", 100, "few", 0], "column green: found 'few'; allowed: a whole number, 0 to 100"),
        ([1, "te", 100, 60, 41], "column unsure: found '41'; allowed: a whole number, 0 to 40"),
        ([1, "te", 100, 100, 1], "column unsure: found '1'; allowed: 0"),
        ([1, "te", 50, 51, 0], "column green: found '51'; allowed: a whole number, 0 to 50"),
        ([1, "te", 0, 0, 0], "column points: found '0'; allowed: a whole number, 1 to 100"),
        ([1, "te", 101, 0, 0], "column points: found '101'; allowed: a whole number, 1 to 100"),
        ([1, "te", "", 40, 0], "column points: found an empty cell; allowed: a whole number, 1"),
        ([1, "te", 100, "", 4], "column green: found an empty cell; allowed: a whole number, 0"),
        ([1, "", 100, 40, 0], "column rater: found an empty cell; allowed: the initials of who"),
        ([2, "te", 100, 40, 0], "column photo: found photo 2 a second time by te; the first is"),
    ],
)
def test_what_is_wrong_has_its_place(
    drawn: Path, write: Write, row: list[object], message: str
) -> None:
    write("photos/point_count.csv", HEADINGS, [2, "te", 100, 50, 0], row)
    (problem,) = told(drawn)
    assert problem.startswith(f"photos/point_count.csv, row 3, {message}")
    assert read_point_counts(drawn).counts["photo"].tolist() == [2]


def test_all_that_is_wrong_is_told_together(drawn: Path, write: Write) -> None:
    write("photos/point_count.csv", HEADINGS, [9, "te", 100, 200, 0], [1, "te", 100, 200, 0])
    assert [one.partition(":")[0] for one in told(drawn)] == [
        "photos/point_count.csv, row 2, column green",
        "photos/point_count.csv, row 2, column photo",
        "photos/point_count.csv, row 3, column green",
    ]


def test_headings_that_are_missing(drawn: Path, write: Write) -> None:
    write("photos/point_count.csv", ["photo", "point", "green", "green"], [1, 100, 40, 40])
    assert told(drawn) == [
        "photos/point_count.csv, row 1, column green: found the heading twice; allowed: photo, "
        "points, green, rater, unsure; put the headings in row 1",
        "photos/point_count.csv, row 1, column points: found no such heading; allowed: photo, "
        "points, green, rater, unsure; did you mean point?",
    ]


def test_counts_without_their_key(study: Path, write: Write) -> None:
    write("photos/point_count.csv", HEADINGS, [1, "te", 100, 40, 0])
    assert told(study) == [
        f"{KEY}: found no file; put back the key that was made with the pictures, or take the "
        "counts out of photos"
    ]


def test_a_key_that_was_changed(drawn: Path, write: Write) -> None:
    write("photos/point_count.csv", HEADINGS, [1, "te", 100, 40, 0])
    rows = [["1", "../elsewhere.jpg", "", 1], ["x", "photos/a.jpg", "", 2]]
    write(KEY, ["number", "photo", "sha256", "seed"], *rows)
    found = told(drawn)
    assert f"{KEY}, row 2, column photo: found '../elsewhere.jpg'" in found[0]
    assert f"{KEY}, row 3, column number: found 'x'; allowed: a whole number from 1" in found[1]
    write(KEY, ["number", "picture"], [1, "photos/a.jpg"])
    assert [one.partition(":")[0] for one in told(drawn)] == [
        f"{KEY}, row 1, column photo",
        f"{KEY}, row 1, column sha256",
    ]


def test_a_photo_that_changed_or_went(drawn: Path, write: Write) -> None:
    write("photos/point_count.csv", HEADINGS, [1, "te", 100, 40, 0], [3, "te", 100, 40, 0])
    (drawn / "photos/2026-03-24/101_1.jpg").write_bytes(b"another picture")
    (drawn / "photos/2026-03-24/103_1.jpg").unlink()
    # Nobody counted on this one.
    (drawn / "photos/2026-03-24/102_1.jpg").unlink()
    assert told(drawn) == [
        f"{KEY}, row 2, column sha256: found photos/2026-03-24/101_1.jpg is not the file on which "
        "the crosses were drawn; put the photo back as it was, or take the counts of photo 1 out",
        f"{KEY}, row 4, column photo: found 'photos/2026-03-24/103_1.jpg', which is not there; "
        "put the photo back as it was, or take the counts of photo 3 out",
    ]


def test_other_kinds_of_tables_are_told(drawn: Path) -> None:
    (drawn / "photos" / "point_count.ods").write_bytes(b"")
    assert told(drawn) == [
        "photos/point_count.ods: found a file of kind .ods; save it as .xlsx or .csv"
    ]


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(rows=st.lists(st.lists(st.text(max_size=6), min_size=5, max_size=5), max_size=4))
def test_whatever_stands_there_is_read_or_told(
    drawn: Path, write: Write, rows: list[list[str]]
) -> None:
    write("photos/point_count.csv", HEADINGS, *rows)
    read = read_point_counts(drawn)
    assert all(str(one).startswith(("photos/", "plan/")) for one in read.problems)
    assert read.counts["photo"].isin([1, 2, 3]).all()
    assert (read.counts["green"] + read.counts["unsure"] <= read.counts["points"]).all()


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    photo=st.integers(1, 3),
    points=st.integers(1, 100),
    data=st.data(),
)
def test_what_can_be_counted_is_read(
    drawn: Path, write: Write, photo: int, points: int, data: st.DataObject
) -> None:
    green = data.draw(st.integers(0, points))
    unsure = data.draw(st.integers(0, points - green))
    write("photos/point_count.csv", HEADINGS, [photo, "te", points, green, unsure])
    read = read_point_counts(drawn)
    assert read.problems == []
    assert read.counts[["photo", "points", "green", "unsure"]].values.tolist() == [
        [photo, points, green, unsure]
    ]
