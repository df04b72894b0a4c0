"""Rows, tabs and files that could be lost without a word, and what is told of them."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from wintersward.records import SheetsRead

Reading = Callable[..., SheetsRead]

HEADS = ["date", "plot", "sample", "pull_force"]
DAY = "2026-03-24"
SOUND: list[list[Any]] = [HEADS, [DAY, 101, 1, 40.5]]
UNKNOWN = "in a tab without headings that are known; if the tab is not to be read, name those that"


def save(study: Path, hidden: str = "", **tabs: list[list[Any]]) -> None:
    book = Workbook()
    book.remove(book.active)
    for name, rows in tabs.items():
        tab = book.create_sheet(name)
        for row in rows:
            tab.append(row)
    if hidden:
        book[hidden].sheet_state = "hidden"
    book.save(study / "sheets" / "p.xlsx")


def put(study: Path, *rows: str) -> None:
    text = "".join(f"{row}\n" for row in ("date,plot,sample,pull_force,remarks", *rows))
    (study / "sheets" / "p.csv").write_text(text, encoding="utf-8")


def told(read: SheetsRead) -> list[str]:
    return [*map(str, read.problems), *(sums.words() for sums in read.sums)]


@pytest.mark.parametrize(
    "rows",
    [
        (f'{DAY},101,1,40.5,"wet', f"{DAY},102,1,40.5,", f'{DAY},103,1,40.5,dry"'),
        (f'{DAY},101,1,40.5,"', f"{DAY},102,1,40.5,", f'{DAY},103,1,40.5,"'),
        (f'{DAY},101,1,40.5,"wet', f'{DAY},102,1,40.5,dry"'),
    ],
    ids=["two rows more", "inch marks", "one row more"],
)
def test_a_quote_that_holds_whole_rows(
    study: Path, reading: Reading, rows: tuple[str, ...]
) -> None:
    put(study, *rows, f"{DAY},104,1,40.5,")
    read = reading()
    assert told(read) == [
        "sheets/p.csv, row 2: found a quoted cell that holds whole rows; check the quotes in this "
        "row",
        "sheets/p.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 wrong; not "
        "read: remarks",
    ]
    assert list(read.observations["plot"]) == ["104"]


def test_a_quote_from_the_middle_of_a_row_to_the_middle_of_the_next(
    study: Path, reading: Reading
) -> None:
    rows = "date,plot,remarks,sample,pull_force", f'{DAY},101,"wet,1,40', f'{DAY},102,dry",1,41'
    (study / "sheets" / "p.csv").write_text("\n".join(rows), encoding="utf-8")
    assert told(reading())[0] == (
        "sheets/p.csv, row 2: found a quoted cell that holds whole rows; check the quotes in this "
        "row"
    )


def test_a_remark_of_several_lines_is_no_row(study: Path, reading: Reading) -> None:
    put(study, f'{DAY},101,1,40.5,"wet, cold, windy, dark,', 'then 2 worms, mud, a, b, c"')
    read = reading()
    assert read.problems == []
    assert len(read.observations) == 1


NO_HEADINGS = [[DAY, 102, 1, 41.5], [DAY, 103, 1, 41.5]]
MISSPELT = [["Dat", "Plott", "smple", "pull_force"], [DAY, 102, 1, 41.5]]
FAR_DOWN = [*[["note"]] * 24, HEADS, [DAY, 102, 1, 41.5]]


@pytest.mark.parametrize(
    ("tab", "row", "words"),
    [
        (
            NO_HEADINGS,
            1,
            "2 rows = 2 wrong; no values; not read: column A, column B, column C, column D",
        ),
        (
            MISSPELT,
            2,
            "2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong; not read: Dat, Plott, smple",
        ),
        (FAR_DOWN, 26, "26 rows = 25 of headings + 1 wrong; 1 value = 1 wrong"),
    ],
    ids=["none", "misspelt", "far down"],
)
def test_a_tab_of_records_without_headings(
    study: Path, reading: Reading, tab: list[list[Any]], row: int, words: str
) -> None:
    save(study, A=SOUND, B=tab)
    read = reading()
    lines = told(read)
    assert (
        f"sheets/p.xlsx[B], row {row}: found a record of plot 102 {UNKNOWN} are in diary.yaml"
    ) in lines
    assert lines[-1] == f"sheets/p.xlsx[B]: {words}"
    assert {problem.path for problem in read.problems} == {"sheets/p.xlsx[B]"}
    assert len(read.problems) > 1
    assert list(read.observations["source"]) == ["sheets/p.xlsx[A]:2"]


@pytest.mark.parametrize("tab", [NO_HEADINGS, MISSPELT, FAR_DOWN])
def test_a_tab_that_the_diary_leaves_out_is_named(
    study: Path, reading: Reading, tab: list[list[Any]]
) -> None:
    save(study, A=SOUND, B=tab, Map=[[101, 102, 103, 104], [201, 202, 203, 204]])
    assert told(reading("sheets:\n  - {file: p.xlsx, tab: A}\n")) == [
        "sheets/p.xlsx[A]: 2 rows = 1 of headings + 1 used; 1 value = 1 used; not read: tab B, tab "
        "Map"
    ]


def test_tabs_of_other_things_are_named(study: Path, reading: Reading) -> None:
    map_of_plots = [[101, 102, 103, 104], [201, 202, 203, 204]]
    sum_tab = [["mean"], ["=AVERAGE(A!D2)"]]
    save(study, A=SOUND, Map=map_of_plots, Sum=sum_tab)
    assert told(reading()) == [
        "sheets/p.xlsx[A]: 2 rows = 1 of headings + 1 used; 1 value = 1 used; not read: tab Map, "
        "tab Sum"
    ]


def test_a_hidden_tab_is_named(study: Path, reading: Reading) -> None:
    save(study, "B", A=SOUND, B=[HEADS, [DAY, 102, 1, 41.5]])
    assert told(reading()) == [
        "sheets/p.xlsx: 2 rows = 1 of headings + 1 used; 1 value = 1 used; not read: hidden tab B"
    ]


def test_a_workbook_of_hidden_tabs_alone(study: Path, reading: Reading) -> None:
    save(study, "A", A=SOUND, Blank=[])
    assert told(reading()) == [
        "sheets/p.xlsx: found nothing but hidden tabs (A); show the tabs to be read"
    ]


@pytest.mark.parametrize(
    ("rows", "row", "words"),
    [
        ([[*HEADS, "=1+1"], SOUND[1]], 1, "2 rows = 1 used + 1 wrong"),
        ([["=1+1"], *SOUND], 1, "3 rows = 1 of headings + 1 used + 1 wrong"),
        ([*SOUND, ["=1+1"]], 3, "3 rows = 1 of headings + 1 used + 1 wrong"),
    ],
    ids=["headings", "above", "below"],
)
def test_a_row_with_a_formula_without_result_is_wrong(
    study: Path, reading: Reading, rows: list[list[Any]], row: int, words: str
) -> None:
    save(study, A=rows)
    assert told(reading()) == [
        f"sheets/p.xlsx, row {row}: found the formula '=1+1' without a result; open the workbook, "
        "let it compute, and save it again",
        f"sheets/p.xlsx: {words}; 1 value = 1 used",
    ]


def test_a_cell_far_away_changes_nothing(study: Path, reading: Reading) -> None:
    save(study, A=[*SOUND, *[[]] * 40000, [None] * 9 + ["x"]])
    assert told(reading()) == [
        "sheets/p.xlsx: 3 rows = 1 of headings + 1 used + 1 without values; 1 value = 1 used; not "
        "read: column J"
    ]


@pytest.mark.parametrize("form", ["NFC", "NFD"])
def test_accents_are_the_same_in_every_form(study: Path, reading: Reading, form: Any) -> None:
    def written(text: str) -> str:
        return unicodedata.normalize(form, text)

    rows = "date,plot,sample," + written("Zugkr\u00e4fte"), f"{DAY},101,1,40"
    (study / "sheets" / written("Z\u00fcge.csv")).write_text("\n".join(rows), encoding="utf-8")
    diary = "sheets:\n  - {file: Z\u00fcge.csv, columns: {pull_force: Zugkr\u00e4fte}}\n"
    read = reading(diary)
    assert read.problems == []
    assert len(read.observations) == 1


def test_what_an_open_workbook_leaves_behind_is_no_sheet(study: Path, reading: Reading) -> None:
    for name in ("~$p.xlsx", ".~lock.p.xlsx#", ".p.csv"):
        (study / "sheets" / name).write_bytes(b"x")
    (study / "sheets" / "~p.csv").write_text(f"{','.join(HEADS)}\n{DAY},101,1,40\n")
    assert told(reading()) == ["sheets/~p.csv: 2 rows = 1 of headings + 1 used; 1 value = 1 used"]


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("p.txt", "a table in a file of kind .txt"),
        ("p.csv.txt", "a table in a file of kind .txt"),
        ("p", "a table in a file of no kind"),
        ("p.tab", "a file of kind .tab"),
        ("p.fods", "a file of kind .fods"),
    ],
)
def test_a_table_of_another_kind_is_told(
    study: Path, reading: Reading, name: str, found: str
) -> None:
    (study / "sheets" / name).write_text(f"{','.join(HEADS)}\n{DAY},101,1,40\n")
    assert told(reading()) == [f"sheets/{name}: found {found}; save it as .xlsx or .csv"]


def test_a_record_above_the_headings_with_its_date_in_words(study: Path, reading: Reading) -> None:
    for day in ("24 March", "March 24"):
        text = f"{day},101,one,40\n{','.join(HEADS)}\n{DAY},102,1,40\n"
        (study / "sheets" / "p.csv").write_text(text)
        assert told(reading()) == [
            "sheets/p.csv, row 1: found a record of plot 101 above the headings; put it below row "
            "2, or put headings above it",
            "sheets/p.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 1 value = 1 used",
        ]


@pytest.mark.parametrize(
    ("row", "found"),
    [
        (
            f"{DAY},101,1,40,5,",
            ": found '40' and '5' side by side with a cell too many; put a "
            "value that holds a comma in quotes",
        ),
        (
            f"{DAY},101,1,40,5",
            ", column pull_force: found '40' and '5' side by side; allowed: a "
            "number in one cell; write 40.5 if that is meant, or put a word beside the 5",
        ),
    ],
    ids=["a cell too many", "below remarks"],
)
def test_a_decimal_comma_without_quotes(
    study: Path, reading: Reading, row: str, found: str
) -> None:
    put(study, row, f"{DAY},102,1,41.0,wet")
    assert told(reading()) == [
        f"sheets/p.csv, row 2{found}",
        "sheets/p.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 wrong; not "
        "read: remarks",
    ]


def test_numbers_of_a_column_that_is_not_read_are_left_alone(study: Path, reading: Reading) -> None:
    rows = f"{','.join(HEADS)},moisture", f"{DAY},101,1,40,5", f"{DAY},102,1,41,"
    (study / "sheets" / "p.csv").write_text("\n".join(f"{row},,," for row in rows))
    read = reading()
    assert read.problems == []
    assert len(read.observations) == 2
