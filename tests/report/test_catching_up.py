from __future__ import annotations

import math

import pandas as pd
import pytest

from wintersward.report.catching_up import (
    apart_few,
    apart_words,
    caught_up_count,
    caught_up_words,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


@pytest.fixture
def leads(tables: Tables) -> pd.DataFrame:
    """The lead of one treatment over all tines, and with either of them."""
    rows = tables["equivalence"].iloc[[1, 1, 1]].reset_index(drop=True)
    rows["within"] = ["", "aeration=hollow", "aeration=solid"]
    rows["difference"] = [6.5, 9.4, 3.6]
    rows["lower"], rows["upper"] = [3.0, 5.443, -0.3], [10.04, 13.4, 7.6]
    return rows.assign(verdict=["cannot tell", "not caught up", "cannot tell"])


@pytest.fixture
def crossed(tables: Tables) -> pd.DataFrame:
    """Tests of which one says that the lead may depend on the tine."""
    tests = tables["tests"].copy()
    tests.loc[tests["term"] == "cover:aeration", "p"] = 0.025
    return tests


def test_caught_up_is_one_sided(tables: Tables, definition: Definition) -> None:
    open_, caught = (str(said) for said in caught_up_words(tables["equivalence"], definition))
    assert open_ == (
        "On 17 April 2026, the day before the first event, no cover was about 3 points behind "
        "spun-bond fleece, averaged over aeration treatments. Caught up means less than 5 points "
        "behind. The true lead of spun-bond fleece may be as large as 6 points (one-sided 95 % "
        "bound), so these data cannot tell."
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


@pytest.mark.parametrize(
    ("verdict", "lower", "upper", "words"),
    [
        ("not caught up", 5.443, 13.4, "is 5.4 points at least"),
        ("not caught up", 5.676, 13.6, "is 5.6 points at least"),
        ("not caught up", 5.004, 9.0, "is 5.004 points at least"),
        ("not caught up", 6.3, 9.0, "is 6 points at least"),
        ("cannot tell", 3.0, 10.04, "may be as large as 10.1 points"),
        ("cannot tell", 3.0, 9.76, "may be as large as 10 points"),
        ("caught up", -1.0, 4.96, "is 4.96 points at most"),
        ("caught up", -1.0, 3.9, "is 4 points at most"),
    ],
)
def test_a_bound_is_rounded_to_the_safer_side_and_never_onto_its_margin(
    tables: Tables, definition: Definition, verdict: str, lower: float, upper: float, words: str
) -> None:
    row = (
        tables["equivalence"]
        .iloc[[1]]
        .assign(verdict=verdict, lower=lower, upper=upper, difference=(lower + upper) / 2)
    )
    bound = lower if verdict == "not caught up" else upper
    wide = row.assign(difference=bound + (4 if bound == lower else -4))
    said = str(caught_up_words(wide, definition)[0])
    assert words in said


def test_a_lead_that_may_depend_on_the_tine_is_told_apart(
    leads: pd.DataFrame, crossed: pd.DataFrame, definition: Definition
) -> None:
    said = apart_words(leads, 0, definition, crossed)
    assert str(said) == (
        "The lead may depend on the aeration (F test, p = 0.025; secondary, not adjusted): with "
        "solid tine 3/8 in, about 4 points behind (whether it had caught up, these data cannot "
        "tell); with hollow tine 3/4 in, about 9 points behind (not caught up)."
    )
    assert 'title="equivalence.csv:3"' in str(said.__html__())
    assert str(apart_few(leads, 0, definition, crossed)) == (
        "4 with solid tine 3/8 in; 9 with hollow tine 3/4 in"
    )
    ahead = leads.assign(difference=-leads["difference"])
    assert "about 4 points ahead" in str(apart_words(ahead, 0, definition, crossed))
    lost = leads.assign(difference=[6.5, math.nan, 3.6])
    assert "with hollow tine 3/4 in, not estimated" in str(
        apart_words(lost, 0, definition, crossed)
    )


def test_without_a_sign_that_it_depends_the_mean_is_enough(
    leads: pd.DataFrame, crossed: pd.DataFrame, definition: Definition
) -> None:
    alike = crossed.assign(p=0.4)
    assert str(apart_words(leads, 0, definition, alike)) == ""
    assert str(apart_few(leads, 0, definition, alike)) == ""
    untested = crossed.assign(p=math.nan)
    assert "(which could not be tested)" in str(apart_words(leads, 0, definition, untested))
    assert str(apart_words(leads.iloc[:1], 0, definition, crossed)) == ""
    assert str(apart_words(leads.iloc[:1], 0, definition, crossed.iloc[:0])) == ""


def test_verdicts_on_catching_up_are_counted_and_labelled(tables: dict[str, pd.DataFrame]) -> None:
    rows = tables["equivalence"]
    assert caught_up_count(rows).startswith("Secondary, unadjusted: two verdicts, each by a bound")
    assert caught_up_count(rows[rows["kind"] != "caught up"]) == ""
