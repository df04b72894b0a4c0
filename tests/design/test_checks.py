import pytest

from wintersward.design import draw, layout_changed, redraw
from wintersward.design.checks import plan_problems

REDRAW = redraw("my_trial")


def _problems(plan, definition):
    frame = plan.astype({name: str for name in definition.treatments})
    frame.index = range(2, len(frame) + 2)
    return [str(p) for p in plan_problems(frame, definition, "plan/plots.csv", set(), REDRAW)]


def _edited(plan, *changes):
    edited = plan.copy()
    for plot, column, value in changes:
        edited.loc[edited["plot"] == plot, column] = value
    return edited


@pytest.fixture
def blocks(make_blocks):
    """Block 1: woven, fleece, open. Block 2: fleece, woven, open."""
    definition = make_blocks()
    return definition, draw(definition)


@pytest.fixture
def split(make):
    definition = make()
    plan = draw(definition)
    plan["cover"] = plan["cover"].cat.set_categories(["open", "fleece", "woven"])
    for whole, cover in zip(
        ["1A", "1B", "1C", "2A", "2B", "2C"],
        ["open", "fleece", "woven", "woven", "fleece", "open"],
        strict=True,
    ):
        plan.loc[plan["whole_plot"] == whole, "cover"] = cover
    plan["aeration"] = plan["aeration"].astype(str)
    plan["aeration"] = ["solid", "hollow"] * 6
    return definition, plan


def test_sound_plans_have_no_problems(blocks, split):
    for definition, plan in (blocks, split):
        assert _problems(plan, definition) == []


def test_treatment_twice_in_a_block(blocks):
    definition, plan = blocks
    plan["cover"] = plan["cover"].astype(str)
    plan["cover"] = ["woven", "fleece", "woven", "fleece", "woven", "open"]
    assert _problems(plan, definition) == [
        "plan/plots.csv, row 4, column cover: found 'woven' again in block 1, as in row 2; "
        "allowed: each treatment once in a block",
        "plan/plots.csv: cover: found no 'open' in block 1; "
        "allowed: each treatment once in a block",
    ]


def test_combination_is_missing(make_blocks):
    definition = make_blocks({"cover": ["open", "fleece"], "feed": ["none", "some"]})
    plan = draw(definition)
    gone = plan[~((plan["cover"] == "fleece") & (plan["feed"] == "none") & (plan["block"] == "2"))]
    assert _problems(gone, definition) == [
        "plan/plots.csv: cover and feed: found no 'fleece and none' in block 2; "
        "allowed: each treatment once in a block"
    ]


def test_block_is_missing(blocks):
    definition, plan = blocks
    assert _problems(plan[plan["block"] == "1"], definition) == [
        f"plan/plots.csv: block: found no plot of block 2; allowed: blocks 1 to 2; {REDRAW}"
    ]


def test_plots_on_one_another(blocks):
    definition, plan = blocks
    assert _problems(_edited(plan, ("102", "x_m", 1.0)), definition) == [
        "plan/plots.csv, row 3, column x_m and y_m: found plot 102, which lies on plot 101 "
        "(row 2); allowed: plots that do not lie on one another"
    ]


def test_whole_plot_with_two_covers(split):
    definition, plan = split
    assert _problems(_edited(plan, ("102", "cover", "woven")), definition) == [
        "plan/plots.csv, row 3, column cover: found 'woven', but 'open' in row 2 of whole plot "
        "1A; allowed: one level of cover in a whole plot"
    ]


def test_cover_twice_in_a_block(split):
    definition, plan = split
    edited = _edited(plan, ("103", "cover", "open"), ("104", "cover", "open"))
    rule = "allowed: each level of cover on one whole plot of a block"
    assert _problems(edited, definition) == [
        f"plan/plots.csv, row 4, column cover: found 'open' again in block 1, as in row 2; {rule}",
        f"plan/plots.csv: cover: found no 'fleece' in block 1; {rule}",
    ]


def test_aeration_twice_in_a_whole_plot(split):
    definition, plan = split
    rule = "allowed: each level of aeration once in a whole plot"
    assert _problems(_edited(plan, ("102", "aeration", "solid")), definition) == [
        "plan/plots.csv, row 3, column aeration: found 'solid' again in whole plot 1A, as in "
        f"row 2; {rule}",
        f"plan/plots.csv: aeration: found no 'hollow' in whole plot 1A; {rule}",
    ]


def test_whole_plot_in_two_blocks_or_named_like_a_plot(split):
    definition, plan = split
    named = _edited(plan, ("201", "whole_plot", "1A"), ("202", "whole_plot", "1A"))
    rule = "allowed: a whole plot in one block only"
    assert _problems(named, definition) == [
        f"plan/plots.csv, row 8, column whole_plot: found '1A', which lies in block 1 too; {rule}",
        f"plan/plots.csv, row 9, column whole_plot: found '1A', which lies in block 1 too; {rule}",
    ]
    named = _edited(plan, ("101", "whole_plot", "104"), ("102", "whole_plot", "104"))
    assert len(_problems(named, definition)) == 2
    assert "found '104', which is the name of a plot too" in _problems(named, definition)[0]


def test_doubtful_blocks_are_not_counted(blocks):
    definition, plan = blocks
    first = plan[plan["plot"] != "203"]
    assert plan_problems(first, definition, "plan/plots.csv", {"2"}, REDRAW) == []


class TestLayoutChanged:
    def test_nothing(self, make):
        assert layout_changed(draw(make()), make()) == []

    def test_order_of_lines_does_not_matter(self, make):
        assert layout_changed(draw(make()).iloc[::-1], make()) == []

    def test_kind_and_factors(self, make, make_blocks):
        assert layout_changed(draw(make()), make_blocks()) == [
            "The plan was drawn as split plot; the definition says randomised blocks.",
            "The plan has the factors cover, aeration; the definition has cover.",
        ]

    def test_blocks_and_levels(self, make_blocks):
        levels = {"cover": ["open", "fleece", "straw"]}
        assert layout_changed(draw(make_blocks()), make_blocks(levels, blocks=3)) == [
            "The plan has 2 blocks; the definition says 3.",
            "The plan has the levels fleece, open, woven of cover; "
            "the definition has open, fleece, straw.",
        ]

    def test_roles(self, make):
        assert layout_changed(draw(make()), make(whole_plot="aeration", subplot="cover")) == [
            "In the plan aeration changes within whole plots; "
            "the definition gives each of them one level."
        ]

    def test_size_in_the_readers_unit(self, make):
        plan = draw(make())
        assert layout_changed(plan, make(plot_size=["12 ft", "6 ft"])) == [
            "12 plots of the plan are 10 ft wide; the definition says 12 ft."
        ]
        assert layout_changed(plan, make(plot_size=["10 ft", "2 m"], units="metric")) == [
            "12 plots of the plan are 1.83 m long; the definition says 2 m."
        ]

    def test_alley(self, make):
        said = layout_changed(draw(make()), make(alley="3 ft"))
        assert said == [
            "10 plots lie elsewhere than the definition places them, the first of them plot 103: "
            "22 ft and 0 ft from the corner along width and length, not 23 ft and 0 ft; the alley "
            "or blocks_side_by_side was changed, or the plan was edited."
        ]

    def test_seed(self, make_blocks):
        plan, other = draw(make_blocks()), draw(make_blocks(seed=8))
        changed = int((plan["cover"].to_numpy() != other["cover"].to_numpy()).sum())
        assert changed > 0
        assert layout_changed(plan, make_blocks(seed=8)) == [
            f"The seed 8 gives {changed} of 6 plots another treatment than the plan does; the "
            "seed was changed, or the plan was edited or drawn in another way."
        ]

    def test_plot_renamed(self, make_blocks):
        renamed = _edited(draw(make_blocks()), ("101", "plot", "A1"))
        assert layout_changed(renamed, make_blocks()) == [
            "The plots of the plan have other numbers than the definition gives them."
        ]

    def test_what_leaves_the_plan_alone(self, make):
        changed = make(edge_left_out="2 ft", blocks_follow="shade of the stand")
        assert layout_changed(draw(make()), changed) == []
