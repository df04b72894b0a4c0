"""Tables as people make them are read like the plain table, or told in one line."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from records.made_by_hand import PULLED, SAME, TOLD, Make, labelled, pulled, saved, told_of
from wintersward.records import SheetsRead

Read = Callable[..., SheetsRead]


def keep(make: Make, study: Path, kind: str, separator: str = ",") -> None:
    """Save a workbook, or what its cells hold as CSV."""
    book = saved(make)
    path = study / "sheets" / f"p.{kind}"
    if kind == "xlsx":
        book.save(path)
        return
    with path.open("w", encoding="utf-8", newline="") as file:
        rows = book.active.iter_rows(values_only=True)
        csv.writer(file, delimiter=separator).writerows(rows)


@pytest.fixture
def labelled_study(study: Path) -> Path:
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    (study / "trial.yaml").write_text(labelled(text), encoding="utf-8")
    return study


@pytest.mark.parametrize("kind", ["xlsx", "csv"])
@pytest.mark.parametrize("name", SAME)
def test_it_is_read_like_the_plain_table(
    labelled_study: Path, reading: Read, name: str, kind: str
) -> None:
    keep(SAME[name], labelled_study, kind)
    read = reading(told_of(name, f"p.{kind}"))
    assert [str(problem) for problem in read.problems] == []
    assert pulled(read.observations) == PULLED
    (sums,) = read.sums
    assert (sums.values, sums.values_used, sums.used, sums.wrong) == (9, 9, 9, 0)


@pytest.mark.parametrize("kind", ["xlsx", "csv"])
@pytest.mark.parametrize("name", TOLD)
def test_it_is_told_in_one_line(study: Path, reading: Read, name: str, kind: str) -> None:
    make, said = TOLD[name]
    keep(make, study, kind)
    read = reading()
    assert [str(problem) for problem in read.problems] == [
        f"sheets/p.{kind}, {one}" for one in said
    ]
    (sums,) = read.sums
    assert sums.wrong > 0
    assert sums.rows == sums.headings + sums.used + sums.empty + sums.wrong
    assert len(read.observations) == sums.values_used


def test_a_title_with_commas_hides_no_semicolons(study: Path, reading: Read) -> None:
    def make(tab: Any) -> None:
        SAME["title_and_notes_above"](tab)
        tab["A1"] = "Pulls, March, Alder Road, rows 1, 2, 3"

    keep(make, study, "csv", ";")
    text = (study / "sheets" / "p.csv").read_text(encoding="utf-8")
    (study / "sheets" / "p.csv").write_text(text.replace('"', ""), encoding="utf-8")
    read = reading()
    assert read.problems == []
    assert pulled(read.observations) == PULLED
