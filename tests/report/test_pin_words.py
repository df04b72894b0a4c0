"""Counted pins on the page: what is missing comes first, and no count calls a field clear."""

from __future__ import annotations

import datetime as dt
import re
from types import SimpleNamespace
from typing import Any, cast

import pytest
from bs4 import BeautifulSoup

from wintersward.decisions.pins import pin_counts
from wintersward.report.page import Page
from wintersward.report.pin_words import SEARCH
from wintersward.report.readiness import readiness_context
from wintersward.study import Trial
from wintersward.trial import Definition
from wintersward.trial.diary import CoverSpell, Diary

OFF = [CoverSpell(on=dt.date(2026, 1, 19), off=dt.date(2026, 3, 9))]
STILL = [CoverSpell(on=dt.date(2026, 1, 19))]
OUT = {"date": "2026-01-19", "what": "steel pins", "out": 288}
BACK = {"date": "2026-03-09", "what": "steel pins"}


def shown(
    definition: Definition, pins: list[dict[str, Any]], covers: list[CoverSpell] = OFF
) -> BeautifulSoup:
    diary = Diary.model_validate({"pins": pins})
    rows = pin_counts(cast("Trial", SimpleNamespace(diary=diary)))
    page = Page({"pin_counts": rows}, {}, definition, covers=covers)
    template = page._templates.get_template("sections/decisions/readiness.html.j2")
    html = template.render(readiness_context(page))
    return BeautifulSoup(html[html.index("<h3>Pins") :], "html.parser")


def said(soup: BeautifulSoup) -> str:
    return re.sub(r"\s+", " ", soup.get_text(""))


@pytest.mark.parametrize(
    ("pins", "words"),
    [
        ([OUT, {**BACK, "back": 285}], "MISSING: 3 of 288 steel pins."),
        ([OUT], "288 steel pins were counted into the turf and NOBODY HAS COUNTED ANY OUT"),
        ([{**BACK, "back": 285}], "285 steel pins were counted out of the turf and NOBODY HAD"),
        ([OUT, {**BACK, "back": 289}], "ONE OF THE COUNTS IS WRONG"),
    ],
)
def test_whatever_may_be_left_stands_out(
    definition: Definition, pins: list[dict[str, Any]], words: str
) -> None:
    soup = shown(definition, pins)
    loud = " ".join(strong.get_text() for strong in soup.find_all("strong"))
    assert words in loud
    assert SEARCH in loud
    for caution in ("Nobody plays", "by hand", "a magnet, which finds steel only"):
        assert caution in loud
    assert "Whoever answers for the field decides" in said(soup)


def test_numbers_are_tied_to_the_table(definition: Definition) -> None:
    data = shown(definition, [OUT, {**BACK, "back": 285}]).select("strong data")
    assert [(one["value"], one["title"]) for one in data] == [
        ("3", "pin_counts.csv:2"),
        ("288", "pin_counts.csv:2"),
    ]


def test_an_even_count_still_asks_for_a_search(definition: Definition) -> None:
    soup = shown(definition, [OUT, {**BACK, "back": 288}])
    text = said(soup)
    assert "All 288 steel pins that were counted into the turf were counted out of it." in text
    assert "does not say that the turf is clear" in text
    assert "finds steel only" in text
    assert not soup.find_all("strong")
    assert "safe" not in text.lower()


def test_without_any_count_nobody_can_tell(definition: Definition) -> None:
    soup = shown(definition, [])
    assert "nobody can tell from it whether all of them are out" in said(soup)
    assert "Nobody plays" in soup.strong.get_text()


@pytest.mark.parametrize("covers", [STILL, []])
def test_before_covers_come_off_there_is_no_alarm(
    definition: Definition, covers: list[CoverSpell]
) -> None:
    soup = shown(definition, [], covers)
    assert not soup.find_all("strong")
    assert "Count each kind as it goes into the turf" in said(soup)


def test_while_covers_lie_pins_are_where_they_belong(definition: Definition) -> None:
    soup = shown(definition, [OUT, {**BACK, "back": 4}], STILL)
    assert not soup.find_all("strong")
    text = said(soup)
    assert "288 steel pins were counted into the turf, 4 of them out again so far." in text
    assert "The covers are still on" in text


def test_kinds_are_told_one_by_one(definition: Definition) -> None:
    pegs = {"date": "2026-01-19", "what": "wooden pegs", "out": 9, "back": 9}
    soup = shown(definition, [OUT, {**BACK, "back": 285}, pegs])
    text = said(soup)
    assert "MISSING: 3 of 288 steel pins" in text
    assert "All 9 wooden pegs" in text
    heads = [head.get_text() for head in soup.select("tbody th")]
    assert heads == ["steel pins", "all counts", "wooden pegs", "all counts"]
