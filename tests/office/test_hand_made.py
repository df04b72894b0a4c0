"""Tables that people made, saved by LibreOffice as workbook and as CSV, read as the plain table."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from office.libreoffice import COMMAS, SEMICOLONS, converted
from papers.trial_papers import SOUND, drawn
from records.made_by_hand import (
    PULLED,
    SAME,
    TOLD,
    formulas_with_results,
    labelled,
    pulled,
    saved,
    told_of,
)
from wintersward.records import SheetsRead, read_sheets
from wintersward.trial import Diary, read_definition, read_diary

Read = Callable[..., SheetsRead]

ALL = {**SAME, "formulas_with_results": formulas_with_results}
# Text keeps its decimal point where numbers are shown with a comma.
KEPT_AS_TEXT = ("spaces_that_nobody_sees", "numbers_kept_as_text", "apostrophes_in_front")
POINT = "diary.yaml declares 'decimal: comma' for this table"
NEEDED = "write a point, or add 'decimal: comma' to this table in diary.yaml"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Save every table as the program does, in one go for each kind."""
    folder = tmp_path_factory.mktemp("made")
    (folder / "own").mkdir()
    makes = {**ALL, **{name: make for name, (make, _) in TOLD.items()}}
    for name, make in makes.items():
        saved(make).save(folder / "own" / f"{name}.xlsx")
    files = sorted((folder / "own").iterdir())
    kinds = {
        "xlsx": ("xlsx", "en-US"),
        "csv": (COMMAS, "en-US"),
        "german csv": (SEMICOLONS, "de-DE"),
    }
    for called, (kind, locale) in kinds.items():
        converted(files, kind, folder / called, folder / locale, locale)
        assert len(list((folder / called).iterdir())) == len(files)
    return {called: folder / called for called in kinds}


@pytest.fixture
def read(made: dict[str, Path], tmp_path: Path) -> Read:
    """Read one table of a kind, as the only sheet of a study."""

    def reading(name: str, called: str, *more: str, label: bool = True) -> SheetsRead:
        kind = called.rpartition(" ")[2]
        text = SOUND.read_text(encoding="utf-8")
        (tmp_path / "trial.yaml").write_text(labelled(text) if label else text, encoding="utf-8")
        (tmp_path / "sheets").mkdir()
        content = (made[called] / f"{name}.{kind}").read_bytes()
        (tmp_path / "sheets" / f"p.{kind}").write_bytes(content)
        definition, problems = read_definition(tmp_path)
        assert definition is not None, problems
        diary = Diary()
        told = told_of(name, f"p.{kind}", *more)
        if told:
            (tmp_path / "diary.yaml").write_text(told, encoding="utf-8")
            diary, problems = read_diary(tmp_path, definition)
            assert problems == []
        return read_sheets(tmp_path, definition, diary, drawn(definition))

    return reading


@pytest.mark.parametrize("called", ["xlsx", "csv"])
@pytest.mark.parametrize("name", ALL)
def test_it_is_read_like_the_plain_table(read: Read, name: str, called: str) -> None:
    more = ["date_order: month first"] if name == "dates_as_the_program_shows_them" else []
    seen = read(name, called, *more)
    assert [str(problem) for problem in seen.problems] == []
    assert pulled(seen.observations) == PULLED
    (sums,) = seen.sums
    assert (sums.values, sums.values_used, sums.wrong) == (9, 9, 0)


@pytest.mark.parametrize("name", [name for name in ALL if name not in KEPT_AS_TEXT])
def test_it_is_read_where_decimals_are_shown_with_a_comma(read: Read, name: str) -> None:
    more = ["decimal: comma"]
    more += ["date_order: day first"] if name == "dates_as_the_program_shows_them" else []
    seen = read(name, "german csv", *more)
    assert [str(problem) for problem in seen.problems] == []
    assert pulled(seen.observations) == PULLED


@pytest.mark.parametrize("name", KEPT_AS_TEXT)
def test_text_that_kept_its_point_is_told(read: Read, name: str) -> None:
    seen = read(name, "german csv", "decimal: comma")
    assert len(seen.problems) == len(PULLED)
    assert str(seen.problems[0]) == (
        "sheets/p.csv, row 2, column pull_force: found '44.5'; allowed: a number in lbf; " + POINT
    )


def test_what_a_german_program_saves_needs_two_lines_of_the_diary(read: Read) -> None:
    seen = read("dates_as_the_program_shows_them", "german csv")
    assert [str(problem) for problem in seen.problems][:2] == [
        "sheets/p.csv, row 2, column date: found '24.03.2026' in 9 rows (2 to 10); allowed: a date "
        "written year-month-day, such as 2026-03-24; add 'date_order: day first' to this table in "
        "diary.yaml",
        "sheets/p.csv, row 2, column pull_force: found '44,5', and the like in 9 rows (2 to 10); "
        f"allowed: a number in lbf; {NEEDED}",
    ]
    assert seen.observations.empty


@pytest.mark.parametrize("called", ["xlsx", "csv", "german csv"])
@pytest.mark.parametrize("name", TOLD)
def test_it_is_told_in_the_same_words(read: Read, name: str, called: str) -> None:
    more = ["decimal: comma"] if called == "german csv" else []
    seen = read(name, called, *more, label=False)
    file = f"sheets/p.{called.rpartition(' ')[2]}"
    assert [str(problem) for problem in seen.problems] == [
        f"{file}, {one}" for one in TOLD[name][1]
    ]
    (sums,) = seen.sums
    assert sums.rows == sums.headings + sums.used + sums.empty + sums.wrong
