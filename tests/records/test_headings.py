"""Columns are found by their headings, and what is missing or doubtful is told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

Write = Callable[..., Path]
Sheets = Callable[..., tuple[pd.DataFrame, list[str]]]

NAMED = "put the headings in row 1 and call this one so, or name it in diary.yaml"
MEASURES = "colour_rating, pull_force"
NO_HEADINGS = (
    "found no headings; allowed: headings, among them date, plot and one of colour_rating, "
    "pull_force; put the headings in row 1"
)
MOVE = "rename the column, name it in diary.yaml, or move the file out of sheets"

# Headings, and all that is told of them.
CASES = {
    "nothing": ([], [f"row 1: {NO_HEADINGS}"]),
    "no date": (
        ["day", "plot", "sample", "pull_force"],
        [f"row 1, column date: found no such heading among day; {NAMED}"],
    ),
    "plot misspelt": (
        ["date", "plto", "sample", "pull_force"],
        [
            "row 1, column plot: found no such heading among plto; if 'plto' is meant, call it "
            "'plot', or name it in diary.yaml"
        ],
    ),
    "no sample where there are several": (
        ["date", "plot", "pull_force"],
        [
            "row 1, column sample: found no such heading; add the column, with the number of each "
            "reading within its plot"
        ],
    ),
    "no rater where there are several": (
        ["date", "plot", "colour_rating"],
        [
            "row 1, column rater: found no such heading; add the column, with the initials of who "
            "rated"
        ],
    ),
    "no measure": (
        ["date", "plot", "height"],
        [f"row 1: found no measure among height; allowed: {MEASURES}; {MOVE}"],
    ),
    "one heading twice": (
        ["date", "plot", "sample", "pull_force", "Pull force"],
        [
            "row 1, column pull_force: found 'pull_force' in 2 columns; allowed: one; rename or "
            "remove one of them; where several belong to one plot, write one row a reading, with "
            "its number in a column sample"
        ],
    ),
    "another measure misspelt": (
        ["date", "plot", "rater", "colour_rating", "pull_forse"],
        [
            "row 1, column pull_forse: found a heading that is nearly 'pull_force'; call it "
            "'pull_force' if that is meant, or give it another name"
        ],
    ),
    "another unit": (
        ["date", "plot", "sample", "pull_force [N]"],
        [
            "row 1, column pull_force: found values in N; allowed: lbf; give the values in the "
            "unit of trial.yaml, or correct the heading"
        ],
    ),
    "measure from photos": (
        ["date", "plot", "sample", "pull_force", "green_cover"],
        [
            "row 1, column green_cover: found values on a sheet; allowed: values scored from "
            "photos; remove the column, or give it another name"
        ],
    ),
    "title above the headings": (
        ["Pulls of March", "", ""],
        [f"row 1: {NO_HEADINGS}"],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_wrong_headings_are_told(write: Write, sheets: Sheets, name: str) -> None:
    heads, expected = CASES[name]
    write("sheets/s.csv", heads, ["2026-03-24", 101, 1, 40])
    observations, said = sheets()
    assert said == [f"sheets/s.csv, {line}" for line in expected]
    assert len(observations) == 0


OWN = ["Day", "Plot no.", "Pull (lbf)", "Pull", "sample"]
ROW: list[object] = ["2026-03-24", 101, 40, 4, 1]
DIARY = """
sheets:
  - file: {file}
    columns: {{date: Day, plot: Plot no., pull_force: Pull (lbf)}}
    missing: [lost]
"""


@pytest.mark.parametrize("file", ["p.csv", "sheets/p.csv", "sheets\\p.csv"])
def test_the_diary_names_headings_and_marks(write: Write, sheets: Sheets, file: str) -> None:
    write(
        "sheets/p.csv",
        OWN,
        ROW,
        ["2026-03-24", 102, "lost", "", 1],
        ["2026-03-24", 103, "-", "", 1],
    )
    observations, said = sheets(DIARY.format(file=file))
    assert list(observations["value"]) == [pytest.approx(40 * 4.448222, rel=1e-7)]
    # The marks of the diary stand in place of the usual ones.
    assert said == [
        "sheets/p.csv, row 4, column pull_force: found '-'; allowed: a number in lbf; for a "
        "value that could not be taken, write lost"
    ]


def test_a_heading_of_the_diary_that_is_not_there_is_told(write: Write, sheets: Sheets) -> None:
    write("sheets/p.csv", ["Day", "Plot", "Pull (lbf)", "sample"], ROW[:3] + [1])
    _, said = sheets(DIARY.format(file="p.csv"))
    assert said == [
        "sheets/p.csv, row 1, column plot: found no heading 'Plot no.'; allowed: Day, Plot, "
        "Pull (lbf), sample; correct 'columns' of this sheet in diary.yaml"
    ]


def test_a_file_of_the_diary_that_is_not_there_is_told(write: Write, sheets: Sheets) -> None:
    write("sheets/pulls.csv", ["date", "plot", "sample", "pull_force"])
    _, said = sheets("sheets:\n  - file: pull.csv\n")
    assert said == [
        "diary.yaml: sheets.1.file: found 'pull.csv'; allowed: a file in sheets (pulls.csv); "
        "did you mean pulls.csv?"
    ]


def test_a_tab_of_a_csv_file_is_told(write: Write, sheets: Sheets) -> None:
    write("sheets/pulls.csv", ["date", "plot", "sample", "pull_force"])
    _, said = sheets("sheets:\n  - {file: pulls.csv, tab: March}\n")
    assert said == [
        "diary.yaml: sheets.1.tab: found 'March'; allowed: no tab, for it is not a workbook"
    ]


@pytest.mark.parametrize("heading", ["Pull force (lb)", "pull_force [lbs]", "pull_force (lbf)"])
def test_a_unit_may_stand_as_people_say_it(write: Write, sheets: Sheets, heading: str) -> None:
    write("sheets/s.csv", ["date", "plot", "sample", heading], ["2026-03-24", 101, 1, 40])
    observations, said = sheets()
    assert (len(observations), said) == (1, [])
