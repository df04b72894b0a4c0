"""The slope of the covariate: in the reader's units, beside what allows for it."""

from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.covariate_words import slope_heading, slope_words, slopes_table
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


def asking_for_sun(definition: Definition, **layout: object) -> Definition:
    analysis = definition.analysis.model_copy(update={"covariate": "sun_hours"})
    changed = {"analysis": analysis, "layout": definition.layout.model_copy(update=layout)}
    return definition.model_copy(update=changed)


def of_the_sun(tables: Tables, measure: str = "green_cover") -> pd.DataFrame:
    named = "hours of direct sun a day, from the declared shade"
    return tables["slopes"].assign(covariate=named, measure=measure)


def test_the_sun_is_told_in_hours_and_promises_no_more(
    tables: Tables, definition: Definition
) -> None:
    sun = asking_for_sun(definition)
    assert slope_heading(sun) == "How much did the sun matter?"
    assert slope_heading(definition) == "How much did the start matter?"
    assert str(slope_words(of_the_sun(tables), sun)) == (
        "Plots that had 1 hour more direct sun a day, by the declared shade, had about 0.9 points "
        "more green cover on 24 March 2026 (95 % interval 0.4 to 1.4). Allowing for it compares "
        "plots as if they had had the same sun. It tells of the sun that blocks leave to differ "
        "within themselves; where blocks follow the shade, they have taken up most of it."
    )
    html = str(slopes_table(of_the_sun(tables), sun))
    assert (
        "What one more hour of direct sun a day, from the declared shade, came with, each in the "
        "units of this page." in html
    )


def test_the_sun_is_told_of_what_surrounds_the_plots(
    tables: Tables, definition: Definition
) -> None:
    square = asking_for_sun(definition, kind="latin square")
    assert "rows and columns leave to differ" in str(slope_words(of_the_sun(tables), square))
    loose = asking_for_sun(definition, kind="completely random")
    assert str(slope_words(of_the_sun(tables), loose)).endswith("had had the same sun.")


def test_an_hour_is_an_hour_in_both_systems_of_units(
    tables: Tables, definition: Definition
) -> None:
    primary = definition.analysis.primary.model_copy(update={"measure": "pull_force"})
    analysis = definition.analysis.model_copy(update={"primary": primary})
    us = asking_for_sun(definition.model_copy(update={"analysis": analysis}))
    slopes = of_the_sun(tables, "pull_force").assign(slope=44.482216, se=4.4, lower=1.0, upper=90.0)
    # One pound-force is 4.4482216 N (NIST SP 811, appendix B.8).
    assert "had about 10.0 lbf more" in str(slope_words(slopes, us))
    metric = us.model_copy(update={"units": "metric"})
    assert "had about 44 N more" in str(slope_words(slopes, metric))
    rated = analysis.primary.model_copy(update={"measure": "colour_rating"})
    told = us.model_copy(update={"analysis": us.analysis.model_copy(update={"primary": rated})})
    said = str(slope_words(of_the_sun(tables, "colour_rating"), told))
    assert "had 1 hour more direct sun a day, by the declared shade, stood about 0.9 higher" in said


def test_it_stands_under_a_heading_of_its_own(page: Page) -> None:
    soup = BeautifulSoup(page.section("support")._repr_html_(), "html.parser")
    (head,) = [h for h in soup.find_all("h3") if h.get_text() == "How much did the start matter?"]
    after = head.find_next_siblings(limit=2)
    assert after[0].name == "p"
    assert "Plots that had 1 point more" in after[0].get_text()
    assert after[1].name == "details"
    assert after[1].find("table") is not None
