"""Changes of limits after the freeze: they touch the verdicts, their wording touches nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from analysis.planned import planned
from wintersward.trial import Definition
from wintersward.trial.touching import touched_by

LIMITS = """\
decisions:
  ready_when:
    pull_force: {at_least: 45 lbf, on: judged, source: league}
  covers_off_when: {soil_temperature: 50 degF, days_in_a_row: 5, not_after: covers_end}
"""
Read = Callable[..., Definition]


@pytest.fixture
def read(sound: str, tmp_path: Path) -> Read:
    def make(*changes: tuple[str, str], limits: str = LIMITS) -> Definition:
        text = sound.replace(
            "dates:\n", "dates:\n  judged: 2026-04-17\n  covers_end: 2026-03-20\n", 1
        )
        text += limits
        return planned(tmp_path, *changes, text=text)

    return make


@pytest.mark.parametrize(
    ("place", "touched"),
    [
        (("decisions", "ready_when", "pull_force", "at_least"), {"decisions"}),
        (("decisions", "ready_when", "pull_force", "sure"), {"decisions"}),
        (("decisions", "ready_when", "pull_force", "source"), set()),
        (("decisions", "ready_when", "colour_rating"), {"decisions"}),
        (("decisions", "ready_when", "source"), {"decisions"}),  # a measure of that name
        (("decisions", "covers_off_when", "days_in_a_row"), {"removal"}),
        (("decisions", "covers_off_when", "source"), set()),
        (("decisions", "aeration", "options", "half_inch", "passes"), set()),
        (("decisions",), {"decisions", "removal"}),
    ],
)
def test_what_a_line_touches(read: Read, place: tuple[str | int, ...], touched: set[str]) -> None:
    definition = read()
    assert touched_by(place, definition, definition) == touched


@pytest.mark.parametrize(
    ("change", "touched"),
    [
        (("judged: 2026-04-17", "judged: 2026-03-24"), {"decisions"}),
        (("covers_end: 2026-03-20", "covers_end: 2026-03-22"), {"removal"}),
        (("first_event: 2026-04-18", "first_event: 2026-04-19"), set()),
    ],
)
def test_a_named_day_that_moved(read: Read, change: tuple[str, str], touched: set[str]) -> None:
    name = change[0].partition(":")[0]
    assert touched_by(("dates", name), read(), read(change)) == touched


def test_another_name_for_the_same_day_touches_nothing_else(read: Read) -> None:
    old, new = read(), read(("on: judged", "on: 2026-04-17"))
    assert touched_by(("dates", "visits"), old, new) == frozenset()


def test_a_plan_without_limits_has_none_to_touch(read: Read) -> None:
    old, new = read(limits=""), read(("judged: 2026-04-17", "judged: 2026-03-24"), limits="")
    assert touched_by(("dates", "judged"), old, new) == frozenset()


CLOSING = """\
  hole_closure: {from: sheet, kind: hole_closure, dates: [2026-04-17]}
"""
TINES = (
    "{kind: solid, outside: 0.375 in, spacing: [2 in, 2 in], depth: 4 in}",
    "{kind: hollow, outside: 0.75 in, inside: 0.6 in, spacing: [2 in, 2 in], depth: 4 in}",
)
PLANNED = LIMITS + "  aeration: {on: 2026-03-30, event: first_event}\n"


def closing(read: Read, *changes: tuple[str, str], applied: bool) -> Definition:
    told = [("\nanalysis:\n", f"\n{CLOSING}analysis:\n")]
    if not applied:
        told += [(f", tine: {tine}", "") for tine in TINES]
    return read(*told, *changes, limits=PLANNED)


@pytest.mark.parametrize("applied", [True, False])
def test_the_planned_day_of_the_aeration_may_be_what_closing_counts_from(
    read: Read, applied: bool
) -> None:
    place = ("decisions", "aeration", "on")
    old = closing(read, applied=applied)
    new = closing(read, ("on: 2026-03-30", "on: 2026-04-02"), applied=applied)
    # Where treatments have tines their own day counts.
    assert touched_by(place, old, new) == (set() if applied else {"measure:hole_closure"})
