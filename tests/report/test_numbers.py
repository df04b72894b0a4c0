from __future__ import annotations

import datetime as dt
import math

import pandas as pd
import pytest

from wintersward.report.numbers import (
    between_text,
    common_decimals,
    counted,
    day_text,
    days_listed,
    decimals_for,
    df_text,
    level_text,
    mean_decimals,
    p_text,
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
