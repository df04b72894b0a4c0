"""Counted pins on the page: what is missing comes first, and no count calls a field clear."""

from __future__ import annotations

import datetime as dt
import re
from types import SimpleNamespace
from typing import Any, cast

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.decisions.pins import pin_counts
from wintersward.report.brief import brief_page
from wintersward.report.page import Page
from wintersward.report.pin_words import SEARCH, pin_alarms, pins_context
from wintersward.study import Trial
from wintersward.trial import Definition
from wintersward.trial.diary import CoverSpell, Diary

OFF = [CoverSpell(on=dt.date(2026, 1, 19), off=dt.date(2026, 3, 9))]
STILL = [CoverSpell(on=dt.date(2026, 1, 19))]
OUT = {"date": "2026-01-19", "what": "steel pins", "out": 288}
BACK = {"date": "2026-03-09", "what": "steel pins"}


def page_of(
    definition: Definition,
    pins: list[dict[str, Any]],
    covers: list[CoverSpell] = OFF,
    **more: pd.DataFrame,
) -> Page:
    diary = Diary.model_validate({"pins": pins})
    rows = pin_counts(cast("Trial", SimpleNamespace(diary=diary)))
    return Page({"pin_counts": rows, **more}, {}, definition, covers=covers)


def shown(
    definition: Definition, pins: list[dict[str, Any]], covers: list[CoverSpell] = OFF
) -> BeautifulSoup:
    page = page_of(definition, pins, covers)
    template = page._templates.get_template("sections/decisions/pins.html.j2")
    return BeautifulSoup(template.render(pins_context(page)), "html.parser")


def loud(soup: BeautifulSoup) -> str:
    return " ".join(one.get_text() for one in soup.select("strong, .alarm"))


def said(soup: BeautifulSoup) -> str:
    return re.sub(r"\s+", " ", soup.get_text(""))


@pytest.mark.parametrize(
    ("pins", "words"),
    [
        (
            [OUT, {**BACK, "back": 285}],
            "MISSING: 3 of 288 steel pins were never counted out of the turf. Nobody plays, "
            "trains, mows, rolls or aerates where covers lay until they are found, or until "
            "whoever answers for the field has had the ground searched and decides.",
        ),
        (
            [OUT, {**BACK, "back": 287}],
            "MISSING: 1 of 288 steel pins was never counted out of the turf. Nobody plays, "
            "trains, mows, rolls or aerates where covers lay until it is found, or until whoever",
        ),
        ([OUT], "288 steel pins went into the turf and NOBODY HAS COUNTED ANY OUT"),
        ([{**BACK, "back": 285}], "285 steel pins came out of the turf and NOBODY HAD COUNTED"),
        ([OUT, {**BACK, "back": 289}], "ONE OF THE COUNTS IS WRONG"),
    ],
)
def test_whatever_may_be_left_stands_out(
    definition: Definition, pins: list[dict[str, Any]], words: str
) -> None:
    soup = shown(definition, pins)
    assert words in loud(soup)
    assert SEARCH in loud(soup)
    for caution in ("Nobody plays", "by hand", "a magnet, which finds steel only"):
        assert caution in loud(soup)
    assert "Whoever answers for the field decides" in said(soup)


def test_numbers_are_tied_to_the_table(definition: Definition) -> None:
    data = shown(definition, [OUT, {**BACK, "back": 285}]).select(".alarm data")
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
    assert not loud(soup)
    assert "safe" not in text.lower()


def test_without_any_count_nobody_can_tell(definition: Definition) -> None:
    soup = shown(definition, [])
    assert "nobody can tell from it whether all are out of the turf" in loud(soup)
    assert "Nobody plays" in loud(soup)


@pytest.mark.parametrize("covers", [STILL, []])
def test_before_covers_come_off_there_is_no_alarm(
    definition: Definition, covers: list[CoverSpell]
) -> None:
    soup = shown(definition, [], covers)
    assert not loud(soup)
    assert "Count each kind as it goes into the turf" in said(soup)


def test_while_covers_lie_pins_are_where_they_belong(definition: Definition) -> None:
    soup = shown(definition, [OUT, {**BACK, "back": 4}], STILL)
    assert not loud(soup)
    text = said(soup)
    assert "288 steel pins were counted into the turf, 4 of them out again so far." in text
    assert "The covers are still on" in text


def test_kinds_are_told_one_by_one(definition: Definition) -> None:
    pegs = {"date": "2026-01-19", "what": "wooden pegs", "out": 9, "back": 9}
    soup = shown(definition, [OUT, {**BACK, "back": 285}, pegs])
    text = said(soup)
    assert "MISSING: 3 of 288 steel pins were" in text
    assert "All 9 wooden pegs" in text
    heads = [head.get_text() for head in soup.select("tbody th")]
    assert heads == ["steel pins", "all counts", "wooden pegs", "all counts"]


def test_kinds_that_are_missing_stand_in_one_sentence(definition: Definition) -> None:
    pegs = {"date": "2026-01-19", "what": "wooden pegs", "out": 9, "back": 8}
    soup = shown(definition, [OUT, {**BACK, "back": 287}, pegs])
    assert len(soup.select(".alarm")) == 1
    assert "MISSING: 1 of 288 steel pins and 1 of 9 wooden pegs were never counted" in said(soup)


def test_covers_without_pins(definition: Definition) -> None:
    soup = shown(definition, [{"date": "2026-01-19", "what": "pins", "out": 0, "back": 0}])
    assert not loud(soup)
    assert "By the diary no pins went into the turf." in said(soup)


def test_where_wind_took_covers_the_search_goes_downwind(definition: Definition) -> None:
    pins = [OUT, {**BACK, "back": 285}]
    events = pd.DataFrame({"date": [], "what": [], "plots": [], "note": []}, dtype="str")
    events.loc[0] = ["2026-02-11", "blown off", "4B", ""]
    blown = pins_context(page_of(definition, pins, cover_events=events))["pins"]["search"]
    assert "search downwind" in blown
    assert "downwind" not in pins_context(page_of(definition, pins))["pins"]["search"]


WORK = {
    "2026-03-05": "mowing",
    "2026-03-10": "water",
    "2026-04-11": "traffic",
    "2026-04-08": "mowing",
    "2026-03-25": "aeration",
}


def care(work: dict[str, str]) -> pd.DataFrame:
    told = {"what": [*work.values()], "plots": "all plots", "amount": "", "note": ""}
    return pd.DataFrame({"date": pd.to_datetime([*work]), **told})


@pytest.mark.parametrize(
    ("pins", "since"),
    [
        ([OUT, {**BACK, "back": 285}], "the last count, 9 March 2026"),
        ([OUT, {**BACK, "back": 280}, {**BACK, "date": "2026-03-12", "back": 5}], "12 March 2026"),
        ([OUT], "the covers came off, 9 March 2026"),
        ([], "the covers came off, 9 March 2026"),
    ],
)
def test_work_after_the_last_count_is_told(
    definition: Definition, pins: list[dict[str, Any]], since: str
) -> None:
    first, *more = pin_alarms(page_of(definition, pins, management=care(WORK)))
    assert "Nobody plays, trains, mows, rolls or aerates where covers lay" in str(first)
    (told,) = map(str, more)
    assert told.startswith("By the diary there was aeration, mowing and traffic on plots of this ")
    assert since in told
    assert told.endswith("search now, and look over the machines.")


def test_only_work_that_the_diary_tells_is_told(definition: Definition) -> None:
    missing = [OUT, {**BACK, "back": 285}]
    before = {"2026-03-05": "mowing", "2026-03-09": "aeration", "2026-03-20": "nitrogen"}
    assert len(pin_alarms(page_of(definition, missing, management=care(before)))) == 1
    played = pin_alarms(page_of(definition, missing, management=care({"2026-04-11": "traffic"})))
    assert str(played[1]).endswith("2026: search now.")
    even = page_of(definition, [OUT, {**BACK, "back": 288}], management=care(WORK))
    assert pin_alarms(even) == []


def test_a_missing_pin_comes_before_everything_else(
    definition: Definition, tables: dict[str, pd.DataFrame]
) -> None:
    page = page_of(definition, [OUT, {**BACK, "back": 287}], **tables)
    words = "1 of 288 steel pins was never counted out of the turf."
    section = said(BeautifulSoup(page.section("decisions").html, "html.parser"))
    assert section.index(words) < section.index("Held against the limits")
    answer = BeautifulSoup(page.section("answer").html, "html.parser")
    first = answer.select_one("#answer p")
    assert first is not None
    assert words in first.get_text()
    brief = BeautifulSoup(brief_page(page), "html.parser")
    assert words in brief.select_one("main > .alarm").get_text()  # type: ignore[union-attr]
    assert "Count pins and staples" not in brief.get_text()
    even = page_of(definition, [OUT, {**BACK, "back": 288}], **tables)
    assert "alarm" not in str(BeautifulSoup(brief_page(even), "html.parser").main)
    assert "alarm" not in even.section("answer").html
