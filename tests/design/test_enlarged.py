from design.map_reading import MEASURES, PULL, words_of
from wintersward.design import draw, plot_map


def test_spots_of_every_date_and_the_photo_stand_in_the_plot(make):
    definition = make(measures=MEASURES)
    figure = plot_map(draw(definition), definition)
    said = words_of(figure)
    assert "Every plot, enlarged" in said
    assert {"spots of pull on", "10 March", "24 March"} <= set(said)
    assert "Green turf: a photo of 3 ft by 2 ft" in said
    large = [p for p in figure.axes[0].patches if p.get_linewidth() == 0.8]
    assert len(large) == 1
    at = large[0].get_bbox()
    spots = [line for line in figure.axes[0].lines if line.get_markeredgewidth() == 0.6]
    inside = [at.contains(line.get_xdata()[0], line.get_ydata()[0]) for line in spots]
    # Six in the plot, and one beside the words of each date.
    assert (inside.count(True), inside.count(False)) == (6, 2)


def test_nothing_where_no_measure_has_a_place(make):
    assert "Every plot, enlarged" not in words_of(plot_map(draw(make()), make()))


def test_spots_that_cannot_be_told_apart_are_counted(make):
    wide = {"plot_size": ["60 m", "1 m"], "edge_left_out": "0.1 m"}
    many = {"pull": {**PULL, "per_plot": 150}}
    definition = make(measures=many, **wide)
    said = words_of(plot_map(draw(definition), definition))
    assert any("300 spots of destructive readings are too close" in line for line in said)
