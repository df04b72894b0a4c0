"""Files as spreadsheet programs write them, sound and broken."""

from __future__ import annotations

import datetime as dt
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from openpyxl import Workbook
from openpyxl.worksheet.formula import ArrayFormula

from wintersward.records import SheetsRead
from wintersward.records.tables import read_tables

Reading = Callable[..., SheetsRead]
Sheets = Callable[..., tuple[pd.DataFrame, list[str]]]

QUOTE = 'a quote that is not closed; close it, or take out the "'
BEHIND = 'text after a closing quote; write a " within quotes twice, or take it out'
PULLS = ["date", "plot", "sample", "pull_force"]


def save(path: Path, **tabs: list[list[Any]]) -> Workbook:
    book = Workbook()
    book.remove(book.active)
    for name, rows in tabs.items():
        tab = book.create_sheet(name)
        for row in rows:
            tab.append(row)
    book.save(path)
    return book


def rows(path: Path) -> list[list[str]]:
    tables, problems = read_tables(path, path.name)
    assert problems == []
    assert len(tables) == 1
    return tables[0].rows


def said(path: Path) -> list[str]:
    return [str(problem) for problem in read_tables(path, path.name)[1]]


def test_cells_are_text_as_shown(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    cells = [101, 101.0, 0.1 + 0.2, 7.5, " 1A ", None, True, dt.date(2026, 3, 24)]
    save(path, A=[[*cells, dt.datetime(2026, 3, 24), dt.datetime(2026, 3, 24, 9, 30)]])
    dates = ["2026-03-24", "2026-03-24", "2026-03-24 09:30:00"]
    assert rows(path) == [["101", "101", "0.3", "7.5", "1A", "", "True", *dates]]


def test_a_percentage_is_what_is_shown(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    book = save(path, A=[[0.45, 45]])
    book["A"]["A1"].number_format = "0%"
    book.save(path)
    assert rows(path) == [["45%", "45"]]


@pytest.mark.parametrize(("shown", "text"), [('0"%"', "45"), ("0.0\\%", "45"), ("0.0 %", "4500%")])
def test_a_sign_that_is_only_shown_makes_no_percentage(
    tmp_path: Path, shown: str, text: str
) -> None:
    path = tmp_path / "a.xlsx"
    book = save(path, A=[[45]])
    book["A"]["A1"].number_format = shown
    book.save(path)
    assert rows(path) == [[text]]


def test_rows_in_between_keep_their_numbers(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    book = save(path, A=[["date"]])
    book["A"]["B4"] = 7
    book.save(path)
    assert [row for row in rows(path) if any(row)] == [["date"], ["", "7"]]
    assert rows(path)[3] == ["", "7"]


def test_only_visible_tabs_with_something_are_read(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    book = save(path, A=[["x"]], Empty=[], Hidden=[["y"]], B=[["z"]])
    book["Hidden"].sheet_state = "hidden"
    book.save(path)
    tables, problems = read_tables(path, "sheets/a.xlsx")
    assert problems == []
    assert [(t.name, t.tab) for t in tables] == [
        ("sheets/a.xlsx[A]", "A"),
        ("sheets/a.xlsx[B]", "B"),
    ]


def test_a_formula_without_result_is_told(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    save(path, A=[["pull_force"], ["=40+2"], [41]])
    assert said(path) == [
        "a.xlsx, row 2: found the formula '=40+2' without a result; open the workbook, let it "
        "compute, and save it again"
    ]


def test_a_formula_for_several_cells_is_told_as_well(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    book = save(path, A=[["pull_force"], [None], [41]])
    book["A"]["A2"] = ArrayFormula("A2", "=SUM(B2:B9)")
    book.save(path)
    (table,), problems = read_tables(path, path.name)
    assert table.unsolved == ((2, 0),)
    assert [str(problem) for problem in problems] == [
        "a.xlsx, row 2: found the formula '=SUM(B2:B9)' without a result; open the workbook, let "
        "it compute, and save it again"
    ]


def test_a_formula_without_result_is_a_wrong_value(study: Path, reading: Reading) -> None:
    day = "2026-03-24"
    save(
        study / "sheets" / "p.xlsx",
        A=[PULLS, [day, 101, 1, "=40+2"], [day, 101, 2, 41], [day, "=101", 3, 41]],
    )
    read = reading()
    assert [problem.row for problem in read.problems] == [2, 4]
    assert list(read.observations["source"]) == ["sheets/p.xlsx:3"]
    assert read.sums[0].words() == (
        "sheets/p.xlsx: 4 rows = 1 of headings + 1 used + 2 wrong; 3 values = 1 used + 2 wrong"
    )


def test_a_tab_whose_headings_are_misspelt_is_not_passed_over(study: Path, sheets: Sheets) -> None:
    path = study / "sheets" / "p.xlsx"
    march = [PULLS, ["2026-03-24", 101, 1, 40]]
    april = [["Pulls of April"], ["day", "area", "sample", "pull_force"], ["2026-04-17", 101, 1, 5]]
    save(path, March=march, April=april, About=[["colour_rating", "1 is dead, 9 is best"]])
    observations, told = sheets()
    hint = "call the column so, or name it in diary.yaml"
    assert told == [
        f"sheets/p.xlsx[April], row 2, column {name}: found no such heading among day, area; {hint}"
        for name in ("date", "plot")
    ]
    assert list(observations["source"]) == ["sheets/p.xlsx[March]:2"]


@pytest.mark.parametrize(
    ("first", "second"), [("", ""), ("", ", tab: A"), (", tab: A", ""), (", tab: A", ", tab: A")]
)
def test_two_entries_about_one_table_are_told(
    study: Path, sheets: Sheets, first: str, second: str
) -> None:
    save(study / "sheets" / "p.xlsx", A=[PULLS, ["2026-03-24", 101, 1, 40]], B=[["About"]])
    observations, told = sheets(
        f"sheets:\n  - {{file: p.xlsx{first}}}\n  - {{file: p.xlsx{second}}}\n"
    )
    assert told == [
        "diary.yaml: sheets.2.file: found 'p.xlsx' a second time; allowed: one entry a table; put "
        "it together with entry 1, or name different tabs"
    ]
    assert len(observations) == 1


def test_a_workbook_is_read_like_a_csv_file(study: Path, sheets: Sheets) -> None:
    day = dt.date(2026, 3, 24)
    save(
        study / "sheets" / "p.xlsx",
        A=[PULLS, [day, 101, 1, 40], ["2026-03-24", "102", 2.0, "41.5"]],
    )
    observations, told = sheets()
    assert told == []
    assert list(observations["source"]) == ["sheets/p.xlsx:2", "sheets/p.xlsx:3"]
    assert list(observations["plot"]) == ["101", "102"]


def test_every_tab_of_records_is_read_and_remarks_are_not(study: Path, sheets: Sheets) -> None:
    path = study / "sheets" / "p.xlsx"
    march, april = [PULLS, ["2026-03-24", 101, 1, 40]], [PULLS, ["2026-04-17", 101, 1, "x"]]
    save(path, March=march, April=april, About=[["pulled with the blue frame"]])
    observations, told = sheets()
    assert list(observations["source"]) == ["sheets/p.xlsx[March]:2"]
    assert told == [
        "sheets/p.xlsx[April], row 2, column pull_force: found 'x'; allowed: a number in lbf; "
        "for a value that could not be taken, write NA"
    ]


def test_the_diary_chooses_a_tab(study: Path, sheets: Sheets) -> None:
    path = study / "sheets" / "p.xlsx"
    save(path, Draft=[PULLS, ["2026-03-24", 101, 1, 1]], Final=[PULLS, ["2026-03-24", 101, 1, 40]])
    observations, told = sheets("sheets:\n  - {file: p.xlsx, tab: Final}\n")
    assert told == []
    assert list(observations["source"]) == ["sheets/p.xlsx[Final]:2"]
    _, told = sheets("sheets:\n  - {file: p.xlsx, tab: Finale}\n")
    assert told == [
        "diary.yaml: sheets.1.tab: found 'Finale'; allowed: Draft, Final; did you mean Final?"
    ]


def test_a_broken_workbook_is_told(tmp_path: Path) -> None:
    hint = "open it in a spreadsheet program and save it again as .xlsx or .csv"
    for number, content in enumerate((b"", b"no workbook", b"PK\x03\x04 cut off")):
        path = tmp_path / f"{number}.xlsx"
        path.write_bytes(content)
        assert said(path) == [f"{number}.xlsx: found a file that is not a sound workbook; {hint}"]
    path = tmp_path / "other.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("letter.txt", "not a workbook")
    assert said(path) == [f"other.xlsx: found a file that is not a sound workbook; {hint}"]


def test_a_damaged_tab_is_told(tmp_path: Path) -> None:
    path, broken = tmp_path / "a.xlsx", tmp_path / "b.xlsx"
    save(path, A=[["x"]])
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(broken, "w") as new:
        for entry in old.namelist():
            content = old.read(entry)
            new.writestr(entry, content[:-30] if entry.endswith("sheet1.xml") else content)
    assert said(broken) == [
        "b.xlsx: found a file that is not a sound workbook; open it in a spreadsheet program and "
        "save it again as .xlsx or .csv"
    ]


def test_another_encoding_is_told_with_its_row(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes("date,plot\n2026-03-24,caf\xe9\n".encode("cp1252"))
    assert said(path) == [
        "a.csv, row 2: found a character that is not in UTF-8; save it again as 'CSV UTF-8'"
    ]


@pytest.mark.parametrize(
    ("text", "row", "found"),
    [
        ('date,plot\n"2026-03-24,101\n', 2, QUOTE),
        ('date,plot\n2026-03-24,101\n"a"b,102\n', 3, BEHIND),
    ],
)
def test_a_quote_out_of_place_is_told(tmp_path: Path, text: str, row: int, found: str) -> None:
    path = tmp_path / "a.csv"
    path.write_text(text)
    assert said(path) == [f"a.csv, row {row}: found {found}"]


def test_a_file_that_cannot_be_opened_is_told(tmp_path: Path) -> None:
    for name in ("a.csv", "a.xlsx"):
        (tmp_path / name).mkdir()
        told = said(tmp_path / name)
        assert len(told) == 1
        assert told[0].startswith(f"{name}: ")


@pytest.mark.parametrize(
    ("text", "cells"),
    [
        ("a;b\n1,5;2\n", [["a", "b"], ["1,5", "2"]]),
        ('"a,b,c";d\n1;2\n', [["a,b,c", "d"], ["1", "2"]]),
        ("a\tb\n1\t2\n", [["a", "b"], ["1", "2"]]),
        ("a\n1\n", [["a"], ["1"]]),
        ("\ufeffa,b\r\n1,2\r\n", [["a", "b"], ["1", "2"]]),
        ("", []),
    ],
)
def test_separators_marks_and_line_ends(tmp_path: Path, text: str, cells: list[list[str]]) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(text.encode("utf-8"))
    assert rows(path) == cells
