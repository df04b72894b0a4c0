from __future__ import annotations

import math
import re

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.report.summaries import (
    differences_table,
    effects_table,
    means_table,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [
        [" ".join(c.get_text().split()) for c in line.find_all(["th", "td"])]
        for line in soup.select("tbody tr")
    ]


def test_means_stand_in_the_definitions_order(tables: Tables, definition: Definition) -> None:
    html = means_table(tables["means"], definition, "green_cover", "cover")
    soup = BeautifulSoup(html, "html.parser")
    groups = [th.get_text() for th in soup.find_all("th", scope="colgroup")]
    assert groups == ["No cover", "Spun-bond fleece", "Woven permeable cover"]
    days = [row[0] for row in rows_of(html)]
    assert days == [
        "10 March 2026",
        "16 March 2026",
        "24 March 2026",
        "4 April 2026",
        "17 April 2026",
    ]
    assert "Each mean is over six whole plots in six blocks." in html


def test_crossed_means_have_a_row_for_each_treatment_of_the_other_factor(
    tables: Tables, definition: Definition
) -> None:
    html = means_table(tables["means"], definition, "green_cover", "cover:aeration")
    assert [row[:2] for row in rows_of(html)][0] == ["4 April 2026", "Solid tine 3/8 in"]
    assert len(rows_of(html)) == 4


def test_a_treatment_without_a_mean_leaves_its_place(
    tables: Tables, definition: Definition
) -> None:
    means = tables["means"]
    gone = (means["level"] == "woven") & (means["date"] == pd.Timestamp("2026-03-10"))
    html = means_table(means[~gone], definition, "green_cover", "cover")
    assert rows_of(html)[0][-2:] == ["–", "–"]


def test_the_primary_difference_stands_out_once(tables: Tables, definition: Definition) -> None:
    html = differences_table(tables["differences"], definition, "green_cover")
    strong = BeautifulSoup(html, "html.parser").select("tr.strong")
    assert len(strong) == 1
    assert "24 March 2026, primary" in strong[0].get_text()
    assert html.count("24 March 2026") == 3
    assert "p by Holm, intervals by Bonferroni, over the" in html
    # The primary question has a p of its own; it is no member of the family.
    assert strong[0].find_all("td")[-1].get_text() == "–"


@pytest.mark.parametrize("column", ["difference", "lower", "upper", "se", "df", "p_alone", "p"])
def test_shown_differences_are_those_of_the_table(
    tables: Tables, definition: Definition, column: str
) -> None:
    differences = tables["differences"]
    html = differences_table(differences, definition, "green_cover")
    place = ["difference", "lower", "upper", "se", "df", "p_alone", "p"].index(column)
    for line in BeautifulSoup(html, "html.parser").select("tbody tr"):
        if column == "p" and "strong" in line.get("class", []):
            continue
        data = line.find_all("data")[place]
        row = differences.loc[int(data["title"].removeprefix("differences.csv:")) - 2]
        assert float(data["value"]) == pytest.approx(row[column], rel=1e-9)


def test_differences_are_signed(tables: Tables, definition: Definition) -> None:
    for row in rows_of(differences_table(tables["differences"], definition, "green_cover")):
        assert re.fullmatch(r"[+−]\d+(\.\d+)?|0(\.0+)?", row[-6])


def test_no_end_of_an_interval_seems_to_touch_zero(tables: Tables, definition: Definition) -> None:
    differences = tables["differences"].copy()
    first = differences.index[differences["measure"] == "green_cover"][0]
    differences.loc[first, "lower"] = 0.2
    html = differences_table(differences, definition, "green_cover")
    # As many decimals as the end nearest to zero asks for, alike in the whole table.
    place = f'<data value="0.2" title="differences.csv:{first + 2}">'
    assert re.search(re.escape(place) + r"\+0\.20*</data>", html)
    signed = re.findall(r">[+−](\d+(?:\.\d+)?)</data>", html)
    assert len({len(one.partition(".")[2]) for one in signed}) == 1


def test_simple_differences_name_what_they_are_within(
    tables: Tables, definition: Definition
) -> None:
    html = differences_table(tables["differences"], definition, "green_cover", within=True)
    assert "Spun-bond fleece minus no cover, with hollow tine 3/4 in" in html
    assert len(rows_of(html)) == 2 * (2 * 3 + 3)


def test_forces_are_shown_in_the_readers_unit(tables: Tables, definition: Definition) -> None:
    us = differences_table(tables["differences"], definition, "pull_force")
    metric = definition.model_copy(update={"units": "metric"})
    si = differences_table(tables["differences"], metric, "pull_force")
    assert "[lbf]" in us
    assert "[N]" in si
    values = [re.findall(r'value="([^"]+)"', html) for html in (us, si)]
    assert values[0] == values[1]


def test_tests_name_their_experimental_unit(tables: Tables, definition: Definition) -> None:
    rows = rows_of(effects_table(tables["tests"], definition, "green_cover"))
    assert {row[-1] for row in rows} == {"whole plots", "subplots"}
    assert ["Cover × aeration" in row for row in rows].count(True) == 2


def test_notes_say_what_is_adjusted(tables: Tables, definition: Definition) -> None:
    overall = differences_table(tables["differences"], definition, "green_cover")
    assert "(green cover, every comparison on every planned date)" in overall
    assert "From 4 April 2026 on, each factor is averaged over the other." in overall
    inside = differences_table(tables["differences"], definition, "green_cover", within=True)
    assert "(green cover, every comparison on every planned date)" in inside
    assert "averaged over" not in inside
    early = differences_table(tables["differences"], definition, "pull_force")
    assert "primary" not in early


def test_letters_stand_beside_intervals_where_there_are_any(
    tables: Tables, definition: Definition
) -> None:
    means, differences = tables["means"].copy(), tables["differences"]
    args = (definition, "green_cover", "cover", differences)
    assert "letters" not in means_table(means, *args)
    here = (means["measure"] == "green_cover") & (means["effect"] == "cover")
    here &= means["date"] == pd.Timestamp("2026-03-24")
    means.loc[here, "letters"] = means.loc[here, "level"].map(
        {"open": "a", "fleece": "b", "woven": "ab"}
    )
    html = means_table(means, *args)
    rows = {row[0]: row for row in rows_of(html)}
    assert rows["24 March 2026"][3::3] == ["a", "b", "ab"]
    assert rows["10 March 2026"][3::3] == ["", "", ""]
    assert "share a letter (by Holm, over the" in html
    assert "(green cover, every comparison on every planned date)" in html
    assert "No letters stand" not in html


def test_a_date_without_letters_says_which_case_it_is(
    tables: Tables, definition: Definition
) -> None:
    means, tests = tables["means"].copy(), tables["tests"].copy()
    here = (means["measure"] == "green_cover") & (means["effect"] == "cover")
    means.loc[here & (means["date"] < pd.Timestamp("2026-04-01")), "letters"] = "a"
    crossed = (tests["measure"] == "green_cover") & (tests["term"] == "cover:aeration")
    args = (definition, "green_cover", "cover", tables["differences"])
    cases = {
        0.025: "No letters stand on 4 April 2026 (p = 0.025) and 17 April 2026 (p = 0.025): over "
        "all its treatments the cover difference may depend on the aeration (F test, secondary, "
        "unadjusted), which a mean over it hides.",
        math.nan: "No letters stand on 4 and 17 April 2026: whether the cover difference depends "
        "on the aeration could not be tested.",
    }
    for p, words in cases.items():
        tests.loc[crossed, "p"] = p
        assert words in means_table(means, *args, tests)
    tests.loc[crossed, "p"] = 0.4
    assert "No letters stand" not in means_table(means, *args, tests)


def test_means_say_how_they_are_to_be_read(tables: Tables, definition: Definition) -> None:
    html = means_table(tables["means"], definition, "green_cover", "aeration")
    assert "Each mean is over 18 subplots in six blocks." in html
    assert "beyond what green cover can be" not in html
    far = tables["means"].copy()
    far.loc[(far["measure"] == "green_cover") & (far["effect"] == "aeration"), "upper"] = 103.0
    html = means_table(far, definition, "green_cover", "aeration")
    assert "beyond what green cover can be; it is shown as computed" in html
    assert rows_of(html)[0][2].endswith(" to 103")


def test_empty_tables_show_nothing(early: Tables, definition: Definition) -> None:
    assert means_table(early["means"], definition, "green_cover", "cover") == ""
    assert differences_table(early["differences"], definition, "green_cover") == ""
    assert effects_table(early["tests"], definition, "green_cover") == ""
