import pytest

from wintersward.design import layout_faults
from wintersward.design.faults import MOVE

LANE = {"what": "wear lane", "at": ["40 ft", "0 ft"], "size": ["1 ft", "30 ft"]}
CLEAR = {"what": "goal mouth", "at": ["20 ft", "0 ft"], "size": ["2 ft", "30 ft"]}


def test_sound_layouts(make_kind):
    for kind in ("completely random", "latin square", "split plot", "demonstration"):
        assert layout_faults(make_kind(kind)) == []


def test_plots_on_an_area_are_named_with_what_to_do(make):
    # The fourth plot of each block reaches from 32 to 42 ft.
    assert layout_faults(make(areas_left_out=[CLEAR, LANE])) == [
        (
            ("layout", "areas_left_out", 1),
            "wear lane, on which plots 104, 204 would lie",
            "areas without plots",
            MOVE,
        )
    ]


def test_areas_lie_on_their_own_ground(make):
    grounds = {"upper": "Upper field", "lower": "Lower field"}
    (fault,) = layout_faults(make(grounds=grounds, areas_left_out=[{**LANE, "ground": "lower"}]))
    assert fault[1] == "wear lane, on which plots 304, 404 would lie"


def test_without_blocks_no_block_can_be_moved(make_kind):
    (fault,) = layout_faults(make_kind("latin square", areas_left_out=[LANE]))
    assert fault[1] == "wear lane, on which plots 104, 204, 304 and 1 more would lie"
    assert fault[3] == "choose another plot_size or alley, or another place for the corner post"
    assert layout_faults(make_kind("completely random", areas_left_out=[LANE])) == []


@pytest.mark.parametrize(("along", "hit"), [("5 ft", True), ("6 ft", False)])
def test_blocks_on_one_another(make, along, hit):
    places = [["0 ft", "0 ft"], ["0 ft", along]]
    found = layout_faults(make(block_places=places))
    told = (
        ("layout", "block_places", 1),
        "block 2, which would lie on block 1",
        "blocks that do not lie on one another",
        "move one of them",
    )
    assert found == ([told] if hit else [])


def test_blocks_of_two_grounds_may_have_the_same_place(make):
    grounds = {"upper": "Upper field", "lower": "Lower field"}
    places = [["0 ft", "0 ft"], ["0 ft", "20 ft"]] * 2
    assert layout_faults(make(grounds=grounds, block_places=places)) == []
