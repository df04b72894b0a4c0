"""What a person reads when a question cannot be answered by what is observed: whole messages."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Change = Callable[..., list[str]]

AFTER = "compare: [fleece, open]"
ALPHA = "  alpha: 0.05\n"

PRIMARY = {
    "primary measure that nothing defines": (
        ("measure: green_cover", "measure: green_covr"),
        [
            "trial.yaml:65:14: analysis.primary.measure: found 'green_covr'; allowed: "
            "green_cover, colour_rating, pull_force; did you mean green_cover?"
        ],
    ),
    "level against itself": (
        ("[fleece, open]", "[open, open]"),
        [
            "trial.yaml:67:14: analysis.primary.compare: found open against itself; allowed: "
            "different levels"
        ],
    ),
    "level that nothing defines": (
        ("[fleece, open]", "[fleece, bare]"),
        [
            "trial.yaml:67:23: analysis.primary.compare.2: found 'bare'; allowed: open, fleece, "
            "woven, solid, hollow"
        ],
    ),
    "levels of two factors": (
        ("[fleece, open]", "[fleece, solid]"),
        [
            "trial.yaml:67:14: analysis.primary.compare: found a level of cover against one of "
            "aeration; allowed: levels of one factor"
        ],
    ),
    "primary date not observed": (
        ("on: 2026-03-24", "on: 2026-03-25"),
        [
            "trial.yaml:66:9: analysis.primary.on: found '2026-03-25'; allowed: a date on which "
            "green_cover is observed (2026-01-15, 2026-03-10, 2026-03-16, 2026-03-24, "
            "2026-04-04, 2026-04-17)"
        ],
    ),
    "primary on several dates": (
        ("on: 2026-03-24", "on: visits"),
        [
            "trial.yaml:66:9: analysis.primary.on: found 'visits', which is 5 dates; allowed: "
            "one date"
        ],
    ),
    "compared before it was applied": (
        ("[fleece, open]", "[hollow, solid]"),
        [
            "trial.yaml:66:9: analysis.primary.on: found '2026-03-24'; allowed: a date after "
            "aeration was applied (2026-03-25)"
        ],
    ),
    "difference in the unit of another measure": (
        ("matters_from: 8 points", "matters_from: 8 lbf"),
        [
            "trial.yaml:68:19: analysis.primary.matters_from: found a unit of force; allowed: a "
            "number and a unit of points, such as '8 points'; that is how green_cover is measured"
        ],
    ),
    "difference without unit": (
        ("matters_from: 8 points", "matters_from: 8"),
        [
            "trial.yaml:68:19: analysis.primary.matters_from: found no unit; allowed: a number "
            "and a unit of points, such as '8 points'; that is how green_cover is measured"
        ],
    ),
    "no difference at all": (
        ("matters_from: 8 points", "matters_from: 0 points"),
        ["trial.yaml:68:19: analysis.primary.matters_from: found '0'; allowed: more than 0"],
    ),
}


@pytest.mark.parametrize("name", PRIMARY)
def test_a_primary_question_is_told(change: Change, name: str) -> None:
    changed, said = PRIMARY[name]
    assert change(changed) == said


def test_a_unit_for_a_rating_is_told(change: Change) -> None:
    said = change(("measure: green_cover", "measure: colour_rating"))
    assert said == [
        "trial.yaml:68:19: analysis.primary.matters_from: found a unit of points; allowed: a "
        "number without unit, such as '1'; that is how colour_rating is measured"
    ]


FAMILIES = {
    "one treatment": (
        "{each: [fleece], with: open}",
        ["trial.yaml:67:21: analysis.primary.compare.each: found 1 entry; allowed: at least 2"],
    ),
    "without what they are compared with": (
        "{each: [fleece, woven]}",
        [
            "trial.yaml:67:5: analysis.primary.compare.with: is missing; add 'with: ...'",
        ],
    ),
    "unknown treatment": (
        "{each: [fleece, wovn], with: open}",
        [
            "trial.yaml:67:30: analysis.primary.compare.each.2: found 'wovn'; allowed: open, "
            "fleece, woven, solid, hollow; did you mean woven?"
        ],
    ),
    "unknown control": (
        "{each: [fleece, woven], with: opn}",
        [
            "trial.yaml:67:44: analysis.primary.compare.with: found 'opn'; allowed: open, fleece, "
            "woven, solid, hollow; did you mean open?"
        ],
    ),
    "one of them twice": (
        "{each: [fleece, fleece], with: open}",
        [
            "trial.yaml:67:14: analysis.primary.compare: found 'fleece' twice; allowed: different "
            "levels"
        ],
    ),
    "one of them the control": (
        "{each: [fleece, open], with: open}",
        [
            "trial.yaml:67:14: analysis.primary.compare: found 'open' twice; allowed: different "
            "levels"
        ],
    ),
    "treatments of two factors": (
        "{each: [fleece, hollow], with: open}",
        [
            "trial.yaml:67:14: analysis.primary.compare: found a level of cover against one of "
            "aeration; allowed: levels of one factor"
        ],
    ),
    "an unknown field": (
        "{each: [fleece, woven], with: open, by: tukey}",
        [
            "trial.yaml:67:50: analysis.primary.compare.by: found 'by', which is not known here; "
            "allowed: each, with; remove it"
        ],
    ),
}


@pytest.mark.parametrize("name", FAMILIES)
def test_a_family_is_told(change: Change, name: str) -> None:
    written, said = FAMILIES[name]
    assert change((AFTER, f"compare: {written}")) == said


# Further lines of the analysis, and what is told; nothing where they are sound.
FURTHER = {
    "days gained": ("days_gained: {measure: green_cover, level: 75 %}", []),
    "days gained of a rating": ("days_gained: {measure: colour_rating, level: 6}", []),
    "days gained of nothing": (
        "days_gained: {measure: green_covr, level: 75 %}",
        [
            "trial.yaml:70:26: analysis.days_gained.measure: found 'green_covr'; allowed: "
            "green_cover, colour_rating, pull_force; did you mean green_cover?"
        ],
    ),
    "a level in the unit of another measure": (
        "days_gained: {measure: green_cover, level: 40 lbf}",
        [
            "trial.yaml:70:46: analysis.days_gained.level: found a unit of force; allowed: a "
            "number and a unit of points, such as '8 points'; that is how green_cover is measured"
        ],
    ),
    "a level that cannot be reached": (
        "days_gained: {measure: green_cover, level: 100 %}",
        [
            "trial.yaml:70:46: analysis.days_gained.level: found '100'; allowed: a level between "
            "the lowest and the highest value of the measure"
        ],
    ),
    "a level that is always reached": (
        "days_gained: {measure: colour_rating, level: 1}",
        [
            "trial.yaml:70:48: analysis.days_gained.level: found '1'; allowed: a level between "
            "the lowest and the highest value of the measure"
        ],
    ),
    "days gained without a level": (
        "days_gained: {measure: green_cover}",
        ["trial.yaml:70:3: analysis.days_gained.level: is missing; add 'level: ...'"],
    ),
    "caught up": ("caught_up_within: 5 points", []),
    "caught up in another unit": (
        "caught_up_within: 5 lbf",
        [
            "trial.yaml:70:21: analysis.caught_up_within: found a unit of force; allowed: a "
            "number and a unit of points, such as '8 points'; that is how green_cover is measured"
        ],
    ),
    "caught up to the last point": (
        "caught_up_within: 0 points",
        ["trial.yaml:70:21: analysis.caught_up_within: found '0'; allowed: more than 0"],
    ),
    "no covariate": ("covariate: none", []),
    "the baseline as covariate": ("covariate: baseline", []),
    "another measure as covariate": (
        "covariate: {measure: colour_rating, on: baseline}",
        [],
    ),
    "a covariate that is a word": (
        "covariate: before",
        [
            "trial.yaml:70:14: analysis.covariate: found 'before'; allowed: none, baseline, "
            "sun_hours"
        ],
    ),
    "sun without shade": (
        "covariate: sun_hours",
        [
            "trial.yaml:70:14: analysis.covariate: found 'sun_hours' without shade, time_zone "
            "under site; allowed: hours of sun where they can be worked out from shade, latitude, "
            "longitude, time_zone; add what is missing, or take 'baseline'"
        ],
    ),
    "a covariate that nothing defines": (
        "covariate: {measure: shade, on: baseline}",
        [
            "trial.yaml:70:24: analysis.covariate.measure: found 'shade'; allowed: green_cover, "
            "colour_rating, pull_force"
        ],
    ),
    "a covariate that was not observed then": (
        "covariate: {measure: pull_force, on: baseline}",
        [
            "trial.yaml:70:40: analysis.covariate.on: found 'baseline'; allowed: a date on which "
            "pull_force is observed (2026-03-24, 2026-04-17)"
        ],
    ),
    "a covariate after the covers went on": (
        "covariate: {measure: green_cover, on: 2026-03-10}",
        [
            "trial.yaml:70:41: analysis.covariate.on: found '2026-03-10'; allowed: a date not "
            "after the covers went on (2026-01-19); what the covers can have changed may not "
            "correct for them"
        ],
    ),
    "a covariate on several dates": (
        "covariate: {measure: green_cover, on: visits}",
        [
            "trial.yaml:70:41: analysis.covariate.on: found 'visits', which is 5 dates; allowed: "
            "one date"
        ],
    ),
    "an offset": ("logit_offset: 0.25 %", []),
    "no offset": (
        "logit_offset: 0 %",
        ["trial.yaml:70:17: analysis.logit_offset: found '0 %'; allowed: more than 0"],
    ),
    "an offset beyond sense": (
        "logit_offset: 30 %",
        ["trial.yaml:70:17: analysis.logit_offset: found '30 %'; allowed: 25 or less"],
    ),
    "an offset of another kind": (
        "logit_offset: 1 lbf",
        [
            "trial.yaml:70:17: analysis.logit_offset: found '1 lbf'; allowed: a number and a unit "
            "(%), such as '80 %'"
        ],
    ),
}


@pytest.mark.parametrize("name", FURTHER)
def test_a_further_line_is_told(change: Change, name: str) -> None:
    line, said = FURTHER[name]
    assert change((ALPHA, f"{ALPHA}  {line}\n")) == said


def test_a_family_is_sound(change: Change) -> None:
    assert change((AFTER, "compare: {each: [fleece, woven], with: open}")) == []


def test_baseline_as_covariate_needs_a_baseline(change: Change) -> None:
    said = change(
        (ALPHA, f"{ALPHA}  covariate: baseline\n"),
        (
            "    from: photos\n    per_plot: 1\n    dates: [baseline, visits]",
            "    from: photos\n    per_plot: 1\n    dates: [visits]",
        ),
    )
    assert said == [
        "trial.yaml:70:14: analysis.covariate: found 'baseline'; allowed: a date on which "
        "green_cover is observed (2026-03-10, 2026-03-16, 2026-03-24, 2026-04-04, 2026-04-17)"
    ]


def test_sun_as_covariate_needs_shade_and_place(change: Change) -> None:
    asked = (ALPHA, f"{ALPHA}  covariate: sun_hours\n")
    shade = "  shade: [{name: oaks, azimuth: [90, 130], height_angle: 18}]\n"
    site = ("  country: US\n", f"  country: US\n  time_zone: America/New_York\n{shade}")
    assert change(asked, site) == []
    (told,) = change(asked, site, ("  latitude: 43.1\n", ""))
    assert "found no latitude beside 'shade'" in told
    (told,) = change(asked, ("  latitude: 43.1\n  longitude: -77.6\n", ""))
    assert "found 'sun_hours' without shade, latitude, longitude, time_zone under site" in told


def test_days_gained_needs_two_visits_after_the_covers(change: Change) -> None:
    said = change(
        (ALPHA, f"{ALPHA}  days_gained: {{measure: pull_force, level: 40 lbf}}\n"),
        ("dates: [2026-03-24, 2026-04-17]", "dates: [2026-04-17]"),
    )
    assert said == [
        "trial.yaml:70:26: analysis.days_gained.measure: found pull_force, observed on "
        "2026-04-17 from covers_off on; allowed: a measure with two such dates; days gained "
        "needs at least two visits after the covers came off"
    ]


def test_a_family_is_compared_after_it_was_applied(change: Change) -> None:
    said = change(
        (AFTER, "compare: {each: [fleece, woven], with: open}"),
        ("on: 2026-03-24", "on: 2026-01-15"),
    )
    assert said == [
        "trial.yaml:66:9: analysis.primary.on: found '2026-01-15'; allowed: a date after the "
        "covers went on (2026-01-19)"
    ]


PLANNINGS = {
    "a spread in the unit of another measure": (
        "{sd: 5 lbf}",
        [
            "trial.yaml:70:16: planning.sd: found a unit of force; allowed: a number and a unit of "
            "points, such as '8 points'; that is how green_cover is measured"
        ],
    ),
    "a share of a mean that is not there": (
        "{cv: 10 %}",
        [
            "trial.yaml:70:16: planning.cv: found '10 %' without its mean; allowed: both; add "
            "'mean: ...', what you expect of green_cover"
        ],
    ),
    "a mean of nothing, in the unit of another measure": (
        "{mean: 60 lbf}",
        [
            "trial.yaml:70:18: planning.mean: found a mean without its cv; allowed: both; add "
            "'cv: ...', such as 'cv: 10 %'",
            "trial.yaml:70:18: planning.mean: found a unit of force; allowed: a number and a unit "
            "of points, such as '8 points'; that is how green_cover is measured",
        ],
    ),
    "more than all of it": (
        "{cv: 10 %, mean: 120 %}",
        [
            "trial.yaml:70:28: planning.mean: found '120'; allowed: more than 0, and at most 100",
        ],
    ),
    "no spread, which the toolkit then supplies": ("{power: 90 %}", []),
    "a share of a mean": ("{cv: 10 %, mean: 60 %}", []),
    "a spread": ("{sd: 5 points, power: 80 %}", []),
}


@pytest.mark.parametrize("name", PLANNINGS)
def test_what_is_planned_by_is_told(change: Change, name: str) -> None:
    written, said = PLANNINGS[name]
    assert change((ALPHA, f"{ALPHA}planning: {written}\n")) == said


def test_a_definition_without_a_primary_question_is_told_what_one_is(change: Change) -> None:
    primary = (
        "  primary:\n    measure: green_cover\n    on: 2026-03-24\n"
        "    compare: [fleece, open]\n    matters_from: 8 points\n"
    )
    assert change((primary, "")) == [
        "trial.yaml:63:1: analysis.primary: is missing; add 'primary: ...' (the one question that "
        "the trial is judged by: measure, on, compare and matters_from)"
    ]
