from wintersward.design import amend, draw, layout_changed


def _edited(plan, *changes):
    edited = plan.copy()
    for plot, column, value in changes:
        edited.loc[edited["plot"] == plot, column] = value
    return edited


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

    def test_kinds_without_blocks(self, make_kind, make_blocks):
        square, random = make_kind("latin square"), make_kind("completely random")
        four = {"cover": ["open", "fleece", "woven", "foam"]}
        assert layout_changed(draw(square), make_blocks(four, blocks=4)) == [
            "The plan was drawn without blocks; the definition says randomised blocks."
        ]
        assert layout_changed(draw(make_blocks(four, blocks=4)), square) == [
            "The plan was drawn as randomised blocks; the definition says latin square."
        ]
        more = make_kind("completely random", replicates=4)
        assert layout_changed(draw(random), more) == [
            "The plan has 18 plots; the definition asks for 24."
        ]

    def test_strips_are_told_from_blocks(self, make_kind):
        strips, blocks = make_kind("strip plot"), make_kind("randomised blocks")
        assert layout_changed(draw(strips), blocks) == [
            "The plan was drawn as strip plot; the definition says randomised blocks."
        ]

    def test_every_kind_agrees_with_itself_and_not_with_another_seed(self, make_kind):
        for kind in ("completely random", "latin square", "strip plot"):
            one, other = make_kind(kind), make_kind(kind, seed=8)
            assert layout_changed(draw(one), one) == []
            (said,) = layout_changed(draw(one), other)
            assert said.startswith("The seed 8 gives ")

    def test_alley_without_blocks(self, make_kind):
        square = make_kind("latin square")
        (said,) = layout_changed(draw(square), make_kind("latin square", alley="3 ft"))
        assert said.endswith("not 13 ft and 0 ft; the alley was changed, or the plan was edited.")


TWO = {"upper": "Upper field", "lower": "Lower field"}


class TestGrounds:
    def test_nothing(self, make):
        assert layout_changed(draw(make(grounds=TWO)), make(grounds=TWO)) == []

    def test_grounds_added_and_taken_away(self, make):
        assert layout_changed(draw(make()), make(grounds=TWO)) == [
            "The plan lies on one ground; the definition names the grounds upper, lower.",
            "The plan has 2 blocks; the definition says 2 blocks on each of 2 grounds.",
        ]
        assert layout_changed(draw(make(grounds=TWO)), make(blocks=4)) == [
            "The plan lies on the grounds upper, lower; the definition has one ground."
        ]

    def test_other_order(self, make):
        back = make(grounds=dict(reversed(TWO.items())))
        assert layout_changed(draw(make(grounds=TWO)), back) == [
            "24 plots lie on another ground than the definition gives them; the order of the "
            "grounds was changed, or the plan was edited."
        ]


def test_block_places(make):
    places = [["0 ft", "0 ft"], ["0 ft", "30 ft"]]
    plan = draw(make(block_places=places))
    assert layout_changed(plan, make(block_places=places)) == []
    (said,) = layout_changed(plan, make(block_places=[places[0], ["0 ft", "40 ft"]]))
    assert said.endswith("the alley or block_places was changed, or the plan was edited.")


def test_a_demonstration_is_told_from_a_trial(make_kind, make_blocks):
    shown = make_kind("demonstration")
    assert layout_changed(draw(shown), shown) == []
    (said,) = layout_changed(draw(shown), make_kind("completely random"))
    assert said == "The plan has 6 plots; the definition asks for 18."
    said = layout_changed(draw(shown), make_blocks({"cover": ["open", "fleece", "woven"]}))
    assert said[0] == "The plan was drawn without blocks; the definition says randomised blocks."


def test_plots_laid_by_hand_are_not_compared_with_the_seed(make):
    hand = {"how": "slips from a hat", "signed": "rx", "date": "2026-01-10"}
    laid = make(laid_by_hand=hand)
    assert layout_changed(draw(make(seed=8, alley="4 ft")), laid) == []
    assert amend(laid, ".") == (
        "put right plan/plots.csv, which was laid by hand, or the layout of trial.yaml"
    )
    assert amend(make(), ".").endswith("and run: wintersward plan .")
