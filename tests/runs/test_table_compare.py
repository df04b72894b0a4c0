from __future__ import annotations

import pytest

from wintersward.runs.table_compare import TOLERANCE, Compared, Tolerance, compare_tables

ENTRY = {
    "key": ["measure", "date"],
    "columns": [
        {"name": "measure", "type": "text"},
        {"name": "date", "type": "date"},
        {"name": "mean", "type": "number"},
        {"name": "n", "type": "integer"},
        {"name": "letters", "type": "text"},
    ],
}
HEAD = "measure,date,mean,n,letters\n"
BEFORE = HEAD + "cover,2026-03-10,46.25,6,a\ncover,2026-03-24,71,6,b\nforce,2026-03-10,,0,\n"


def compared(after: str, tolerance: Tolerance | None = None, before: str = BEFORE) -> Compared:
    return compare_tables(before, after, ENTRY, ("there", "here"), tolerance)


def test_the_same() -> None:
    found = compared(BEFORE)
    assert found == Compared(3, 9, (), ())
    assert found.same


def test_a_cell_in_its_last_digit() -> None:
    found = compared(BEFORE.replace("46.25", "46.25000001"))
    (moved,) = found.moved
    assert not found.same
    assert (moved.line, moved.column) == (2, "mean")
    assert moved.share == pytest.approx(1e-8 / 71, rel=1e-3)
    assert moved.words(("there", "here")) == (
        "line 2 (measure cover, date 2026-03-10), column mean: 46.25 there, 46.25000001 here, "
        "apart by 2.2e-10 of the larger"
    )


@pytest.mark.parametrize(
    ("before", "after", "same"),
    [
        ("46.25", "46.25004", True),
        ("46.25", "46.2504", False),
        ("46.25", "46.2500", True),
        ("1e-12", "-3e-12", True),
        ("0", "5e-7", True),
        ("0", "5e-6", False),
        ("46.25", "", False),
        ("46.25", "inf", False),
    ],
)
def test_numbers_by_tolerance(before: str, after: str, same: bool) -> None:
    first, second = (BEFORE.replace("46.25", number) for number in (before, after))
    found = compared(second, TOLERANCE, first)
    assert (found.same, found.near) == (same, int(same))
    assert not compared(second, None, first).same


@pytest.mark.parametrize(("before", "after"), [(",6,a", ",7,a"), (",6,b", ",6,ab")])
def test_counts_and_words_know_no_tolerance(before: str, after: str) -> None:
    found = compared(BEFORE.replace(before, after), TOLERANCE)
    assert len(found.moved) == 1


def test_the_largest_movement_comes_first() -> None:
    after = BEFORE.replace("46.25", "46.26").replace(",71,", ",72,").replace(",6,b", ",6,c")
    moved = compared(after).moved
    assert [(one.line, one.column) for one in moved] == [(3, "mean"), (2, "mean"), (3, "letters")]
    found = compared(BEFORE.replace(",0,", ",,")).moved[0]
    assert found.words(("there", "here")).endswith("column n: 0 there, nothing here")


@pytest.mark.parametrize(
    ("after", "told"),
    [
        (
            BEFORE.replace("force,2026-03-10,,0,\n", ""),
            "a row only there: measure force, date 2026-03-10",
        ),
        (BEFORE + "force,,1,1,\n", "a row only here: measure force, date nothing"),
        (
            BEFORE + "cover,2026-03-24,70,6,b\n",
            "two rows here for measure cover, date 2026-03-24",
        ),
        (BEFORE.replace("n,", "m,"), "its columns differ: mean, n only there; meam, m only here"),
        (BEFORE.replace("71,6,b", "71,6,b,c"), "line 3 has not the 5 cells of the headings here"),
        (
            HEAD + "".join(reversed(BEFORE.removeprefix(HEAD).splitlines(keepends=True))),
            "its rows stand in another order",
        ),
        ("", "its columns differ: measure, date, mean, n, letters only there"),
        ("date,date\n", "a heading stands twice here"),
    ],
)
def test_rows_and_columns(after: str, told: str) -> None:
    found = compared(after)
    assert not found.same
    assert told in found.problems


def test_a_lost_key_is_told() -> None:
    assert compared("mean\n1\n").problems[-1] == "its key cannot be read: measure, date"


def test_the_tolerance_is_far_below_what_a_page_shows() -> None:
    assert TOLERANCE.relative <= 1e-6
    assert TOLERANCE.floor <= 1e-8
