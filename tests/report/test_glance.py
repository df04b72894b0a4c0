"""The small table under the answer: every treatment, and which row is the question."""

from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup, Tag

from wintersward.report.glance import glance_table
from wintersward.report.page import Page
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
DAY = pd.Timestamp("2026-03-24")


def made(tables: Tables, definition: Definition) -> str:
    return glance_table(tables["means"], tables["differences"], tables["primary"], definition)


def rows_of(html: str) -> list[list[str]]:
    lines = BeautifulSoup(html, "html.parser").select("tbody tr")
    return [[c.get_text() for c in line.find_all(["th", "td"])] for line in lines]


def test_every_treatment_stands_in_the_definitions_order(
    tables: Tables, definition: Definition
) -> None:
    rows = rows_of(made(tables, definition))
    assert [row[0] for row in rows] == [
        "No cover (control)",
        "Spun-bond fleece",
        "Woven permeable cover",
    ]
    assert rows[0][2:] == ["–", "–", "–"]
    assert [row[-1] for row in rows[1:]] == ["primary", "secondary"]


def test_the_primary_row_is_the_answer_and_the_other_the_adjusted_one(
    tables: Tables, definition: Definition
) -> None:
    soup = BeautifulSoup(made(tables, definition), "html.parser")
    _, fleece, woven = soup.select("tbody tr")
    assert fleece["class"] == ["strong", "first"] or "strong" in fleece["class"]
    assert "strong" not in (woven.get("class") or [])

    def value(line: Tag, at: int) -> list[float]:
        return [float(one["value"]) for one in line.find_all("td")[at].find_all("data")]

    primary = tables["primary"].iloc[0]
    assert value(fleece, 0)[0] == round(primary["left_mean"], 8)
    assert value(fleece, 1)[0] == round(primary["difference"], 8)
    differences = tables["differences"]
    at = (differences["measure"] == "green_cover") & (differences["date"] == DAY)
    at &= (differences["left"] == "woven") & (differences["right"] == "open")
    other = differences[at & (differences["role"] == "secondary") & (differences["within"] == "")]
    ends = [round(float(other[name].iloc[0]), 8) for name in ("lower", "upper")]
    assert [round(one, 6) for one in value(woven, 2)] == [round(end, 6) for end in ends]
    many = int(other["comparisons"].iloc[0])
    assert f"together with {many} comparisons (Bonferroni)" in soup.get_text()


def test_a_declared_family_is_primary_in_every_row(
    declared_tables: Tables, declared: Definition
) -> None:
    rows = rows_of(made(declared_tables, declared))
    assert [row[-1] for row in rows[1:]] == ["primary", "primary"]
    assert "Secondary" not in made(declared_tables, declared)


def test_control_less_treatment_is_turned_round(tables: Tables, definition: Definition) -> None:
    plain = rows_of(made(tables, definition))[1]
    primary = tables["primary"].copy()
    swapped = primary.assign(
        left=primary["right"],
        right=primary["left"],
        left_mean=primary["right_mean"],
        right_mean=primary["left_mean"],
        difference=-primary["difference"],
        lower=-primary["upper"],
        upper=-primary["lower"],
    )
    question = definition.analysis.primary.model_copy(update={"compare": ["open", "fleece"]})
    analysis = definition.analysis.model_copy(update={"primary": question})
    turned = definition.model_copy(update={"analysis": analysis})
    assert rows_of(made(tables | {"primary": swapped}, turned))[1] == plain


def test_a_treatment_that_was_not_compared_is_still_there(
    tables: Tables, definition: Definition
) -> None:
    left = tables["differences"]["left"] != "woven"
    rows = rows_of(made(tables | {"differences": tables["differences"][left]}, definition))
    assert rows[2][2:] == ["–", "–", "not compared"]


def test_no_answer_no_table(unanswered: Tables, early: Tables, definition: Definition) -> None:
    assert made(early, definition) == ""
    assert made(unanswered, definition) == ""


def test_it_stands_right_under_the_answer(page: Page) -> None:
    soup = BeautifulSoup(page.section("answer")._repr_html_(), "html.parser")
    table, picture = soup.find("table"), soup.find("img")
    assert table is not None
    assert picture is not None
    assert table.find("caption").get_text() == "Green cover on 24 March 2026"
    order = [node for node in soup.find_all(["table", "img"])]
    assert order.index(table) < order.index(picture)
