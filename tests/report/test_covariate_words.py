"""The slope of the covariate: in the reader's units, beside what allows for it."""

from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.covariate_words import slope_words, slopes_table
from wintersward.report.page import Page
from wintersward.trial import Definition
from wintersward.trial.questions import Covariate

Tables = dict[str, pd.DataFrame]


def rows_of(html: str) -> list[list[str]]:
    lines = BeautifulSoup(html, "html.parser").select("tbody tr")
    return [[c.get_text() for c in line.find_all(["th", "td"])] for line in lines]


def test_the_slope_on_the_primary_date_is_said(tables: Tables, definition: Definition) -> None:
    said = slope_words(tables["slopes"], definition)
    assert str(said) == (
        "Plots that had 1 point more green cover on 2026-01-15 had about 0.9 points more green "
        "cover on 24 March 2026 (95 % interval 0.4 to 1.4). Allowing for it compares plots as if "
        "they had started alike."
    )
    assert '<data value="0.9" title="slopes.csv:2">0.9</data>' in str(said.__html__())


def test_another_date_alone_is_not_said(tables: Tables, definition: Definition) -> None:
    later = tables["slopes"].assign(date=pd.Timestamp("2026-04-17"))
    assert str(slope_words(later, definition)) == ""
    assert str(slope_words(tables["slopes"].iloc[:0], definition)) == ""


def test_slopes_are_in_the_units_of_the_page(tables: Tables, definition: Definition) -> None:
    rows = rows_of(slopes_table(tables["slopes"], definition))
    assert rows == [
        ["Green cover", "24 March 2026", "+0.9", "+0.4 to +1.4", "9", "0.002"],
    ]
    assert slopes_table(tables["slopes"].iloc[:0], definition) == ""
    # One pound-force is 4.4482216 N (NIST SP 811, appendix B.8): more cover for one lbf of pull.
    pull = Covariate(measure="pull_force", on="baseline")
    analysis = definition.analysis.model_copy(update={"covariate": pull})
    turned = definition.model_copy(update={"analysis": analysis})
    slopes = tables["slopes"].assign(slope=1.0, se=0.2, lower=0.5, upper=1.5)
    assert rows_of(slopes_table(slopes, turned))[0][2:4] == ["+4.4", "+2.2 to +6.7"]
    assert "had 1 lbf more" in str(slope_words(slopes, turned))


def test_it_stands_under_a_heading_of_its_own(page: Page) -> None:
    soup = BeautifulSoup(page.section("support")._repr_html_(), "html.parser")
    (head,) = [h for h in soup.find_all("h3") if h.get_text() == "How much did the start matter?"]
    after = head.find_next_siblings(limit=2)
    assert after[0].name == "p"
    assert "Plots that had 1 point more" in after[0].get_text()
    assert after[1].name == "details"
    assert after[1].find("table") is not None
