import pytest

from wintersward.design import draw, redraw
from wintersward.design.plan_checks import plan_problems

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


@pytest.fixture
def square(make_kind):
    """Three rows of open, fleece, woven, each begun one later than the one before."""
    definition = make_kind("latin square", {"cover": ["open", "fleece", "woven"]})
    plan = draw(definition)
    cyclic = ["open", "fleece", "woven", "fleece", "woven", "open", "woven", "open", "fleece"]
    plan["cover"] = plan["cover"].cat.set_categories(["open", "fleece", "woven"])
    plan.loc[:, "cover"] = cyclic
    return definition, plan


@pytest.fixture
def strips(make_kind):
    definition = make_kind("strip plot")
    plan = draw(definition)
    covers, tines = ["open", "fleece", "woven"], ["solid", "hollow"]
    return definition, plan.assign(
        cover=[level for _ in "12" for level in covers for _ in tines], aeration=tines * 6
    )


def test_every_kind_draws_plans_without_problems(make_kind):
    for kind in (
        "completely random",
        "demonstration",
        "randomised blocks",
        "latin square",
        "split plot",
        "strip plot",
    ):
        definition = make_kind(kind)
        assert _problems(draw(definition), definition) == []


class TestLatinSquare:
    def test_treatment_twice_in_a_row_and_a_column(self, square):
        definition, plan = square
        said = _problems(_edited(plan, ("201", "cover", "open")), definition)
        assert said == [
            "plan/plots.csv, row 7, column cover: found 'open' again in row 2, as in row 5; "
            "allowed: each treatment once in a row",
            "plan/plots.csv: cover: found no 'fleece' in row 2; "
            "allowed: each treatment once in a row",
            "plan/plots.csv, row 5, column cover: found 'open' again in column 1, as in row 2; "
            "allowed: each treatment once in a column",
            "plan/plots.csv: cover: found no 'fleece' in column 1; "
            "allowed: each treatment once in a column",
        ]

    def test_two_plots_of_a_row_exchanged(self, square):
        definition, plan = square
        said = _problems(
            _edited(plan, ("101", "cover", "fleece"), ("102", "cover", "open")), definition
        )
        assert [line.split(": found ")[1].split(";")[0] for line in said] == [
            "'fleece' again in column 1, as in row 2",
            "no 'open' in column 1",
            "'open' again in column 2, as in row 3",
            "no 'fleece' in column 2",
        ]

    def test_plot_missing_or_outside(self, square):
        definition, plan = square
        rule = "allowed: each treatment once in a"
        assert _problems(plan[plan["plot"] != "303"], definition) == [
            f"plan/plots.csv: cover: found no 'fleece' in row 3; {rule} row",
            f"plan/plots.csv: cover: found no 'fleece' in column 3; {rule} column",
        ]
        assert _problems(_edited(plan, ("303", "row", 4)), definition) == [
            f"plan/plots.csv, row 10, column row: found '4'; allowed: a row from 1 to 3; {REDRAW}"
        ]


class TestCompletelyRandom:
    def test_treatment_on_too_many_plots(self, make_kind):
        definition = make_kind("completely random", {"cover": ["open", "fleece"]})
        plan = draw(definition)
        first = plan.loc[plan["cover"] == "open", "plot"].iloc[0]
        assert _problems(_edited(plan, (first, "cover", "fleece")), definition) == [
            f"plan/plots.csv: cover: found 'open' on 2 plots; allowed: each treatment on 3 plots; "
            f"{REDRAW}",
            f"plan/plots.csv: cover: found 'fleece' on 4 plots; allowed: each treatment on 3 "
            f"plots; {REDRAW}",
        ]

    def test_with_a_doubtful_line_nothing_is_counted(self, make_kind):
        definition = make_kind("completely random", {"cover": ["open", "fleece"]})
        plan = draw(definition).iloc[1:]
        assert plan_problems(plan, definition, "plan/plots.csv", {""}, REDRAW) == []


class TestStripPlot:
    def test_cover_that_changes_along_its_strip(self, strips):
        definition, plan = strips
        assert _problems(_edited(plan, ("102", "cover", "woven")), definition) == [
            "plan/plots.csv, row 3, column cover: found 'woven', but 'open' in row 2 of row strip "
            "1; allowed: one level of cover in a row strip"
        ]

    def test_tine_that_changes_along_its_strip(self, strips):
        definition, plan = strips
        assert _problems(_edited(plan, ("205", "aeration", "hollow")), definition) == [
            "plan/plots.csv, row 12, column aeration: found 'hollow', but 'solid' in row 8 of "
            "column strip 1; allowed: one level of aeration in a column strip"
        ]

    def test_cover_twice_in_a_block(self, strips):
        definition, plan = strips
        changed = _edited(plan, ("103", "cover", "open"), ("104", "cover", "open"))
        rule = "allowed: each level of cover on one row strip of a block"
        assert _problems(changed, definition) == [
            "plan/plots.csv, row 4, column cover: found 'open' again in block 1, as in row 2; "
            + rule,
            f"plan/plots.csv: cover: found no 'fleece' in block 1; {rule}",
        ]

    def test_plot_missing(self, strips):
        definition, plan = strips
        assert _problems(plan[plan["plot"] != "104"], definition) == [
            "plan/plots.csv: cover and aeration: found no 'fleece and hollow' in block 1; "
            "allowed: each treatment once in a block"
        ]


TWO = {"upper": "Upper field", "lower": "Lower field"}


class TestGrounds:
    def test_the_same_place_on_two_grounds_is_no_overlap(self, make):
        assert _problems(draw(make(grounds=TWO)), make(grounds=TWO)) == []

    def test_plots_on_one_another_of_one_ground(self, make):
        definition = make(grounds=TWO)
        assert _problems(_edited(draw(definition), ("302", "x_m", 1.0)), definition) == [
            "plan/plots.csv, row 15, column x_m and y_m: found plot 302, which lies on plot 301 "
            "(row 14); allowed: plots that do not lie on one another"
        ]

    def test_a_block_on_a_ground_that_is_not_its_own(self, make_blocks):
        definition = make_blocks(grounds=TWO)
        plan = draw(definition)
        plan.loc[plan["block"] == "3", "ground"] = "upper"
        plan.loc[plan["block"] == "3", "y_m"] += 20
        told = _problems(plan, definition)
        assert told[0] == (
            "plan/plots.csv, row 8, column ground: found 'upper' for block 3; allowed: lower for "
            "this block"
        )
        assert len(told) == 3


def test_plots_on_an_area_left_out(make_blocks, make_kind):
    lane = {"what": "wear lane", "at": ["13 ft", "0 ft"], "size": ["1 ft", "5 ft"]}
    definition = make_blocks(areas_left_out=[lane])
    assert _problems(draw(definition), definition) == [
        "plan/plots.csv, row 3, column x_m and y_m: found plot 102, which lies on an area left "
        "out (wear lane); allowed: plots clear of areas_left_out; if the area was found after the "
        "plots were laid out, take it out of areas_left_out and tell of it in diary.yaml; else "
        "move the block by block_places or choose another plot_size"
    ]
    square = make_kind("latin square", areas_left_out=[lane])
    assert "block_places" not in _problems(draw(square), square)[0]


class TestDemonstration:
    def test_treatment_twice(self, make_kind):
        definition = make_kind("demonstration", {"cover": ["open", "fleece"]})
        plan = draw(definition)
        assert _problems(_edited(plan, ("101", "cover", "open"), ("102", "cover", "open")),
                         definition) == [
            "plan/plots.csv, row 3, column cover: found 'open' again in the demonstration, as in "
            "row 2; allowed: each treatment on one plot",
            "plan/plots.csv: cover: found no 'fleece' in the demonstration; allowed: each "
            "treatment on one plot",
        ]  # fmt: skip


class TestLaidByHand:
    HAND = {"how": "slips from a hat", "signed": "rx", "date": "2026-01-10"}

    def test_sizes_and_places_are_free_where_something_is_left_to_sample(self, make_blocks):
        definition = make_blocks(laid_by_hand=self.HAND)
        plan = _edited(draw(definition), ("101", "width_m", 2.0), ("203", "y_m", 9.0))
        assert _problems(plan, definition) == []
        narrow = _edited(plan, ("102", "length_m", 0.6), ("201", "x_m", -1.0))
        assert _problems(narrow, definition) == [
            "plan/plots.csv, row 3, column length_m: found '0.6'; allowed: more than twice the "
            "edge_left_out of 1 ft; an edge all round would leave nothing to sample",
            "plan/plots.csv, row 5, column x_m: found '-1'; allowed: 0 or more; choose a corner "
            "post beyond which all plots lie",
        ]

    def test_the_blocks_are_still_those_of_the_layout(self, make_blocks):
        definition = make_blocks(laid_by_hand=self.HAND)
        plan = draw(definition)
        other = next(c for c in ("open", "fleece") if plan["cover"].iloc[0] != c)
        told = _problems(_edited(plan, ("101", "cover", other)), definition)
        assert len(told) == 2
        assert all("each treatment once in a block" in line for line in told)
