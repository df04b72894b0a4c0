"""Covers that were blown off, and laid again: when a plot truly lay under them."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintersward.trial.covering import covered_spans
from wintersward.trial.diary import CoverEvent, CoverSpell

END = dt.date(2026, 3, 9)


def spell(on: str, off: str | None = None, plots: object = "all covered") -> CoverSpell:
    return CoverSpell.model_validate({"on": on, "off": off, "plots": plots})


def event(date: str, what: str, plots: object = "all covered") -> CoverEvent:
    return CoverEvent.model_validate({"date": date, "what": what, "plots": plots})


def spans(
    covers: list[CoverSpell],
    events: list[CoverEvent],
    names: tuple[str, ...] = ("101", "1A"),
    drawn: bool = True,
) -> list[tuple[str, str]]:
    found = covered_spans(covers, events, names, drawn, lambda on: END)
    return [(str(on)[5:], str(off)[5:]) for on, off in found]


WINTER = [spell("2026-01-19", "2026-03-09")]
OFF = event("2026-02-05", "blown off", ["1A"])
AGAIN = event("2026-02-07", "laid again", ["101"])


@pytest.mark.parametrize(
    ("events", "expected"),
    [
        ([], [("01-19", "03-09")]),
        ([OFF], [("01-19", "02-05")]),
        ([OFF, AGAIN], [("01-19", "02-05"), ("02-07", "03-09")]),
        ([AGAIN, OFF], [("01-19", "02-05"), ("02-07", "03-09")]),
        # What is off already cannot come off, and what lies cannot be laid.
        ([OFF, event("2026-02-06", "lifted"), AGAIN], [("01-19", "02-05"), ("02-07", "03-09")]),
        ([AGAIN], [("01-19", "03-09")]),
        # Lifted in the morning and laid again: the day lost nothing.
        (
            [event("2026-02-05", "lifted"), event("2026-02-05", "laid again")],
            [("01-19", "02-05"), ("02-05", "03-09")],
        ),
        # Laid again in the morning and blown off at night.
        (
            [
                event("2026-02-01", "lifted"),
                event("2026-02-05", "laid again"),
                event("2026-02-05", "blown off"),
            ],
            [("01-19", "02-01")],
        ),
        ([event("2026-02-05", "blown off", ["102", "1B"])], [("01-19", "03-09")]),
        ([event("2026-02-05", "snow", "all plots")], [("01-19", "03-09")]),
        ([event("2026-01-19", "blown off")], []),
        ([event("2026-03-09", "lifted")], [("01-19", "03-09")]),
        ([event("2026-03-10", "lifted")], [("01-19", "03-09")]),
    ],
)
def test_one_spell(events: list[CoverEvent], expected: list[tuple[str, str]]) -> None:
    assert spans(WINTER, events) == expected


def test_a_spell_without_an_end_reaches_as_far_as_is_told() -> None:
    assert spans([spell("2026-01-19")], [OFF, AGAIN]) == [("01-19", "02-05"), ("02-07", "03-09")]


def test_open_plots_lie_under_no_cover_unless_they_are_named() -> None:
    assert spans(WINTER, [], drawn=False) == []
    own = [*WINTER, spell("2026-02-01", "2026-02-10", ["101"])]
    assert spans(own, [], drawn=False) == [("02-01", "02-10")]
    # "All covered" speaks of the plots drawn for a cover.
    lifted = [event("2026-02-05", "lifted")]
    assert spans(own, lifted, drawn=False) == [("02-01", "02-10")]


def test_what_happened_on_the_day_between_two_spells_befell_the_first() -> None:
    two = [spell("2026-01-19", "2026-02-05"), spell("2026-02-05", "2026-03-09")]
    assert spans(two, [event("2026-02-05", "blown off")]) == [
        ("01-19", "02-05"),
        ("02-05", "03-09"),
    ]


def test_a_spell_that_begins_later_covers_again() -> None:
    two = [*WINTER, spell("2026-02-11", "2026-03-09", ["1A"])]
    assert spans(two, [OFF]) == [("01-19", "02-05"), ("02-11", "03-09")]


_DAYS = st.dates(dt.date(2026, 1, 1), dt.date(2026, 4, 1))


@given(st.lists(st.tuples(_DAYS, st.sampled_from(["lifted", "blown off", "laid again"]))))
def test_events_only_ever_take_days_away(happened: list[tuple[dt.date, str]]) -> None:
    events = [event(str(day), what) for day, what in happened]
    found = covered_spans(WINTER, events, ["101"], True, lambda on: END)
    before = dt.date(2026, 1, 19)
    for on, off in found:
        assert before <= on < off <= END
        before = off
    if not any(one.opens for one in events):
        assert found == [(dt.date(2026, 1, 19), END)]
