"""Photos that only a camera named are one problem, and a list that was confirmed is read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from wintersward.records import photo_index, untold_photos
from wintersward.trial import Definition

Write = Callable[..., Path]
Index = Callable[[], tuple[list[tuple[str, str, int, str]], list[str]]]

DATE = "a date written year-month-day, such as 2026-03-24"
HEADS = ["date", "plot", "sample", "file"]


CAMERA = {
    "a phone's": ["2026-03-24/IMG_2034.jpg"],
    "a camera's": ["card/100_0234.JPG", "card/101_0001.JPG", "P1010023.jpg"],
    "a time": ["2026-03-24/20260324_101523.jpg", "2026-03-24 10.15.23.jpg"],
    "a word": ["turf.jpg", "2026-03-24/_1.jpg"],
}


@pytest.mark.parametrize("name", CAMERA)
def test_all_names_that_a_camera_gave_are_one_problem(
    study: Path, shoot: Callable[..., None], index: Index, name: str
) -> None:
    files = CAMERA[name]
    shoot("2026-01-15/101_1.jpg", *files)
    rows, said = index()
    assert rows == [("2026-01-15", "101", 1, "photos/2026-01-15/101_1.jpg")]
    assert len(said) == 1
    many = "a photo whose name does" if len(files) == 1 else f"{len(files)} photos whose names do"
    assert said[0].startswith(f"photos: found {many} not tell plot and date (photos/")
    assert said[0].endswith(
        f"; have a list of them drafted: wintersward check {study}; or name each as plot_number "
        "in a folder named by the date, such as 2026-03-24/101_1.jpg"
    )
    assert ("..." in said[0]) == (len(files) > 2)


def test_a_draft_is_named_and_not_used(
    write: Write, shoot: Callable[..., None], index: Index
) -> None:
    shoot("IMG_2034.jpg")
    write("photos/index_draft.csv", HEADS, ["2026-03-24", 101, 1, "IMG_2034.jpg"])
    assert index() == (
        [],
        [
            "photos: found a photo whose name does not tell plot and date (photos/IMG_2034.jpg); "
            "none of them is used until you look at photos/index_draft.html, correct "
            "photos/index_draft.csv and rename it to index.csv"
        ],
    )


def test_photos_are_told_apart_by_what_tells_of_them(
    study: Path,
    definition: Definition,
    plots: pd.DataFrame,
    write: Write,
    shoot: Callable[..., None],
) -> None:
    named = ["2026-03-24/101_1.jpg", "2026-03-24/102_1.jpg", "2026-03-24/103_1.jpg"]
    shoot("IMG_2034.jpg", "IMG_2035.jpg", *named)
    found = untold_photos(study, definition, plots)
    assert (len(found.listed), list(found.named["plot"])) == (0, ["101", "102", "103"])
    assert found.lacking == ["IMG_2034.jpg", "IMG_2035.jpg"]
    write(
        "photos/index.csv",
        HEADS,
        ["2026-03-24", 102, 1, "IMG_2034.jpg"],
        ["2026-03-24", 101, 1, named[0]],
    )
    found = untold_photos(study, definition, plots)
    assert list(found.listed["path"]) == [f"photos/{named[0]}", "photos/IMG_2034.jpg"]
    # The list has another photo of plot 102: what the name says is not taken for it.
    assert list(found.named["path"]) == [f"photos/{named[2]}"]
    assert found.lacking == [*named[1:], "IMG_2035.jpg"]


REWRITTEN = {
    "3/24/2026": "2026-03-24",
    "24/03/2026": "2026-03-24",
    "24.3.26": "2026-03-24",
    "3/10/2026": "2026-03-10",
    "10-03-2026": "2026-03-10",
    "4/4/2026": "2026-04-04",
}


@pytest.mark.parametrize("text", REWRITTEN)
def test_a_date_that_a_spreadsheet_program_rewrote_is_read(
    write: Write, shoot: Callable[..., None], index: Index, text: str
) -> None:
    shoot("a.jpg")
    write("photos/index.csv", HEADS, [text, 101, 1, "a.jpg"])
    assert index() == ([(REWRITTEN[text], "101", 1, "photos/a.jpg")], [])


@pytest.mark.parametrize("text", ["3/25/2026", "31/31/2026", "24/3", "3/24/20266", "2026/03/24"])
def test_a_date_that_fits_no_visit_is_not_guessed(
    write: Write, shoot: Callable[..., None], index: Index, text: str
) -> None:
    shoot("a.jpg")
    write("photos/index.csv", HEADS, [text, 101, 1, "a.jpg"])
    assert index() == (
        [],
        [f"photos/index.csv, row 2, column date: found '{text}'; allowed: {DATE}"],
    )


def test_a_date_that_fits_two_visits_is_not_guessed(
    study: Path,
    definition: Definition,
    plots: pd.DataFrame,
    write: Write,
    shoot: Callable[..., None],
) -> None:
    shoot("a.jpg")
    write("photos/index.csv", HEADS, ["3/10/2026", 101, 1, "a.jpg"])
    cover = definition.measures["green_cover"]
    days = [dt.date(2026, 3, 10), dt.date(2026, 10, 3)]
    measures = {"green_cover": cover.model_copy(update={"dates": days})}
    twice = definition.model_copy(update={"measures": measures})
    frame, problems = photo_index(study, twice, plots)
    assert len(frame) == 0
    assert [problem.field for problem in problems] == ["date"]
