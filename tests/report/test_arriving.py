from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.report.arriving import (
    averaging_words,
    caught_up_count,
    caught_up_words,
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
        return str(days_gained_words(row, tables["arrivals"], definition)[0])

    return make


def test_a_bound_is_said_as_a_bound(said: Gained) -> None:
    assert said() == (
        "We estimate that plots with spun-bond fleece reached 60 % green cover about 9 days or "
        "more earlier than plots with no cover. In all six blocks they were there first, by 8 to "
        "24 days or more. 'Or more', because one of six whole plots with no cover was still below "
        "it at the last visit. No interval can be given, so the true gain may be smaller or larger."
    )


@pytest.mark.parametrize(
    ("days", "says", "words"),
    [
        (8.7, "at least", "about 9 days or more earlier"),
        (8.2, "at most", "about 8 days or less earlier"),
        (-2.3, "at least", "about 2 days or less later"),
        (-2.3, "at most", "about 2 days or more later"),
        (1.2, "at least", "about 1 day or more earlier"),
    ],
)
def test_bounds_are_rounded_as_in_the_table(
    said: Gained, days: float, says: str, words: str
) -> None:
    assert f"green cover {words} than" in said(days=days, says=says)


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
    assert "No interval can be given" in said(says="exactly", right_after=0)


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
    assert '<data value="8.7" title="days_gained.csv:2">9</data> days' in html


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


def test_blocks_are_counted_where_the_lead_is_sure(tables: Tables, definition: Definition) -> None:
    gained, arrivals = tables["days_gained"].iloc[[0]], tables["arrivals"].copy()
    late = (arrivals["block"] == "1") & (arrivals["treatment"] == "fleece")
    arrivals.loc[late, "censored"] = "after"
    assert "In 5 of six blocks they were there first" in str(
        days_gained_words(gained, arrivals, definition)[0]
    )
    never = arrivals.assign(censored="after", days=39.0)
    assert "In none of six blocks" in str(days_gained_words(gained, never, definition)[0])
    # Without blocks nothing is paired.
    bare = str(days_gained_words(gained, arrivals.assign(block=""), definition)[0])
    assert "block" not in bare


def test_caught_up_is_one_sided(tables: Tables, definition: Definition) -> None:
    open_, caught = (str(said) for said in caught_up_words(tables["equivalence"], definition))
    assert open_ == (
        "On 17 April 2026, the day before the first event, no cover was about 3 points behind "
        "spun-bond fleece. Caught up means less than 5 points behind. The true lead of "
        "spun-bond fleece may be as large as 6 points (one-sided 95 % bound), so these data "
        "cannot tell."
    )
    assert "so no cover had caught up to within 5 points." in caught
    ahead = tables["equivalence"].assign(verdict="not caught up", lower=6.0, upper=12.0)
    said = str(caught_up_words(ahead, definition)[0])
    assert "6 points at least (one-sided 95 % bound), more than 5 points" in said
    lost = tables["equivalence"].assign(difference=float("nan"), upper=float("nan"))
    assert "cannot tell how far" in str(caught_up_words(lost, definition)[0])


def test_caught_up_is_told_within_the_other_treatments(
    tables: Tables, definition: Definition
) -> None:
    rows = tables["equivalence"].iloc[[1, 1]].reset_index(drop=True)
    rows["within"] = ["aeration=hollow", "aeration=solid"]
    solid, hollow = (str(said) for said in caught_up_words(rows, definition))
    assert solid == (
        "With solid tine 3/8 in, no cover was about 3 points behind spun-bond fleece: these data "
        "cannot tell, for the lead may be as large as 6 points."
    )
    assert hollow.startswith("With hollow tine 3/4 in, ")


def test_what_late_days_are_averaged_over(definition: Definition) -> None:
    assert averaging_words(definition, "2026-03-24") == ""
    assert averaging_words(definition, "2026-04-17") == (
        "Days after 25 March 2026 are averaged over the aeration treatments and include recovery "
        "from them."
    )


def test_verdicts_on_catching_up_are_counted_and_labelled(tables: dict[str, pd.DataFrame]) -> None:
    rows = tables["equivalence"]
    assert caught_up_count(rows).startswith("Secondary, unadjusted: two verdicts, each by a bound")
    assert caught_up_count(rows[rows["kind"] != "caught up"]) == ""
