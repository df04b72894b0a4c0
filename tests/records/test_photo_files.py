"""Photos are found by their names or by a list, and every doubtful one is told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from wintersward.records import photo_index
from wintersward.trial import Definition

Write = Callable[..., Path]
Index = Callable[[], tuple[list[tuple[str, str, int, str]], list[str]]]

PLOTS = "a plot of plan/plots.csv (101, 102, 103, 104, 105, 106 ...)"
DATE = "a date written year-month-day, such as 2026-03-24"
DATES = (
    "a date on which photos are taken (2026-01-15, 2026-03-10, 2026-03-16, 2026-03-24, "
    "2026-04-04, 2026-04-17); if the visit was moved, change trial.yaml and tell it under "
    "deviations in diary.yaml"
)
SPARE = "move spare photos out of photos, or change per_plot in trial.yaml"
HEADS = ["date", "plot", "sample", "file"]


def test_names_tell_date_plot_and_number(shoot: Callable[..., None], index: Index) -> None:
    shoot("2026-03-24/102_1.JPG", "2026-03-24/101_1.jpeg", "2026-01-15/604_1.tif")
    shoot("2026-01-15/101_1.png", "2026-01-15/notes.txt", "2026-01-15/.DS_Store", "~x/1_1.jpg")
    rows, said = index()
    assert said == []
    assert rows == [
        ("2026-01-15", "101", 1, "photos/2026-01-15/101_1.png"),
        ("2026-01-15", "604", 1, "photos/2026-01-15/604_1.tif"),
        ("2026-03-24", "101", 1, "photos/2026-03-24/101_1.jpeg"),
        ("2026-03-24", "102", 1, "photos/2026-03-24/102_1.JPG"),
    ]


def test_no_photos_are_no_fault(study: Path, index: Index) -> None:
    assert index() == ([], [])
    (study / "photos").rmdir()
    assert index() == ([], [])


def test_without_a_measure_from_photos_none_are_looked_for(
    study: Path, definition: Definition, plots: pd.DataFrame, shoot: Callable[..., None]
) -> None:
    shoot("holiday.jpg")
    measures = {"pull_force": definition.measures["pull_force"]}
    only = definition.model_copy(update={"measures": measures})
    frame, problems = photo_index(study, only, plots)
    assert (len(frame), problems) == (0, [])


def test_dates_and_numbers_are_those_of_all_measures_from_photos(
    study: Path, definition: Definition, plots: pd.DataFrame, shoot: Callable[..., None]
) -> None:
    cover = definition.measures["green_cover"]
    more = {"per_plot": 2, "dates": ["covers_off"]}
    measures = {**definition.measures, "greenness": cover.model_copy(update=more)}
    wider = definition.model_copy(update={"measures": measures})
    shoot("2026-03-09/101_2.jpg", "2026-03-10/101_1.jpg", "2026-03-10/101_2.jpg")
    frame, problems = photo_index(study, wider, plots)
    assert list(frame["path"]) == ["photos/2026-03-09/101_2.jpg", "photos/2026-03-10/101_1.jpg"]
    assert [problem.path for problem in problems] == ["photos/2026-03-10/101_2.jpg"]


# Files that lie beside a good one, and all that is told of them.
NAMES = {
    "folder that is no date": (
        ["March/101_1.jpg", "March/102_1.jpg"],
        [
            f"photos/March: found a folder of photos; allowed: {DATE}; name the folder by the "
            "date, or move it out of photos"
        ],
    ),
    "folder of an impossible date": (
        ["2026-02-30/101_1.jpg"],
        [
            f"photos/2026-02-30: found a folder of photos; allowed: {DATE}; name the folder by "
            "the date, or move it out of photos"
        ],
    ),
    "folder of no visit": (
        ["2026-03-25/101_1.jpg", "2026-03-25/102_1.jpg"],
        [f"photos/2026-03-25: found '2026-03-25'; allowed: {DATES}"],
    ),
    "no folder": (
        ["101_1.jpg"],
        [
            "photos/101_1.jpg: found a photo outside the folders of dates; move it into a folder "
            "named by the date, such as photos/2026-03-24"
        ],
    ),
    "folder in a folder": (
        ["2026-03-24/spare/101_1.jpg"],
        [
            "photos/2026-03-24/spare/101_1.jpg: found a photo in a folder within the folder of a "
            "date; move it up into photos/2026-03-24, or out of photos"
        ],
    ),
    "number that is none": (
        ["2026-03-24/101_a.jpg"],
        [
            "photos/2026-03-24/101_a.jpg: found a name that does not tell the plot; allowed: "
            "plot_number; rename it, such as 101_1.jpg for the first photo of plot 101"
        ],
    ),
    "unknown plot": (
        ["2026-03-24/1101_1.jpg"],
        [f"photos/2026-03-24/1101_1.jpg: found plot '1101'; allowed: {PLOTS}"],
    ),
    "whole plot": (
        ["2026-03-24/1A_1.jpg"],
        [
            f"photos/2026-03-24/1A_1.jpg: found plot '1A'; allowed: {PLOTS}; that is a whole "
            "plot; name the plot within it"
        ],
    ),
    "more photos than planned": (
        ["2026-03-24/101_2.jpg"],
        [f"photos/2026-03-24/101_2.jpg: found photo number 2 of plot 101; allowed: 1; {SPARE}"],
    ),
    "the same photo twice": (
        ["2026-01-15/101_1.png"],
        [
            "photos/2026-01-15/101_1.png: found a second photo 1 of plot 101 on 2026-01-15; the "
            "first is photos/2026-01-15/101_1.jpg; rename one, or move it out of photos"
        ],
    ),
    "kind that is not read": (
        ["2026-03-24/101_1.AVIF"],
        [
            "photos/2026-03-24/101_1.AVIF: found a picture of kind .avif; allowed: .jpg, .jpeg, "
            ".heic, .heif, .hif, .png, .tif, .tiff; let the camera write JPEG or HEIC, or save it "
            "again as JPEG"
        ],
    ),
}


@pytest.mark.parametrize("name", NAMES)
def test_a_doubtful_name_is_told(shoot: Callable[..., None], index: Index, name: str) -> None:
    files, expected = NAMES[name]
    shoot("2026-01-15/101_1.jpg", *files)
    rows, said = index()
    assert said == expected
    assert rows == [("2026-01-15", "101", 1, "photos/2026-01-15/101_1.jpg")]


def test_a_list_goes_before_names(write: Write, shoot: Callable[..., None], index: Index) -> None:
    shoot("IMG_0001.JPG", "card 2/IMG_0001.jpg")
    write(
        "photos/index.csv",
        ["File", "Date", "Plot", "Sample", "camera"],
        ["card 2\\IMG_0001.jpg", "2026-03-24", "102", 1, "b"],
        ["IMG_0001.JPG", "2026-03-24", "101.0", "1.0", "a"],
        [],
    )
    rows, said = index()
    assert said == []
    assert rows == [
        ("2026-03-24", "101", 1, "photos/IMG_0001.JPG"),
        ("2026-03-24", "102", 1, "photos/card 2/IMG_0001.jpg"),
    ]


# A second row of the list, and all that is told of it.
LISTED = {
    "date in words": (
        ["24 March", 102, 1, "b.jpg"],
        [f"row 3, column date: found '24 March'; allowed: {DATE}"],
    ),
    "date of no visit": (
        ["2026-03-25", 102, 1, "b.jpg"],
        [f"row 3, column date: found '2026-03-25'; allowed: {DATES}"],
    ),
    "unknown plot": (
        ["2026-03-24", 999, 1, "b.jpg"],
        [f"row 3, column plot: found plot '999'; allowed: {PLOTS}"],
    ),
    "sample in words": (
        ["2026-03-24", 102, "one", "b.jpg"],
        ["row 3, column sample: found 'one'; allowed: a whole number from 1"],
    ),
    "more photos than planned": (
        ["2026-03-24", 102, 2, "b.jpg"],
        [f"row 3, column plot: found photo number 2 of plot 102; allowed: 1; {SPARE}"],
    ),
    "duplicate": (
        ["2026-03-24", 101, 1, "b.jpg"],
        [
            "row 3, column plot: found a second photo 1 of plot 101 on 2026-03-24; the first is "
            "photos/a.jpg; rename one, or move it out of photos"
        ],
    ),
    "file twice": (
        ["2026-03-24", 102, 1, "a.jpg"],
        [
            "row 3, column file: found 'a.jpg' a second time; a photo shows one plot: correct "
            "one of the rows"
        ],
    ),
    "file that is not there": (
        ["2026-03-24", 102, 1, "c.jpg"],
        [
            "row 3, column file: found 'c.jpg'; allowed: a file that is there; correct the name; "
            "it counts from the folder photos on"
        ],
    ),
    "file out of the folder": (
        ["2026-03-24", 102, 1, "../trial.yaml"],
        [
            "row 3, column file: found '../trial.yaml'; allowed: a file that is there; correct "
            "the name; it counts from the folder photos on"
        ],
    ),
    "file that is no photo": (
        ["2026-03-24", 102, 1, "index.csv"],
        [
            "row 3, column file: found 'index.csv'; allowed: .jpg, .jpeg, .heic, .heif, .hif, "
            ".png, .tif, .tiff"
        ],
    ),
}


@pytest.mark.parametrize("name", LISTED)
def test_a_wrong_row_of_the_list_is_told(
    write: Write, shoot: Callable[..., None], index: Index, name: str
) -> None:
    row, expected = LISTED[name]
    shoot("a.jpg", *(["b.jpg"] if row[3] == "b.jpg" else []))
    write("photos/index.csv", HEADS, ["2026-03-24", 101, 1, "a.jpg"], row)
    rows, said = index()
    assert said == [f"photos/index.csv, {line}" for line in expected]
    assert rows == [("2026-03-24", "101", 1, "photos/a.jpg")]


def test_a_photo_that_the_list_lacks_is_told(
    write: Write, shoot: Callable[..., None], index: Index
) -> None:
    shoot("a.jpg", "2026-03-24/102_1.jpg")
    write("photos/index.csv", HEADS, ["2026-03-24", 101, 1, "a.jpg"])
    rows, said = index()
    assert len(rows) == 1
    assert len(said) == 1
    assert said[0].startswith(
        "photos: found a photo that photos/index.csv lacks (photos/2026-03-24/102_1.jpg); have a "
        "list of them drafted: wintersward check "
    )
    assert said[0].endswith("; or add a row for each")


def test_headings_that_the_list_lacks_are_told(write: Write, index: Index) -> None:
    write("photos/index.csv", ["date", "plot", "plot", "files"])
    assert index() == (
        [],
        [
            "photos/index.csv, row 1, column file: found no such heading; allowed: date, plot, "
            "sample, file; did you mean files?",
            "photos/index.csv, row 1, column plot: found the heading twice; allowed: date, plot, "
            "sample, file; did you mean plot?",
            "photos/index.csv, row 1, column sample: found no such heading; allowed: date, plot, "
            "sample, file",
        ],
    )


def test_a_list_that_cannot_be_read_is_told(study: Path, index: Index) -> None:
    (study / "photos" / "index.csv").write_bytes(b"date\n\xff\n")
    assert index() == (
        [],
        [
            "photos/index.csv, row 2: found a character that is not in UTF-8; save it again as "
            "'CSV UTF-8'"
        ],
    )
