"""Limits that were decided beforehand, as a reader meets them."""

from __future__ import annotations

import datetime as dt

from markupsafe import escape

from wintersward.report.decided import NO_LIMITS, WHO_DECIDES, decided_words
from wintersward.report.page import Page
from wintersward.trial import Definition
from wintersward.trial.decided import Decisions


def test_every_limit_is_one_sentence(definition: Definition) -> None:
    measure = definition.analysis.primary.measure
    day = dt.date(2026, 3, 24)
    told = {
        "ready_when": {
            measure: {"at_least": "85 %", "on": day, "source": "league's guide"},
            "pull_force": {"at_least": "80 %", "of": "established turf", "on": day, "sure": "80 %"},
        },
        "covers_off_when": {
            "soil_temperature": "50 degF",
            "days_in_a_row": 5,
            "not_after": dt.date(2026, 3, 20),
        },
    }
    held = definition.model_copy(update={"decisions": Decisions.model_validate(told)})
    assert decided_words(definition) == []
    green, pull, covers = decided_words(held)
    assert green == (
        "Green cover on 24 March 2026: at least 85 %, with 90 % confidence (league's guide)."
    )
    assert pull.endswith(
        "on 24 March 2026: at least 80 % of that of the established turf beside it, "
        "with 80 % confidence (set by this study, no source given)."
    )
    assert covers == (
        "Covers come off once the soil is at 50 °F or more on 5 days in a row, and not after "
        "20 March 2026 (set by this study, no source given)."
    )


def test_planned_aerations_are_no_limits(definition: Definition) -> None:
    tine = {"kind": "hollow", "outside": "0.5 in", "inside": "0.38 in"}
    tine |= {"spacing": ["2 in", "2.5 in"], "depth": "3 in"}
    option = {"label": "Hollow tine, 1/2 in", "tine": tine, "passes": 2}
    planned = {"options": {"half": option}, "area_each_year": "15 %", "sand_each_year": "0.25 in"}
    held = definition.model_copy(
        update={"decisions": Decisions.model_validate({"aeration": planned})}
    )
    option_words, yearly = decided_words(held)
    assert option_words == (
        "Thought about for the aeration, and not compared by this trial: Hollow tine, 1/2 in "
        "(hollow tine, 0.5 in outside, 0.38 in inside, 2 in by 2.5 in apart, 3 in deep; two "
        "passes)."
    )
    assert yearly == (
        "Wanted in a year: 15 % of the ground by aeration and 0.25 in of sand (set by this study, "
        "no source given)."
    )
    html = Page({}, {}, held).section("decisions").html
    assert str(escape(NO_LIMITS)) in html


def test_limits_are_listed_and_not_said_to_be_met(definition: Definition) -> None:
    told = {"ready_when": {"green_cover": {"at_least": "85 %", "on": "2026-03-24"}}}
    held = definition.model_copy(update={"decisions": Decisions.model_validate(told)})
    html = Page({}, {}, held).section("decisions").html
    assert decided_words(held)[0] in html
    assert str(escape(WHO_DECIDES)) in html


def test_without_limits_it_is_said_who_decides(definition: Definition) -> None:
    html = Page({}, {}, definition).section("decisions").html
    assert str(escape(NO_LIMITS)) in html
    assert "Whoever answers for the field decides" in html
    assert "What the definition decided beforehand" not in html
