"""Days and numbers as people write them, under what the diary declares."""

from __future__ import annotations

import datetime as dt
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintersward.records.cells import DATE_ORDERS, read_day, read_number, said

ISO = "a date written year-month-day, such as 2026-03-24"
CELL = "in a spreadsheet, format the column as text or as yyyy-mm-dd"


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("2026-03-04", None, "2026-03-04"),
        ("2026-03-04", "month first", "2026-03-04"),
        ("2026-03-04", "day first", "2026-03-04"),
        ("3/4/2026", "month first", "2026-03-04"),
        ("03/04/2026", "day first", "2026-04-03"),
        ("3/4/26", "month first", "2026-03-04"),
        ("24.03.2026", "day first", "2026-03-24"),
        ("24. 3. 2026", "day first", "2026-03-24"),
        ("24-3-2026", "day first", "2026-03-24"),
        ("2026/3/4", "year first", "2026-03-04"),
        ("26-03-04", "year first", "2026-03-04"),
        ("2026-03-04 09:30:00", None, "2026-03-04"),
        ("2026-03-04T09:30", "day first", "2026-03-04"),
        ("29/02/2028", "day first", "2028-02-29"),
    ],
)
def test_days(text: str, order: str | None, day: str) -> None:
    assert read_day(text, order) == dt.date.fromisoformat(day)


@pytest.mark.parametrize(
    ("text", "order", "message"),
    [
        (
            "03/04/2026",
            None,
            f"{ISO}; it can be read in 2 ways: add 'date_order: month first' or "
            "'date_order: day first' to this table in diary.yaml",
        ),
        ("24/03/2026", None, f"{ISO}; add 'date_order: day first' to this table in diary.yaml"),
        ("3/24/2026", None, f"{ISO}; add 'date_order: month first' to this table in diary.yaml"),
        ("2026/03/04", None, f"{ISO}; add 'date_order: year first' to this table in diary.yaml"),
        (
            "04.03.05",
            None,
            f"{ISO}; it can be read in 3 ways: add 'date_order: year first' or "
            "'date_order: month first' or 'date_order: day first' to this table in diary.yaml",
        ),
        ("24 March", None, f"{ISO}; {CELL}"),
        ("", None, f"{ISO}; write the day"),
        (
            "46105",
            None,
            f"{ISO}; spreadsheets keep 2026-03-24 as this number: format the column as yyyy-mm-dd",
        ),
        ("461050", None, f"{ISO}; {CELL}"),
        ("36525", None, f"{ISO}; {CELL}"),
        ("3/24-2026", None, f"{ISO}; {CELL}"),
        ("2026-02-30", None, "a date that exists in the calendar"),
        (
            "30/02/2026",
            "day first",
            "a date that exists in the calendar; it was read day first, as diary.yaml declares",
        ),
        (
            "24/03/2026",
            "month first",
            "a date written month first, such as 3/24/2026, or 2026-03-24; it can only be "
            "day first; see date_order in diary.yaml",
        ),
        (
            "2026/03/04",
            "day first",
            "a date written day first, such as 24.3.2026, or 2026-03-24; it can only be "
            "year first; see date_order in diary.yaml",
        ),
        (
            "45/45/2026",
            "day first",
            "a date written day first, such as 24.3.2026, or 2026-03-24; see date_order in "
            "diary.yaml",
        ),
        (
            "March",
            "day first",
            f"a date written day first, such as 24.3.2026, or 2026-03-24; {CELL}",
        ),
    ],
)
def test_what_is_no_day_is_told(text: str, order: str | None, message: str) -> None:
    with pytest.raises(ValueError, match="^a date") as error:
        read_day(text, order)
    assert str(error.value) == message


@given(st.dates(dt.date(2000, 1, 1), dt.date(2099, 12, 31)), st.sampled_from("/.-"))
def test_every_day_comes_back_in_the_order_that_it_was_written_in(day: dt.date, sign: str) -> None:
    forms = {"month first": "{m}{s}{d}{s}{y}", "day first": "{d}{s}{m}{s}{y}"}
    forms["year first"] = "{y}{s}{m}{s}{d}"
    for order, form in forms.items():
        for year in (str(day.year), f"{day.year % 100:02}"):
            text = form.format(d=day.day, m=day.month, y=year, s=sign)
            assert read_day(text, order) == day


@given(st.text(), st.sampled_from([None, *DATE_ORDERS]))
def test_any_text_is_a_day_or_is_told(text: str, order: str | None) -> None:
    try:
        assert isinstance(read_day(text, order), dt.date)
    except ValueError as error:
        allowed, _ = said(error)
        assert allowed.startswith("a date ")


@given(st.from_regex(r"[0-9]{1,4}[/.-][0-9]{1,2}[/.-][0-9]{1,4}", fullmatch=True))
def test_without_a_declaration_only_one_form_is_a_day(text: str) -> None:
    try:
        read = read_day(text)
    except ValueError:
        return
    assert read.isoformat() == text


@pytest.mark.parametrize(
    ("text", "decimal", "stored", "value"),
    [
        ("1.5", "point", False, 1.5),
        ("-.5", "point", False, -0.5),
        ("1e2", "point", False, 100.0),
        ("\u22123.5", "point", False, -3.5),
        ("1,5", "comma", False, 1.5),
        ("-,5", "comma", False, -0.5),
        ("\u22120,25", "comma", False, -0.25),
        ("12", "comma", False, 12.0),
        ("1.5", "comma", True, 1.5),
        ("1,5", "comma", True, 1.5),
    ],
)
def test_numbers(text: str, decimal: str, stored: bool, value: float) -> None:
    assert read_number(text, decimal, stored) == value


@pytest.mark.parametrize(
    ("text", "decimal", "message"),
    [
        (
            "1,5",
            "point",
            "a number; write a point, or add 'decimal: comma' to this table in diary.yaml",
        ),
        (
            "1.5",
            "comma",
            "a number with a decimal comma, such as 1,5; diary.yaml declares 'decimal: comma' "
            "for this table",
        ),
        (
            "1.234,5",
            "comma",
            "a number with a decimal comma, such as 1,5; leave out what marks off the thousands",
        ),
        ("1,234.5", "point", "a number; leave out what marks off the thousands"),
        (
            "1,234",
            "point",
            "a number; it can be read in 2 ways: leave the comma out if it marks off thousands, "
            "write a point if decimals follow it",
        ),
        ("", "point", "a number"),
        ("nan", "point", "a number"),
        ("inf", "comma", "a number with a decimal comma, such as 1,5"),
        ("1e999", "point", "a number of ordinary size; check the digits"),
        ("\u0663", "point", "a number"),
    ],
)
def test_what_is_no_number_is_told(text: str, decimal: str, message: str) -> None:
    with pytest.raises(ValueError, match="^a number") as error:
        read_number(text, decimal)
    assert str(error.value) == message


@given(st.text(), st.sampled_from(["point", "comma"]), st.booleans())
def test_any_text_is_a_number_or_is_told(text: str, decimal: str, stored: bool) -> None:
    try:
        assert math.isfinite(read_number(text, decimal, stored))
    except ValueError as error:
        allowed, _ = said(error)
        assert allowed.startswith("a number")


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_number_comes_back(value: float) -> None:
    assert read_number(repr(value)) == value
    assert read_number(repr(value).replace(".", ","), "comma") == value
