"""What a person reads when the parts of a definition do not fit: whole messages."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Change = Callable[..., list[str]]

DATES = "baseline, covers_on, covers_off, aeration, first_event, visits"

# What only the parts together can tell.
TOGETHER = {
    "same initials": (
        ("initials: te", "initials: rx"),
        [
            "trial.yaml:6:57: people.2.initials: found 'rx'; allowed: other initials than those "
            "of R. Example",
            "trial.yaml:56:14: measures.colour_rating.raters.1: found 'te'; allowed: initials "
            "of people (rx, rx); add the person to 'people'",
        ],
    ),
    "no date for covers": (
        ("  covers_on: 2026-01-19\n", ""),
        [
            "trial.yaml:19:3: dates: found no covers_on; add a line 'covers_on: ' with your "
            "date, such as 2026-01-19"
        ],
    ),
    "date for covers misspelt": (
        ("  covers_on: 2026-01-19\n", "  cover_on: 2026-01-19\n"),
        ["trial.yaml:19:3: dates: found no covers_on; did you mean cover_on?"],
    ),
    "dates out of order": (
        ("covers_off: 2026-03-09", "covers_off: 2026-01-18"),
        [
            "trial.yaml:21:15: dates.covers_off: found '2026-01-18'; allowed: a date after "
            "covers_on (2026-01-19); put the dates in order"
        ],
    ),
    "visits out of order": (
        ("2026-03-10, 2026-03-16", "2026-03-16, 2026-03-10"),
        [
            "trial.yaml:24:24: dates.visits.2: found '2026-03-10'; allowed: a date after "
            "2026-03-16; put the dates in order"
        ],
    ),
    "several dates where one is meant": (
        ("covers_off: 2026-03-09", "covers_off: [2026-03-09, 2026-03-10]"),
        [
            "trial.yaml:21:15: dates.covers_off: found a list; allowed: one date; remove the "
            "brackets"
        ],
    ),
    "control that is no level": (
        ("control: open", "control: opn"),
        [
            "trial.yaml:27:14: treatments.cover.control: found 'opn'; allowed: open, fleece, "
            "woven; did you mean open?"
        ],
    ),
    "level of two factors": (
        ("solid: {label", "woven: {label"),
        [
            "trial.yaml:34:14: treatments.aeration.control: found 'solid'; allowed: woven, "
            "hollow; name one of the levels, or add the level",
            "trial.yaml:36:14: treatments.aeration.levels.woven: found 'woven'; allowed: a name "
            "that is not a level of cover as well; choose another name",
        ],
    ),
    "applied on a date that nothing defines": (
        ("applied: aeration", "applied: airation"),
        [
            "trial.yaml:33:14: treatments.aeration.applied: found 'airation'; allowed: a name "
            f"from 'dates' ({DATES}) or a date; did you mean aeration?"
        ],
    ),
    "applied on several dates": (
        ("applied: aeration", "applied: visits"),
        [
            "trial.yaml:33:14: treatments.aeration.applied: found 'visits', which is 5 dates; "
            "allowed: one date"
        ],
    ),
    "aerated while covers lie": (
        ("aeration: 2026-03-25", "aeration: 2026-03-08"),
        [
            "trial.yaml:33:14: treatments.aeration.applied: found 'aeration' (2026-03-08); "
            "allowed: a day on which no covers lie (they lie from 2026-01-19 to 2026-03-09); "
            "nothing can be aerated under covers; look at both dates"
        ],
    ),
    "aerated while covers lie, by a date": (
        ("applied: aeration", "applied: 2026-01-20"),
        [
            "trial.yaml:33:14: treatments.aeration.applied: found '2026-01-20'; "
            "allowed: a day on which no covers lie (they lie from 2026-01-19 to 2026-03-09); "
            "nothing can be aerated under covers; look at both dates"
        ],
    ),
    "holes that overlap": (
        ("inside: 0.6 in, spacing: [2 in, 2 in]", "inside: 0.6 in, spacing: [2 in, 0.5 in]"),
        [
            "trial.yaml:37:107: treatments.aeration.levels.hollow.tine.spacing: found a spacing "
            "smaller than the outside diameter, so that holes overlap; allowed: the outside "
            "diameter or more; measure from the middle of one hole to the middle of the next"
        ],
    ),
    "measure on a date that nothing defines": (
        ("dates: [2026-03-24, 2026-04-17]", "dates: [2026-03-24, last_visit]"),
        [
            "trial.yaml:62:25: measures.pull_force.dates.2: found 'last_visit'; allowed: a name "
            f"from 'dates' ({DATES}) or a date; did you mean visits?"
        ],
    ),
    "measure named like a factor": (
        ("pull_force:", "cover:"),
        [
            "trial.yaml:59:5: measures.cover: found 'cover'; allowed: a name that is neither a "
            "factor nor a column of the tables; choose another name"
        ],
    ),
    "rater unknown": (
        ("raters: [te, rx]", "raters: [te, zz]"),
        [
            "trial.yaml:56:18: measures.colour_rating.raters.2: found 'zz'; allowed: initials "
            "of people (rx, te); add the person to 'people'"
        ],
    ),
    "rater twice": (
        ("raters: [te, rx]", "raters: [te, te]"),
        [
            "trial.yaml:56:18: measures.colour_rating.raters.2: found 'te' a second time; name "
            "each rater once"
        ],
    ),
}


@pytest.mark.parametrize("name", TOGETHER)
def test_parts_that_do_not_fit_are_told(change: Change, name: str) -> None:
    changed, said = TOGETHER[name]
    assert change(changed) == said


@pytest.mark.parametrize("day", ["2026-01-19", "2026-03-09"])
def test_the_days_on_which_covers_go_on_and_come_off_can_be_aerated(
    change: Change, day: str
) -> None:
    assert change(("aeration: 2026-03-25", f"aeration: {day}")) == []


def test_holes_that_touch_are_taken(change: Change) -> None:
    spaced = "inside: 0.6 in, spacing: [2 in, 2 in]"
    assert change((spaced, spaced.replace("[2 in, 2 in]", "[0.75 in, 0.75 in]"))) == []


def test_two_factors_make_a_split_plot(change: Change) -> None:
    said = change(
        (
            "layout:\n",
            "  sand:\n    control: bare\n    levels:\n      bare: {label: No sand}\n"
            "      dressed: {label: Sand}\nlayout:\n",
        )
    )
    assert said == ["trial.yaml:26:3: treatments: found 3 entries; allowed: at most 2"]


def test_a_factor_may_not_be_named_like_a_column(change: Change) -> None:
    said = change(("  cover:\n", "  block:\n"), ("whole_plot: cover", "whole_plot: block"))
    assert said == [
        "trial.yaml:27:5: treatments.block: found 'block'; allowed: a name that no table or "
        "formula uses; such as block_used"
    ]


def test_several_faults_are_all_told_in_order(change: Change) -> None:
    said = change(
        ("units: us", "units: imperial"),
        ("covers_off: 2026-03-09", "covers_off: 2026-01-18"),
        ("control: open", "control: opn"),
        ("blocks: 6", "blocks: six"),
        ("raters: [te, rx]", "raters: [te, zz]"),
        ("[fleece, open]", "[open, open]"),
    )
    assert [line.split(": found")[0] for line in said] == [
        "trial.yaml:3:8: units",
        "trial.yaml:21:15: dates.covers_off",
        "trial.yaml:27:14: treatments.cover.control",
        "trial.yaml:42:11: layout.blocks",
        "trial.yaml:56:18: measures.colour_rating.raters.2",
        "trial.yaml:67:14: analysis.primary.compare",
    ]
