from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.answers import answers_table
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [
        [" ".join(c.get_text().split()) for c in line.find_all(["th", "td"])]
        for line in soup.select("tbody tr")
    ]


def test_both_answers_stand_side_by_side(tables: Tables, definition: Definition) -> None:
    rows = rows_of(answers_table(tables["primary"], definition))
    assert [row[0] for row in rows] == ["As planned", "With excluded observations"]
    assert rows[0][1:] != rows[1][1:]


def test_a_declared_family_has_a_row_for_each_comparison(
    declared_tables: Tables, declared: Definition
) -> None:
    html = answers_table(declared_tables["primary"], declared)
    rows = rows_of(html)
    assert [row[-7] for row in rows] == 2 * [
        "Spun-bond fleece minus no cover",
        "Woven permeable cover minus no cover",
    ]
    assert "adjusted together by Dunnett" in html
    assert "means of whole plots compared within blocks, exact t" in html


def test_an_answer_that_could_not_be_estimated_has_no_numbers(
    unanswered: Tables, definition: Definition
) -> None:
    html = answers_table(unanswered["primary"], definition)
    assert "<data" not in html
    assert rows_of(html)[0][1:] == ["–"] * 6


def test_before_the_primary_date_there_is_none(early: Tables, definition: Definition) -> None:
    assert answers_table(early["primary"], definition) == ""
