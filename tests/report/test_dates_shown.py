from __future__ import annotations

import pandas as pd
import pytest

from wintersward.report.dates_shown import unshown_words
from wintersward.report.page import Page
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
DAY, BASELINE = "2026-04-04", pd.Timestamp("2026-01-15")


def said(tables: Tables, definition: Definition, measure: str = "green_cover") -> str:
    return unshown_words(tables["means"], tables["notes"], tables["counts"], definition, measure)


@pytest.fixture(scope="module")
def season(tables: Tables, definition: Definition) -> Tables:
    """Tell of the first date what a run tells: it came before the treatments."""
    before = [
        {"measure": name, "date": BASELINE, "code": "baseline", "text": "before the covers"}
        for name in definition.measures
    ]
    notes = pd.concat([tables["notes"], pd.DataFrame(before)], ignore_index=True)
    return tables | {"notes": notes}


def without(tables: Tables, **counted: object) -> Tables:
    """Take the means of one measure on one day away, and count otherwise."""
    means, counts = tables["means"], tables["counts"].copy()
    gone = (means["measure"] == "green_cover") & (means["date"] == pd.Timestamp(DAY))
    here = (counts["measure"] == "green_cover") & (counts["date"] == pd.Timestamp(DAY))
    assert gone.any()
    assert here.any()
    for name, value in counted.items():
        counts.loc[here, name] = value
    return {**tables, "means": means[~gone].reset_index(drop=True), "counts": counts}


def test_nothing_is_said_where_every_date_is_shown(season: Tables, definition: Definition) -> None:
    for measure in definition.measures:
        assert said(season, definition, measure) == ""


@pytest.mark.parametrize(
    ("counted", "why"),
    [
        ({"due": "not yet", "used": 0}, "not yet due"),
        ({"used": 0}, "no observation that is used"),
        ({"used": 4}, "observed, but no mean could be estimated"),
    ],
)
def test_a_date_without_a_mean_is_told_with_its_reason(
    season: Tables, definition: Definition, counted: dict[str, object], why: str
) -> None:
    words = said(without(season, **counted), definition)
    assert words == f"Planned dates that the tables do not hold: 4 April 2026 ({why})."
    page = Page(without(season, **counted), {}, definition)
    assert words in page.section("results").html
