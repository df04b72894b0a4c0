from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.dates_together import (
    joint_differences_table,
    joint_tests_table,
    joint_words,
    structure_words,
    structures_table,
    term_text,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [
        [" ".join(c.get_text().split()) for c in line.find_all(["th", "td"])]
        for line in soup.select("tbody tr")
    ]


def test_choice_and_runner_up_are_said(tables: Tables, definition: Definition) -> None:
    first, second = structure_words(tables["structures"], definition, "green_cover")
    assert str(first) == (
        "For cover, observations of one plot or whole plot are taken as fading with the days "
        "between, one variance (AICc 380.0; runner-up: alike on all dates, one variance, AICc "
        "382.4; correlation of residuals one day apart 0.91)."
    )
    assert str(second).startswith("For cover × aeration,")
    assert structure_words(tables["structures"], definition, "pull_force") == []


def test_nothing_is_said_where_nothing_was_chosen(tables: Tables, definition: Definition) -> None:
    refused = tables["structures"].assign(verdict="refused")
    assert structure_words(refused, definition, "green_cover") == []
    assert len(rows_of(structures_table(refused, definition, "green_cover"))) == 6


def test_every_structure_stands_with_its_reason(tables: Tables, definition: Definition) -> None:
    html = structures_table(tables["structures"], definition, "green_cover")
    rows = rows_of(html)
    assert [row[-5] for row in rows] == 2 * ["chosen", "runner-up", "refused"]
    assert rows[2][-4:] == ["–", "–", "5", "fewer than 8 residual degrees of freedom"]
    assert len(BeautifulSoup(html, "html.parser").select("tr.strong")) == 2
    assert structures_table(tables["structures"], definition, "pull_force") == ""


def test_design_df_stand_beside_those_used(tables: Tables, definition: Definition) -> None:
    rows = rows_of(joint_tests_table(tables["joint_tests"], definition, "green_cover"))
    assert rows[0] == ["10 March 2026 to 17 April 2026", "Cover", "12.00", "2", "10", "9.6"] + [
        "0.001",
        "whole plot",
    ]
    assert [row[-7] for row in rows] == 2 * ["Cover", "Date", "Cover × date"]
    assert joint_tests_table(tables["joint_tests"], definition, "pull_force") == ""


def test_dates_and_their_average_are_apart(tables: Tables, definition: Definition) -> None:
    joint = tables["joint_differences"]
    overall = rows_of(joint_differences_table(joint, definition, "green_cover"))
    each = rows_of(joint_differences_table(joint, definition, "green_cover", each=True))
    assert len(overall) == len(each) == 6
    # The dates of a pair stand together.
    assert [row[0] for row in each[::2]] == [
        "Spun-bond fleece minus no cover",
        "Woven permeable cover minus no cover",
        "Spun-bond fleece minus woven permeable cover",
    ]
    assert {row[-6] for row in overall} == {"cover", "cover × aeration"}
    assert {row[-6] for row in each} == {"4 April 2026", "4 April 2026, cover × aeration"}
    assert joint_differences_table(joint.iloc[:0], definition, "green_cover") == ""


def test_terms_are_named(definition: Definition) -> None:
    assert term_text(definition, "cover:aeration:date") == "Cover × aeration × date"
    assert term_text(definition, "date") == "Date"


def test_all_dates_together_are_one_sentence(tables: Tables, definition: Definition) -> None:
    joint = tables["joint_differences"]
    said, weighed = joint_words(joint, definition, "green_cover")
    assert str(said).startswith(
        "Supporting, not adjusted: with all dates in one model we estimate that, averaged over the "
        "dates, plots with"
    )
    assert str(weighed) == (
        "Season averages weigh every day the same, the model of all dates every visit."
    )
    assert "95 % interval" in str(said)
    rows = joint[(joint["date"].astype(str) == "all") & (joint["left"] == "fleece")]
    at = rows.index[rows["right"] == "open"][0]
    assert f"joint_differences.csv:{at + 2}" in str(said.__html__())
    assert joint_words(joint, definition, "pull_force") == []
    dated = joint[joint["date"].astype(str) != "all"]
    more = pd.concat([joint, dated.assign(date="2026-04-17")])
    (two,) = joint_words(more.assign(measure="pull_force"), definition, "pull_force")
    assert str(two).startswith(
        "Secondary, not adjusted for other comparisons: with all dates in one model we estimate "
        "that, averaged over the two visits, plots with"
    )
