"""When covers came off, in words: compared, or set beside the rule, and never both."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.analysis.decision_columns_readiness import TIMING
from wintersward.analysis.results import empty
from wintersward.decisions.rows import framed
from wintersward.decisions.timing import COMPARED, DESCRIBED
from wintersward.report.frozen import freeze_of
from wintersward.report.page import Page
from wintersward.report.timing import timing_context
from wintersward.trial import Definition

NUMBERS = dict.fromkeys(("difference", "se", "df", "lower", "upper"), np.nan)
DAY = pd.Timestamp


def described(**changed: Any) -> dict[str, Any]:
    row: dict[str, Any] = {"kind": DESCRIBED, "left_off": DAY("2026-03-09"), "right_off": pd.NaT}
    row |= dict.fromkeys(("factor", "left", "right", "within", "measure", "text"), "")
    row |= {"rule_day": DAY("2026-03-05"), "last_day": DAY("2026-03-09"), "days": 4.0}
    return row | {"date": pd.NaT, **NUMBERS} | changed


PAIR = {
    "kind": COMPARED,
    "factor": "cover",
    "left": "fleece",
    "right": "woven",
    "left_off": DAY("2026-02-22"),
    "right_off": DAY("2026-03-01"),
    "rule_day": pd.NaT,
    "last_day": pd.NaT,
    "days": -7.0,
    "measure": "green_cover",
    "date": DAY("2026-03-24"),
    "difference": 4.2,
    "se": 2.0,
    "df": 10.0,
    "lower": -1.1,
    "upper": 9.4,
    "text": "the interval holds together with those of all pairs and dates of this measure",
}


def said(tables: dict[str, pd.DataFrame], definition: Definition, *rows: dict[str, Any]) -> str:
    held = tables | {"cover_timing": framed(TIMING["cover_timing"], rows)}
    page = Page(held, {}, definition)
    template = page._templates.get_template("sections/decisions/timing.html.j2")
    context = {**timing_context(page), "freeze": freeze_of(page)}
    soup = BeautifulSoup(template.render(context), "html.parser")
    return re.sub(r"\s+", " ", soup.get_text(""))


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({}, "the rule first held on 5 March 2026: covers came off four days after that day."),
        (
            {"left_off": DAY("2026-03-03"), "days": -2.0},
            "the rule first held on 5 March 2026: covers came off two days before that day.",
        ),
        (
            {"rule_day": pd.NaT, "days": 0.0},
            "was not held before its last day, 9 March 2026: covers came off on that day.",
        ),
        (
            {"rule_day": pd.NaT, "days": 1.0, "text": "no logger of the soil was read"},
            "only the last day of the rule is known, 9 March 2026: covers came off one day after",
        ),
        (
            {"rule_day": pd.NaT, "last_day": pd.NaT, "days": np.nan, "text": "no rule"},
            "The definition holds no rule for the day (covers_off_when).",
        ),
        ({"left_off": pd.NaT, "days": np.nan}, "By the diary covers are still on."),
    ],
)
def test_the_day_is_said_beside_the_rule(
    tables: dict[str, pd.DataFrame], definition: Definition, changed: dict[str, Any], words: str
) -> None:
    text = said(tables, definition, described(**changed))
    assert words in text
    assert "cannot tell whether an earlier or a later day would have been better" in text


def test_what_was_dealt_out_is_estimated(
    tables: dict[str, pd.DataFrame], definition: Definition
) -> None:
    text = said(tables, definition, PAIR | {"within": ""}, described())
    assert (
        "With spun-bond fleece the covers came off on 22 February 2026, seven days earlier than "
        "with woven permeable cover (1 March 2026); the day was dealt out by chance, "
        "and as far as the definition tells (mass and light) the covers were alike."
    ) in text
    assert "spun-bond fleece minus woven permeable cover: +4 points (−1 to +9)." in text
    assert "The interval holds together with those of all pairs" in text
    assert "cannot tell whether an earlier" not in text


def test_before_the_question_has_its_data_nothing_is_said_of_comparing(
    tables: dict[str, pd.DataFrame], definition: Definition
) -> None:
    early = tables | {"primary": empty("primary")}
    text = said(early, definition, described())
    assert "came off" in text
    assert "cannot tell" not in text


def test_a_diary_without_covers(tables: dict[str, pd.DataFrame], definition: Definition) -> None:
    assert "The diary does not tell when covers lay." in said(tables, definition)


def test_the_rule_is_told_once(tables: dict[str, pd.DataFrame], definition: Definition) -> None:
    record = pd.DataFrame({"source": ["record"], "date": [DAY("2026-03-05")]})
    text = said(tables | {"removal": record}, definition, described())
    assert "The last cover came off on 9 March 2026. What the rule said, day by day" in text
    assert "first held" not in text
    assert "cannot tell whether an earlier or a later day would have been better" in text


@pytest.mark.parametrize(("touches", "marked"), [("removal", True), ("decisions", False)])
def test_a_changed_rule_is_exploratory_and_no_limit_with_it(
    tables: dict[str, pd.DataFrame], definition: Definition, touches: str, marked: bool
) -> None:
    line = {"field": "decisions.covers_off_when.days_in_a_row", "old": "3", "new": "5"}
    changes = pd.DataFrame([{**line, "reason": "x", "touches": touches}])
    text = said(tables | {"changes": changes}, definition, described())
    assert ("When the covers came off (exploratory)" in text) is marked
