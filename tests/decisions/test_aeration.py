"""The arithmetic of tines against published figures, and what must hold of any tine."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

import wintersward
from wintersward.decisions.aeration import (
    SAND_DENSITY,
    aeration_area,
    hole_count,
    hole_volume,
    passes_to_reach,
    summed_area,
)
from wintersward.errors import WinterswardError
from wintersward.units import from_si, to_si

SQUARE_FOOT = 144.0

# What others have printed, to the digits that they give: diameter and spacings [in], share [%].
PUBLISHED = {
    # Forum of the Golf Course Superintendents Association of America, 2013. They print 13.63,
    # which is 13.636 cut off.
    "5/8 in outside": (0.625, (1.5, 1.5), 13.64, 2),
    "0.470 in inside": (0.470, (1.5, 1.5), 7.71, 2),
    # Log of a golf course, 2012.
    "1/2 in, 2 by 2.5": (0.5, (2.0, 2.5), 3.93, 2),
    # Log of a golf course, 2013.
    "0.4 in, 2 by 1.33": (0.4, (2.0, 1.33), 4.72, 2),
    # Log of a golf course, 2016: 19.5 to 19.6 and 11.0.
    "3/4 in, 1.5 by 1.5": (0.75, (1.5, 1.5), 19.6, 1),
    "3/4 in, 2 by 2": (0.75, (2.0, 2.0), 11.0, 1),
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_shares_of_the_ground_that_others_have_printed(name: str) -> None:
    diameter, spacing, wanted, digits = PUBLISHED[name]
    assert round(aeration_area(diameter, spacing), digits) == wanted


def test_a_share_from_a_count_of_holes() -> None:
    # Log of a golf course, 2012: 1/4 in tines, 81 holes to the square foot, 2.76 %.
    assert round(aeration_area(0.25, math.sqrt(SQUARE_FOOT / 81)), 2) == 2.76


def test_holes_that_others_have_counted() -> None:
    # Log of a golf course, 2013: 0.4 in tines at 2.0 by 1.33 in, 54 holes to the square foot.
    assert round(SQUARE_FOOT * hole_count((2.0, 1.33))) == 54
    assert round(hole_count(0.05)) == 400


# Computed by hand from the area of a circle: diameter [in] against spacings [in], share [%].
SPACINGS = ((1, 1), (1.25, 1.25), (1.5, 1.5), (1.5, 2), (2, 2), (2.5, 2.5), (3, 3), (5, 5))
GRID = {
    0.25: (4.91, 3.14, 2.18, 1.64, 1.23, 0.79, 0.55, 0.20),
    0.375: (11.04, 7.07, 4.91, 3.68, 2.76, 1.77, 1.23, 0.44),
    0.5: (19.63, 12.57, 8.73, 6.54, 4.91, 3.14, 2.18, 0.79),
    0.625: (30.68, 19.63, 13.64, 10.23, 7.67, 4.91, 3.41, 1.23),
    0.75: (44.18, 28.27, 19.63, 14.73, 11.04, 7.07, 4.91, 1.77),
}
HOLES = (144, 92.16, 64, 48, 36, 23.04, 16, 5.76)


@pytest.mark.parametrize("diameter", GRID)
def test_a_grid_of_tines_and_spacings(diameter: float) -> None:
    assert tuple(round(aeration_area(diameter, one), 2) for one in SPACINGS) == GRID[diameter]


def test_holes_of_the_grid() -> None:
    assert [SQUARE_FOOT * hole_count(one) for one in SPACINGS] == pytest.approx(HOLES)


def test_volumes_in_us_units() -> None:
    # 0.4 in at 2.0 by 1.33 in, 3 in deep: 11.81 ft3 for 1000 ft2. The log of 2013 printed 9.84,
    # which is that of 2.5 in.
    inch = to_si(1, "in")
    ground = 1000 * to_si(1, "ft2")

    def feet(depth: float) -> float:
        volume = hole_volume(0.4 * inch, (2 * inch, 1.33 * inch), depth * inch)
        return round(from_si(volume * ground, "ft3"), 2)

    assert (feet(3.0), feet(2.5)) == (11.81, 9.84)


def test_volumes_in_metric_units() -> None:
    # 13 mm at 50 by 50 mm, 100 mm deep: 5.309 % and 5.309 L to the square metre.
    assert round(aeration_area(13, (50, 50)), 3) == 5.309
    assert round(1000 * hole_volume(0.013, 0.05, 0.1), 3) == 5.309


def test_depths_of_sand() -> None:
    # 1/8 in on 1000 ft2: 10.417 ft3, 0.386 yd3. 40 to 50 and 20.3 ft3 on 1000 ft2 as depths:
    # 12.19 to 15.24 mm and 6.19 mm (O'Brien and Hartwiger 2003; Schmid et al. 2014).
    ground = 1000 * to_si(1, "ft2")
    eighth = to_si(0.125, "in") * ground
    assert (round(from_si(eighth, "ft3"), 3), round(from_si(eighth, "yd3"), 3)) == (10.417, 0.386)
    depths = [round(1000 * to_si(feet, "ft3") / ground, 2) for feet in (40, 50, 20.3)]
    assert depths == [12.19, 15.24, 6.19]


def test_sand_weighs_what_its_source_says() -> None:
    # Daniels 2018: one cubic foot of dry sand weighs about 100 pounds.
    foot = SAND_DENSITY * to_si(1, "ft3")
    assert from_si(foot, "lb") == pytest.approx(100, rel=0.002)


def test_passes_to_a_share_of_the_ground() -> None:
    # 1/2 in at 2 by 2 in to 20 %: 4.07 passes by their sum, so 5.
    assert 20 / aeration_area(0.5, 2) == pytest.approx(4.07, abs=0.005)
    assert passes_to_reach(20, 0.5, 2)[0] == 5


def test_two_random_passes() -> None:
    # p = 4.909 %: union 9.577 %, sum 9.817 %.
    assert round(aeration_area(0.5, 2, passes=2), 3) == 9.577
    assert round(summed_area(0.5, 2, passes=2), 3) == 9.817


TINES = st.tuples(
    st.floats(0.002, 0.05), st.floats(1.0, 20.0), st.floats(1.0, 20.0), st.integers(1, 30)
).map(lambda drawn: (drawn[0], (drawn[0] * drawn[1], drawn[0] * drawn[2]), drawn[3]))


@given(TINES)
def test_what_is_hit_is_never_more_than_the_sum_of_the_passes(
    tine: tuple[float, tuple[float, float], int],
) -> None:
    diameter, spacing, passes = tine
    union, summed = aeration_area(*tine), summed_area(*tine)
    assert 0 < union <= 100
    assert union <= summed * (1 + 1e-12)
    assert aeration_area(diameter, spacing) == pytest.approx(summed / passes)


@given(TINES)
def test_more_passes_wider_tines_and_closer_holes_hit_more(
    tine: tuple[float, tuple[float, float], int],
) -> None:
    diameter, (along, across), passes = tine
    share = aeration_area(*tine)
    assert aeration_area(diameter, (along, across), passes + 1) >= share
    assert aeration_area(diameter * 0.9, (along, across), passes) <= share
    assert aeration_area(diameter, (along * 1.1, across), passes) <= share
    # Of many passes next to nothing is left, and the difference goes in rounding.
    assert aeration_area(diameter, (along * 1.1, across)) < aeration_area(diameter, (along, across))
    assert aeration_area(diameter, (across, along), passes) == pytest.approx(share)


@given(TINES, st.floats(0.5, 99.0))
def test_passes_reach_the_target_and_one_fewer_does_not(
    tine: tuple[float, tuple[float, float], int], target: float
) -> None:
    diameter, spacing, _ = tine
    summed, union = passes_to_reach(target, diameter, spacing)
    assert 1 <= summed <= union
    assert summed_area(diameter, spacing, summed) >= target * (1 - 1e-6)
    assert aeration_area(diameter, spacing, union) >= target * (1 - 1e-6)
    if summed > 1:
        assert summed_area(diameter, spacing, summed - 1) < target
    if union > 1:
        assert aeration_area(diameter, spacing, union - 1) < target


@given(TINES, st.floats(0.01, 0.3), st.sampled_from(["in", "mm", "cm", "ft"]))
def test_any_unit_of_length_gives_the_same(
    tine: tuple[float, tuple[float, float], int], depth: float, unit: str
) -> None:
    diameter, spacing, passes = tine
    shown = from_si(diameter, unit), tuple(from_si(one, unit) for one in spacing)
    assert aeration_area(*shown, passes) == pytest.approx(aeration_area(*tine))
    deep = hole_volume(*shown, from_si(depth, unit), passes)
    assert to_si(deep, unit) == pytest.approx(hole_volume(diameter, spacing, depth, passes))


@given(TINES, st.floats(0.01, 0.3))
def test_volumes_survive_the_units_of_a_reader(
    tine: tuple[float, tuple[float, float], int], depth: float
) -> None:
    diameter, spacing, passes = tine
    volume = hole_volume(diameter, spacing, depth, passes)
    assert 0 < volume <= depth
    for unit in ("ft3", "yd3", "m3"):
        assert to_si(from_si(volume, unit), unit) == pytest.approx(volume)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((2.5, 2.0), "holes of 2.5 at a spacing of 2 by 2 overlap"),
        ((0.5, (2.0, 0.4)), "overlap; allowed: the diameter or more"),
        ((0.0, 2.0), "a diameter of 0"),
        ((-0.5, 2.0), "a diameter of -0.5"),
        ((math.nan, 2.0), "a diameter of nan"),
        ((0.5, math.inf), "a spacing of inf"),
        ((0.5, (2.0,)), "1 spacings; allowed: one, or two"),
        ((0.5, (2.0, 2.0, 2.0)), "3 spacings"),
        (("1/2 in", 2.0), "a diameter of 1/2 in; allowed: a number above 0"),
        ((0.5, "2 in"), "a spacing of 2 in; allowed: a number above 0"),
        ((0.5, 2.0, 0), "0 passes; allowed: a whole number from 1 on"),
        ((0.5, 2.0, 1.5), "1.5 passes"),
        ((0.5, 2.0, 10**400), "a number of many digits passes"),
        ((0.5, 2.0, True), "True passes"),
        ((10**400, 2.0), "a diameter of a number of many digits"),
        ((True, 2.0), "a diameter of True"),
        ((0.5, {1.0, 2.0}), "a spacing of {1.0, 2.0}"),
        ((1e-200, 1.0), "take no ground"),
    ],
)
def test_what_no_tine_can_be_is_told_in_one_line(arguments: tuple[object, ...], said: str) -> None:
    with pytest.raises(WinterswardError) as told:
        aeration_area(*arguments)  # type: ignore[arg-type]
    assert said in str(told.value)
    assert "\n" not in str(told.value)


@pytest.mark.parametrize("target", [0, 100, -1, 120])
def test_a_target_that_cannot_be_reached_is_told(target: float) -> None:
    with pytest.raises(WinterswardError, match="allowed: above 0, below 100"):
        passes_to_reach(target, 0.5, 2)


def test_holes_may_touch() -> None:
    assert aeration_area(1.0, 1.0) == pytest.approx(25 * math.pi)


def test_it_is_part_of_the_public_face() -> None:
    assert wintersward.aeration_area is aeration_area


def test_lengths_of_any_size_that_fit_are_counted() -> None:
    assert aeration_area(1e200, 1e201) == pytest.approx(100 * math.pi / 400)
    for target in ("x", 0, 100, math.nan, 10**400):
        with pytest.raises(WinterswardError, match="a share of the ground of"):
            passes_to_reach(target, 0.5, 2.0)  # type: ignore[arg-type]
    with pytest.raises(WinterswardError, match="take no ground"):
        passes_to_reach(20, 1e-200, 1)
