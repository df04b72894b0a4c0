"""What is told of people, dates and the map of a trial."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.page import Page
from wintersward.report.trial_section import layout_context, trial_context
from wintersward.trial import Definition


def test_people_are_named_with_their_initials(page: Page) -> None:
    html = page.section("trial").html
    assert "R. Example, groundskeeper (rx); T. Example, extension agent (te)" in html
    named = [one.model_copy(update={"initials": ""}) for one in page.definition.people]
    bare = Page({}, {}, page.definition.model_copy(update={"people": named}))
    assert trial_context(bare)["people"][0] == "R. Example, groundskeeper"


def test_the_day_on_which_turf_was_laid_is_told_as_any_other_day(
    make_page: Callable[..., Page], tables: dict[str, pd.DataFrame], definition: Definition
) -> None:
    turf = definition.site.turf.model_copy(update={"established": "sod, laid 2025-10-06"})
    site = definition.site.model_copy(update={"turf": turf})
    html = make_page(tables, definition.model_copy(update={"site": site})).section("trial").html
    assert "; sod, laid 6 October 2025</dd>" in html
    assert "2025-10-06" not in html


def test_each_visit_is_one(page: Page) -> None:
    soup = BeautifulSoup(page.section("trial").html, "html.parser")
    table = next(t for t in soup("table") if "as planned" in t.caption.get_text())
    what = [row("td")[-1].get_text() for row in table.select("tbody tr")]
    assert what.count("visit") == 4
    assert "visit, primary date" in what
    assert "visits" not in what
    assert "covers off" in what


def test_while_plots_are_still_rated_the_map_is_kept_from_raters(
    make_page: Callable[..., Page],
    tables: dict[str, pd.DataFrame],
    early: dict[str, pd.DataFrame],
    definition: Definition,
) -> None:
    warning = "keep this page from whoever rates them"
    assert warning in " ".join(make_page(early, definition).section("layout").html.split())
    assert warning not in " ".join(make_page(tables, definition).section("layout").html.split())
    unrated = {name: m for name, m in definition.measures.items() if name != "colour_rating"}
    without = definition.model_copy(update={"measures": unrated})
    assert not layout_context(Page({}, {}, without))["ratings_ahead"]
