"""Words, tables and picture of the sources of variation."""

from __future__ import annotations

import io

import numpy as np
import pandas as pd
import pytest
from bs4 import BeautifulSoup
from matplotlib.patches import Rectangle
from PIL import Image

from wintersward.report.page import Page
from wintersward.report.variance_figures import shares_picture, variance_bars, variance_bars_alt
from wintersward.report.variance_sharing import (
    advice_words,
    plans_table,
    shares_table,
    shown_shares,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def text_of(html: str) -> str:
    return " ".join(BeautifulSoup(html, "html.parser").get_text(" ").split())


def said(plans: pd.DataFrame, definition: Definition) -> list[str]:
    return [str(words) for words in advice_words(plans, definition)]


def test_one_sentence_a_measure(tables: Tables, definition: Definition) -> None:
    cover, rating = said(tables["variance_plans"], definition)
    assert cover == (
        "Green cover, 24 March 2026: as it was done, a true difference of 6.2 points is seen with a"
        " chance of 80 %; with twice the photos it is one of 5.4 to 5.9, with two more blocks one"
        " of 5.0: two more blocks bring as much or more, however the plots share their variation"
        " with the photos."
    )
    assert rating == (
        "Colour rating, 24 March 2026: as it was done, a true difference of 0.71 on the scale is"
        " seen with a chance of 80 %; with twice the ratings it is one of 0.60, with two more"
        " blocks one of 0.62: the two bring about the same; the ratings make up 55 % of what blurs"
        " the mean of a whole plot."
    )


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (5.2, "two more blocks bring as much or more, however the plots share"),
        (5.7, "which brings more, one photo a plot cannot tell."),
        (6.3, "twice the photos bring as much or more, however the plots share"),
    ],
)
def test_bounds_that_do_not_settle_it_are_said_to(
    tables: Tables, definition: Definition, more: float, words: str
) -> None:
    plans = tables["variance_plans"].copy()
    at = (plans["measure"] == "green_cover") & (plans["plan"] == "more blocks")
    plans.loc[at, "smallest"] = more
    assert words in said(plans, definition)[0]


@pytest.mark.parametrize(
    ("more", "words"),
    [(0.50, "two more blocks bring more; the"), (0.70, "twice the ratings bring more; the")],
)
def test_the_larger_gain_is_named(
    tables: Tables, definition: Definition, more: float, words: str
) -> None:
    plans = tables["variance_plans"].copy()
    at = (plans["measure"] == "colour_rating") & (plans["plan"] == "more blocks")
    plans.loc[at, "smallest"] = more
    assert words in said(plans, definition)[1]


def test_every_number_has_its_place(tables: Tables, definition: Definition) -> None:
    plans, shares = tables["variance_plans"], tables["variance_shares"]
    html = "".join(words.__html__() for words in advice_words(plans, definition))
    html += plans_table(plans, definition) + shares_table(shares, definition)
    found = BeautifulSoup(html, "html.parser").find_all("data")
    assert len(found) > 50
    for data in found:
        name, line = data["title"].split(":")
        frame = tables[name.removesuffix(".csv")]
        row = frame.iloc[int(line) - 2]
        numbers = [float(value) for value in row if isinstance(value, (float, np.integer, int))]
        assert float(data["value"]) in [pytest.approx(value, rel=1e-9) for value in numbers]


def test_the_tables_tell_bounds_in_words(tables: Tables, definition: Definition) -> None:
    html = text_of(plans_table(tables["variance_plans"], definition))
    assert "twice the photos, if they vary as within a photo" in html
    assert "twice the photos, if all that plots differ by is theirs" in html
    plans = tables["variance_plans"].copy()
    plans.loc[plans["bound"] == "at least", "reading_share"] = 0.0
    assert "twice the photos, if they never vary" in text_of(plans_table(plans, definition))
    shares = tables["variance_shares"].copy()
    assert "within single photos, at least" in text_of(shares_table(shares, definition))
    within = shares["source"] == "within photo"
    shares.loc[within, "variance"] = 13.0
    assert "within single photos, as much as" in text_of(shares_table(shares, definition))
    shares.loc[within, "part"] = "no bound"
    assert "no bound for the line above" in text_of(shares_table(shares, definition))
    assert plans_table(plans.iloc[:0], definition) == ""
    assert shares_table(shares.iloc[:0], definition) == ""


class TestSection:
    def test_it_stands_with_picture_and_advice(self, page: Page) -> None:
        html = page.section("shares").html
        soup = BeautifulSoup(html, "html.parser")
        assert len(soup.find_all("img")) == 1
        assert len(soup.find_all("li")) == 2
        told = text_of(html)
        assert "What either costs is not weighed here." in told
        assert "it says nothing of the plot outside the frame, nor of the light" in told
        assert "it is then left out" not in told

    def test_what_bounds_nothing_is_said(self, tables: Tables, definition: Definition) -> None:
        shares = tables["variance_shares"].copy()
        shares.loc[shares["source"] == "within photo", "part"] = "no bound"
        told = text_of(
            Page(tables | {"variance_shares": shares}, {}, definition).section("shares").html
        )
        assert "it is then left out" in told
        assert "estimated from blocks of their cells" not in told

    def test_while_the_comparison_waits_nothing_is_told(
        self, early: Tables, definition: Definition
    ) -> None:
        html = Page(early, {}, definition).section("shares").html
        assert "once the comparison no longer waits" in text_of(html)
        assert "<img" not in html

    def test_without_rows_it_says_so(self, fabricate: object, definition: Definition) -> None:
        html = Page(fabricate.fabricate(), {}, definition).section("shares").html
        assert "cannot tell where the variation comes from" in text_of(html)

    def test_a_demonstration_has_none(self, tables: Tables, definition: Definition) -> None:
        layout = definition.layout.model_copy(update={"kind": "demonstration"})
        shown = definition.model_copy(update={"layout": layout})
        assert Page({"means": tables["means"]}, {}, shown).section("shares").html.strip() == ""


class TestPicture:
    def test_bars_fill_the_whole(self, tables: Tables, definition: Definition) -> None:
        figure = variance_bars(tables["variance_shares"], tables["variance_plans"], definition)
        boxes = [one for one in figure.axes[0].patches if isinstance(one, Rectangle)]
        full = [one for one in boxes if one.get_height() > 0.3]
        assert sum(one.get_width() for one in full) == pytest.approx(200)
        (part,) = [one for one in boxes if one.get_height() < 0.3]
        # At the right end, inside the finest source.
        assert part.get_x() + part.get_width() == pytest.approx(100)
        assert part.get_width() == pytest.approx(100 * 4.5 / 36)

    def test_sources_are_told_apart_without_colour(
        self, tables: Tables, definition: Definition
    ) -> None:
        figure = variance_bars(tables["variance_shares"], tables["variance_plans"], definition)
        looks = set()
        for one in figure.axes[1].patches:
            red, green, blue, _ = one.get_facecolor()
            assert red == green == blue
            looks.add((round(red, 1), one.get_hatch() or ""))
        assert len(looks) == len(figure.axes[1].patches) == 6
        held = io.BytesIO()
        figure.savefig(held, format="png")
        assert Image.open(held).size[0] > 600

    def test_alt_text_has_the_numbers(self, tables: Tables, definition: Definition) -> None:
        alt = variance_bars_alt(tables["variance_shares"], tables["variance_plans"], definition)
        assert alt.startswith(
            "Green cover, 24 March 2026: blocks 50 %, whole plots 17 % and plots and their only "
            "photo 33 %, at least 12 % within single photos. Colour rating, 24 March 2026: blocks "
        )

    def test_the_date_of_the_advice_is_shown(self, tables: Tables, definition: Definition) -> None:
        shares, plans = tables["variance_shares"], tables["variance_plans"]
        later = shares.assign(date=pd.Timestamp("2026-04-17"))
        both = pd.concat([shares, later], ignore_index=True)
        assert set(shown_shares(both, plans, "green_cover")["date"]) == {plans["date"].iloc[0]}
        alone = shown_shares(both, plans.iloc[:0], "green_cover")
        assert set(alone["date"]) == {pd.Timestamp("2026-04-17")}

    def test_without_rows_it_says_so(self, tables: Tables, definition: Definition) -> None:
        none, plans = tables["variance_shares"].iloc[:0], tables["variance_plans"]
        assert shares_picture(none, plans, definition).alt == (
            "The sources of variation cannot be told."
        )
