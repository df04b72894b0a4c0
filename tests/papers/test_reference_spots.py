"""Reference spots: never mistaken for observations of the trial."""

from __future__ import annotations

import csv
from pathlib import Path

import pandas as pd

from papers.trial_papers import filled, opened, sound
from wintersward.papers import reference_books
from wintersward.records import read_sheets
from wintersward.trial import Definition, Diary

NAME = "2026-03-24_reference_pull_force.xlsx"


def test_there_are_as_many_spots_as_plots_in_a_block(definition: Definition) -> None:
    made = reference_books(definition, "letter")
    assert list(made) == [NAME, "2026-04-17_reference_pull_force.xlsx"]
    tab = opened(made[NAME]).worksheets[0]
    rows = list(tab.iter_rows(values_only=True))
    assert rows[0] == ("visit", "spot", "where it lies", "pull", "reference (lbf)", "who")
    assert [row[1] for row in rows[1:]] == [spot for spot in range(1, 7) for _ in range(3)]
    assert [row[3] for row in rows[1:]] == [1, 2, 3] * 6
    # The place is written once a spot, each pull has its reading.
    assert [tab.cell(row, 3).protection.locked for row in (2, 3, 4, 5)] == [False, True, True] + [
        False
    ]
    assert not any(tab.cell(row, 5).protection.locked for row in range(2, 20))


def test_only_forces_have_reference_spots(plots: pd.DataFrame) -> None:
    assert reference_books(sound("pull_force", unit="degF"), "letter") == {}
    assert len(reference_books(sound("pull_force", unit="N"), "letter")) == 2


def test_among_the_sheets_it_is_told_and_not_read(
    definition: Definition, plots: pd.DataFrame, tmp_path: Path
) -> None:
    (tmp_path / "sheets").mkdir()
    book = filled(reference_books(definition, "letter")[NAME], {"reference": 45.0})
    book.save(tmp_path / "sheets" / NAME)
    read = read_sheets(tmp_path, definition, Diary(), plots)
    observations, problems = read.observations, read.problems
    assert observations.empty
    assert [str(problem) for problem in problems] == [
        f"sheets/{NAME}: found no tab with the headings date and plot among Reference spots, "
        "What to do; put the headings in row 1, name the tab in diary.yaml, or move the file out "
        "of sheets"
    ]
    (tmp_path / "sheets" / NAME).unlink()
    rows = book.worksheets[0].iter_rows(values_only=True)
    with (tmp_path / "sheets" / "reference.csv").open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows)
    read = read_sheets(tmp_path, definition, Diary(), plots)
    observations, problems = read.observations, read.problems
    assert observations.empty
    assert {problem.field for problem in problems} == {"", "date", "plot"}
    assert all("out of sheets" in p.hint for p in problems if not p.field)
