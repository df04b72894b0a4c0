import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.design.layouts import Shape, block_names, columns, ground_of, shape, units
from wintersward.errors import WinterswardError

sizes = st.sampled_from(["4 ft", "10 ft", "1.5 m", "2 m", "3.05 m"])
layouts = {
    "split": st.booleans(),
    "levels": st.tuples(st.integers(2, 4), st.integers(2, 3)),
    "blocks": st.integers(2, 7),
    "beside": st.integers(1, 4),
    "size": st.tuples(sizes, sizes),
    "alley": st.sampled_from(["0.1 m", "1 ft", "2 m"]),
}


def _definition(make, make_blocks, split, levels, blocks, beside, size, alley):
    names = {
        "cover": [f"c{i}" for i in range(levels[0])],
        "aeration": [f"a{i}" for i in range(levels[1])],
    }
    build = make if split else make_blocks
    return build(
        names,
        blocks=blocks,
        blocks_side_by_side=beside,
        plot_size=list(size),
        alley=alley,
        edge_left_out="0.1 m",
    )


@settings(max_examples=60, deadline=None)
@given(**layouts)
def test_plots_keep_their_distance(make, make_blocks, **drawn):
    definition = _definition(make, make_blocks, **drawn)
    alley = definition.layout.alley
    plots = units(definition).to_dict("records")
    assert len(plots) == drawn["blocks"] * drawn["levels"][0] * drawn["levels"][1]
    for one, other in itertools.combinations(plots, 2):
        across = abs(one["x_m"] - other["x_m"]) - one["width_m"]
        along = abs(one["y_m"] - other["y_m"]) - one["length_m"]
        together = one["whole_plot"] and one["whole_plot"] == other["whole_plot"]
        wanted = 0.0 if together else alley
        assert max(across, along) >= wanted - 1e-5


@settings(max_examples=60, deadline=None)
@given(**layouts)
def test_walk_visits_every_plot_once_row_by_row(make, make_blocks, **drawn):
    plots = units(_definition(make, make_blocks, **drawn)).sort_values("walk")
    assert plots["walk"].tolist() == list(range(1, len(plots) + 1))
    assert plots["row"].is_monotonic_increasing
    for row, part in plots.groupby("row"):
        steps = part["column"].diff().dropna()
        assert (steps == (1 if row % 2 else -1)).all()


@settings(max_examples=60, deadline=None)
@given(**layouts)
def test_subplots_of_a_whole_plot_touch(make, make_blocks, **drawn):
    definition = _definition(make, make_blocks, **{**drawn, "split": True})
    plots = units(definition)
    for _, part in plots.groupby("whole_plot"):
        assert part["y_m"].nunique() == 1
        gaps = part["x_m"].diff().dropna() - definition.layout.plot_size[0]
        assert gaps.abs().max() < 1e-5


def test_split_plot_of_two_blocks_by_hand(make):
    plots = units(make()).set_index("plot")
    # 10 ft = 3.048 m, alley 2 ft = 0.6096 m; the second whole plot begins at 20 + 2 ft.
    assert plots.index.tolist() == [*map(str, range(101, 107)), *map(str, range(201, 207))]
    assert plots.loc["103", ["x_m", "y_m"]].tolist() == [6.7056, 0.0]
    assert plots.loc["204", ["x_m", "y_m"]].tolist() == [9.7536, 2.4384]
    assert plots["whole_plot"].tolist()[4:8] == ["1C", "1C", "2A", "2A"]
    assert plots.loc["206", "walk"] == 7


def test_blocks_side_by_side_share_a_row(make_blocks):
    plots = units(make_blocks(blocks=5, blocks_side_by_side=2))
    rows = plots.groupby("block")["row"].first()
    assert rows.to_dict() == {"1": 1, "2": 1, "3": 2, "4": 2, "5": 3}
    second = plots[plots["block"] == "2"]
    # A block is 3 plots and 2 alleys, 34 ft; block 2 begins an alley beyond it, at 36 ft.
    assert second["x_m"].iloc[0] == pytest.approx(36 * 0.3048)
    assert second["column"].tolist() == [4, 5, 6]
    assert (plots["whole_plot"] == "").all()


def test_many_plots_and_many_whole_plots_keep_their_names_apart(make, make_blocks):
    wide = {"cover": [f"c{i}" for i in range(28)], "aeration": ["solid", "hollow"]}
    wholes = units(make(wide))["whole_plot"].drop_duplicates().tolist()
    assert wholes[25:29] == ["1Z", "1AA", "1AB", "2A"]
    big = {"cover": [f"c{i}" for i in range(11)], "feed": [f"f{i}" for i in range(10)]}
    plots = units(make_blocks(big))["plot"]
    assert plots.is_unique
    assert plots.iloc[0] == "1001"
    assert plots.iloc[-1] == "2110"


def test_columns_follow_the_factors_of_the_definition(make):
    assert columns(make())[-3:] == ["cover", "aeration", "walk"]


def test_latin_square_by_hand(make_kind):
    plots = units(make_kind("latin square", {"cover": ["open", "fleece", "woven"]}))
    assert plots["plot"].tolist() == ["101", "102", "103", "201", "202", "203", "301", "302", "303"]
    assert set(plots["block"]) == set(plots["whole_plot"]) == {""}
    assert plots["row"].tolist() == [1, 1, 1, 2, 2, 2, 3, 3, 3]
    assert plots["column"].tolist() == [1, 2, 3] * 3
    # 10 ft plots and 2 ft alleys: the third begins at 24 ft; 6 ft plots: the third row at 16 ft.
    assert plots["x_m"].tolist()[2] == pytest.approx(24 * 0.3048)
    assert plots["y_m"].tolist()[-1] == pytest.approx(16 * 0.3048)
    assert plots["walk"].tolist() == [1, 2, 3, 6, 5, 4, 7, 8, 9]


def test_completely_random_lies_about_square_or_as_told(make_kind):
    plain = make_kind("completely random")
    assert shape(plain) == Shape(count=18, across=5, touching=1)
    plots = units(plain)
    assert plots["row"].value_counts().sort_index().tolist() == [5, 5, 5, 3]
    assert plots["plot"].tolist()[-3:] == ["401", "402", "403"]
    # Row 4 is walked back: from its last plot, 403, to 401.
    assert plots.sort_values("walk")["plot"].tolist()[-4:] == ["305", "403", "402", "401"]
    long = make_kind("completely random", plots_in_a_row=100)
    assert shape(long) == Shape(18, 18, 1)
    assert units(long)["row"].max() == 1


def test_strip_plot_by_hand(make_kind):
    plots = units(make_kind("strip plot", blocks=3, blocks_side_by_side=2)).set_index("plot")
    assert plots.index.tolist()[:6] == ["101", "102", "103", "104", "105", "106"]
    assert plots.loc["104", ["row", "column"]].tolist() == [2, 2]
    assert plots.loc["204", ["row", "column"]].tolist() == [2, 4]
    assert plots.loc["304", ["row", "column"]].tolist() == [5, 2]
    # Two plots of 10 ft touch; the next block begins an alley of 2 ft beyond them.
    assert plots.loc["102", "x_m"] == pytest.approx(10 * 0.3048)
    assert plots.loc["201", "x_m"] == pytest.approx(22 * 0.3048)
    # Rows of 6 ft with alleys of 2 ft: block 3 begins with the fourth row.
    assert plots.loc["301", "y_m"] == pytest.approx(24 * 0.3048)
    assert plots["whole_plot"].eq("").all()
    assert plots["block"].drop_duplicates().tolist() == ["1", "2", "3"]


@settings(max_examples=40, deadline=None)
@given(
    kind=st.sampled_from(["completely random", "latin square", "strip plot"]),
    levels=st.tuples(st.integers(3, 5), st.integers(2, 3)),
    many=st.integers(2, 5),
    beside=st.integers(1, 6),
)
def test_plots_of_every_kind_stand_apart_and_are_counted(make_kind, kind, levels, many, beside):
    factors = {"cover": [f"c{i}" for i in range(levels[0])]}
    how = {}
    if kind != "latin square":
        factors["aeration"] = [f"a{i}" for i in range(levels[1])]
    if kind == "completely random":
        how = {"replicates": many, "plots_in_a_row": beside}
    if kind == "strip plot":
        how = {"blocks": many, "blocks_side_by_side": beside}
    definition = make_kind(kind, factors, **how)
    plots = units(definition)
    assert len(plots) == definition.plot_count
    assert plots["plot"].is_unique
    assert not plots.duplicated(["row", "column"]).any()
    assert sorted(plots["walk"]) == list(range(1, len(plots) + 1))
    assert plots["block"].drop_duplicates().tolist() == block_names(definition)
    alley = definition.layout.alley
    for one, other in itertools.combinations(plots.to_dict("records"), 2):
        across = abs(one["x_m"] - other["x_m"]) - one["width_m"]
        along = abs(one["y_m"] - other["y_m"]) - one["length_m"]
        same = kind == "strip plot" and (one["block"], one["row"]) == (other["block"], other["row"])
        assert max(across, along) >= (0.0 if same else alley) - 1e-5


def test_what_the_definition_says_of_its_size(make_kind):
    sizes = {
        kind: (make_kind(kind).plot_count, make_kind(kind).replication)
        for kind in ("completely random", "randomised blocks", "latin square", "strip plot")
    }
    assert sizes == {
        "completely random": (18, "3 plots of each treatment"),
        "randomised blocks": (12, "2 blocks"),
        "latin square": (16, "4 rows and 4 columns"),
        "strip plot": (12, "2 blocks"),
    }


TWO = {"upper": "Upper field", "lower": "Lower field"}
FT = 0.3048


class TestGrounds:
    def test_each_ground_begins_at_its_own_corner_post(self, make):
        definition = make(grounds=TWO, blocks=3, blocks_side_by_side=2)
        plots = units(definition)
        upper, lower = (plots[plots["ground"] == name].reset_index() for name in TWO)
        for column in ("x_m", "y_m", "row", "column", "width_m", "length_m"):
            assert upper[column].tolist() == lower[column].tolist()
        assert lower["plot"].iloc[0] == "401"
        assert lower["whole_plot"].iloc[-1] == "6C"
        assert block_names(definition) == ["1", "2", "3", "4", "5", "6"]
        assert [ground_of(definition, block) for block in "136"] == ["upper", "upper", "lower"]
        assert ground_of(make(), "1") == ""

    def test_the_walk_goes_from_ground_to_ground(self, make):
        plots = units(make(grounds=TWO, blocks=3))
        assert sorted(plots["walk"]) == list(range(1, 37))
        assert plots.sort_values("walk")["ground"].tolist() == ["upper"] * 18 + ["lower"] * 18

    def test_one_ground_has_no_column(self, make):
        assert "ground" not in columns(make())
        assert columns(make(grounds=TWO))[:3] == ["plot", "ground", "whole_plot"]


class TestBlockPlaces:
    PLACES = [["0 ft", "0 ft"], ["100 ft", "10 ft"], ["0 ft", "50 ft"]]

    def test_blocks_lie_where_they_are_put(self, make):
        plots = units(make(blocks=3, block_places=self.PLACES)).set_index("plot")
        assert plots.loc["201", ["x_m", "y_m"]].tolist() == pytest.approx([100 * FT, 10 * FT])
        # Two plots of 10 ft and an alley of 2 ft lie before the second whole plot.
        assert plots.loc["303", ["x_m", "y_m"]].tolist() == pytest.approx([22 * FT, 50 * FT])
        assert not plots.duplicated(["row", "column"]).any()

    def test_each_block_is_entered_at_its_nearer_end(self, make):
        plots = units(make(blocks=3, block_places=self.PLACES)).sort_values("walk")
        assert plots["plot"].iloc[[0, 6, 12, 17]].tolist() == ["101", "201", "306", "301"]

    def test_places_of_several_grounds_follow_their_blocks(self, make):
        places = [*self.PLACES[:2], ["5 ft", "5 ft"], ["5 ft", "40 ft"]]
        plots = units(make(grounds=TWO, block_places=places)).set_index("plot")
        assert plots.loc["301", ["ground", "x_m", "y_m"]].tolist() == ["lower", 1.524, 1.524]
        assert sorted(plots["walk"]) == list(range(1, 25))

    def test_strips_keep_their_rows(self, make_kind):
        places = [["0 ft", "0 ft"], ["50 ft", "3 ft"]]
        plots = units(make_kind("strip plot", block_places=places)).set_index("plot")
        assert plots.loc["203", ["x_m", "y_m"]].tolist() == pytest.approx([50 * FT, 11 * FT])
        assert plots.loc["203", "row"] == 5


def _area(left, low, wide, long, **more):
    sides = {"at": [f"{left} ft", f"{low} ft"], "size": [f"{wide} ft", f"{long} ft"]}
    return {"what": "sprinkler head", **sides, **more}


class TestAreasLeftOut:
    def test_a_grid_passes_over_them_and_goes_on(self, make_kind):
        area = _area(13, 2, 1, 1)
        plots = units(make_kind("completely random", plots_in_a_row=6, areas_left_out=[area]))
        assert plots["plot"].tolist()[:3] == ["101", "103", "104"]
        assert plots["plot"].tolist()[-2:] == ["306", "401"]
        assert len(plots) == 18

    @settings(max_examples=40, deadline=None)
    @given(
        sides=st.tuples(*[st.integers(0, 60)] * 2, *[st.integers(1, 30)] * 2),
        across=st.integers(1, 7),
        kind=st.sampled_from(["completely random", "demonstration"]),
    )
    def test_no_plot_of_a_grid_lies_on_one(self, make_kind, sides, across, kind):
        definition = make_kind(kind, plots_in_a_row=across, areas_left_out=[_area(*sides)])
        plots = units(definition)
        assert len(plots) == definition.plot_count
        assert plots["plot"].is_unique
        left, low, wide, long = (side * FT for side in sides)
        clear = (
            (plots["x_m"] + plots["width_m"] <= left + 2e-3)
            | (plots["x_m"] >= left + wide - 2e-3)
            | (plots["y_m"] + plots["length_m"] <= low + 2e-3)
            | (plots["y_m"] >= low + long - 2e-3)
        )
        assert clear.all()

    def test_no_room_at_all(self, make_kind):
        area = _area(0, 0, 100, 10_000_000)
        definition = make_kind("completely random", plots_in_a_row=3, areas_left_out=[area])
        with pytest.raises(WinterswardError, match="areas that leave no room for 18 plots"):
            units(definition)

    def test_a_square_and_blocks_stay_where_they_are(self, make_kind, make):
        area = _area(13, 2, 1, 1)
        square = make_kind("latin square")
        assert units(make_kind("latin square", areas_left_out=[area])).equals(units(square))
        assert units(make(areas_left_out=[area])).equals(units(make()))


class TestDemonstration:
    def test_one_row_that_passes_over_areas_left_out(self, make_kind):
        factors = {"cover": ["open", "fleece", "woven"]}
        definition = make_kind("demonstration", factors)
        assert shape(definition) == Shape(3, 3, 1)
        assert units(definition)["plot"].tolist() == ["101", "102", "103"]
        assert units(definition)["block"].eq("").all()
        past = make_kind("demonstration", factors, areas_left_out=[_area(13, 2, 1, 1)])
        assert units(past)["plot"].tolist() == ["101", "103", "104"]

    def test_rows_as_told(self, make_kind):
        plots = units(make_kind("demonstration", plots_in_a_row=2))
        assert plots["plot"].tolist() == ["101", "102", "201", "202", "301", "302"]
