"""LibreOffice opens the sheets, saves them anew, and they are read as if nothing had happened."""

from __future__ import annotations

import shutil
from pathlib import Path

import pandas as pd
import pytest
from openpyxl import load_workbook

from office.libreoffice import converted
from papers.trial_papers import drawn, filled, opened, sound
from wintersward.papers import pin_count, visit_books
from wintersward.records import counts, read_sheets
from wintersward.trial import Definition, Diary

VALUES = {"colour": 4.5, "pull": 40.0}


@pytest.fixture(scope="session")
def definition() -> Definition:
    return sound()


@pytest.fixture(scope="session")
def plots(definition: Definition) -> pd.DataFrame:
    return drawn(definition)


def test_sheets_saved_by_libreoffice_are_read_whole(
    definition: Definition, plots: pd.DataFrame, tmp_path: Path
) -> None:
    (tmp_path / "filled").mkdir()
    for name, content in visit_books(definition, plots, "letter").items():
        if name.endswith(".xlsx"):
            filled(content, VALUES).save(tmp_path / "filled" / name)
    files = sorted((tmp_path / "filled").iterdir())
    converted(files, "xlsx", tmp_path / "sheets", tmp_path / "profile")
    read = read_sheets(tmp_path, definition, Diary(), plots)
    observations, problems = read.observations, read.problems
    assert problems == []
    # Six visits of two raters to 36 plots, four of them twice; two visits of three pulls.
    assert len(observations) == 6 * 2 * 40 + 2 * 36 * 3
    tally = counts(observations, definition, plots)
    sheets = tally[tally["measure"] != "green_cover"]
    assert (sheets["used"] == sheets["expected"]).all()
    assert sheets["repeats"].tolist() == [8] * 6 + [0, 0]
    shutil.move(tmp_path / "filled", tmp_path / "by openpyxl" / "sheets")
    same = read_sheets(tmp_path / "by openpyxl", definition, Diary(), plots).observations
    pd.testing.assert_frame_equal(observations, same)


def test_what_guards_the_cells_is_still_there(
    definition: Definition, plots: pd.DataFrame, tmp_path: Path
) -> None:
    name = "2026-03-24_te.xlsx"
    (tmp_path / name).write_bytes(visit_books(definition, plots, "a4")[name])
    converted([tmp_path / name], "xlsx", tmp_path / "saved", tmp_path / "profile")
    before = opened((tmp_path / name).read_bytes()).worksheets[0]
    after = opened((tmp_path / "saved" / name).read_bytes()).worksheets[0]
    assert after.protection.sheet
    assert not after["E2"].protection.locked
    assert after["B2"].protection.locked
    (kept,), (made,) = (tab.data_validations.dataValidation for tab in (after, before))
    assert (kept.type, str(kept.sqref), kept.errorStyle) == ("list", "E2:E37", made.errorStyle)
    assert kept.formula1.replace("$", "") == made.formula1.replace("$", "")
    assert kept.error == made.error
    assert after.print_title_rows == before.print_title_rows


def test_the_difference_of_pins_is_computed(
    definition: Definition, plots: pd.DataFrame, tmp_path: Path
) -> None:
    book = opened(pin_count(definition, plots, "letter"))
    tab = book.worksheets[0]
    tab["E2"], tab["F2"] = 24, 22
    tab["E3"] = 24
    book.save(tmp_path / "pins.xlsx")
    converted([tmp_path / "pins.xlsx"], "xlsx", tmp_path / "saved", tmp_path / "profile")
    shown = load_workbook(tmp_path / "saved" / "pins.xlsx", data_only=True).worksheets[0]
    assert shown["H2"].value == 2
    assert shown["H3"].value in (None, "")


def test_a_sheet_prints_on_few_pages(
    definition: Definition, plots: pd.DataFrame, tmp_path: Path
) -> None:
    name = "2026-03-24_te.xlsx"
    (tmp_path / name).write_bytes(visit_books(definition, plots, "letter")[name])
    converted([tmp_path / name], "pdf", tmp_path, tmp_path / "profile")
    content = (tmp_path / "2026-03-24_te.pdf").read_bytes()
    # First looks, what to do: a page each.
    assert content.count(b"/Type/Page/") + content.count(b"/Type /Page\n") == 2
