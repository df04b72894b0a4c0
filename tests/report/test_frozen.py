"""What a page says of the frozen plan, and what it calls exploratory."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest
from bs4 import BeautifulSoup
from markupsafe import Markup

from wintersward.analysis.results import empty
from wintersward.report.frozen import Freeze, exploratory_words, freeze_of, marked, touched_words
from wintersward.report.page import Page
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
ROW = {
    "frozen_at": "2026-01-12T14:05:00+00:00",
    "document": "d25a9121e942" + "0" * 52,
    "version": "0.1.0",
    "late": "",
    "damage": "",
}


def changed(*touches: str) -> pd.DataFrame:
    rows = [(f"line.{i}", "old", "new", "why", touch) for i, touch in enumerate(touches, 1)]
    return pd.DataFrame(rows, columns=list(empty("changes").columns))


@pytest.fixture
def frozen(make_page: Callable[..., Page], tables: Tables, definition: Definition) -> object:
    """Make the page of a run with a freeze."""

    def make(*touches: str, early: Tables | None = None, **row: str) -> Page:
        added = {"frozen": pd.DataFrame([ROW | row]), "changes": changed(*touches)}
        return make_page((tables if early is None else early) | added, definition)

    return make


def text_of(page: Page, name: str) -> str:
    soup = BeautifulSoup(page.section(name)._repr_html_(), "html.parser")
    return " ".join(soup.get_text(" ").split())


def test_without_a_freeze_nothing_is_exploratory(page: Page) -> None:
    freeze = freeze_of(page)
    assert not freeze.there
    assert not freeze.exploratory("primary", "days_gained")
    assert (freeze.tag("primary"), freeze.why("primary"), freeze.methods) == ("", "", "")
    assert freeze.unshown.endswith("stayed open: nothing was frozen before the covers went on.")
    assert "was not frozen" in freeze.limit


def test_in_good_time_and_unchanged(frozen: Callable[..., Page]) -> None:
    freeze = freeze_of(frozen())
    assert freeze.there
    assert freeze.when == "12 January 2026 at 14:05 UTC"
    assert (freeze.unshown, freeze.limit, freeze.methods) == ("", "", "")
    assert "d25a9121e942" in text_of(frozen(), "plan")


def test_what_cannot_be_shown(frozen: Callable[..., Page]) -> None:
    late = freeze_of(frozen(late="after the covers went on"))
    assert late.limit.startswith("The plan was frozen after the covers went on, so this report")
    assert late.unshown.endswith("The plan was frozen after the covers went on.")
    damaged = freeze_of(frozen(frozen_at="", damage="plan/frozen/plots.csv: found nothing"))
    assert not damaged.there
    assert damaged.limit.startswith("The frozen plan is damaged")
    asked = freeze_of(frozen("primary"))
    assert asked.limit.startswith("The question was changed after the plan was frozen")


def test_tags_and_lines(frozen: Callable[..., Page]) -> None:
    freeze = freeze_of(frozen("primary;caught_up", "", "primary", "days_gained"))
    assert freeze.touched == {"primary", "caught_up", "days_gained"}
    assert freeze.tag("caught_up") == " (exploratory)"
    assert freeze.tag("covariate") == ""
    assert freeze.fields("primary") == "line.1 and line.3"
    many = freeze_of(frozen(*["primary"] * 6))
    assert many.fields("primary") == "line.1, line.2, line.3, line.4 and 2 more"


def test_everything_is_everything(frozen: Callable[..., Page]) -> None:
    freeze = freeze_of(frozen("everything"))
    assert freeze.exploratory("measure:pull_force")
    assert freeze.exploratory()
    assert freeze.fields("covariate") == "line.1"


@pytest.mark.parametrize(
    ("tag", "words"),
    [
        ("primary", "the primary question"),
        ("measure:green_cover", "all of green cover"),
        ("measure:old_one", "all of old one"),
        ("everything", "every comparison of treatments"),
        ("", "no answer"),
    ],
)
def test_what_is_touched_in_words(definition: Definition, tag: str, words: str) -> None:
    assert touched_words(tag, definition) == words


def test_the_headline_says_exploratory(frozen: Callable[..., Page]) -> None:
    said = text_of(frozen("primary"), "answer")
    assert "Exploratory: We estimate that on 24 March 2026" in said
    assert "Exploratory: what this rests on was changed after the freeze (line.1)." in said
    other = text_of(frozen("days_gained"), "answer")
    assert "Exploratory: We estimate that on 24 March 2026" not in other
    # Days gained stand with what the answer means on the field, and are told for what they are.
    assert other.count("Exploratory: ") == 1
    assert "Exploratory: In this trial plots with spun-bond fleece reached" in other


def test_headings_of_support(frozen: Callable[..., Page]) -> None:
    soup = BeautifulSoup(
        frozen("days_gained", "covariate").section("support")._repr_html_(), "html.parser"
    )
    heads = [head.get_text() for head in soup.find_all("h3")]
    assert "Days gained (exploratory)" in heads
    assert "The same question by other analyses (exploratory)" in heads
    assert "Had the control caught up?" in heads
    captions = [caption.get_text() for caption in soup.find_all("caption")]
    assert any(one.startswith("Exploratory. Days gained") for one in captions)


def test_a_touched_measure_is_marked_and_no_other(frozen: Callable[..., Page]) -> None:
    soup = BeautifulSoup(
        frozen("measure:pull_force").section("results")._repr_html_(), "html.parser"
    )
    for name in ("green_cover", "colour_rating", "pull_force"):
        part = soup.find(id=f"results-{name}")
        captions = [one.get_text() for one in part.find_all(["caption", "figcaption"])]
        assert captions
        marks = {one.startswith("Exploratory. ") for one in captions}
        assert marks == {name == "pull_force"}
        assert ("(exploratory)" in part.h3.get_text()) == (name == "pull_force")


def test_everything_marks_all_comparisons(frozen: Callable[..., Page]) -> None:
    page = frozen("everything")
    for name in ("answer", "support", "results", "exclusions", "methods", "checks"):
        assert "xploratory" in text_of(page, name), name
    assert "xploratory" not in text_of(page, "cautions") + text_of(page, "layout")


def test_while_the_comparison_waits_there_is_nothing_to_mark(
    frozen: Callable[..., Page], early: Tables
) -> None:
    page = frozen("primary", early=early)
    said = text_of(page, "answer")
    assert "The comparison waits" in said
    assert "Exploratory:" not in said
    assert "so this is exploratory: the primary question" in text_of(page, "methods")


def test_the_table_of_changes(frozen: Callable[..., Page]) -> None:
    soup = BeautifulSoup(frozen("primary", "").section("plan")._repr_html_(), "html.parser")
    rows = [[c.get_text() for c in row.find_all(["th", "td"])] for row in soup.tbody.find_all("tr")]
    rows += [
        [c.get_text() for c in row.find_all(["th", "td"])]
        for body in soup.find_all("tbody")[1:]
        for row in body.find_all("tr")
    ]
    assert rows == [
        ["line.1", "old", "new", "why", "the primary question"],
        ["line.2", "old", "new", "why", "nothing: words"],
    ]


def test_marking_leaves_words_and_pages_alone(frozen: Callable[..., Page]) -> None:
    page = frozen("everything")
    context = {"table": Markup("<caption>A</caption>"), "words": "<caption>", "page": page}
    made = marked(page, "checks", context)
    assert made["table"] == Markup("<caption>Exploratory. A</caption>")
    assert made["words"] == "<caption>"
    assert made["page"] is page
    assert isinstance(made["freeze"], Freeze)


def test_a_notebook_is_told_the_same(definition: Definition) -> None:
    assert exploratory_words(changed(""), definition) == []
    (said,) = exploratory_words(changed("measure:pull_force", "primary"), definition)
    assert "exploratory: the primary question and all of pull force." in said
