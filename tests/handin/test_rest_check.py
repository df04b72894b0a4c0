"""Pictures, notebooks and the rest of a run, on this computer and on others."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from e2e.example import CHECKOUT
from handin.made_bundle import edit_json, written
from wintersward.handin.inputs_check import Sameness
from wintersward.handin.rest_check import rest_lines

HERE = Sameness(versions=True, wintersward=True, machine=True)
ELSEWHERE = Sameness(versions=True, wintersward=True, machine=False)
OTHER_LIBRARIES = Sameness(versions=False, wintersward=True, machine=True)
OTHER = Sameness(False, False, False, there={"wintersward": "0.0.9"})
NO_PHOTOS = Sameness(versions=True, wintersward=True, machine=True, scored=False)


@pytest.fixture
def two(study: Path) -> tuple[Path, Path]:
    """A run that was handed in, and the same made anew in a study."""
    handed, anew = study.parent / "handed", study / "runs" / "001"
    for run in (handed, anew):
        written(run)
        (run / "inputs.json").write_text("{}")
        (run / "warnings.txt").write_text("30-statistics, cell 2: slow\n")
    return handed, anew


def told(two: tuple[Path, Path], same: Sameness) -> list[str]:
    return [str(line) for line in rest_lines(*two, same)]


def test_on_this_computer_every_byte_counts(two: tuple[Path, Path]) -> None:
    assert told(two, HERE) == [
        "PASS pictures: two files, the same bytes as made anew",
        "PASS notebooks: one file, the same bytes as made anew",
        "PASS other files of the run: three files, the same bytes as made anew",
    ]
    (two[0] / "warnings.txt").write_text("30-statistics, cell 2: all well\n")
    (two[0] / "extra.txt").write_text("x")
    (two[0] / "figures" / "answer.svg").write_text("<svg>\n</svg>")
    edit_json(two[0] / "results" / "tables.json", lambda held: held["means"].update(title="x"))
    assert told(two, HERE) == [
        "FAIL pictures: run/figures/answer.svg: it is not what comes out anew",
        "PASS notebooks: one file, the same bytes as made anew",
        "FAIL other files of the run: run/extra.txt: the run made anew has no such file",
        "FAIL other files of the run: run/warnings.txt: it is not what comes out anew",
        "FAIL other files of the run: run/results/tables.json: it is not what comes out anew",
    ]


def test_on_another_computer_the_last_digits_are_free(two: tuple[Path, Path]) -> None:
    (two[0] / "warnings.txt").write_text("30-statistics, cell 2: slower\n")
    for run, width in zip(two, ("1.000001", "1.000002"), strict=True):
        (run / "figures" / "answer.svg").write_text(f'<svg width="{width}"/>')
    assert told(two, ELSEWHERE) == [
        "PASS pictures: two files, as made anew, drawings within 0.01 px, photos within 2 of 255 "
        "levels on average and 9 in every square of 16 px",
        "PASS notebooks: one file, as made anew, cell by cell, with numbers within a relative "
        "1e-06",
        "PASS other files of the run: two files, the same bytes as made anew",
        "PASS other files of the run: run/warnings.txt: not compared on another computer",
    ]
    edit_json(
        two[0] / "figures" / "figures.json", lambda held: held["answer"].update(caption="Yes.")
    )
    (two[0] / "figures" / "answer.svg").write_text('<svg width="2"/>')
    (two[0] / "notebooks" / "50-report.ipynb").write_text("[")
    assert told(two, ELSEWHERE)[:3] == [
        "FAIL pictures: run/figures/answer.svg: it is not what comes out anew: 2; made anew: "
        "1.000002",
        "FAIL pictures: run/figures/figures.json: it is not what comes out anew",
        "FAIL notebooks: run/notebooks/50-report.ipynb: its cells are not those that were executed "
        "anew",
    ]


def test_what_is_not_compared_is_told(two: tuple[Path, Path]) -> None:
    lines = list(rest_lines(*two, OTHER_LIBRARIES))
    assert all(line.passed for line in lines)
    assert [line.uncompared for line in lines] == [
        "pictures",
        "what the notebooks wrote",
        "other files of the run",
    ]
    lines = list(rest_lines(*two, OTHER))
    assert [line.uncompared for line in lines] == [
        "pictures",
        "notebooks",
        "other files of the run",
    ]
    assert lines[0].found == (
        "not compared: they were drawn by wintersward 0.0.9, which is not here"
    )


def test_a_stage_that_was_not_executed_has_its_cells(two: tuple[Path, Path]) -> None:
    shipped = CHECKOUT / "templates" / "notebooks" / "10-photos.ipynb"
    shutil.copy(shipped, two[0] / "notebooks")
    assert not [line for line in told(two, NO_PHOTOS) if line.startswith("FAIL")]
    (two[0] / "notebooks" / "10-photos.ipynb").write_text(
        '{"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}'
    )
    shutil.copy(shipped, two[0] / "notebooks" / "15-more.ipynb")
    assert [line for line in told(two, NO_PHOTOS) if line.startswith("FAIL")] == [
        "FAIL notebooks: run/notebooks/10-photos.ipynb: it is not what comes out anew",
        "FAIL notebooks: run/notebooks/15-more.ipynb: it is not what comes out anew",
    ]
