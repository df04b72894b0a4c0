import numpy as np

from design.map_reading import AREAS, PLACES, TWO, plots_of, words_of
from wintersward.design import draw, plot_map


def test_they_are_hatched_to_scale_and_named(make):
    definition = make(blocks=4, block_places=PLACES, areas_left_out=AREAS)
    figure = plot_map(draw(definition), definition)
    hatched = [patch for patch in figure.axes[0].patches if patch.get_hatch()]
    scale = plots_of(figure)[0].get_width() / 10
    sides = [(patch.get_width() / scale, patch.get_height() / scale) for patch in hatched]
    # The drain is cut off an alley beyond a quarter more than the 50 ft of the plots.
    np.testing.assert_allclose(sides, [(24, 20), (5, 64.5)], atol=1e-6)
    said = words_of(figure)
    assert {"goal mouth", "drain", "goal mouth, 24 ft by 20 ft"} <= set(said)


def test_only_those_of_the_ground_that_is_shown(make):
    areas = [{**AREAS[0], "at": ["70 ft", "0 ft"], "ground": "upper"}]
    definition = make(grounds=TWO, areas_left_out=areas)
    plots = draw(definition)
    for ground, count in (("upper", 1), ("lower", 0)):
        figure = plot_map(plots, definition, ground=ground)
        assert sum(bool(patch.get_hatch()) for patch in figure.axes[0].patches) == count
        assert ("goal mouth, 24 ft by 20 ft" in words_of(figure)) == bool(count)
