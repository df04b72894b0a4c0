"""What came in, what became of it and what was flagged, as a reader meets it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.analysis.record_tables import RECORDED
from wintersward.report.page import Page
from wintersward.report.recording import (
    came_words,
    photos_words,
    records_context,
    sums_table,
    unread_words,
)
from wintersward.runs.record import Record
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
COLUMNS = [column.name for column in RECORDED["sheet_sums"].columns]


def sums_of(*rows: tuple[object, ...]) -> pd.DataFrame:
    return pd.DataFrame(list(rows), columns=COLUMNS)


# Rows: in, headings, used, excluded, empty, wrong; values: in, used, excluded, repeated, ...
PULLS = ("sheets/pulls.csv", 217, 1, 213, 1, 2, 0, 216, 213, 1, 0, 2, 0, "remarks")
RATED = ("sheets/rated.xlsx[Ratings]", 433, 1, 432, 0, 0, 0, 432, 400, 0, 32, 0, 0, "")
BOTH = sums_of(PULLS, RATED)


def flagged() -> pd.DataFrame:
    flag = ["jump", "pull_force", pd.Timestamp("2026-03-24"), "101", "", "1", 200.0, "N"]
    columns = [column.name for column in RECORDED["flags"].columns]
    return pd.DataFrame([[*flag, "sheets/pulls.csv:2", "far away", "nearer"]], columns=columns)


def heads_of(html: str) -> list[str]:
    return [th.get_text() for th in BeautifulSoup(html, "html.parser").select("thead th")]


def words_of(page: Page) -> str:
    soup = BeautifulSoup(page.section("records").html, "html.parser")
    return " ".join(soup.get_text(" ").split())


def test_every_row_and_value_is_told() -> None:
    assert [str(said) for said in came_words(BOTH)] == [
        "Two sheets came in with 650 rows: 645 used, 1 set aside in the diary, 2 without a value "
        "and 2 with headings or above them.",
        "They hold 648 values: 613 used, 1 set aside in the diary, 32 from second looks and 2 "
        "marked as missing.",
    ]


def test_the_sums_of_one_sheet_stand_in_the_table() -> None:
    rows, values = came_words(sums_of(PULLS))
    assert str(rows).startswith("One sheet came in with 217 rows: 213 used")
    assert str(values).startswith("It holds 216 values")
    assert '<data value="217" title="sheet_sums.csv:2">217</data> rows' in rows.__html__()
    assert "<data" not in came_words(BOTH)[0].__html__()


def test_a_sheet_without_values_says_so() -> None:
    bare = sums_of(("sheets/pulls.csv", 3, 1, 0, 0, 2, 0, 0, 0, 0, 0, 0, 0, ""))
    assert [str(said) for said in came_words(bare)] == [
        "One sheet came in with 3 rows: 2 without a value and 1 with headings or above them.",
        "It holds no values.",
    ]


def test_one_row_is_no_plural() -> None:
    rows, values = came_words(sums_of(("sheets/p.csv", 1, 0, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, "")))
    assert str(rows) == "One sheet came in with 1 row: 1 used."
    assert str(values) == "It holds 1 value: 1 used."


def test_a_table_tells_rows_and_values_of_every_sheet() -> None:
    html = sums_table(BOTH)
    heads = ["Sheet", "What", "came in", "used", "set aside", "second looks", "marked missing"]
    assert heads_of(html) == [*heads, "without a value", "headings"]
    soup = BeautifulSoup(html, "html.parser")
    sheets = [th.get_text() for th in soup.find_all("th", scope="rowgroup")]
    assert sheets == ["sheets/pulls.csv", "sheets/rated.xlsx, tab Ratings"]
    rows = [[cell.get_text() for cell in line.find_all("td")] for line in soup.select("tbody tr")]
    assert rows == [
        ["217", "213", "1", "–", "–", "2", "1"],
        ["216", "213", "1", "0", "2", "–", "–"],
        ["433", "432", "0", "–", "–", "0", "1"],
        ["432", "400", "0", "32", "0", "–", "–"],
    ]
    for came, *parts in rows:
        assert int(came) == sum(int(part) for part in parts if part != "–")
    held = soup.find_all("data")
    assert {one["title"] for one in held} == {"sheet_sums.csv:2", "sheet_sums.csv:3"}
    assert [one["value"] for one in held] == [one.get_text() for one in held]


def test_what_is_wrong_is_not_left_out() -> None:
    wrong = sums_of(("sheets/pulls.csv", 5, 1, 2, 0, 0, 2, 4, 2, 0, 0, 0, 2, ""))
    assert "wrong" in heads_of(sums_table(wrong))
    assert "2 wrong" in str(came_words(wrong)[0])
    assert "2 in wrong rows" in str(came_words(wrong)[1])


def test_columns_that_are_not_read_are_named() -> None:
    assert unread_words(BOTH) == ["sheets/pulls.csv: remarks"]
    assert unread_words(BOTH.assign(unread=[None, "wind, sky"])) == [
        "sheets/rated.xlsx, tab Ratings: wind, sky"
    ]


def test_photos_are_counted_with_what_became_of_them(tables: Tables) -> None:
    scores, observed = tables["photo_scores"], tables["observations"].copy()
    assert photos_words(scores, observed) == "216 photos came in: 216 used."
    path = scores["path"]
    observed.loc[observed["source"] == path[0], "excluded"] = "shadow"
    observed.loc[observed["source"].isin([path[1], path[2]]), "value"] = float("nan")
    assert photos_words(scores, observed) == (
        "216 photos came in: 213 used, 1 set aside in the diary and 2 without "
        "a value in the analysis."
    )
    assert photos_words(scores[:0], observed) == ""


def test_the_section_tells_all_of_it(tables: Tables, definition: Definition) -> None:
    page = Page(tables | {"sheet_sums": BOTH}, {}, definition)
    said = words_of(page)
    for words in (
        "Two sheets came in with 650 rows",
        "sheets/pulls.csv: remarks",
        "216 photos came in: 216 used.",
        "The checks flagged nothing in the records.",
        "A flag drops nothing and changes no value",
        "A value is set aside only in the diary, with a reason",
    ):
        assert words in said
    soup = BeautifulSoup(page.section("records").html, "html.parser")
    assert soup.find("a", href="#photos") is not None
    read = Page(tables | {"sheet_sums": BOTH.assign(unread="")}, {}, definition)
    assert "Every column and tab that holds something is read." in words_of(read)


def test_without_sheets_it_says_so(tables: Tables, early: Tables, definition: Definition) -> None:
    none = {"sheet_sums": sums_of(), "flags": pd.DataFrame(columns=["kind"])}
    assert "No sheet has come in." in words_of(Page(tables | none, {}, definition))
    assert "No sheet has come in yet." in words_of(Page(early | none, {}, definition))


def test_a_run_without_the_account_says_so(tables: Tables, definition: Definition) -> None:
    page = Page(tables, {}, definition)
    assert not records_context(page)["told"]
    assert "holds no account of its records" in words_of(page)


@pytest.mark.parametrize("name", list(RECORDED))
def test_the_appendix_holds_the_account(
    tables: Tables,
    early: Tables,
    definition: Definition,
    name: str,
) -> None:
    flag = [
        "jump",
        "pull_force",
        pd.Timestamp("2026-03-24"),
        "101",
        "",
        "1",
        200.0,
        "N",
        "",
        "",
        "",
    ]
    flags = pd.DataFrame([flag], columns=[column.name for column in RECORDED["flags"].columns])
    more = {"sheet_sums": BOTH, "flags": flags}
    shown = Page(tables | more, {}, definition).section("appendix").html
    assert f"{name} (" in shown
    # While the comparison waits, no table that tells the values of single plots is shown.
    waiting = Page(early | more, {}, definition).section("appendix").html
    assert (f"{name} (" in waiting) == (name == "sheet_sums")


def test_numbers_of_the_page_are_those_of_the_files(
    tmp_path: Path, tables: Tables, definition: Definition
) -> None:
    record = Record(tmp_path)
    more = pd.concat([flagged().assign(kind=kind) for kind in ("jump", "under a cover")])
    for name, frame in (("sheet_sums", BOTH), ("flags", more)):
        record.write(name, frame)
    read = {name: record.read(name) for name in RECORDED}
    page = Page(tables | read, {}, definition)
    held = BeautifulSoup(page.section("records").html, "html.parser").find_all("data")
    assert {one["title"] for one in held} == {
        *("sheet_sums.csv:2", "sheet_sums.csv:3", "flags.csv:2", "flags.csv:3")
    }
    for one in held:
        name, line = one["title"].split(":")
        row = (tmp_path / "results" / name).read_text(encoding="utf-8").splitlines()[int(line) - 1]
        assert one["value"] in row.split(",")


def test_a_demonstration_has_the_same_section(
    tables: Tables, laid_out: Callable[..., Definition]
) -> None:
    definition = laid_out("demonstration", both=True)
    kept = {name: tables[name] for name in ("observations", "photo_scores", "counts")}
    means = tables["means"].drop(columns=["se", "df", "lower", "upper", "letters"])
    more = {"sheet_sums": BOTH, "flags": flagged(), "means": means}
    page = Page(kept | more, {}, definition)
    said = words_of(page)
    assert "Two sheets came in with 650 rows" in said
    assert "44.96 lbf" in said
    assert re.search(r"interval|\bp\b|\bdf\b|\bt\b|standard|treatment", said) is None
    for level in definition.treatments["cover"].levels.values():
        assert level.label not in said
