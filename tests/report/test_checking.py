from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.checking import block_value_words, checks_table, replication_table
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [
        [" ".join(c.get_text().split()) for c in line.find_all(["th", "td"])]
        for line in soup.select("tbody tr")
    ]


def test_checks_say_what_was_asked(tables: Tables, definition: Definition) -> None:
    html = checks_table(tables["checks"], definition, "green_cover")
    assert rows_of(html)[0] == ["10 March 2026", "normality", "Shapiro-Wilk", "0.95", "0.310"] + [
        "no sign that the residuals are not normal"
    ]
    assert checks_table(tables["checks"], definition, "pull_force") == ""


def test_the_worth_of_blocks_is_a_sentence(tables: Tables, definition: Definition) -> None:
    (said,) = block_value_words(tables["block_value"], definition)
    assert str(said) == (
        "For green cover on 24 March 2026: relative efficiency 2.16, coefficient of variation 6 %. "
        "Without the blocks about 2.2 times as many whole plots would be needed."
    )
    bare = tables["block_value"].assign(efficiency=float("nan"), text="")
    (said,) = block_value_words(bare, definition)
    assert str(said) == "For green cover on 24 March 2026: coefficient of variation 6 %."


def test_a_chance_is_never_sure(tables: Tables, definition: Definition) -> None:
    html = replication_table(tables["replication"], definition)
    assert rows_of(html) == [
        ["3", "57", "6.9", "13", "6.9", "0.250"],
        ["12", "> 99", "3.5", "80", "3.5", "< 0.001"],
    ]
    groups = [th.get_text() for th in BeautifulSoup(html, "html.parser").select("th.group")]
    assert groups == ["to see a difference of 8 points", "to see that it is less than 8 points"]
    assert replication_table(tables["replication"].iloc[:0], definition) == ""


def test_a_purpose_may_lack_a_number_of_blocks(tables: Tables, definition: Definition) -> None:
    gone = tables["replication"].iloc[:3]
    assert rows_of(replication_table(gone, definition))[1][3:5] == ["–", "–"]
