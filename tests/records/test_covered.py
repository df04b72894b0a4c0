"""Covers and what befell them, on plots that were drawn for none."""

from __future__ import annotations

from typing import Any

import pytest

from records.flag_fields import definition, lines, plots, table
from wintersward.records.covered import bare_events, drawn_for_cover
from wintersward.trial import Diary

# 1A lies under fleece, 1B is open, 1C lies under the woven cover.
SPELL: dict[str, Any] = {"on": "2026-01-19", "off": "2026-03-09"}
KIND = "cover where none was drawn"


def told(*events: dict[str, Any], covers: tuple[dict[str, Any], ...] = (SPELL,)) -> list[str]:
    happened = [{"date": "2026-02-05", "what": "blown off"} | event for event in events]
    diary = Diary.model_validate({"covers": covers, "cover_events": happened})
    return [str(problem) for problem in bare_events(definition(), diary, plots())]


def test_plots_are_drawn_for_a_cover_or_not() -> None:
    drawn = drawn_for_cover(definition(), plots())
    assert drawn is not None
    assert drawn.tolist() == (plots()["cover"] != "open").tolist()


def test_a_cover_cannot_be_blown_off_an_open_plot() -> None:
    assert told({"plots": ["1A"]}, {"plots": ["101", "1B"]}) == [
        "diary.yaml: cover_events.2.plots.2: found '1B'; allowed: a plot on which a cover lay on "
        "2026-02-05, by 'covers'; the plan has no cover there; correct the plot, or tell under "
        "'covers' what lay on it"
    ]


@pytest.mark.parametrize("what", ["lifted", "torn", "partly open", "laid again"])
def test_what_befalls_covers_alone_needs_one(what: str) -> None:
    assert len(told({"what": what, "plots": ["103"]})) == 1


@pytest.mark.parametrize("what", ["snow", "ice", "snow cleared", "standing water", "other"])
def test_snow_and_water_lie_on_open_ground_as_well(what: str) -> None:
    assert told({"what": what, "plots": ["103"], "note": "n"}) == []


@pytest.mark.parametrize(
    ("event", "covers"),
    [
        ({"plots": ["1B"]}, (SPELL, SPELL | {"plots": ["1B"]})),
        ({"plots": ["104"]}, (SPELL, SPELL | {"plots": ["1B"]})),
        ({"plots": ["1B"]}, (SPELL, SPELL | {"plots": ["104"]})),
        ({}, (SPELL,)),
        ({"plots": ["9Z"]}, (SPELL,)),  # told when the diary is read
        ({"plots": ["1B"], "date": "2026-03-20"}, (SPELL,)),  # told when the diary is read
    ],
)
def test_a_cover_that_the_diary_tells_of_may_come_off(
    event: dict[str, Any], covers: tuple[dict[str, Any], ...]
) -> None:
    assert told(event, covers=covers) == []


def test_a_cover_on_a_plot_drawn_without_is_flagged() -> None:
    diary = {"covers": [SPELL, SPELL | {"on": "2026-01-20", "plots": ["1A", "1B"]}]}
    assert lines([], diary) == [
        f"covers, 2026-01-20: flag {KIND}: the diary has a cover on 2 plots for which the plan has "
        "none: 103, 104; rule: covers lie where the plan has them; if it is a slip, correct the "
        "plots under covers in diary.yaml; if covers did lie there, tell it under deviations as "
        "well"
    ]
    assert list(table([], diary)["plot"]) == ["103, 104"]


def test_covers_where_they_were_drawn_are_not() -> None:
    assert lines([], {"covers": [SPELL, SPELL | {"plots": ["1A", "105"]}]}) == []
