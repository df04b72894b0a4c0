from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.methods import (
    draw_words,
    layout_words,
    material_words,
    measure_words,
    photo_words,
    replication_words,
    skeleton_table,
    surroundings_words,
    unit_words,
)
from wintersward.trial import Definition
from wintersward.trial.schema import PhotoMeasure

Tables = dict[str, pd.DataFrame]


def test_a_split_plot_is_described(definition: Definition) -> None:
    said = layout_words(definition)
    assert "split plot in six blocks (laid out by shade of the stand)" in said
    assert "three whole plots" in said
    assert "two subplots" in said
    assert "10 ft by 6 ft" in said
    assert "outermost 1 ft" in said


def test_the_draw_follows_the_layout(definition: Definition, blocks_only: Definition) -> None:
    said = draw_words(definition)
    assert "in every block, cover treatments over its whole plots; then, in every whole" in said
    assert "aeration treatments over its subplots" in said
    assert "seed 20260119" in said
    assert "all treatments over its plots" in draw_words(blocks_only)


def test_fewer_samples_are_told(definition: Definition, blocks_only: Definition) -> None:
    for one in (definition, blocks_only):
        assert "counts the same as the others, although its mean is less certain" in unit_words(one)


def test_blocks_are_described(blocks_only: Definition) -> None:
    said = layout_words(blocks_only)
    assert "every treatment once, on three plots" in said
    assert "split" not in said
    assert "experimental unit is the plot" in unit_words(blocks_only)


def test_every_layout_is_described(laid_out: Callable[..., Definition]) -> None:
    strips = laid_out("strip plot", True, blocks=4, row_strips="cover", column_strips="aeration")
    said = layout_words(strips)
    assert "a strip plot in four blocks. Through each block run three row strips" in said
    assert "across them two column strips, one for each aeration treatment" in said
    assert "cover treatments over its row strips and, by themselves, aeration" in draw_words(strips)
    units = unit_words(strips)
    assert "unit of cover is the row strip, that of aeration the column strip" in units
    assert "that of both together the plot" in units
    assert "Until 25 March 2026, when aeration began, the plots of a row strip" in units
    square = laid_out("latin square")
    assert "a Latin square of 3 rows and 3 columns: every treatment stands once" in layout_words(
        square
    )
    assert "once in each row and once in each column" in draw_words(square)
    loose = laid_out("completely random", replicates=5)
    assert "without blocks: 5 plots of each treatment, anywhere among 15 plots" in layout_words(
        loose
    )
    assert "all treatments over all plots" in draw_words(loose)
    for one in (square, loose):
        assert "experimental unit is the plot" in unit_words(one)
        assert "block holds" not in layout_words(one)
    around = [surroundings_words(one) for one in (strips, square, loose)]
    assert around == ["blocks around strips", "rows and columns", ""]
    assert replication_words(square) == "3 rows and 3 columns"
    assert replication_words(strips) == "four blocks"


def test_a_plan_laid_by_hand_prints_its_statement(laid_out: Callable[..., Definition]) -> None:
    told = {"how": "Slips drawn from a hat.", "signed": "rx", "date": "2026-01-12"}
    hand = laid_out("randomised blocks", blocks=4, laid_by_hand=told)
    said = draw_words(hand)
    assert "not drawn from the seed. The statement signed rx on 12 January 2026: “Slips" in said
    assert "by computer" not in said
    assert "treatments were laid out by hand for plots" in unit_words(hand)
    split = {"blocks": 4, "whole_plot": "cover", "subplot": "aeration", "laid_by_hand": told}
    assert "for these the treatments were laid out by hand." in unit_words(
        laid_out("split plot", True, **split)
    )


def test_grounds_are_drawn_each_by_itself(laid_out: Callable[..., Definition]) -> None:
    names = {"upper": "Upper field", "lower": "Lower field"}
    two = laid_out("randomised blocks", blocks=4, grounds=names)
    assert "over its plots, drawn independently on each ground." in draw_words(two)
    assert "treatments were drawn for plots on each ground by itself" in unit_words(two)
    assert surroundings_words(two) == "the blocks of each ground"


def test_a_demonstration_has_nothing_to_compare_with(laid_out: Callable[..., Definition]) -> None:
    shown = laid_out("demonstration")
    assert "each treatment over one of the plots" in draw_words(shown)
    assert "nothing to compare it with that was treated alike" in unit_words(shown)
    assert "experimental unit" not in unit_words(shown)
    assert surroundings_words(shown) == ""


def test_metric_readers_see_metres(definition: Definition) -> None:
    said = layout_words(definition.model_copy(update={"units": "metric"}))
    assert "3.048 m by 1.829 m" in said
    assert " ft" not in said


def test_samples_are_not_replicates(definition: Definition) -> None:
    said = unit_words(definition)
    assert "never count as replicates" in said
    assert "Until 25 March 2026, when aeration began" in said


def test_dates_alike_share_their_terms(tables: Tables, definition: Definition) -> None:
    soup = BeautifulSoup(skeleton_table(tables["skeleton"], definition), "html.parser")
    rows = [[c.get_text() for c in line.find_all(["th", "td"])] for line in soup.select("tbody tr")]
    assert rows == [
        ["10, 16 and 24 March 2026", "Cover", "whole plots", "10", "10"],
        ["4 and 17 April 2026", "Cover", "whole plots", "10", "10"],
        ["Aeration", "subplots", "15", "15"],
        ["Cover × aeration", "subplots", "15", "15"],
    ]


def test_degrees_of_freedom_lost_to_missing_plots_are_told(
    tables: Tables, definition: Definition
) -> None:
    skeleton = tables["skeleton"].copy()
    at = skeleton.index[skeleton["term"] == "cover"][0]
    skeleton.loc[at, "df_used"] = 8.6
    assert "8.6 to 10" in skeleton_table(skeleton, definition)
    skeleton["df_used"] = np.nan
    assert "–" in skeleton_table(skeleton, definition)
    assert skeleton_table(skeleton.iloc[:0], definition) == ""


def test_measures(definition: Definition) -> None:
    assert measure_words(definition, "green_cover").startswith(
        "One photo a plot, scored by computer, in %. Dates: 15 January, 10, 16 and 24 March"
    )
    assert "Rated by T. Example and R. Example on a scale from 1 to 9" in measure_words(
        definition, "colour_rating"
    )
    assert "three readings a plot" in measure_words(definition, "pull_force").lower()
    assert "in lbf" in measure_words(definition, "pull_force")


def test_the_rule_of_green_names_its_window(definition: Definition) -> None:
    assert "from 50 to 170 degrees" in photo_words(definition)[0]
    window = {"hue": (60, 150), "saturation": (0.1, 1.0)}
    measure = PhotoMeasure.model_validate({"from": "photos", "dates": ["visits"], "window": window})
    changed = definition.model_copy(update={"measures": {"lawn": measure}})
    assert "from 60 to 150 degrees" in photo_words(changed)[0]
    assert "saturation from 0.1 to 1" in photo_words(changed)[0]
    assert "These limits" not in photo_words(changed)[0]
    published = measure.model_copy(update={"window": "richardson 2001"})
    named = definition.model_copy(update={"measures": {"lawn": published}})
    assert "from 57 to 107 degrees" in photo_words(named)[0]
    assert "Richardson, Karcher and Purcell (2001)" in photo_words(named)[0]
    assert "from memory" in photo_words(named)[0]


def test_materials_in_both_systems(definition: Definition) -> None:
    fleece = definition.treatments["cover"].levels["fleece"]
    hollow = definition.treatments["aeration"].levels["hollow"]
    assert material_words(fleece, "us") == (
        "0.9 oz/yd²; lets 80 % of the light through (as stated, not measured)"
    )
    # 0.9 oz/yd2 are 30.5 g/m2: 28.349523125 g by 0.83612736 m2, NIST SP 811, appendix B.8.
    assert material_words(fleece, "metric").startswith("30.52 g/m²")
    assert "0.75 in outside, 0.6 in inside, 2 in by 2 in apart" in material_words(hollow, "us")
