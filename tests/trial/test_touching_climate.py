"""Changes of what temperatures and light rest on, after the freeze."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from analysis.planned import planned
from wintersward.trial import Definition
from wintersward.trial.touching import EVERYTHING, touched_by

LOGGED = """\
  soil:
    from: logger
    what: soil temperature
    depth: 4 in
    dates: [visits]
"""
CLIMATE = """\
climate:
  degree_days: {measure: soil, base: 0 degC, method: sine, from: first_event}
  risks: {canopy_heat: {hours: 5, source: extension agent}}
"""
ZONE = "  time_zone: America/New_York\n"
SHADE = "  shade: [{name: stand, height: 30 ft, distance: 40 ft, bearing: 200}]\n"
Read = Callable[..., Definition]
Place = tuple[str | int, ...]
ALL = ("logged", "summed", "shaded")
OF_SOIL = {"measure:soil"}


@pytest.fixture
def read(sound: str, tmp_path: Path) -> Read:
    """Read the sound definition with loggers, climate and shade, and with parts replaced."""

    def make(*changes: tuple[str, str], parts: tuple[str, ...] = ALL) -> Definition:
        site = (ZONE if {"logged", "shaded"} & {*parts} else "") + (
            SHADE if "shaded" in parts else ""
        )
        text = sound.replace("  country: US\n", f"  country: US\n{site}")
        text = text.replace("  blocks: 6\n", "  blocks: 6\n  north: 20\n")
        if "logged" in parts:
            text = text.replace("analysis:\n", f"{LOGGED}analysis:\n")
        if "summed" in parts:
            text += CLIMATE
        return planned(tmp_path, *changes, text=text)

    return make


@pytest.mark.parametrize(
    ("place", "touched"),
    [
        (("climate",), {"climate"}),
        (("climate", "degree_days", "base"), {"climate"}),
        (("climate", "risks", "canopy_heat", "hours"), {"climate"}),
        (("climate", "risks", "canopy_heat", "source"), set()),
        (("measures", "soil", "complete"), {*OF_SOIL, "climate"}),
        (("measures", "soil", "depth"), {*OF_SOIL, "climate"}),
        (("measures", "soil", "label"), set()),
        (("measures", "pull_force", "per_plot"), {"measure:pull_force"}),
        (("site", "time_zone"), {*OF_SOIL, "climate", "light"}),
        (("site", "latitude"), {"light"}),
        (("site", "elevation"), {"light"}),
        (("site", "shade"), {"light"}),
        (("site", "shade", 0, "height"), {"light"}),
        (("site", "shade", 0, "name"), set()),
        (("site", "name"), set()),
        (("site", "turf", "root_zone"), set()),
        (("layout", "north"), {"light"}),
        (("layout", "blocks_follow"), set()),
        (("site",), {EVERYTHING}),
    ],
)
def test_what_a_line_touches(read: Read, place: Place, touched: set[str]) -> None:
    definition = read()
    assert touched_by(place, definition, definition) == touched


@pytest.mark.parametrize(
    ("parts", "place", "touched"),
    [
        (("logged",), ("measures", "soil", "depth"), OF_SOIL),
        (("logged",), ("site", "time_zone"), OF_SOIL),
        (("logged",), ("site", "latitude"), set()),
        (("logged",), ("layout", "north"), set()),
        (("shaded",), ("site", "time_zone"), {"light"}),
        ((), ("site", "latitude"), set()),
    ],
)
def test_what_is_not_asked_for_is_not_touched(
    read: Read, parts: tuple[str, ...], place: Place, touched: set[str]
) -> None:
    definition = read(parts=parts)
    assert touched_by(place, definition, definition) == touched


def test_what_came_or_went_counts_as_well(read: Read) -> None:
    with_all, without = read(), read(parts=())
    assert touched_by(("site", "shade"), without, with_all) == {"light"}
    assert touched_by(("site", "shade"), with_all, without) == {"light"}
    assert touched_by(("measures", "soil"), without, with_all) == {*OF_SOIL, "climate"}
    assert touched_by(("climate",), with_all, without) == {"climate"}


def test_another_first_day_of_the_sums(read: Read) -> None:
    old = read()
    new = read(("first_event: 2026-04-18", "first_event: 2026-04-19"))
    assert touched_by(("dates", "first_event"), old, new) == {"climate"}
    assert touched_by(("dates", "first_event"), read(parts=()), read(parts=())) == frozenset()


class TestSunAsCovariate:
    ASKED = ("  alpha: 0.05\n", "  alpha: 0.05\n  covariate: sun_hours\n")

    @pytest.mark.parametrize(
        ("place", "touched"),
        [
            (("site", "shade"), {"light", "covariate"}),
            (("site", "shade", 0, "bearing"), {"light", "covariate"}),
            (("site", "shade", 0, "name"), set()),
            (("site", "latitude"), {"light", "covariate"}),
            (("site", "longitude"), {"light", "covariate"}),
            (("site", "time_zone"), {"light", "covariate"}),
            (("layout", "north"), {"light", "covariate"}),
            (("measures", "green_cover", "window"), {"measure:green_cover", "primary"}),
        ],
    )
    def test_what_moves_the_sun_touches_it(
        self, read: Read, place: Place, touched: set[str]
    ) -> None:
        definition = read(self.ASKED, parts=("shaded",))
        assert touched_by(place, definition, definition) == touched

    def test_it_counts_whether_it_came_or_went(self, read: Read) -> None:
        without, asked = read(parts=("shaded",)), read(self.ASKED, parts=("shaded",))
        for old, new in ((without, asked), (asked, without)):
            assert touched_by(("site", "latitude"), old, new) == {"light", "covariate"}
            assert touched_by(("analysis", "covariate"), old, new) == {"covariate"}

    def test_another_day_of_the_question_is_another_mean(self, read: Read) -> None:
        later = ("    on: 2026-03-24", "    on: 2026-04-04")
        old, new = read(self.ASKED, parts=("shaded",)), read(self.ASKED, later, parts=("shaded",))
        touched = touched_by(("analysis", "primary", "on"), old, new)
        assert touched == {"primary", "covariate"}
        assert touched_by(("analysis", "primary", "on"), old, old) == {"primary"}

    def test_a_visit_that_moved_leaves_it_alone(self, read: Read) -> None:
        moved = ("2026-03-16, 2026-03-24", "2026-03-17, 2026-03-24")
        old, new = read(self.ASKED, parts=("shaded",)), read(self.ASKED, moved, parts=("shaded",))
        assert "covariate" not in touched_by(("dates", "visits"), old, new)
