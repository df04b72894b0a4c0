"""Whether covered turf recovered sooner from the other tine, and who was in time."""

from __future__ import annotations

import math
from collections.abc import Callable

import pandas as pd
import pytest

from wintersward.report.hole_lead import hole_lead_words
from wintersward.report.page import Page
from wintersward.trial import Definition
from wintersward.trial.schema import SheetMeasure

FIRST = {
    "measure": "holes", "level": 95.0, "effect": "cover", "within": "aeration=hollow",
    "left": "fleece", "right": "open", "days": 6.36, "se": 0.2, "df": 10.0, "lower": 5.9,
    "upper": 6.8, "p": 0.001, "says": "exactly", "visits_low": 0.0, "visits_high": 14.0,
    "apart": 7.0, "note": "",
}  # fmt: skip
# Another tine, cover or measure, and the difference of two leads: none is asked about.
OTHERS = [
    FIRST | {"within": "aeration=solid", "days": 2.3},
    FIRST | {"left": "woven", "days": 6.0},
    FIRST | {"measure": "green_cover"},
    FIRST | {"effect": "cover:aeration", "within": "", "left": "fleece:hollow-solid",
             "right": "open:hollow-solid", "days": 4.0},
]  # fmt: skip


@pytest.fixture
def holed(definition: Definition) -> Definition:
    fields = {"from": "sheet", "kind": "hole_closure", "dates": ["visits"]}
    holes = SheetMeasure.model_validate(fields, context={"units": "us"})
    return definition.model_copy(update={"measures": {**definition.measures, "holes": holes}})


def table(*rows: dict[str, object]) -> pd.DataFrame:
    return pd.DataFrame([*rows, *OTHERS])


def closure(*values: float) -> pd.DataFrame:
    """Give the holes of hollow-tined plots on 17 April, and what is not to be read."""
    row = {"measure": "holes", "date": pd.Timestamp("2026-04-17"), "aeration": "hollow"}
    rows = [{**row, "value": value} for value in values]
    rows.append({**row, "aeration": "solid", "value": 100.0})
    rows.append({**row, "date": pd.Timestamp("2026-04-10"), "value": 5.0})
    rows.append({**row, "date": pd.Timestamp("2026-05-24"), "value": 100.0})
    return pd.DataFrame(rows)


def said(definition: Definition, row: dict[str, object], *values: float) -> list[str]:
    return [str(one) for one in hole_lead_words(table(row), closure(*values), definition)]


def test_the_lead_and_who_was_there_in_time(holed: Definition) -> None:
    lead, there = said(holed, FIRST, 58.0, 79.0, 66.0)
    assert lead == (
        "After hollow tine 3/4 in, holes were 95 % closed about 6 days sooner with spun-bond "
        "fleece than with no cover (by the visits alone anything up to 14 days)."
    )
    assert there == (
        "On 17 April 2026, the day before the first event, none of 3 plots with ‘Hollow tine "
        "3/4 in’ was 95 % closed (58 to 79 %)."
    )
    assert ", two of 3 " in said(holed, FIRST, 95.0, 79.0, 99.0)[1]


def test_a_lead_the_other_way_round_and_one_that_is_a_bound(holed: Definition) -> None:
    turned = FIRST | {"days": -6.36, "lower": -6.8, "upper": -5.9, "visits_low": -13.2}
    turned |= {"visits_high": 1.5}
    assert said(holed, turned, 58.0)[0].endswith(
        "about 6 days later with spun-bond fleece than with no cover (by the visits alone anything "
        "from 2 days sooner to 14 later)."
    )
    bound = FIRST | {"says": "at least", "lower": math.nan, "upper": math.nan}
    assert "closed at least 6 days sooner with spun-bond fleece than with no cover." in said(
        holed, bound, 58.0
    )[0]  # fmt: skip


def test_nothing_is_told_of_what_was_not_found(holed: Definition, definition: Definition) -> None:
    assert said(holed, FIRST | {"days": math.nan}, 58.0) == []
    # Without a measure of holes there is nothing to tell.
    assert said(definition, FIRST, 58.0) == []


def test_it_stands_with_the_answer(
    make_page: Callable[..., Page], tables: dict[str, pd.DataFrame], holed: Definition
) -> None:
    held = {"closure_gained": table(FIRST), "closure": closure(58.0, 79.0, 66.0)}
    told = " ".join(make_page(tables | held, holed).section("answer").html.split())
    assert "After hollow tine 3/4 in, holes were " in told
    assert ", the day before the first event, none of 3 plots with ‘Hollow tine 3/4 in’ was" in told
    assert "After hollow tine" not in make_page(tables, holed).section("answer").html
