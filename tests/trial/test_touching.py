from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from analysis.planned import planned
from wintersward.trial import Definition
from wintersward.trial.touching import EVERYTHING, measure_tag, touched_by

MORE = """\
  days_gained: {measure: green_cover, level: 60 %}
  caught_up_within: 5 points
  covariate: baseline
"""
READ = Callable[..., Definition]


@pytest.fixture
def read(sound: str, tmp_path: Path) -> READ:
    """Read the sound definition with more questions, and with parts replaced."""

    def make(*changes: tuple[str, str]) -> Definition:
        text = sound + MORE
        return planned(tmp_path, *changes, text=text)

    return make


@pytest.mark.parametrize(
    "place",
    [
        ("title",),
        ("question",),
        ("notice",),
        ("report_to",),
        ("people", 0, "name"),
        ("site", "turf", "root_zone"),
        ("planning", "sd"),
        ("measures", "green_cover", "label"),
        ("treatments", "cover", "label"),
        ("treatments", "cover", "levels", "fleece", "label"),
        ("layout", "blocks_follow"),
    ],
)
def test_mere_words_touch_nothing(read: READ, place: tuple[str | int, ...]) -> None:
    definition = read()
    assert touched_by(place, definition, definition) == frozenset()


@pytest.mark.parametrize(
    ("place", "touched"),
    [
        (("analysis", "primary", "matters_from"), {"primary"}),
        (("analysis", "primary", "measure"), {"primary", "caught_up", "days_gained"}),
        (("analysis", "alpha"), {EVERYTHING}),
        (("analysis", "covariate"), {"covariate"}),
        (("analysis", "days_gained", "level"), {"days_gained"}),
        (("analysis", "caught_up_within"), {"caught_up"}),
        (("analysis", "logit_offset"), {"logit"}),
        (("treatments", "cover", "levels", "fleece", "mass"), {EVERYTHING}),
        (("treatments", "cover", "control"), {EVERYTHING}),
        (("layout", "seed"), {EVERYTHING}),
        (("measures", "pull_force", "per_plot"), {"measure:pull_force"}),
        (
            ("measures", "green_cover", "window"),
            {"measure:green_cover", "primary", "days_gained", "caught_up", "covariate"},
        ),
        (("unheard", "of"), {EVERYTHING}),
    ],
)
def test_what_a_line_touches(read: READ, place: tuple[str | int, ...], touched: set[str]) -> None:
    definition = read()
    assert touched_by(place, definition, definition) == touched


class TestDates:
    def test_another_visit_leaves_the_question_alone(self, read: READ) -> None:
        old, new = read(), read(("2026-03-16, 2026-03-24", "2026-03-17, 2026-03-24"))
        assert touched_by(("dates", "visits"), old, new) == {
            measure_tag("green_cover"),
            measure_tag("colour_rating"),
            "days_gained",
            "caught_up",
        }

    def test_a_baseline_that_moved_touches_the_covariate(self, read: READ) -> None:
        old, new = read(), read(("baseline: 2026-01-15", "baseline: 2026-01-16"))
        found = touched_by(("dates", "baseline"), old, new)
        assert "covariate" in found
        assert "primary" not in found

    @pytest.mark.parametrize(
        "change",
        [
            ("covers_on: 2026-01-19", "covers_on: 2026-01-20"),
            ("covers_off: 2026-03-09", "covers_off: 2026-03-08"),
            ("aeration: 2026-03-25", "aeration: 2026-03-26"),
        ],
    )
    def test_a_day_that_begins_or_ends_a_treatment_touches_everything(
        self, read: READ, change: tuple[str, str]
    ) -> None:
        name = change[0].partition(":")[0]
        assert touched_by(("dates", name), read(), read(change)) == {EVERYTHING}

    def test_a_day_that_nothing_rests_on_touches_nothing(self, read: READ) -> None:
        old, new = read(), read(("first_event: 2026-04-18", "first_event: 2026-04-19"))
        assert touched_by(("dates", "first_event"), old, new) == frozenset()

    def test_a_named_primary_day_that_moved(self, read: READ) -> None:
        named = ("    on: 2026-03-24", "    on: judged")
        visits = "visits: [2026-03-10, 2026-03-16, 2026-03-24,"
        old = read(named, (visits, f"judged: 2026-03-24\n  {visits}"))
        new = read(named, (visits, f"judged: 2026-03-16\n  {visits}"))
        assert touched_by(("dates", "judged"), old, new) == {"primary"}

    def test_a_measure_with_one_visit_less(self, read: READ) -> None:
        old, new = read(), read(("dates: [2026-03-24, 2026-04-17]", "dates: [2026-03-24]"))
        assert touched_by(("measures", "pull_force", "dates"), old, new) == {"measure:pull_force"}
