"""Headings in other words, in other rows and in columns for each reading."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from wintersward.records import SheetsRead
from wintersward.records.heading_faults import column_letter

Write = Callable[..., Path]
Sheets = Callable[..., tuple[pd.DataFrame, list[str]]]
Reading = Callable[..., SheetsRead]

DAY = "2026-03-24"
MEASURES = "colour_rating, pull_force"
MOVE = "rename the column, name it in diary.yaml, or move the file out of sheets"
A_RATER = "write one row a rater, with the initials in a column rater"
A_READING = "write one row a reading, with its number in a column sample"
CALL = "call the column so, or name it in diary.yaml"


@pytest.fixture
def change(study: Path) -> Callable[[str, str], None]:
    """Change the definition."""

    def put(old: str, new: str) -> None:
        text = (study / "trial.yaml").read_text(encoding="utf-8")
        assert old in text
        (study / "trial.yaml").write_text(text.replace(old, new), encoding="utf-8")

    return put


@pytest.mark.parametrize(
    "heading",
    ["Turf colour", "TURF-COLOUR", "turf_colour (1 to 9)", "Colour rating", "colour_rating"],
)
def test_a_measure_goes_by_its_name_or_its_label(
    write: Write, sheets: Sheets, change: Callable[..., None], heading: str
) -> None:
    change("scale: 1-9", "scale: 1-9\n    label: Turf colour (by eye)")
    write("sheets/r.csv", ["date", "plot", "rater", heading], [DAY, 101, "te", 5])
    observations, said = sheets()
    assert (said, len(observations)) == ([], 1)


def test_name_and_label_side_by_side_are_two_columns(
    write: Write, sheets: Sheets, change: Callable[..., None]
) -> None:
    change("scale: 1-9", "scale: 1-9\n    label: Turf colour")
    heads = ["date", "plot", "rater", "colour_rating", "Turf colour"]
    write("sheets/r.csv", heads, [DAY, 101, "te", 5, 6])
    assert sheets()[1] == [
        "sheets/r.csv, row 1, column colour_rating: found 'colour_rating' and 'Turf colour' in 2 "
        "columns; allowed: one; rename or remove one of them"
    ]


def test_a_label_of_two_measures_is_not_guessed(
    write: Write, sheets: Sheets, change: Callable[..., None]
) -> None:
    change("scale: 1-9", "scale: 1-9\n    label: Reading")
    change("unit: lbf", "unit: lbf\n    label: Reading")
    write("sheets/r.csv", ["date", "plot", "rater", "sample", "Reading"], [DAY, 101, "te", 1, 5])
    observations, said = sheets()
    assert observations.empty
    assert said == [
        "sheets/r.csv, row 1, column Reading: found a heading that stands for colour_rating and "
        "pull_force; allowed: one of them; call the column by the name that is meant, or name it "
        "in diary.yaml"
    ]


def test_a_name_goes_before_the_label_of_another(
    write: Write, sheets: Sheets, change: Callable[..., None]
) -> None:
    change("scale: 1-9", "scale: 1-9\n    label: Pull force")
    write("sheets/p.csv", ["date", "plot", "sample", "Pull force"], [DAY, 101, 1, 40])
    observations, said = sheets()
    assert (said, list(observations["measure"])) == ([], ["pull_force"])


def test_the_heading_of_the_diary_goes_before_every_name(write: Write, sheets: Sheets) -> None:
    write("sheets/r.csv", ["date", "plot", "rater", "Pull force"], [DAY, 101, "te", 5])
    observations, said = sheets(
        "sheets:\n  - {file: r.csv, columns: {colour_rating: Pull force}}\n"
    )
    assert (said, list(observations["measure"])) == ([], ["colour_rating"])


# Rows from the top, and all that is told of them.
CASES = {
    "American spelling": (
        [["date", "plot", "rater", "Color rating"], [DAY, 101, "te", 5]],
        [
            f"row 1: found no measure among Color rating; allowed: {MEASURES}; did you mean "
            f"colour_rating by 'Color rating'? {MOVE}"
        ],
    ),
    "a unit without brackets": (
        [["date", "plot", "sample", "Pull force lbf"], [DAY, 101, 1, 40]],
        [
            f"row 1: found no measure among Pull force lbf; allowed: {MEASURES}; did you mean "
            f"pull_force by 'Pull force lbf'? {MOVE}"
        ],
    ),
    "a unit in words": (
        [["date", "plot", "sample", "Pull force (newtons)"], [DAY, 101, 1, 40]],
        [
            "row 1, column pull_force: found values in newtons; allowed: lbf; give the values in "
            "the unit of trial.yaml, or correct the heading"
        ],
    ),
    "a column for each rater": (
        [["date", "plot", "Colour rating te", "Colour rating RX"], [DAY, 101, 5, 6]],
        [
            "row 1, column colour_rating: found 'Colour rating te', 'Colour rating RX'; allowed: "
            f"one column a measure; {A_RATER}"
        ],
    ),
    "raters below one heading": (
        [["date", "plot", "Colour rating", ""], ["", "", "te", "rx"], [DAY, 101, 5, 6]],
        [
            "row 1, column colour_rating: found 'Colour rating' over the columns C to D, with te, "
            f"rx below; allowed: headings in one row; {A_RATER}"
        ],
    ),
    "a second reading beside the first": (
        [["date", "plot", "sample", "pull_force", "Pull force no. 2"], [DAY, 101, 1, 40, 41]],
        [
            "row 1, column pull_force: found 'Pull force no. 2'; allowed: one column a measure; "
            + A_READING
        ],
    ),
    "the date above the headings": (
        [["Date:", DAY], ["date", DAY], [], ["plot", "sample", "pull_force"], [101, 1, 40]],
        [
            "row 4, column date: found no such heading; give what stands in row 2 a column of its "
            "own, in every row"
        ],
    ),
    "a misspelt heading under a title": (
        [["Pulls of March"], ["date", "plto", "sample", "pull_force"], [DAY, 101, 1, 40]],
        [
            "row 2, column plot: found no such heading among plto; if 'plto' is meant, call it "
            "'plot', or name it in diary.yaml"
        ],
    ),
    "misspelt headings of a second table": (
        [
            ["date", "plot", "sample", "pull_force"],
            [],
            ["day", "plot", "rater", "colour_rating"],
            [DAY, 101, "te", 5],
        ],
        [f"row 3, column date: found no such heading among day; {CALL}"],
    ),
    "a second table side by side without dates": (
        [["date", "plot", "pull_force", "plot", "pull_force"], [DAY, 101, 40, 102, 41]],
        [
            "row 1: found two tables side by side: 'plot' and 'pull_force' stand there more than "
            "once; allowed: one table; put the second table below the first, or into a tab or "
            "file of its own"
        ],
    ),
    "headings far down": (
        [["x"]] * 20 + [["date", "plot", "sample", "pull_force"], [DAY, 101, 1, 40]],
        [
            "row 21: found headings this far down; allowed: headings in the first 20 rows; remove "
            "what stands above them, or put it into a tab or file of its own"
        ],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_headings_that_cannot_be_read_are_told(write: Write, reading: Reading, name: str) -> None:
    rows, expected = CASES[name]
    write("sheets/s.csv", *rows)
    read = reading()
    assert [str(problem) for problem in read.problems] == [
        f"sheets/s.csv, {one}" for one in expected
    ]
    assert read.observations.empty
    assert read.sums[0].used == 0


def test_what_the_diary_names_may_stand_in_one_of_two_tables(write: Write, sheets: Sheets) -> None:
    diary = "sheets:\n  - {file: s.csv, columns: {pull_force: Pull, colour_rating: Look}}\n"
    pulls = [["date", "plot", "sample", "Pull"], [DAY, 101, 1, 40]]
    looks = [["date", "plot", "rater", "Look"], [DAY, 101, "te", 5]]
    write("sheets/s.csv", *pulls, [], *looks)
    observations, said = sheets(diary)
    assert (said, list(observations["source"])) == ([], ["sheets/s.csv:5", "sheets/s.csv:2"])
    write("sheets/s.csv", *pulls)
    assert sheets(diary)[1] == [
        "sheets/s.csv, row 1, column colour_rating: found no heading 'Look'; allowed: date, plot, "
        "sample, Pull; correct 'columns' of this sheet in diary.yaml"
    ]


def test_words_above_the_headings_are_no_records(write: Write, reading: Reading) -> None:
    above = [["plots", 101, "blocks", 6, "date", DAY, "to", 604], ["rater", "te", "plot", "sample"]]
    write("sheets/s.csv", *above, ["date", "plot", "sample", "pull_force"], [DAY, 101, 1, 40])
    read = reading()
    assert read.problems == []
    assert (read.sums[0].headings, read.sums[0].used) == (3, 1)


def test_columns_are_named_as_spreadsheets_do() -> None:
    names = {0: "A", 25: "Z", 26: "AA", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA"}
    assert {at: column_letter(at) for at in names} == names
