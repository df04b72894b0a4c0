"""Limits that are decided beforehand: sound ones are read, others told with their place."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Change = Callable[..., list[str]]
ALPHA = "  alpha: 0.05\n"
READY = "decisions:\n  ready_when:\n    "
OFF = "decisions:\n  covers_off_when: "
CASES = {
    "a share of the ground": (f"{READY}green_cover: {{at_least: 85 %, on: 2026-03-24}}", []),
    "a share of the old turf": (
        f"{READY}pull_force: {{at_least: 80 %, of: established turf, on: 2026-03-24, sure: 80 %}}",
        [],
    ),
    "a rule for covers": (
        f"{OFF}{{soil_temperature: 50 degF, days_in_a_row: 5, not_after: covers_off}}",
        [],
    ),
    "a rule with its source": (
        f"{OFF}{{soil_temperature: 50 degF, days_in_a_row: 5, not_after: covers_off, source: us}}",
        [],
    ),
    "a measure that is not there": (
        f"{READY}green_covers: {{at_least: 85 %, on: 2026-03-24}}",
        ["decisions.ready_when.green_covers", "did you mean green_cover?"],
    ),
    "a day on which it is not seen": (
        f"{READY}green_cover: {{at_least: 85 %, on: 2026-05-24}}",
        ["decisions.ready_when.green_cover.on", "a date on which green_cover is observed"],
    ),
    "another unit": (
        f"{READY}green_cover: {{at_least: 85 lbf, on: 2026-03-24}}",
        ["decisions.ready_when.green_cover.at_least", "found a unit of force"],
    ),
    "a share of the old turf in pounds": (
        f"{READY}pull_force: {{at_least: 80 lbf, of: established turf, on: 2026-03-24}}",
        ["decisions.ready_when.pull_force.at_least", "a share, such as 80 %"],
    ),
    "beyond the scale": (
        f"{READY}colour_rating: {{at_least: 60, on: 2026-03-24}}",
        ["decisions.ready_when.colour_rating.at_least", "'60'", "a value from 1 to 9"],
    ),
    "more than the whole ground": (
        f"{READY}green_cover: {{at_least: 500 %, on: 2026-03-24}}",
        ["decisions.ready_when.green_cover.at_least", "'500 %'", "a value from 0 to 100 %"],
    ),
    "a pull below nothing": (
        f"{READY}pull_force: {{at_least: -45 lbf, on: 2026-03-24}}",
        ["decisions.ready_when.pull_force.at_least", "0 N or more"],
    ),
    "no share of the old turf": (
        f"{READY}pull_force: {{at_least: 0 %, of: established turf, on: 2026-03-24}}",
        ["decisions.ready_when.pull_force.at_least", "a share, such as 80 %"],
    ),
    "two ends": (
        f"{READY}green_cover: {{at_least: 85 %, at_most: 99 %, on: 2026-03-24}}",
        ["decisions.ready_when.green_cover", "either at_least or at_most"],
    ),
    "no temperature": (
        f"{OFF}{{soil_temperature: 50 %, days_in_a_row: 5, not_after: covers_off}}",
        ["decisions.covers_off_when.soil_temperature", "a temperature, such as 50 degF"],
    ),
    "covers off before they are on": (
        f"{OFF}{{soil_temperature: 50 degF, days_in_a_row: 5, not_after: 2026-01-02}}",
        ["decisions.covers_off_when.not_after", "a date after the covers went on"],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_limits_are_read_or_told(change: Change, name: str) -> None:
    written, wanted = CASES[name]
    said = change((ALPHA, f"{ALPHA}{written}\n"))
    assert len(said) == bool(wanted)
    assert all(one in said[0] for one in wanted)
