"""Ranks beside means: a count, and only what they do not agree on."""

from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.page import Page
from wintersward.report.rating_words import rank_apart, rank_table, rank_words
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
RATING = "colour_rating"


def test_agreement_is_counted(tables: Tables, definition: Definition) -> None:
    said = rank_words(tables["rank_differences"], definition, RATING)
    assert "three comparisons of treatments were made by ranks too" in said
    assert "In one of them ranks and means say the same" in said
    assert "; in one they do not." in said
    assert "In the other one too few pairs of units" not in said
    assert "In the other one too few plots differ for a p by ranks below 0.05" in said
    assert rank_words(tables["rank_differences"], definition, "green_cover") == ""


def test_full_agreement_needs_no_list(tables: Tables, definition: Definition) -> None:
    all_same = tables["rank_differences"].assign(agrees="yes")
    said = rank_words(all_same, definition, RATING)
    assert "In all of them ranks and means say the same" in said
    assert "they do not" not in said
    assert "too few" not in said
    assert rank_apart(all_same, definition, RATING) == []


def test_where_ranks_can_tell_nothing_it_is_said(tables: Tables, definition: Definition) -> None:
    mute = tables["rank_differences"].assign(agrees="")
    said = rank_words(mute, definition, RATING)
    assert "In all three too few plots differ" in said
    assert "say the same" not in said


def test_only_what_disagrees_is_listed(tables: Tables, definition: Definition) -> None:
    (said,) = rank_apart(tables["rank_differences"], definition, RATING)
    assert str(said) == (
        "Woven permeable cover minus no cover, 24 March 2026: by means \N{MINUS SIGN}1.10 (p = "
        "0.002), by ranks \N{MINUS SIGN}1.00 (p = 0.062)."
    )
    assert 'title="rank_differences.csv:4"' in str(said.__html__())


def test_the_table_sets_both_side_by_side(tables: Tables, definition: Definition) -> None:
    html = rank_table(tables["rank_differences"], definition, RATING)
    soup = BeautifulSoup(html, "html.parser")
    rows = [[c.get_text() for c in r.find_all(["th", "td"])] for r in soup.select("tbody tr")]
    assert rows[0] == [
        "Spun-bond fleece minus no cover",
        "24 March 2026",
        "+0.9",
        "0.003",
        "+1.0",
        "+0.2 to +1.8",
        "0.031",
        "0.469",
        "yes",
    ]
    # The primary pair first, then those with the control, then the others.
    assert [row[-1] for row in rows] == ["yes", "no", "–"]
    assert "Holm over 15 comparisons" in html
    assert "Hodges and Lehmann" in html
    squared = tables["rank_differences"].assign(scale="ranks", lower=float("nan"))
    assert "that of mean ranks" in rank_table(squared, definition, RATING)


def test_the_page_holds_it_under_the_rating_alone(page: Page) -> None:
    soup = BeautifulSoup(page.section("results")._repr_html_(), "html.parser")
    heads = [h for h in soup.find_all("h4") if "ranks say the same" in h.get_text()]
    assert len(heads) == 1
    assert heads[0].find_parent("section")["id"] == "results-colour_rating"
    assert len(heads[0].find_next_sibling("ul").find_all("li")) == 1
