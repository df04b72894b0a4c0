"""Work in the field that a plan asks for and that goes wrong there, named one by one."""

from __future__ import annotations

from pathlib import Path

import pytest

from analysis.planned import one_factor, planned
from wintersward.analysis import plan_concerns
from wintersward.analysis.concern import Concern
from wintersward.analysis.field_concerns import FIELD_CHECKS, in_feet
from wintersward.trial import Definition

Change = tuple[str, str]


def found(definition: Definition, kind: str) -> list[Concern]:
    said = [one for check in FIELD_CHECKS for one in check(definition)]
    assert {str(one) for one in said} <= {str(one) for one in plan_concerns(definition)}
    return [one for one in said if one.kind == kind]


ALLEY = ("alley: 2 ft", "alley: 6 ft")
PHOTO = "    per_plot: 1\n"
RATER = ("role: extension agent", "role: coach")
# The change, where it is told, and a part of what is said.
CASES: dict[str, tuple[str, tuple[Change, ...], str, str]] = {
    "after the event": (
        "aeration after play",
        (("first_event: 2026-04-18", "first_event: 2026-03-24"),),
        "treatments.aeration.applied",
        "aeration begins on 2026-03-25, after the first event (2026-03-24)",
    ),
    "before the covers": (
        "aeration before covers",
        (("aeration: 2026-03-25", "aeration: 2026-01-17"),),
        "treatments.aeration.applied",
        "aeration begins on 2026-01-17, before the covers have lain (2026-01-19)",
    ),
    "six days": (
        "short covers",
        (("covers_off: 2026-03-09", "covers_off: 2026-01-25"),),
        "dates.covers_off",
        "covers lie for 6 days only (2026-01-19 to 2026-01-25)",
    ),
    "only after the event": (
        "late visits",
        (("dates: [2026-03-24, 2026-04-17]", "dates: [2026-04-20, 2026-04-25]"),),
        "measures.pull_force.dates",
        "pull_force is first observed on 2026-04-20, after the first event (2026-04-18)",
    ),
    "long after the event": (
        "late visits",
        (("dates: [2026-03-24, 2026-04-17]", "dates: [2026-03-24, 2026-05-17]"),),
        "measures.pull_force.dates",
        "the last visit, 2026-05-17, is 29 days after the first event (2026-04-18)",
    ),
    "thirteen inches": (
        "deep tines",
        (
            (
                "inside: 0.6 in, spacing: [2 in, 2 in], depth: 4 in",
                "inside: 0.6 in, spacing: [2 in, 2 in], depth: 13 in",
            ),
        ),
        "treatments.aeration.levels.hollow.tine.depth",
        "Hollow tine 3/4 in goes 13 in deep, and few aerators reach 12 in",
    ),
    "more samples than turf": (
        "no room for samples",
        (("    per_plot: 3\n", "    per_plot: 70\n    destructive: true\n"),),
        "measures.pull_force.per_plot",
        # 8 by 4 ft are 2.97 m2, or 132 squares of 0.15 m.
        "pull_force take 140 samples out of every plot over the season, and the 8 by 4 ft inside "
        "its edge hold 132 that are 6 in apart",
    ),
    "no edge": (
        "no edge",
        (("alley: 2 ft", "alley: 0 ft"), ("edge_left_out: 1 ft", "edge_left_out: 0 ft")),
        "layout.edge_left_out",
        "plots touch and are observed up to their edge",
    ),
    "subplots touch": (
        "aerator between plots",
        (),
        "layout.alley",
        "subplots of aeration touch, and whole plots are 2 ft apart: an aerator may be too wide",
    ),
    "January": (
        "winter baseline",
        (),
        "measures.green_cover.dates",
        "first observed on 2026-01-15, in mid-winter at latitude 43.1",
    ),
    "all know": (
        "nobody blind",
        (),
        "measures.colour_rating.raters",
        "all who rate (te, rx) know which plots were covered",
    ),
    "no quadrat, one photo": (
        "photos",
        (),
        "measures.green_cover.quadrat",
        "nothing tells how much of a plot a photo shows; the primary question rests on one photo",
    ),
    "one photo": (
        "photos",
        ((PHOTO, f"{PHOTO}    quadrat: [3 ft, 3 ft]\n"),),
        "measures.green_cover.per_plot",
        "the primary question rests on one photo of each plot",
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_what_goes_wrong_in_the_field_is_named(tmp_path: Path, name: str) -> None:
    kind, changes, field, said = CASES[name]
    (one,) = found(planned(tmp_path, *changes), kind)
    assert one.field == field
    assert said in one.what


@pytest.mark.parametrize(
    ("kind", "changes"),
    [
        ("aeration after play", ()),
        ("aeration before covers", ()),
        ("short covers", (("covers_off: 2026-03-09", "covers_off: 2026-01-26"),)),
        ("late visits", (("03-24, 2026-04-17]\nanalysis", "03-24, 2026-05-16]\nanalysis"),)),
        ("deep tines", (("inside: 0.6 in, spacing: [2 in, 2 in], depth: 4 in",
                         "inside: 0.6 in, spacing: [2 in, 2 in], depth: 12 in"),)),
        ("no room for samples", (
            ("    per_plot: 3\n", "    per_plot: 66\n    destructive: true\n"),
        )),
        ("no edge", (("alley: 2 ft", "alley: 0 ft"),)),
        ("no edge", (("edge_left_out: 1 ft", "edge_left_out: 0 ft"),)),
        ("aerator between plots", (ALLEY,)),
        ("winter baseline", (("latitude: 43.1", "latitude: 40.0"),)),
        ("winter baseline", (("latitude: 43.1", "latitude: -43.1"),)),
        ("winter baseline", (("baseline: 2026-01-15", "baseline: 2025-11-15"),)),
        ("nobody blind", (RATER,)),
        ("photos", ((PHOTO, "    per_plot: 2\n    quadrat: [3 ft, 3 ft]\n"),)),
    ],
)  # fmt: skip
def test_what_just_does_is_no_concern(
    tmp_path: Path, kind: str, changes: tuple[Change, ...]
) -> None:
    assert found(planned(tmp_path, *changes), kind) == []


def test_a_strip_plot_lets_the_aerator_pass(tmp_path: Path) -> None:
    strips = (
        "  kind: split plot\n  whole_plot: cover\n  subplot: aeration\n",
        "  kind: strip plot\n  row_strips: cover\n  column_strips: aeration\n",
    )
    assert found(planned(tmp_path, strips), "aerator between plots") == []


def test_where_nothing_is_aerated_no_tine_is_looked_for(tmp_path: Path) -> None:
    covers = one_factor(tmp_path)
    for kind in ("aeration before covers", "aeration after play", "aerator between plots"):
        assert found(covers, kind) == []


def test_the_more_photos_the_less_they_help_is_said(tmp_path: Path) -> None:
    (one,) = found(planned(tmp_path), "photos")
    assert "more help only a little" in one.instead


def test_lengths_are_in_the_unit_of_the_reader(tmp_path: Path) -> None:
    assert in_feet(planned(tmp_path), [3.048, 1.8288]) == "10 by 6 ft"
    metric = planned(tmp_path, ("units: us", "units: metric"))
    assert in_feet(metric, [3.048]) == "3.05 m"
