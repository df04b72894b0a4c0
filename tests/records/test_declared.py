"""Sheets whose dates and decimals are written as the diary declares."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from wintersward.records import read_weather
from wintersward.records.observations import COLUMNS

Write = Callable[..., Path]
Sheets = Callable[..., tuple[pd.DataFrame, list[str]]]
PULLS = ["date", "plot", "sample", "pull_force"]


def entry(**how: str) -> str:
    more = "".join(f", {name}: {value}" for name, value in how.items())
    return f"sheets:\n  - {{file: p.csv{more}}}\n"


@pytest.mark.parametrize(
    ("order", "text"),
    [
        ("month first", "3/24/2026"),
        ("month first", "03-24-26"),
        ("day first", "24.3.2026"),
        ("day first", "24. 3. 26"),
        ("year first", "2026/03/24"),
        ("day first", "2026-03-24"),
        ("month first", "2026-03-24"),
    ],
)
def test_dates_are_read_in_the_declared_order(
    write: Write, sheets: Sheets, order: str, text: str
) -> None:
    write("sheets/p.csv", PULLS, [text, 101, 1, 40])
    observations, said = sheets(entry(date_order=order))
    assert said == []
    assert observations["date"].tolist() == [pd.Timestamp("2026-03-24")]


def test_the_same_text_is_another_day_under_another_order(write: Write, sheets: Sheets) -> None:
    write("sheets/p.csv", PULLS, ["04/03/2026", 101, 1, 40])
    messages = {}
    for order in ("month first", "day first"):
        observations, said = sheets(entry(date_order=order))
        assert observations.empty
        messages[order] = said[0].partition("found ")[2][:12]
    assert messages == {"month first": "'2026-04-03'", "day first": "'2026-03-04'"}


def test_a_date_against_the_declared_order_is_told(write: Write, sheets: Sheets) -> None:
    write("sheets/p.csv", PULLS, ["24/3/2026", 101, 1, 40])
    assert sheets(entry(date_order="month first"))[1] == [
        "sheets/p.csv, row 2, column date: found '24/3/2026'; allowed: a date written month first, "
        "such as 3/24/2026, or 2026-03-24; it can only be day first; see date_order in diary.yaml"
    ]


def test_an_ambiguous_date_without_a_declaration_is_told(write: Write, sheets: Sheets) -> None:
    write("sheets/p.csv", PULLS, ["03/04/2026", 101, 1, 40])
    assert sheets()[1] == [
        "sheets/p.csv, row 2, column date: found '03/04/2026'; allowed: a date written "
        "year-month-day, such as 2026-03-24; it can be read in 2 ways: add 'date_order: month "
        "first' or 'date_order: day first' to this table in diary.yaml"
    ]


def test_a_decimal_comma_needs_its_declaration(write: Write, sheets: Sheets) -> None:
    write("sheets/p.csv", PULLS, ["2026-03-24", 101, 1, "40,5"], separator=";")
    assert len(sheets()[1]) == 1
    observations, said = sheets(entry(decimal="comma"))
    assert said == []
    # 40.5 pounds of force, by the exact pound and standard gravity.
    assert observations["value"].tolist() == pytest.approx([40.5 * 4.4482216152605])


def test_a_decimal_point_under_a_declared_comma_is_told(write: Write, sheets: Sheets) -> None:
    write("sheets/p.csv", PULLS, ["2026-03-24", 101, 1, "40.5"], separator=";")
    assert sheets(entry(decimal="comma"))[1] == [
        "sheets/p.csv, row 2, column pull_force: found '40.5'; allowed: a number in lbf; "
        "diary.yaml declares 'decimal: comma' for this table"
    ]


def test_true_dates_and_numbers_of_a_workbook_need_no_declaration(
    study: Path, sheets: Sheets
) -> None:
    book = Workbook()
    book.active.append(PULLS)
    book.active.append([pd.Timestamp("2026-03-24").to_pydatetime(), 101, 1, 40.5])
    book.active.append(["24.3.2026", 102, 1, "40,5"])
    book.save(study / "sheets" / "p.xlsx")
    told = "sheets:\n  - {file: p.xlsx, date_order: day first, decimal: comma}\n"
    observations, said = sheets(told)
    assert said == []
    assert observations["value"].nunique() == 1
    assert observations["date"].nunique() == 1


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    cells=st.lists(st.text(max_size=8) | st.sampled_from(["3/4/2026", "1,5", "101"]), max_size=4),
    order=st.sampled_from(["year first", "month first", "day first"]),
    decimal=st.sampled_from(["point", "comma"]),
)
def test_any_cells_are_read_or_told(
    write: Write, sheets: Sheets, cells: list[str], order: str, decimal: str
) -> None:
    write("sheets/p.csv", PULLS, cells)
    observations, said = sheets(entry(date_order=order, decimal=decimal))
    assert tuple(observations.columns) == COLUMNS
    assert all(line.startswith("sheets/p.csv") and "\n" not in line for line in said)


def test_the_reader_of_weather_is_offered_beside_that_of_sheets() -> None:
    assert read_weather.__module__ == "wintersward.records.weather"
