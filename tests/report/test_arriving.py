from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.report.arriving import (
    days_gained_table,
    days_gained_words,
    dipped_words,
    level_reached,
)
from wintersward.report.views import measure_view
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
Gained = Callable[..., str]


@pytest.fixture
def said(tables: Tables, definition: Definition) -> Gained:
    """Say one row of days gained with other numbers."""

    def make(**other: object) -> str:
        row = tables["days_gained"].iloc[[0]].assign(**other)
        return str(days_gained_words(row, definition)[0])

    return make


def test_a_bound_is_said_as_a_bound(said: Gained) -> None:
    assert said() == (
        "We estimate that plots with spun-bond fleece reached 60 % green cover at least 8 days "
        "earlier than plots with no cover: one of six units with no cover was still below it at "
        "the last visit."
    )


@pytest.mark.parametrize(
    ("days", "says", "words"),
    [
        (8.7, "at least", "at least 8 days earlier"),
        (8.2, "at most", "at most 9 days earlier"),
        (-2.3, "at least", "at most 3 days later"),
        (-2.3, "at most", "at least 2 days later"),
        (1.2, "at least", "at least 1 day earlier"),
    ],
)
def test_bounds_are_rounded_to_their_safe_side(
    said: Gained, days: float, says: str, words: str
) -> None:
    assert f"green cover {words} than" in said(days=days, says=says)


@pytest.mark.parametrize(
    ("lower", "days", "upper", "words"),
    [
        (4.2, 8.6, 13.1, "9 days earlier than plots with no cover (95 % interval 4 to 13 days)."),
        (-2.0, 3.0, 8.0, "(95 % interval from 2 days later to 8 days earlier)."),
        (-8.0, -5.0, -2.0, "5 days later than plots with no cover (95 % interval 2 to 8 days lat"),
        (0.3, 4.0, 7.7, "(95 % interval 0.3 to 7.7 days)."),
    ],
)
def test_exact_days_have_an_interval(
    said: Gained, lower: float, days: float, upper: float, words: str
) -> None:
    found = said(says="exactly", days=days, lower=lower, upper=upper, right_after=0)
    assert words in found


def test_without_an_interval_it_says_so(said: Gained) -> None:
    assert "(no interval)" in said(says="exactly", right_after=0)


def test_what_cannot_be_told_is_said_so(said: Gained) -> None:
    found = said(says="cannot be told", days=float("nan"), left_after=2, right_before=1)
    assert found.startswith("How many days earlier plots with spun-bond fleece reached 60 %")
    assert "cannot be told: two of six units with spun-bond fleece were still below it" in found
    assert "one of six units with no cover was at the level already at the first visit" in found


def test_days_come_from_the_table(tables: Tables, definition: Definition) -> None:
    html = str(days_gained_words(tables["days_gained"], definition)[0].__html__())
    assert '<data value="8.7" title="days_gained.csv:2">8</data> days' in html


def test_the_table_counts_the_units_behind(tables: Tables, definition: Definition) -> None:
    soup = BeautifulSoup(days_gained_table(tables["days_gained"], definition), "html.parser")
    cells = [c.get_text() for c in soup.select("tbody tr")[0].find_all(["th", "td"])]
    assert cells == ["Spun-bond fleece minus no cover", "at least", "+9", "–", "–"] + [
        "0", "0", "6", "0", "1", "6",
    ]  # fmt: skip
    assert days_gained_table(tables["days_gained"].iloc[:0], definition) == ""


def test_a_dip_is_flagged(tables: Tables, definition: Definition) -> None:
    words = dipped_words(tables["arrivals"], definition)
    assert words.startswith("Below the level again later, their first arrival counts: 4")
    assert "(woven permeable cover)" in words
    assert dipped_words(tables["arrivals"].assign(dipped=""), definition) == ""


def test_the_level_is_in_the_readers_unit(definition: Definition) -> None:
    assert level_reached(measure_view(definition, "colour_rating"), 6.0) == "a colour rating of 6"
    # 45 pounds-force are 200.17 N: 4.4482216 N each, NIST SP 811, appendix B.8.
    assert level_reached(measure_view(definition, "pull_force"), 200.17) == "45 lbf pull force"
