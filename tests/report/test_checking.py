from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.checking import (
    block_value_words,
    checks_table,
    checks_words,
    replication_table,
    replication_words,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [
        [" ".join(c.get_text().split()) for c in line.find_all(["th", "td"])]
        for line in soup.select("tbody tr")
    ]


def test_only_checks_that_ask_for_a_look_are_shown(tables: Tables, definition: Definition) -> None:
    quiet = tables["checks"].assign(p=0.31)
    assert checks_words(quiet, definition).startswith("None of 2 tests ask for a look, with p")
    assert checks_table(quiet, definition) == ""
    loud = quiet.assign(p=[0.31, 0.004])
    assert checks_words(loud, definition) == (
        "One of 2 tests asks for a look, with p below 0.05; hardly any would do so by chance."
    )
    many = pd.concat([loud] * 20, ignore_index=True)
    assert "about two would do so by chance" in checks_words(many, definition)
    (row,) = rows_of(checks_table(loud, definition))
    assert row[:3] == ["Green cover", "24 March 2026", "normality"]
    assert checks_words(quiet.iloc[:0], definition) == ""


def test_treatments_and_factors_are_named_as_readers_know_them(
    tables: Tables, definition: Definition
) -> None:
    said = "the residuals spread most in open:solid and least in fleece"
    more = ", 28.7 times as much; hardly chance"
    checks = tables["checks"].iloc[[0, 0, 0]].reset_index(drop=True)
    checks["check"] = ["additive blocks, cover and aeration", "equal spread of treatments"] + [
        "equal spread of treatments"
    ]
    still = ", where there is no spread at all; hardly chance"
    checks = checks.assign(p=0.001, text=["odd", said + more, said + still])
    cover = definition.treatments["cover"].model_copy(update={"label": "Winter cover"})
    treatments = {**definition.treatments, "cover": cover}
    named_so = definition.model_copy(update={"treatments": treatments})
    rows = rows_of(checks_table(checks, named_so))
    assert "additive blocks, winter cover and aeration" in rows[0]
    named = "spread most in ‘No cover with solid tine 3/8 in’ and least in ‘Spun-bond fleece’, "
    assert f"the residuals {named}28.7 times as much; hardly chance" in rows[1]
    assert f"the residuals {named}where there is no spread at all; hardly chance" in rows[2]


def test_the_worth_of_blocks_is_a_sentence(tables: Tables, definition: Definition) -> None:
    (said,) = block_value_words(tables["block_value"], definition)
    assert str(said) == (
        "Blocking paid for green cover on 24 March 2026: without the blocks about 2.2 times as "
        "many whole plots would be needed. Plots treated alike still differed by "
        "about 6 % of their mean within a block."
    )
    bare = tables["block_value"].assign(efficiency=float("nan"), text="")
    (said,) = block_value_words(bare, definition)
    assert str(said) == (
        "For green cover on 24 March 2026: plots treated alike still differed by about 6 % of "
        "their mean."
    )


def test_the_chance_is_a_sentence(tables: Tables, definition: Definition) -> None:
    rows = pd.concat([tables["replication"].iloc[[0, 1]]] * 2, ignore_index=True)
    rows = rows.assign(blocks=[4, 5, 6, 7], power=[0.75, 0.89, 0.95, 0.98])
    assert str(replication_words(rows, definition)) == (
        "Five blocks would give a chance of about 89 %, six blocks about 95 %, that the interval "
        "leaves out zero if the true difference is 8 points. It is not the chance of showing that "
        "the difference is at least 8 points."
    )
    assert str(replication_words(rows.iloc[:0], definition)) == ""
    assert str(replication_words(rows.assign(power=float("nan")), definition)) == ""


def test_a_chance_is_never_sure(tables: Tables, definition: Definition) -> None:
    html = replication_table(tables["replication"], definition)
    assert rows_of(html) == [
        ["3", "57", "6.9", "13", "6.9", "0.250"],
        ["12", "> 99", "3.5", "80", "3.5", "< 0.001"],
    ]
    groups = [th.get_text() for th in BeautifulSoup(html, "html.parser").select("th.group")]
    assert groups == [
        "that the interval leaves out zero if the true difference is 8 points",
        "to show, if the true difference is zero, that it is less than 5 points either way",
    ]
    assert replication_table(tables["replication"].iloc[:0], definition) == ""


def test_a_purpose_may_lack_a_number_of_blocks(tables: Tables, definition: Definition) -> None:
    gone = tables["replication"].iloc[:3]
    assert rows_of(replication_table(gone, definition))[1][3:5] == ["–", "–"]
