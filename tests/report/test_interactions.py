from __future__ import annotations

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.report.interactions import (
    Crossing,
    asked_crossing,
    crossing_of,
    interaction_heading,
    interaction_words,
    interactions,
    interactions_table,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
PAIR = ("fleece:hollow-solid", "open:hollow-solid")


def test_a_row_is_taken_apart(definition: Definition) -> None:
    found = crossing_of(definition, "cover:aeration", *PAIR)
    assert found == Crossing(("fleece", "open"), ("hollow", "solid"))
    with pytest.raises(ValueError, match="hollow-core"):
        crossing_of(definition, "cover:aeration", "fleece:hollow-core", "open:hollow-core")


def test_the_heading_asks(definition: Definition) -> None:
    said = interaction_heading(definition, "cover:aeration")
    assert said == "Does the aeration difference depend on the cover?"


def test_every_row_is_shown_with_its_numbers(tables: Tables, definition: Definition) -> None:
    differences = tables["differences"]
    names = ["difference", "lower", "upper", "se", "df", "p_alone", "p"]
    soup = BeautifulSoup(interactions_table(differences, definition, "green_cover"), "html.parser")
    lines = soup.select("tbody tr")
    assert len(lines) == len(interactions(differences, "green_cover")) == 6
    for line in lines:
        data = line.find_all("data")
        row = differences.loc[int(data[0]["title"].removeprefix("differences.csv:")) - 2]
        for value, name in zip(data, names, strict=True):
            assert float(value["value"]) == pytest.approx(row[name], rel=1e-9)
    assert "hollow tine 3/4 in minus solid tine 3/8 in" in soup.caption.get_text()
    assert lines[0].th.get_text() == "With spun-bond fleece, minus with no cover"
    assert "intervals by Bonferroni" in soup.get_text()
    assert interactions_table(differences.iloc[:0], definition, "green_cover") == ""


def test_the_primary_pair_is_said_for_the_last_date(tables: Tables, definition: Definition) -> None:
    differences = tables["differences"]
    said = str(interaction_words(differences, definition, "green_cover"))
    assert said.startswith("Secondary: we estimate that on 17 April 2026 the difference in green")
    assert "with spun-bond fleece than with no cover (95 % interval" in said
    rows = interactions(differences, "green_cover")
    assert asked_crossing(differences, definition, "green_cover") in rows.index
    last = (rows["date"] == pd.Timestamp("2026-04-17")) & (rows["left"] == PAIR[0])
    row = rows[last & (rows["right"] == PAIR[1])].iloc[0]
    shown = float(said.split(" was ")[1].split()[0])
    assert shown == pytest.approx(abs(row["difference"]), abs=0.51)
    assert ("lower with" in said) == (row["difference"] < 0)


def test_what_could_not_be_estimated_is_not_said(tables: Tables, definition: Definition) -> None:
    differences = tables["differences"].copy()
    crossed = differences["effect"] == "cover:aeration"
    differences.loc[crossed, ["difference", "lower", "upper", "se", "p_alone", "p"]] = float("nan")
    assert str(interaction_words(differences, definition, "green_cover")) == ""
    assert "–" in interactions_table(differences, definition, "green_cover")
    assert str(interaction_words(differences[~crossed], definition, "green_cover")) == ""
