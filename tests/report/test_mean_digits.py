from __future__ import annotations

import math
from collections.abc import Callable

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.deciding import deciding, deciding_alt
from wintersward.report.glance import glance_table
from wintersward.report.mean_digits import answer_digits, subtracting_digits, subtracts
from wintersward.report.views import measure_view
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def test_a_reader_who_subtracts_finds_the_difference() -> None:
    assert not subtracts(65.297, 53.657, 11.639, 0, 0)
    assert subtracting_digits([(65.297, 53.657, 11.639)], 0) == (1, True)
    assert subtracting_digits([(65.2, 53.1, 12.1)], 0) == (0, True)
    # Means of one model beside a difference of another need not agree in any digits.
    assert subtracting_digits([(65.2, 53.1, 14.0)], 0) == (0, False)
    assert subtracts(math.nan, 53.0, 1.0, 0, 0)


def test_the_answer_is_shown_with_means_that_subtract(
    tables: dict[str, pd.DataFrame],
    definition: Definition,
    primary_row: Callable[..., pd.DataFrame],
) -> None:
    row = primary_row(7.17, 16.1, left_mean=65.297, right_mean=53.657, difference=11.639)
    assert answer_digits([row.iloc[0]], measure_view(definition, "green_cover")) == 1
    figure = deciding(row, tables["plot_means"], definition)
    shown = [one.get_text() for axes in figure.axes for one in axes.texts]
    assert {"53.7", "65.3", "+12"} <= set(shown)
    said = deciding_alt(row, tables["plot_means"], definition)
    assert "no cover 53.7 %, spun-bond fleece 65.3 %" in said
    glance = glance_table(tables["means"], tables["differences"].iloc[:0], row, definition)
    cells = [
        [cell.get_text() for cell in line.find_all("td")]
        for line in BeautifulSoup(glance, "html.parser").select("tbody tr")
    ]
    assert [cells[0][0], *cells[1][:2]] == ["53.7", "65.3", "+12"]


def test_means_that_never_subtract_are_told(
    tables: dict[str, pd.DataFrame],
    definition: Definition,
    primary_row: Callable[..., pd.DataFrame],
) -> None:
    row = primary_row(7.17, 16.1, left_mean=60.0, right_mean=53.657, difference=11.639)
    glance = glance_table(tables["means"], tables["differences"].iloc[:0], row, definition)
    assert "Each number is estimated and rounded by itself." in glance
