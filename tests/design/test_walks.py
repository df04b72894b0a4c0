import itertools

import pytest

from design.map_reading import HAND, PLACES, plots_of, words_of
from wintersward.design import draw, plot_map


def test_way_on_foot_begins_at_the_first_plot_and_keeps_to_the_alleys(make):
    definition = make(blocks=4)
    plots = draw(definition)
    figure = plot_map(plots, definition)
    way = max(figure.axes[0].lines, key=lambda line: len(line.get_xdata()))
    patches = plots_of(figure)[: len(plots)]
    spots = list(zip(way.get_xdata(), way.get_ydata(), strict=True))
    assert spots[0][0] < patches[0].get_x()
    assert spots[0][1] < patches[0].get_y()
    for (x0, y0), (x1, y1) in itertools.pairwise(spots):
        assert x0 == pytest.approx(x1) or y0 == pytest.approx(y1)
        for patch in patches:
            at = patch.get_bbox()
            inside_x = min(x0, x1) < at.x1 and max(x0, x1) > at.x0
            inside_y = min(y0, y1) < at.y1 and max(y0, y1) > at.y0
            assert not (inside_x and inside_y)


def test_no_way_is_drawn_where_plots_stand_in_no_rows(make):
    definition = make(laid_by_hand=HAND)
    plots = draw(definition)
    plots.loc[3, "y_m"] = 0.5
    figure = plot_map(plots, definition)
    said = " ".join(words_of(figure))
    assert "The column walk of plan/plots.csv is the order on foot." in said
    assert max(len(line.get_xdata()) for line in figure.axes[0].lines) == 2
    mixed = plots.assign(width_m=[2.5, *plots["width_m"][1:]])
    said = " ".join(words_of(plot_map(mixed, definition)))
    assert "12 plots of 8.2 ft by 6 ft to 10 ft by 6 ft in 2 blocks." in said


def test_scattered_blocks_are_walked_each_along_its_own_line(make):
    definition = make(blocks=4, block_places=PLACES)
    figure = plot_map(draw(definition), definition)
    said = " ".join(words_of(figure))
    assert "Walk block after block, each along its grey line from the dot." in said
    dots = [line for line in figure.axes[0].lines if line.get_marker() == "o"]
    assert len(dots) == 4
