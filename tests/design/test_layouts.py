import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.design.layouts import columns, units

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
