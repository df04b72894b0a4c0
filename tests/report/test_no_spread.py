"""Treatments whose plots all stand at one end of their scale are named below the means."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest

from wintersward.report.no_spread import no_spread_words
from wintersward.report.page import Page
from wintersward.report.summaries import means_table
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]

DAY, LATER = pd.Timestamp("2026-04-04"), pd.Timestamp("2026-04-17")
ENDING = (
    " The model spreads their lack of variation over all treatments: intervals of the others may "
    "be too narrow."
)


def stood(plots: pd.DataFrame, value: float, *days: pd.Timestamp, **levels: str) -> pd.DataFrame:
    """Put all plots of some treatments at one value on some days."""
    made = plots.copy()
    chosen = (made["measure"] == "green_cover") & made["date"].isin(days)
    for factor, level in levels.items():
        chosen &= made[factor] == level
    assert chosen.sum() > 1
    made.loc[chosen, "value"] = value
    return made


def said(
    plots: pd.DataFrame, definition: Definition, effect: str, measure: str = "green_cover"
) -> str:
    return no_spread_words(plots, definition, measure, effect, [DAY, LATER, DAY])


def test_a_treatment_at_the_end_on_two_days(tables: Tables, definition: Definition) -> None:
    plots = stood(tables["plot_means"], 100.0, DAY, LATER, aeration="solid")
    words = (
        "On 4 and 17 April 2026 all plots with ‘Solid tine 3/8 in’ stood at 100 %, an end of the "
        "scale."
    )
    assert said(plots, definition, "aeration") == words + ENDING
    # Told once, not again for every cover.
    assert said(plots, definition, "cover:aeration") == words + ENDING
    assert said(plots, definition, "cover") == ""


def test_two_combinations_of_one_day_share_a_sentence(
    tables: Tables, definition: Definition
) -> None:
    plots = stood(tables["plot_means"], 0.0, DAY, cover="open", aeration="solid")
    plots = stood(plots, 0.0, DAY, cover="woven", aeration="solid")
    assert said(plots, definition, "cover:aeration") == (
        "On 4 April 2026 all plots with ‘No cover with solid tine 3/8 in’ and with ‘Woven "
        "permeable cover with solid tine 3/8 in’ stood at 0 %, an end of the scale." + ENDING
    )
    assert said(plots, definition, "aeration") == ""


@pytest.mark.parametrize("value", [99.0, 50.0])
def test_one_value_that_is_no_end_is_not_told(
    value: float, tables: Tables, definition: Definition
) -> None:
    plots = stood(tables["plot_means"], value, DAY, aeration="solid")
    assert said(plots, definition, "aeration") == ""


def test_one_plot_apart_is_enough_to_say_nothing(tables: Tables, definition: Definition) -> None:
    plots = stood(tables["plot_means"], 100.0, DAY, aeration="solid")
    own = plots[(plots["measure"] == "green_cover") & (plots["date"] == DAY)]
    plots.loc[own.index[own["aeration"] == "solid"][0], "value"] = 99.0
    assert said(plots, definition, "aeration") == ""
    assert said(tables["plot_means"], definition, "aeration") == ""


def test_where_all_stand_alike_no_interval_is_too_narrow(
    tables: Tables, definition: Definition
) -> None:
    plots = stood(tables["plot_means"], 100.0, DAY)
    assert said(plots, definition, "aeration") == ""


def test_a_scale_of_marks_has_ends_and_a_force_has_none(
    tables: Tables, definition: Definition
) -> None:
    plots = stood(tables["plot_means"], 9.0, LATER, aeration="hollow")
    rated = plots.assign(measure=plots["measure"].where(plots["measure"] != "green_cover", "x"))
    rated = rated[rated["measure"] == "x"].assign(measure="colour_rating")
    words = said(rated, definition, "aeration", "colour_rating")
    assert words.startswith("On 17 April 2026 all plots with ‘Hollow tine 3/4 in’ stood at 9, an")
    assert said(rated.assign(measure="pull_force"), definition, "aeration", "pull_force") == ""


def test_it_stands_below_the_table_of_the_means(tables: Tables, definition: Definition) -> None:
    plots = stood(tables["plot_means"], 100.0, LATER, aeration="solid")
    args = tables["means"], definition, "green_cover", "aeration"
    held = means_table(*args, plot_means=plots)
    assert ENDING.strip() in held
    assert "lack of variation" not in means_table(*args, plot_means=tables["plot_means"])
    assert "lack of variation" not in means_table(*args)


def test_the_page_tells_it(
    make_page: Callable[..., Page], tables: Tables, definition: Definition
) -> None:
    plots = stood(tables["plot_means"], 100.0, LATER, aeration="solid")
    html = make_page(tables | {"plot_means": plots}, definition).section("results").html
    assert ENDING.strip() in html
    plain = make_page(tables, definition).section("results").html
    assert ENDING.strip() not in plain
    # What is taken over dates is counted apart from what is of single dates.
    assert "Of single dates this report holds" in plain
    assert "Season averages and models of all dates hold" in plain
