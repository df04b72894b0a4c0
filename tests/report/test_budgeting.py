"""The budget on the page: every number tied to its table, words that keep to what they are."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from analysis.planned import shown_only
from decisions.budgeted import DAYS, costs_of, found, item, trial_with
from wintersward.analysis.decision_columns_budget import BUDGET
from wintersward.decisions.budget import budget_tables
from wintersward.handin.page_numbers import numbers_of, untied
from wintersward.report.budgeting import budget_context, futures_text
from wintersward.report.budgeting_figures import budget_picture
from wintersward.report.frozen import freeze_of
from wintersward.report.page import Drawn, Page
from wintersward.runs.pictures import picture_file
from wintersward.runs.tables import from_csv, to_csv
from wintersward.study import Trial

ITEMS = (
    item("rolls of it", "added cost", (1200, 1680), kind="material", seasons=(1, 3)),
    item("practice forbidden", "reduced income", (0, 120)),
    item("first home match", "added income", (0, 1500), kind="event kept", source="last year"),
    item("rolls", "added cost", 5600, kind="material", treatment="woven"),
)
WORTH = [
    {"of": "primary", "each": (15, 45), "why": "seed"},
    {"of": "days gained", "each": (40, 90), "why": "practice"},
]
BOUND = (7.694, float("nan"), float("nan"), "at least")
Tables = dict[str, pd.DataFrame]


def written(tables: Tables) -> tuple[dict[str, str], Tables]:
    """Give the tables as a run writes them, and as a page reads them."""
    texts = {name: to_csv(name, BUDGET[name], frame) for name, frame in tables.items()}
    return texts, {name: from_csv(name, BUDGET[name], text) for name, text in texts.items()}


def page_of(trial: Trial, tables: Tables, more: Tables | None = None) -> Page:
    picture = budget_picture(tables["budget"], trial.definition)
    drawn = Drawn(b"<svg/>", "image/svg+xml", picture.alt, picture.caption)
    return Page({**tables, **(more or {})}, {"budget": drawn}, trial.definition)


def html_of(page: Page) -> str:
    context: dict[str, Any] = {**budget_context(page), "freeze": freeze_of(page)}
    template = page._templates.get_template("sections/decisions/budget.html.j2")
    return template.render(context)


@pytest.fixture
def trial(tmp_path: Path) -> Trial:
    return trial_with(tmp_path, costs_of(*ITEMS, area="24000 ft2", worth=WORTH), DAYS)


@pytest.fixture
def answered() -> Tables:
    primary = pd.DataFrame({"which": ["as planned"], "difference": [11.6]})
    return {"primary": primary, "means": pd.DataFrame({"mean": [1.0]})}


@pytest.fixture
def texts_and_page(trial: Trial, answered: Tables) -> tuple[dict[str, str], Page]:
    made = budget_tables(trial, found(days=BOUND, cover=(11.64, 2.0, 10.0)))
    texts, tables = written(made)
    return texts, page_of(trial, tables, answered)


@pytest.fixture
def said(texts_and_page: tuple[dict[str, str], Page]) -> str:
    soup = BeautifulSoup(html_of(texts_and_page[1]), "html.parser")
    return re.sub(r"\s+", " ", soup.get_text(" "))


def test_every_number_stands_in_its_table(texts_and_page: tuple[dict[str, str], Page]) -> None:
    texts, page = texts_and_page
    numbers = numbers_of(html_of(page))
    assert len(numbers) > 60
    assert {one.source.partition(".")[0] for one in numbers} == set(BUDGET)
    assert untied(numbers, texts) == []


def test_the_net_change_is_said_with_its_futures(said: str) -> None:
    assert re.search(
        r"Spun-bond fleece against no cover, one season on 24,000 ft² ?, counting the entries and "
        r"what the trial found: a net change of −?[\d,+]+ USD in the middle, between −[\d,]+ and "
        r"\+[\d,]+ in eight of ten futures. Of 100 futures drawn from these ranges, \d+ end above "
        r"zero.",
        said,
    )
    interval = "( 95 % interval by itself +7 to +16 ; adjusted under Results)"
    assert f"Green cover, spun-bond fleece: +12 points {interval}." in said.replace("(95", "( 95")
    assert "Days gained, spun-bond fleece: at least 7.7 days; no interval can be given" in said
    plain = said.replace("( ", "(").replace(" )", ")")
    assert re.search(
        r"Spun-bond fleece pays for itself if a day gained is worth \d+ USD or more \(\d+ to "
        r"\d+ in eight of ten futures; less may do, since at least so much was gained\) and",
        plain,
    )
    assert "the diary says 15 to 45" in said
    assert re.search(r"lasts [\d.]+ seasons \(.*; the diary says 1 to 3 \.", said)


def test_both_areas_are_shown(said: str) -> None:
    assert "on 24,000 ft²" in said
    assert "on each 1000 ft²" in said


def test_what_the_numbers_are_not_is_said(said: str) -> None:
    for caution in (
        "A future is a draw, not a forecast",
        "says how these ranges lie, no more",
        "that of one winter on these plots",
        "An event that is kept and the days or points that were gained: each may be one thing",
        "since each is drawn by itself",
        "without interest",
        "Material without a life in seasons is counted in this season whole: woven permeable cover",
        "Money does not weigh the people who play or work there",
        "whoever answers for it decides",
    ):
        assert caution in said
    assert not re.search(r"\b(will pay|worth it|pays off|profit|recommend|safe)\b", said)


def test_the_picture_tells_its_numbers_and_is_small(
    texts_and_page: tuple[dict[str, str], Page],
) -> None:
    page = texts_and_page[1]
    picture = budget_picture(page.tables["budget"], page.definition)
    ending, content = picture_file(picture.figure)
    assert (ending, len(content) < 40_000) == ("svg", True)
    assert "Spun-bond fleece against no cover, entries alone: net change" in picture.alt
    assert re.search(r"\d+ of 100 above zero", picture.alt)


def test_a_demonstration_adds_up_entries_alone(trial: Trial, answered: Tables) -> None:
    shown = Trial(trial.folder, shown_only(trial.definition), trial.diary, trial.plots)
    shown.__dict__["outstanding"] = []
    texts, tables = written(budget_tables(shown, found(cover=(11.64, 2.0, 10.0))))
    html = html_of(page_of(shown, tables, answered))
    text = re.sub(r"\s+", " ", BeautifulSoup(html, "html.parser").get_text(" "))
    assert "Only entries of the diary are added up" in text
    assert "no verdict" in text
    assert not re.search(r"Student|interval|estimate of the trial|what the trial found", text)
    assert untied(numbers_of(html), texts) == []


def test_one_sentence_says_why_there_is_nothing(tmp_path: Path, answered: Tables) -> None:
    trial = trial_with(tmp_path, None)
    _, tables = written(budget_tables(trial, {}))
    text = BeautifulSoup(html_of(page_of(trial, tables, answered)), "html.parser").get_text()
    assert text.split("\n")[1:-1] == [
        "The diary tells no costs, so this report says nothing of money."
    ]
    primary = pd.DataFrame({"which": pd.Series(dtype=str)})
    early = page_of(trial, tables, {**answered, "primary": primary})
    assert "once the comparison no longer waits" in html_of(early)


def test_an_estimate_without_a_worth_is_told_and_not_counted(
    tmp_path: Path, answered: Tables
) -> None:
    trial = trial_with(tmp_path, costs_of(*ITEMS))
    _, tables = written(budget_tables(trial, found(cover=(11.64, 2.0, 10.0))))
    text = html_of(page_of(trial, tables, answered))
    assert "the diary does not say what it is worth" in text
    assert "counting the entries of the diary alone" in text


@pytest.mark.parametrize(
    ("share", "text"), [(0.004, "fewer than one"), (50.4, "50"), (99.6, "all but fewer than one")]
)
def test_few_futures_are_never_none(share: float, text: str) -> None:
    assert futures_text(share) == text


def test_without_ranges_one_number_is_said(tmp_path: Path, answered: Tables) -> None:
    trial = trial_with(tmp_path, costs_of(item("fee", "added cost", 120)))
    _, tables = written(budget_tables(trial, {}))
    text = re.sub(r"<[^>]+>", "", html_of(page_of(trial, tables, answered)))
    assert "a net change of −120.00 USD." in text
    metric = trial.definition.model_copy(update={"units": "metric"})
    page = dataclasses.replace(page_of(trial, tables, answered), definition=metric)
    assert "on each 100 m²" in html_of(page)
