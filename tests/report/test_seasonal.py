from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.seasonal import (
    season_differences_table,
    season_means_table,
    season_words,
    seasons_differences_table,
    seasons_tests_table,
    seasons_words,
)
from wintersward.trial import Definition
from wintersward.trial.schema import LoggerMeasure

Tables = dict[str, pd.DataFrame]


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [
        [" ".join(c.get_text().split()) for c in line.find_all(["th", "td"])]
        for line in soup.select("tbody tr")
    ]


def test_the_season_is_said_for_the_primary_pair(tables: Tables, definition: Definition) -> None:
    (said,) = season_words(tables["season_differences"], definition, "green_cover")
    assert str(said) == (
        "Supporting, not adjusted: we estimate that on average over all days from 10 March 2026 to "
        "17 April 2026 plots with spun-bond fleece had 6 points more green cover than plots with "
        "no cover (95 % interval 2 to 10 points)."
    )
    assert "season_differences.csv:3" in str(said.__html__())
    assert season_words(tables["season_differences"], definition, "pull_force") == []


def test_a_family_is_said_pair_by_pair(tables: Tables, declared: Definition) -> None:
    said = season_words(tables["season_differences"], declared, "green_cover")
    assert ["fleece" in str(words) for words in said] == [True, False]


def test_a_rating_is_higher_not_more(tables: Tables, definition: Definition) -> None:
    rated = tables["season_differences"].assign(measure="colour_rating")
    (said,) = season_words(rated, definition, "colour_rating")
    assert "the colour rating of plots with spun-bond fleece was 6 higher than that of" in str(said)
    # Of another measure than the question's it is a secondary look.
    assert str(said).startswith("Secondary, not adjusted for other comparisons: we estimate that")


def test_an_average_of_two_visits_is_called_that(tables: Tables, definition: Definition) -> None:
    rows = tables["season_differences"]
    two = ["2026-01-15", "2026-03-10", "2026-04-17", "2026-04-17"]
    (said,) = season_words(rows, definition, "green_cover", two)
    assert "on average of the two visits on 10 March 2026 and 17 April 2026 plots" in str(said)
    (said,) = season_words(rows, definition, "green_cover", [*two, "2026-03-24"])
    assert "on average over all days from 10 March 2026 to 17 April 2026 plots" in str(said)


def test_a_logger_has_a_better_average_than_lines_between_a_few_days(
    tables: Tables, definition: Definition
) -> None:
    fields = {"from": "logger", "dates": ["visits"], "what": "soil temperature", "depth": "4 in"}
    measures = {**definition.measures, "soil": LoggerMeasure.model_validate(fields)}
    logged = definition.model_copy(update={"measures": measures})
    rows = tables["season_differences"].assign(measure="soil")
    assert season_words(rows, logged, "soil") == []
    between = "Straight lines between these few days stand for the days between them"
    means = tables["season_means"].assign(measure="soil")
    assert between in season_means_table(means, logged, "soil")
    assert between in season_differences_table(rows, logged, "soil")
    own = season_differences_table(tables["season_differences"], definition, "green_cover")
    assert between not in own


def test_averages_stand_in_the_definitions_order(tables: Tables, definition: Definition) -> None:
    rows = rows_of(season_means_table(tables["season_means"], definition, "green_cover"))
    assert [row[-4] for row in rows] == 2 * [
        "No cover",
        "Spun-bond fleece",
        "Woven permeable cover",
    ]
    assert rows[0][0] == "10 March 2026 to 17 April 2026"
    assert rows[3][0] == "4 April 2026 to 17 April 2026"
    assert rows[0][1:] == ["No cover", "64", "60 to 68", "6"]
    assert season_means_table(tables["season_means"], definition, "pull_force") == ""


def test_differences_of_averages_name_their_days(tables: Tables, definition: Definition) -> None:
    html = season_differences_table(tables["season_differences"], definition, "green_cover")
    rows = rows_of(html)
    assert len(rows) == 6
    assert rows[0][1:2] == ["Spun-bond fleece minus no cover"]
    assert "neither p nor intervals are adjusted" in html
    assert season_differences_table(tables["season_differences"], definition, "pull_force") == ""


def test_seasons_together_are_said_and_shown(tables: Tables, definition: Definition) -> None:
    found = tables["seasons_differences"]
    (said,) = seasons_words(found, definition)
    assert str(said).startswith("Over the two seasons 2025 and 2026 together we estimate that on")
    assert "had 11 points more green cover than plots with no cover" in str(said)
    rows = rows_of(seasons_differences_table(found, definition))
    labels = [row[-6] for row in rows]
    assert labels == 3 * ["2025", "2026", "all seasons"]
    strong = BeautifulSoup(seasons_differences_table(found, definition), "html.parser")
    assert len(strong.select("tr.strong")) == 3
    assert seasons_differences_table(found.iloc[:0], definition) == ""
    assert seasons_words(found.iloc[:0], definition) == []


def test_tests_of_seasons_name_the_season(tables: Tables, definition: Definition) -> None:
    rows = rows_of(seasons_tests_table(tables["seasons_tests"], definition))
    assert [row[0] for row in rows] == ["Cover", "Season", "Cover × season"]
    assert rows[0][-1] == "whole plot in each season"
    assert seasons_tests_table(tables["seasons_tests"].iloc[:0], definition) == ""
