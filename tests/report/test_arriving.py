from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.report.arriving import (
    averaging_words,
    days_gained_table,
    days_gained_words,
    dipped_words,
    level_reached,
    read_off_words,
    recovery_words,
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
        return str(days_gained_words(row, tables["arrivals"], definition)[0])

    return make


def test_a_bound_is_said_as_a_bound(said: Gained) -> None:
    assert said() == (
        "In this trial plots with spun-bond fleece reached 60 % green cover about 8 days or more "
        "earlier than plots with no cover, on average. In all six blocks they were there first, by "
        "8 to 24 days or more. ‘Or more’ counts for the plots of this trial: one of six whole "
        "plots with no cover was still below it at the last visit. No interval can tell how far "
        "the true gain lies from that."
    )


@pytest.mark.parametrize(
    ("days", "says", "words"),
    [
        (8.7, "at least", "about 8 days or more earlier"),
        (7.694, "at least", "about 7 days or more earlier"),
        (8.2, "at most", "about 9 days or less earlier"),
        (-2.3, "at least", "about 3 days or less later"),
        (-2.3, "at most", "about 2 days or more later"),
        (1.9, "at least", "about 1 day or more earlier"),
        (0.78, "at least", "about 0.7 days or more earlier"),
        (8.0, "at least", "about 8 days or more earlier"),
    ],
)
def test_bounds_are_rounded_to_the_side_on_which_they_hold(
    said: Gained, tables: Tables, definition: Definition, days: float, says: str, words: str
) -> None:
    found = said(days=days, says=says)
    assert f"green cover {words} than" in found
    assert f"‘Or {words.split(' or ')[1].split()[0]}’ counts" in found
    row = tables["days_gained"].iloc[[0]].assign(days=days, says=says)
    soup = BeautifulSoup(days_gained_table(row, definition), "html.parser")
    shown = soup.select("tbody td")[1].get_text()
    assert shown.strip("+−") == words.split()[1]
    assert (shown[0] == "−") == words.endswith("later")


def test_what_was_told_exactly_is_rounded_to_the_nearest(said: Gained) -> None:
    assert "about 9 days earlier than" in said(days=8.7, says="exactly", right_after=0)


@pytest.mark.parametrize(
    ("lower", "days", "upper", "words"),
    [
        (
            4.2,
            8.6,
            13.1,
            "about 9 days earlier than plots with no cover (95 % interval 4 to 13 days).",
        ),
        (-2.0, 3.0, 8.0, "(95 % interval from 2 days later to 8 days earlier)."),
        (
            -8.0,
            -5.0,
            -2.0,
            "about 5 days later than plots with no cover (95 % interval 2 to 8 days lat",
        ),
        (0.3, 4.0, 7.7, "(95 % interval 0.3 to 7.7 days)."),
    ],
)
def test_exact_days_have_an_interval(
    said: Gained, lower: float, days: float, upper: float, words: str
) -> None:
    found = said(says="exactly", days=days, lower=lower, upper=upper, right_after=0)
    assert words in found


def test_without_an_interval_it_says_so(said: Gained) -> None:
    found = said(says="exactly", right_after=0)
    assert found.endswith("No interval can tell how far the true gain lies from that.")
    assert "counts for" not in found


def test_what_cannot_be_told_is_said_so(said: Gained) -> None:
    found = said(says="cannot be told", days=float("nan"), left_after=2, right_before=1)
    assert found.startswith("How many days earlier plots with spun-bond fleece reached 60 %")
    assert (
        "cannot be told: two of six whole plots with spun-bond fleece were still below it" in found
    )
    assert (
        "one of six whole plots with no cover was at the level already at the first visit" in found
    )


def test_days_come_from_the_table(tables: Tables, definition: Definition) -> None:
    html = str(
        days_gained_words(tables["days_gained"], tables["arrivals"], definition)[0].__html__()
    )
    assert '<data value="8.7" title="days_gained.csv:2">8</data> days' in html


def test_the_table_counts_the_units_behind(tables: Tables, definition: Definition) -> None:
    soup = BeautifulSoup(days_gained_table(tables["days_gained"], definition), "html.parser")
    cells = [c.get_text() for c in soup.select("tbody tr")[0].find_all(["th", "td"])]
    assert cells == ["Spun-bond fleece minus no cover", "at least", "+8", "–", "–"] + [
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


def test_blocks_are_counted_where_the_lead_is_sure(tables: Tables, definition: Definition) -> None:
    gained, arrivals = tables["days_gained"].iloc[[0]], tables["arrivals"].copy()
    late = (arrivals["block"] == "1") & (arrivals["treatment"] == "fleece")
    arrivals.loc[late, "censored"] = "after"
    assert "In 5 of six blocks they were there first" in str(
        days_gained_words(gained, arrivals, definition)[0]
    )
    never = arrivals.assign(censored="after", days=39.0)
    assert "In none of six blocks" in str(days_gained_words(gained, never, definition)[0])
    # A lead of which it is said "or more" is rounded down; less than a day is said so.
    close = arrivals.copy()
    fleece = close[close["treatment"] == "fleece"].set_index("block")["days"]
    bare = close["treatment"] == "open"
    close.loc[bare, "days"] = close.loc[bare, "block"].map(fleece) + 3.7
    close.loc[bare & (close["block"] == "3"), "days"] -= 3.0
    words = str(days_gained_words(gained, close, definition)[0])
    assert "by less than 1 to 3 days or more." in words
    exact = str(days_gained_words(gained, close.assign(censored=""), definition)[0])
    assert "In all six blocks they were there first, by 1 to 4 days." in exact
    # Without blocks nothing is paired.
    bare = str(days_gained_words(gained, arrivals.assign(block=""), definition)[0])
    assert "block" not in bare


def test_what_late_days_are_averaged_over(definition: Definition) -> None:
    assert averaging_words(definition, "2026-03-24") == ""
    assert averaging_words(definition, "2026-04-17") == (
        "Days after 25 March 2026 are averaged over the aeration treatments and include recovery "
        "from them."
    )


def test_what_days_are_read_off_is_told(definition: Definition) -> None:
    visits = ["2026-01-15", "2026-03-24", "2026-03-10", "2026-03-16", "2026-04-04", "2026-04-17"]
    assert read_off_words(visits, definition) == (
        "Days are read off straight lines between visits 6 to 13 days apart"
    )
    assert read_off_words(visits[:2], definition) == ""
    assert recovery_words(definition, "2026-04-17") == [
        "after 25 March 2026 take in recovery from the aeration"
    ]
    assert recovery_words(definition, "2026-03-24") == []
