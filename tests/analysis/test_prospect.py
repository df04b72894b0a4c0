"""What a definition will be judged by: stratum, degrees of freedom, and the spread it is given."""

from __future__ import annotations

from pathlib import Path

import pytest

from analysis.planned import BLOCKS, one_factor, planned
from wintersward.analysis.power import blocks_needed, power
from wintersward.analysis.prospect import COVER_SD, RATING_CV, prospect

SUBPLOT = (("[fleece, open]", "[hollow, solid]"), ("on: 2026-03-24", "on: 2026-04-17"))
STRIPS = (
    "  kind: split plot\n  whole_plot: cover\n  subplot: aeration\n",
    "  kind: strip plot\n  row_strips: cover\n  column_strips: aeration\n",
)


@pytest.mark.parametrize(
    ("changes", "unit", "units", "df", "layout"),
    [
        ((), "whole plot", 6, 10, ("split plot", (3, 2), "first")),
        (SUBPLOT, "subplot", 18, 15, ("split plot", (3, 2), "second")),
        ((STRIPS,), "row strip", 6, 10, ("strip plot", (3, 2), "first")),
        ((STRIPS, *SUBPLOT), "column strip", 6, 5, ("strip plot", (3, 2), "second")),
    ],
)
def test_two_factors_are_judged_in_their_own_stratum(
    tmp_path: Path,
    changes: tuple[tuple[str, str], ...],
    unit: str,
    units: int,
    df: int,
    layout: tuple[str, tuple[int, int], str],
) -> None:
    ahead = prospect(planned(tmp_path, *changes))
    assert (ahead.unit_kind, ahead.units(6), ahead.df(6)) == (unit, units, df)
    kind, treatments, compare = layout
    row = power(kind, treatments, 6, difference=8, sd=COVER_SD, compare=compare).iloc[0]  # type: ignore[arg-type]
    assert (ahead.units(6), ahead.df(6)) == (row["units"], row["df"])
    assert ahead.power(6) == pytest.approx(row["power"])
    assert ahead.half_width(6) == pytest.approx(row["half_width"])
    assert ahead.smallest_p(6) == row["smallest_p"]


def test_every_ground_has_its_own_error(tmp_path: Path) -> None:
    grounds = f"{BLOCKS}  grounds: {{upper: Upper field, lower: Lower field}}\n"
    ahead = prospect(one_factor(tmp_path, layout=grounds))
    assert (ahead.blocks, ahead.plan.grounds) == (4, 2)
    assert ahead.units(4) == 8
    # g (b - 1)(t - 1), not (gb - 1)(t - 1): what treatments do on each ground is not error.
    assert ahead.df(4) == 2 * 3 * 2
    assert ahead.smallest_p(4) == 2 / 2**8


def test_a_family_is_planned_comparison_by_comparison(tmp_path: Path) -> None:
    family = ("[fleece, open]", "{each: [fleece, woven], with: open}")
    ahead = prospect(one_factor(tmp_path, family))
    row = power(treatments=3, blocks=4, difference=8, sd=COVER_SD, comparisons=2).iloc[0]
    assert ahead.power(4) == pytest.approx(row["power"])
    assert ahead.half_width(4) == pytest.approx(row["half_width"])
    assert ahead.smallest_p(4) == row["smallest_p"]


@pytest.mark.parametrize(
    ("changes", "sd"),
    [
        ((("  alpha: 0.05\n", "  alpha: 0.05\nplanning: {sd: 5 points}\n"),), 5.0),
        ((("  alpha: 0.05\n", "  alpha: 0.05\nplanning: {cv: 10 %, mean: 60 %}\n"),), 6.0),
        ((("  alpha: 0.05\n", "  alpha: 0.05\nplanning: {power: 90 %}\n"),), COVER_SD),
        ((("measure: green_cover", "measure: colour_rating"), ("8 points", "1")), 1.0),
        (
            (
                ("measure: green_cover", "measure: colour_rating"),
                ("8 points", "1"),
                ("scale: 1-9", "scale: 1-9\n    acceptable: 6"),
            ),
            RATING_CV * 6 / 100,
        ),
    ],
)
def test_the_spread_that_is_taken(
    tmp_path: Path, changes: tuple[tuple[str, str], ...], sd: float
) -> None:
    ahead = prospect(planned(tmp_path, *changes))
    assert ahead.plan.sd == pytest.approx(sd)
    assert ahead.known
    written = "planning: {sd" in changes[0][1] or "cv" in changes[0][1]
    assert (ahead.source == "") == written


def test_the_wanted_power_is_that_of_the_definition(tmp_path: Path) -> None:
    changes = ("  alpha: 0.05\n", "  alpha: 0.05\nplanning: {sd: 5 points, power: 90 %}\n")
    ahead = prospect(one_factor(tmp_path, changes))
    assert ahead.wanted == pytest.approx(0.9)
    assert ahead.needed() == blocks_needed(treatments=3, difference=8, sd=5, wanted=0.9)
    assert ahead.power(4) < 0.9
    seen = power(treatments=3, blocks=4, difference=ahead.detectable(4), sd=5)["power"].iloc[0]
    assert seen == pytest.approx(0.9, abs=1e-6)


def test_more_blocks_than_may_be_asked_for_are_none(tmp_path: Path) -> None:
    changes = ("8 points", "1 points")
    assert prospect(one_factor(tmp_path, changes)).needed() is None


def test_blocks_for_a_randomisation_test_and_for_degrees_of_freedom(tmp_path: Path) -> None:
    ahead = prospect(one_factor(tmp_path))
    # Two treatments change places in each block: 2 / 2^5 is 0.063, 2 / 2^6 is 0.031.
    assert ahead.needed_by_chance() == 6
    assert ahead.needed_for_df(10) == 6
    assert ahead.df(5) == 8
