from __future__ import annotations

import math

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.report.holes import hole_share, holes_beside, holes_limit, holes_words
from wintersward.report.page import Page
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def test_the_share_is_geometry(definition: Definition) -> None:
    levels = definition.treatments["aeration"].levels
    # A 3/4 in circle in every square of 2 in: 0.4418 of 4 square inches.
    assert hole_share(levels["hollow"].tine) == pytest.approx(100 * math.pi * 0.75**2 / 16)
    assert hole_share(levels["solid"].tine) == pytest.approx(2.761, abs=1e-3)
    assert hole_share(None) == 0


def test_holes_are_told_where_green_cover_is_compared(
    tables: Tables, definition: Definition
) -> None:
    means = tables["means"]
    (said,) = holes_words(means, definition, "green_cover")
    assert "‘hollow tine 3/4 in’ (0.75 in wide, 2 in by 2 in apart) about 11 %" in said
    assert "‘solid tine 3/8 in’ (0.375 in wide, 2 in by 2 in apart) about 2.8 %" in said
    assert "up to about 8 points of a difference in green cover between them" in said
    assert "from 25 March 2026 on" in said
    assert holes_words(means, definition, "pull_force") == []
    before = means[means["date"] < pd.Timestamp("2026-03-25")]
    assert holes_words(before, definition, "green_cover") == holes_limit(before, definition) == []
    assert holes_limit(means, definition)[0].startswith("Open holes are not green.")


def test_holes_are_told_of_the_tines_that_are_compared(definition: Definition) -> None:
    pair = [("hollow", "solid")]
    assert holes_beside(definition, "green_cover", pair)[0].startswith("Up to about 8 points of")
    assert holes_beside(definition, "green_cover", [("fleece", "open")]) == []
    assert holes_beside(definition, "green_cover", []) == []
    assert holes_beside(definition, "colour_rating", pair) == []


def test_like_tines_open_like_holes(tables: Tables, definition: Definition) -> None:
    factor = definition.treatments["aeration"]
    tine = factor.levels["solid"].tine
    levels = {n: one.model_copy(update={"tine": tine}) for n, one in factor.levels.items()}
    alike = definition.treatments | {"aeration": factor.model_copy(update={"levels": levels})}
    one = definition.model_copy(update={"treatments": alike})
    assert holes_words(tables["means"], one, "green_cover") == []


def test_the_page_tells_of_holes_with_the_results_and_the_limits(page: Page) -> None:
    for name, words in (("results", "up to about 8 points"), ("limits", "area of their holes")):
        soup = BeautifulSoup(page.section(name)._repr_html_(), "html.parser")
        said = " ".join(soup.get_text(" ").split())
        assert said.count("Open holes are not green") == 1
        assert words in said
