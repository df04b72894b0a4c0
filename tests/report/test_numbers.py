from __future__ import annotations

import datetime as dt
import math

import pandas as pd
import pytest

from wintersward.report.numbers import (
    Said,
    Sentence,
    between_text,
    common_decimals,
    counted,
    day_text,
    days_listed,
    decimals_for,
    df_text,
    level_text,
    mean_decimals,
    number,
    p_text,
    raw_text,
    table_decimals,
    text,
)


@pytest.mark.parametrize("se", [0.0031, 0.02, 0.31, 0.9, 1.4, 1.6, 3.1, 14.0, 120.0])
def test_rounding_moves_a_number_by_at_most_a_third_of_its_error(se: float) -> None:
    assert 0.5 * 10 ** -decimals_for(se) <= se / 3 * (1 + 1e-12)


@pytest.mark.parametrize("se", [0.02, 0.31, 0.9, 1.4])
def test_no_more_decimals_than_that_takes(se: float) -> None:
    assert 0.5 * 10 ** -(decimals_for(se) - 1) > se / 3


@pytest.mark.parametrize("se", [0.0, math.nan, math.inf, -1.0])
def test_an_error_without_sense_still_gives_decimals(se: float) -> None:
    assert decimals_for(se) == 1


def test_one_odd_date_does_not_blunt_a_column() -> None:
    assert common_decimals([0.24, 0.25, 0.26, 0.25, 9.0]) == 1
    assert mean_decimals([1.2, 1.2]) == common_decimals([1.7, 1.7])


@pytest.mark.parametrize(("se", "decimals"), [(3.1, 0), (0.8, 0), (0.4, 1), (0.12, 1), (0.02, 2)])
def test_a_table_has_one_rule_for_its_digits(se: float, decimals: int) -> None:
    assert table_decimals([se / 3, se, se, se]) == decimals
    assert table_decimals([math.nan, 0.0]) == 1


@pytest.mark.parametrize(
    ("value", "decimals", "signed", "said"),
    [
        (11.04, 0, False, "11"),
        (11.04, 0, True, "+11"),
        (-3.26, 1, True, "−3.3"),
        (-0.4, 0, True, "0"),
        (0.0, 1, True, "0.0"),
        (math.nan, 1, True, "not estimated"),
    ],
)
def test_signs(value: float, decimals: int, signed: bool, said: str) -> None:
    assert text(value, decimals, signed) == said


def test_intervals() -> None:
    assert between_text(-9.2, 3.4, 0) == "−9 to 3"
    assert between_text(4.2, 17.9, 0, signed=True) == "+4 to +18"
    assert between_text(math.nan, 2.0, 0) == "not estimated"


def test_small_things() -> None:
    assert (p_text(0.0009), p_text(0.04999), p_text(1.0)) == ("< 0.001", "0.050", "> 0.999")
    assert (df_text(10.0), df_text(9.51), df_text(math.nan)) == ("10", "9.5", "–")
    assert level_text(0.1) == "90 %"
    assert (counted(1, "block"), counted(2, "block"), counted(216, "photo")) == (
        "one block",
        "two blocks",
        "216 photos",
    )


def test_days_read_the_same_everywhere() -> None:
    assert day_text(pd.Timestamp("2026-03-04")) == day_text("2026-03-04") == "4 March 2026"
    days = [dt.date(2025, 11, 30), dt.date(2026, 1, 2), dt.date(2026, 1, 9)]
    assert days_listed(days) == "30 November 2025 and 2 and 9 January 2026"


@pytest.mark.parametrize(
    ("value", "raw"), [(13.2222833789, "13.22228338"), (1e-12, "1e-12"), (6, "6"), (2.0, "2")]
)
def test_raw_numbers_have_the_ten_digits_of_the_files(value: float, raw: str) -> None:
    assert raw_text(value) == raw


def test_a_number_knows_its_line() -> None:
    frame = pd.DataFrame({"mean": [1.0, 2.5, 3.0]}).iloc[[1]]
    said = number("means", frame, 1, "mean", "2.5")
    # Line 1 is the heading, so the second row stands on line 3.
    assert said == Said("2.5", "2.5", "means.csv:3")


def test_sentences_escape_words_and_keep_numbers() -> None:
    inner = Sentence("{n} points", {"n": Said("11", "11.04", "primary.csv:2")})
    said = Sentence("{what} by {n}", {"what": "<b>more</b>", "n": inner})
    assert str(said) == "<b>more</b> by 11 points"
    assert str(said.__html__()) == (
        '&lt;b&gt;more&lt;/b&gt; by <data value="11.04" title="primary.csv:2">11</data> points'
    )
