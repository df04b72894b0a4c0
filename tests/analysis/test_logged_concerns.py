"""Concerns that a measure of loggers raises, and those that it does not."""

from __future__ import annotations

from pathlib import Path

import pytest

from analysis.planned import planned
from wintersward.analysis import plan_concerns
from wintersward.trial import Definition

ZONE = ("  country: US\n", "  country: US\n  time_zone: America/New_York\n")
LOGGED = (
    "analysis:\n",
    "  warmth:\n    from: logger\n    what: canopy temperature\n"
    "    dates: [baseline, 2026-02-20, visits]\nanalysis:\n",
)
ASKED = (
    ("    measure: green_cover\n", "    measure: warmth\n"),
    ("matters_from: 8 points", "matters_from: 2 degF"),
)


def kinds(definition: Definition) -> list[str]:
    return [one.kind for one in plan_concerns(definition)]


def test_loggers_may_be_read_under_covers_and_in_frozen_ground(tmp_path: Path) -> None:
    found = plan_concerns(planned(tmp_path, ZONE, LOGGED))
    assert not [one for one in found if "warmth" in one.field]


@pytest.mark.parametrize("kind", ["under covers", "winter baseline"])
def test_a_question_about_warmth_is_no_question_about_turf(tmp_path: Path, kind: str) -> None:
    assert kind not in kinds(planned(tmp_path, ZONE, LOGGED, *ASKED))
