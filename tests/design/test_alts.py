import re

from wintersward.design import draw, map_alt

TWO = {"upper": "Upper field", "lower": "Lower field"}


def test_numbers_and_arrangement(make_blocks):
    definition = make_blocks(seed=0xDEADBEAF)
    assert map_alt(draw(definition), definition) == (
        "Map to scale of 6 plots of 10 ft by 6 ft in 2 blocks of 3 plots, 34 ft wide and "
        "14 ft long, with alleys of 2 ft. The way on foot leads from plot 101 to plot 201. "
        "From left to right, cover: block 1: open, fleece, woven; "
        "block 2: fleece, open, woven."
    )


def test_latin_square(make_kind):
    definition = make_kind("latin square", {"cover": ["open", "fleece", "woven"]})
    plots = draw(definition)
    alt = map_alt(plots, definition)
    assert alt.startswith(
        "Map to scale of 9 plots of 10 ft by 6 ft in 3 rows and 3 columns, 34 ft wide and "
        "22 ft long, with alleys of 2 ft. The way on foot leads from plot 101 to plot 303. "
        "From left to right, cover: row 1: "
    )
    second = ", ".join(plots["cover"].iloc[3:6])
    assert f"row 2: {second}; row 3: " in alt


def test_completely_random(make_kind):
    definition = make_kind("completely random", {"cover": ["open", "fleece"]})
    assert map_alt(draw(definition), definition).startswith(
        "Map to scale of 6 plots of 10 ft by 6 ft, 3 plots of each treatment, 34 ft wide"
    )


def test_strips(make_kind):
    definition = make_kind("strip plot")
    plots = draw(definition)
    alt = map_alt(plots, definition)
    assert "12 plots of 10 ft by 6 ft in 2 blocks of 3 row strips and 2 column strips" in alt
    first = plots[plots["block"] == "1"]
    rows = ", ".join(first["cover"].iloc[::2])
    across = ", ".join(first["aeration"].iloc[:2])
    assert (
        "Rows from the lowest up, cover, and columns from left to right, aeration: "
        f"block 1: {rows}, and {across}; block 2: "
    ) in alt


def test_raters_copy(make):
    definition = make()
    alt = map_alt(draw(definition), definition, treatments=False)
    assert alt.endswith("to plot 201. Treatments are not shown.")
    assert "in 2 blocks of 6 plots, 64 ft wide" in alt
    assert "whole plot" not in alt
    assert "2 blocks of 3 whole plots with 2 each" in map_alt(draw(definition), definition)
    assert not re.search(r"open|fleece|woven|solid|hollow|cover|aeration", alt)


def test_raters_are_not_told_of_strips(make_kind):
    definition = make_kind("strip plot")
    alt = map_alt(draw(definition), definition, treatments=False)
    assert "in 2 blocks of 6 plots, " in alt
    assert "strip" not in alt


def test_long_plans_point_to_the_table(make):
    definition = make(blocks=20)
    alt = map_alt(draw(definition), definition)
    assert alt.endswith("plan/plots.csv lists the treatments of every plot.")
    assert len(alt) < 400


def test_several_grounds(make):
    areas = [
        {"what": "drain", "at": ["70 ft", "0 ft"], "size": ["3 ft", "9 ft"], "ground": "lower"}
    ]
    definition = make(grounds=TWO, north=30, areas_left_out=areas)
    plots = draw(definition)
    assert map_alt(plots, definition, treatments=False) == (
        "Maps to scale of 24 plots of 10 ft by 6 ft in 2 blocks on each of 2 grounds, each block "
        "of 6 plots, with alleys of 2 ft. Upper field: 64 ft wide and 14 ft "
        "long. The way on foot leads from plot 101 to plot 201. Lower field: 64 ft wide and 14 ft "
        "long. The way on foot leads from plot 301 to plot 401. Left out: drain, 3 ft by 9 ft. "
        "North is 30 degrees clockwise from up the page. Treatments are not shown."
    )
    one = map_alt(plots, definition, treatments=False, ground="upper")
    assert one == (
        "Map to scale of Upper field: 12 plots of 10 ft by 6 ft in 2 blocks of 6 plots, "
        "64 ft wide and 14 ft long, with alleys of 2 ft. The way on foot leads from plot "
        "101 to plot 201. North is 30 degrees clockwise from up the page. Treatments are not shown."
    )


def test_the_enlarged_plot_is_counted(make):
    photo = {"from": "photos", "dates": ["visits"], "quadrat": ["3 ft", "2 ft"]}
    pull = {"from": "sheet", "unit": "lbf", "per_plot": 3, "destructive": True, "dates": ["visits"]}
    definition = make(measures={"green_cover": photo, "pull": pull})
    said = map_alt(draw(definition), definition)
    assert "One plot is enlarged, with 1 photo of green cover, 6 spots of pull." in said


def test_laid_by_hand(make):
    hand = {"how": "slips for fleece in a hat", "signed": "rx", "date": "2026-01-10"}
    definition = make(laid_by_hand=hand)
    said = map_alt(draw(definition), definition)
    assert "14 ft long. The way" in said
    assert "seed: slips for fleece in a hat (signed rx, 10 January 2026)." in said
    assert "fleece" not in map_alt(draw(definition), definition, treatments=False)
