"""Workbooks: cells that check, lock and print as asked, and no trace of clock or computer."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import Any

import pytest

from papers.trial_papers import opened
from wintersward.errors import WinterswardError
from wintersward.papers.workbooks import TICK, Check, Column, Form, workbook

DAY = dt.date(2026, 3, 24)


def form(*columns: Column, **fields: Any) -> Form:
    told: dict[str, Any] = {
        "tab": "Sheet",
        "columns": list(columns),
        "still": 1,
        "head": ("Left", "Middle", "Right"),
        "foot": "Foot",
        "remarks": [("What to do", ""), (1, "Walk.")],
        "break_before": [],
        "paper": "letter",
        "day": DAY,
        "title": "A form",
    }
    return Form(**(told | fields))


PLOT = Column("plot", [101, 102, 103, 104], [False] * 4)


def test_a_column_to_fill_in_is_open_and_what_is_not_is_locked_and_hatched() -> None:
    value = Column("mark", [None] * 4, [True, True, False, True], check=TICK)
    tab = opened(workbook(form(PLOT, value))).worksheets[0]
    assert [tab.cell(row, 2).protection.locked for row in range(1, 6)] == [
        True,
        False,
        False,
        True,
        False,
    ]
    assert [tab.cell(row, 2).fill.patternType for row in range(2, 6)] == [
        None,
        None,
        "lightUp",
        None,
    ]
    assert tab["A2"].fill.patternType is None
    (rule,) = tab.data_validations.dataValidation
    assert str(rule.sqref) == "B2:B3 B5"


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [
        (0.0, 100.0, ("between", "0", "100")),
        (0.5, None, ("greaterThanOrEqual", "0.5", None)),
        (None, None, ("between", "-1000000000", "1000000000")),
        (None, 5.0, ("between", "-1000000000", "5")),
    ],
)
def test_a_number_has_the_limits_that_it_is_given(
    low: float | None, high: float | None, shown: tuple[str, str, str | None]
) -> None:
    check = Check("T" * 40, "p" * 300, "e" * 300, low=low, high=high)
    book = workbook(form(PLOT, Column("mark", [None] * 4, [True] * 4, check=check)))
    (rule,) = opened(book).worksheets[0].data_validations.dataValidation
    assert (rule.type, rule.operator, rule.formula1, rule.formula2) == ("decimal", *shown)
    # Excel opens no file with more than 32 characters in a title or 255 in a message.
    assert (len(rule.promptTitle), len(rule.errorTitle)) == (32, 32)
    assert max(len(rule.prompt), len(rule.error)) <= 255


def test_a_text_that_looks_like_a_formula_is_a_text() -> None:
    told = Column("who", ["=1+1"], [False])
    with_sum = Column("sum", [None], [False], formula="=A{row}")
    tab = opened(workbook(form(told, with_sum))).worksheets[0]
    assert (tab["A2"].data_type, tab["A2"].value) == ("s", "=1+1")
    assert (tab["B2"].data_type, tab["B2"].value) == ("f", "=A2")


def test_what_stands_aside_is_not_printed() -> None:
    aside = Column("repeat", [None] * 4, [False] * 4, aside=True)
    tab = opened(workbook(form(PLOT, aside))).worksheets[0]
    assert tab.print_area == "'Sheet'!$A$1:$A$5"
    assert tab["B1"].font.size == 8


@pytest.mark.parametrize(
    ("width", "way", "fitted"),
    [(20.0, "portrait", False), (80.0, "landscape", False), (150.0, "landscape", True)],
)
def test_a_wide_form_lies_across_the_page_or_is_made_smaller(
    width: float, way: str, fitted: bool
) -> None:
    tab = opened(workbook(form(Column("note", [None], [True], width)))).worksheets[0]
    assert tab.page_setup.orientation == way
    assert bool(tab.sheet_properties.pageSetUpPr.fitToPage) == fitted


def test_head_and_foot_are_short_enough_and_hold_no_codes() -> None:
    long = "A & B " * 60
    tab = opened(workbook(form(PLOT, head=(long, long, long), foot=long))).worksheets[0]
    head = tab.oddHeader
    said = [head.left.text, head.center.text, head.right.text]
    # Excel allows 255 characters in a head or foot (ECMA-376, 18.3.1.46 and its limits in use).
    assert sum(len(text) + 2 for text in said) <= 255
    assert len(tab.oddFooter.left.text) + len("&L&RPage &P of &N") <= 255
    assert "&" not in "".join(said)


def test_nothing_tells_of_clock_or_computer() -> None:
    content = workbook(form(PLOT))
    assert workbook(form(PLOT)) == content
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        assert {info.date_time for info in parts.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        core = parts.read("docProps/core.xml").decode()
    assert core.count("2026-03-24T00:00:00Z") == 2
    assert "wintersward" in core


def test_a_paper_that_is_not_known_is_told() -> None:
    with pytest.raises(WinterswardError, match="allowed: letter, a4"):
        workbook(form(PLOT, paper="a3"))
