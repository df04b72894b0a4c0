import itertools
import re
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from design.map_reading import (
    AREAS,
    HAND,
    MEASURES,
    PLACES,
    TWO,
    boxes_of,
    numbers_of,
    plots_of,
    svg_of,
    texts_of,
    words_of,
)
from wintersward.design import draw, map_alt, plot_map, treatment_marks
from wintersward.errors import WinterswardError
from wintersward.trial import Definition

CASES = {
    "six blocks": {"blocks": 6},
    "side by side": {"blocks": 6, "blocks_side_by_side": 2},
    "square": {"blocks": 8, "blocks_side_by_side": 2, "plot_size": ["6 ft", "12 ft"]},
    "narrow": {"blocks": 4, "plot_size": ["3 ft", "20 ft"], "edge_left_out": "6 in"},
    "metric": {"blocks": 6, "units": "metric", "plot_size": ["3 m", "2 m"], "alley": "0.5 m"},
    "many": {"blocks": 20},
    "strips": {"kind": "strip plot", "blocks": 3},
    "strips side by side": {"kind": "strip plot", "blocks": 4, "blocks_side_by_side": 2},
    "completely random": {"kind": "completely random", "replicates": 5},
    "three in a row": {"kind": "completely random", "replicates": 3, "plots_in_a_row": 4},
    "latin square": {"kind": "latin square"},
    "demonstration": {"kind": "demonstration"},
    "two grounds": {"blocks": 3, "grounds": TWO},
    "scattered": {"blocks": 4, "block_places": PLACES, "areas_left_out": AREAS, "north": 30},
    "enlarged": {"blocks": 3, "measures": MEASURES},
    "enlarged grounds": {"blocks": 2, "grounds": TWO, "measures": MEASURES, "units": "metric"},
    "laid by hand": {"blocks": 4, "laid_by_hand": HAND},
}


@dataclass(frozen=True)
class Case:
    """A definition, its plots, and their map, drawn once for every test that only looks at it."""

    definition: Definition
    plots: pd.DataFrame
    figure: Figure


@pytest.fixture(scope="module", params=CASES)
def case(request, make_kind):
    layout = dict(CASES[request.param])
    definition = make_kind(layout.pop("kind", "split plot"), **layout)
    plots = draw(definition)
    return Case(definition, plots, plot_map(plots, definition))


def test_every_plot_has_its_number_and_its_treatment(case):
    definition, plots, figure = case.definition, case.plots, case.figure
    assert sorted(numbers_of(figure)) == sorted(plots["plot"])
    assert set(plots["plot"]) <= set(words_of(figure))
    words = [text.get_text() for text in texts_of(figure) if text.get_weight() != "bold"]
    for plot in plots.to_dict("records"):
        levels = [plot[factor] for factor in definition.treatments]
        ways = {levels[0], ", ".join(levels), " ".join(level[0] for level in levels)}
        used = next(word for word in words if word in ways)
        words.remove(used)


def test_words_do_not_collide_nor_leave_the_page(case):
    width, height = case.figure.get_size_inches() * 72
    assert width == pytest.approx(504)
    boxes = boxes_of(case.figure)
    for text, box in boxes:
        assert box.x0 >= 0, text
        assert box.y0 >= 0, text
        assert box.x1 <= width, text
        assert box.y1 <= height, text
    for (one, a), (other, b) in itertools.combinations(boxes, 2):
        wide = min(a.x1, b.x1) - max(a.x0, b.x0)
        tall = min(a.y1, b.y1) - max(a.y0, b.y0)
        # A text's box has room for accents and descenders that its letters may not use.
        assert wide <= 0.5 or tall <= 2.5, (one, other)


def test_words_are_large_enough_to_read(case):
    sizes = [text.get_fontsize() for text in texts_of(case.figure)]
    assert min(sizes) >= 5.5


def test_numbers_stand_in_their_plots(case):
    plots, figure = case.plots, case.figure
    # The tape may have the same number; those of plots are bold.
    bold = [text.get_weight() == "bold" for text in texts_of(figure)]
    boxes = dict(box for box, is_bold in zip(boxes_of(figure), bold, strict=True) if is_bold)
    for plot, patch in zip(plots["plot"], plots_of(figure), strict=False):
        box, at = boxes[plot], patch.get_bbox()
        assert at.x0 <= box.x0
        assert box.x1 <= at.x1
        assert at.y0 <= box.y0
        assert box.y1 <= at.y1


def test_plots_are_to_scale_and_in_their_places(case):
    plots = case.plots
    patches = plots_of(case.figure)[: len(plots)]
    widths = np.array([patch.get_width() for patch in patches]) / plots["width_m"]
    scale = widths.iloc[0]
    np.testing.assert_allclose(widths, scale)
    np.testing.assert_allclose([p.get_height() for p in patches] / plots["length_m"], scale)
    grounds = plots["ground"] if "ground" in plots else plots["plot"].str[:0]
    for ground in grounds.drop_duplicates():
        here = (grounds == ground).to_numpy()
        for side, metres in (("x", plots["x_m"][here]), ("y", plots["y_m"][here])):
            at = np.array([getattr(patch, f"get_{side}")() for patch in patches])[here]
            np.testing.assert_allclose(at - at[0], metres * scale, atol=1e-6)


def test_fills_are_the_tints_of_the_covers(make):
    definition = make()
    plots = draw(definition)
    marks = treatment_marks(["open", "fleece", "woven"], "open")
    for cover, patch in zip(plots["cover"], plots_of(plot_map(plots, definition)), strict=False):
        assert to_hex(patch.get_facecolor()).upper() == marks[cover].tint


def test_raters_copy_tells_no_treatment(case):
    definition, plots = case.definition, case.plots
    figure = plot_map(plots, definition, treatments=False)
    svg = svg_of(figure)
    for name, factor in definition.treatments.items():
        words = [name, *factor.levels, *(level.label for level in factor.levels.values())]
        for word in words:
            assert not re.search(rf"\b{re.escape(word)}\b", svg, re.IGNORECASE), word
        for mark in treatment_marks(list(factor.levels), factor.control).values():
            assert mark.tint.lower() not in svg.lower()
            assert mark.colour.lower() not in svg.lower()
    assert sorted(numbers_of(figure)) == sorted(plots["plot"])


def test_raters_copies_of_two_draws_are_the_same(make):
    one, other = make(seed=1), make(seed=2)
    assert draw(one)["cover"].tolist() != draw(other)["cover"].tolist()
    copies = [svg_of(plot_map(draw(each), each, treatments=False)) for each in (one, other)]
    assert copies[0] == copies[1]


def test_same_plan_same_bytes(make):
    definition = make()
    first, second = (svg_of(plot_map(draw(definition), definition)) for _ in range(2))
    assert first == second


def test_distances_from_the_corner_post(make):
    said = words_of(plot_map(draw(make(blocks=3)), make(blocks=3)))
    # Across: 10 ft plots, two to a whole plot, 2 ft alleys. Along: 6 ft plots, 2 ft alleys.
    assert {"0", "10", "20", "22", "32", "42", "44", "54", "64"} <= set(said)
    assert {"0", "6", "8", "14", "16", "22"} <= set(said)
    assert "10 ft" in said
    assert any("64 ft by 22 ft, square when both diagonals are 67.68 ft" in text for text in said)


def test_metric_readers_see_metres(make):
    definition = make(units="metric", plot_size=["3 m", "2 m"], alley="0.5 m")
    said = words_of(plot_map(draw(definition), definition))
    assert "m from the corner post (black square)" in said
    assert not any(re.search(r"\bft\b", text) for text in said)


def test_blocks_are_named_also_side_by_side(make):
    definition = make(blocks=6, blocks_side_by_side=2, plot_size=["6 ft", "12 ft"])
    said = words_of(plot_map(draw(definition), definition))
    assert {f"Block {n}" for n in range(1, 7)} <= set(said)
    low = make(blocks=6, blocks_side_by_side=2)
    said = words_of(plot_map(draw(low), low))
    assert {f"B{n}" for n in range(1, 7)} <= set(said)


def test_small_plots_carry_codes_that_the_key_explains(make):
    definition = make(
        blocks=12,
        blocks_side_by_side=4,
        plot_size=["5 ft", "5 ft"],
        alley="6 in",
        edge_left_out="3 in",
    )
    plots = draw(definition)
    said = words_of(plot_map(plots, definition))
    assert said.count("f h") == 12
    assert "f = fleece: Spun-bond fleece" in said
    assert "h = hollow: Hollow tine" in said
    assert "a plot's number begins with that of its block" in said


def test_whole_plots_are_named_in_the_strip_or_in_the_plots(make):
    wide = make()
    said = words_of(plot_map(draw(wide), wide))
    assert {"1A", "2C"} <= set(said)
    thin = make(edge_left_out="3 in", plot_size=["10 ft", "10 ft"])
    said = words_of(plot_map(draw(thin), thin))
    assert said.count("in 1A") == 2
    assert "1A" not in said


def _heavy(figure):
    """Outlines as heavy as those of whole plots."""
    return [patch for patch in figure.axes[0].patches if patch.get_linewidth() == 1.4]


def test_row_strips_stand_in_heavy_outlines(make_kind):
    definition = make_kind("strip plot", blocks=3)
    figure = plot_map(draw(definition), definition)
    outlines = _heavy(figure)
    assert len(outlines) == 3 * 3
    plot = plots_of(figure)[0]
    # Two plots of a row strip touch, so the strip is as wide as both.
    np.testing.assert_allclose([p.get_width() for p in outlines], 2 * plot.get_width())
    np.testing.assert_allclose([p.get_height() for p in outlines], plot.get_height())
    said = words_of(figure)
    assert "row strips, from left to right through a block: heavy outlines" in said
    assert "Block 3" in said


@pytest.mark.parametrize("kind", ["latin square", "completely random"])
def test_without_blocks_none_is_drawn(make_kind, kind):
    definition = make_kind(kind)
    figure = plot_map(draw(definition), definition)
    said = words_of(figure)
    assert not any(re.search("[Bb]lock", text) for text in said)
    assert "a plot's number begins with that of its row" in said
    assert _heavy(figure) == []


@pytest.mark.parametrize("kind", ["latin square", "completely random", "strip plot"])
def test_the_raters_copy_of_every_kind_names_no_treatment(make_kind, kind):
    definition = make_kind(kind)
    plots = draw(definition)
    figure = plot_map(plots, definition, treatments=False)
    words = " ".join(words_of(figure)) + map_alt(plots, definition, treatments=False)
    assert not re.search(r"open|fleece|woven|foam|solid|hollow|cover|aeration", words)
    assert {patch.get_facecolor()[:3] for patch in plots_of(figure)[: len(plots)]} == {(1, 1, 1)}


def test_north_is_drawn_only_where_it_is_known(make):
    definition = make()
    plain = words_of(plot_map(draw(definition), definition))
    assert "north" not in plain
    assert "up the page: along the length of the plots" in plain
    known = make(north=90)
    figure = plot_map(draw(known), known)
    said = words_of(figure)
    assert "north" in said
    assert "up the page: along the length of the plots" not in said
    # 90 degrees clockwise from up the page is to the right: the arrow lies flat.
    flat = [line for line in figure.axes[0].lines if line.get_linewidth() == 1.2]
    assert len(flat) == 1
    assert np.ptp(flat[0].get_ydata()) == pytest.approx(0, abs=1e-9)


def test_dollar_signs_in_labels_are_text(make_blocks):
    definition = make_blocks()
    levels = dict(definition.treatments["cover"].levels)
    levels["fleece"] = levels["fleece"].model_copy(update={"label": "Fleece $2$ a yard"})
    factor = definition.treatments["cover"].model_copy(update={"levels": levels})
    priced = definition.model_copy(update={"treatments": {"cover": factor}})
    said = words_of(plot_map(draw(priced), priced))
    assert "fleece: Fleece $2$ a yard" in said


def test_the_figure_is_free_of_global_state(make):
    import matplotlib.pyplot as plt

    before = plt.get_fignums()
    plot_map(draw(make()), make())
    assert plt.get_fignums() == before


class TestGrounds:
    def test_all_of_them_or_one(self, make):
        definition = make(blocks=3, grounds=TWO)
        plots = draw(definition)
        said = words_of(plot_map(plots, definition))
        assert {"Upper field", "Lower field"} <= set(said)
        assert said.count("ft from the corner post (black square)") == 2
        figure = plot_map(plots, definition, ground="lower")
        assert sorted(numbers_of(figure)) == sorted(plots[plots["ground"] == "lower"]["plot"])
        said = words_of(figure)
        assert "Invented ground, Lower field: plan of the plots" in said
        assert any("18 plots of 10 ft by 6 ft in 3 blocks;" in line for line in said)

    def test_a_ground_that_is_not_there(self, make):
        definition = make(grounds=TWO)
        with pytest.raises(WinterswardError, match="'uper'; allowed: upper, lower"):
            plot_map(draw(definition), definition, ground="uper")
        with pytest.raises(WinterswardError, match="'upper'; there is only one"):
            plot_map(draw(make()), make(), ground="upper")


class TestLaidByHand:
    def test_the_statement_stands_in_the_heading_and_not_on_the_raters_copy(self, make):
        definition = make(laid_by_hand=HAND)
        plots = draw(definition)
        said = " ".join(words_of(plot_map(plots, definition)))
        assert (
            "Laid by hand, not drawn from the seed: slips for fleece and woven in a hat "
            "(signed rx, 10 January 2026)." in said
        )
        said = " ".join(words_of(plot_map(plots, definition, treatments=False)))
        assert "Laid by hand, not drawn from the seed (signed rx, 10 January 2026)." in said


def test_a_demonstration_says_that_it_shows_and_does_not_tell(make_kind):
    definition = make_kind("demonstration")
    said = " ".join(words_of(plot_map(draw(definition), definition)))
    assert "6 plots of 10 ft by 6 ft, one area of each treatment; alleys of 2 ft." in said
    assert "A demonstration: every treatment has one area" in said
