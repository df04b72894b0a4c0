from itertools import combinations
from math import hypot

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.design.spots import SPACING_M, spread

sides = st.floats(0.05, 6.0)


@st.composite
def rooms(draw):
    """A rectangle, and boxes around its middle."""
    wide, long = draw(sides), draw(sides)
    kept = []
    for _ in range(draw(st.integers(0, 2))):
        half = draw(st.floats(0.02, 0.7)) * wide / 2, draw(st.floats(0.02, 0.7)) * long / 2
        kept.append(
            (wide / 2 - half[0], long / 2 - half[1], wide / 2 + half[0], long / 2 + half[1])
        )
    return (0.0, 0.0, wide, long), kept


@settings(max_examples=150, deadline=None)
@given(room=rooms(), count=st.integers(0, 60))
def test_spots_touch_neither_one_another_nor_a_side_nor_what_is_kept(room, count):
    inside, kept = room
    spots = spread(inside, kept, count)
    assert len(spots) <= count
    assert spots == spread(inside, kept, count)
    half = SPACING_M / 2
    for x, y in spots:
        assert half <= x <= inside[2] - half
        assert half <= y <= inside[3] - half
        for left, low, right, high in kept:
            assert hypot(max(left - x, 0, x - right), max(low - y, 0, y - high)) >= half
    for (x, y), (other_x, other_y) in combinations(spots, 2):
        assert hypot(x - other_x, y - other_y) >= SPACING_M


@settings(max_examples=60, deadline=None)
@given(wide=sides, long=sides, count=st.integers(1, 40))
def test_an_empty_rectangle_is_filled_as_far_as_a_lattice_goes(wide, long, count):
    """Squares of 0.152 m: as many as stand side by side."""
    room = int(wide / 0.152 + 1e-6) * int(long / 0.152 + 1e-6)
    assert len(spread((0, 0, wide, long), [], count)) == min(count, room)


def test_where_there_is_room_spots_stand_far_apart():
    spots = spread((0, 0, 3, 3), [], 4)
    # Four points of a square of 3 m less a spot.
    assert min(hypot(a[0] - b[0], a[1] - b[1]) for a, b in combinations(spots, 2)) > 2.8


def test_a_frame_around_a_photo_is_used_where_a_lattice_would_lose_it():
    # 0.16 m around a photo: one row of spots in each strip, none in the middle.
    spots = spread((0, 0, 1.0, 1.0), [(0.16, 0.16, 0.84, 0.84)], 100)
    assert len(spots) >= 20


@pytest.mark.parametrize("inside", [(0, 0, 0.1, 3), (0, 0, 0, 0), (1, 1, 0.5, 0.5)])
def test_no_room(inside):
    assert spread(inside, [], 5) == []
