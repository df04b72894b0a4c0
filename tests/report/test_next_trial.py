"""Advice on a next trial in words: one short list, each with its number."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from analysis.planned import shown_only
from decisions.budgeted import trial_with
from wintersward.analysis.decision_columns_budget import NEXT_TRIAL
from wintersward.decisions.rows import framed
from wintersward.handin.page_numbers import numbers_of, untied
from wintersward.report.frozen import freeze_of
from wintersward.report.next_trial import next_trial_context, next_trial_words
from wintersward.report.page import Page
from wintersward.runs.tables import from_csv, to_csv
from wintersward.trial import Definition

TABLE = NEXT_TRIAL["next_trial"]
NAN = float("nan")
DAY = pd.Timestamp("2026-03-24")


def row(advice: str, measure: str, value: float, now: float, **more: Any) -> dict[str, Any]:
    told: dict[str, Any] = {"cautious": NAN, "unit": "", "text": "", "date": pd.NaT, "level": ""}
    told["many"] = NAN
    return {**told, "advice": advice, "measure": measure, "value": value, "now": now, **more}


ROWS = [
    row("not told apart", "pull_force", 18.32458718, 2),
    row("blocks", "green_cover", 5, 6, cautious=7, unit="blocks", date=DAY),
    row("plots before readings", "green_cover", 5.284, 6.297, many=8, unit="measure", date=DAY),
    row("fewer readings", "pull_force", 3.9, 3, unit="%", date=DAY),
    row("raters", "colour_rating", 3, 2, unit="raters"),
    row("a second reading", "green_cover", 100 * 2 / 216, 2, unit="%"),
    row("at an end", "green_cover", 83.3, 36, unit="%", date=DAY),
    row("no spread", "colour_rating", 100, 18, unit="%", date=DAY),
    row("unlike the photo", "colour_rating", 0.12, 36, unit="correlation"),
    row("at an end", "green_cover", 100, 18, unit="%", date=DAY, level="solid"),
    row("loggers longer", "", 4, 18, date=DAY, text="not there: Soil: mean of 5 days at 50 °F"),
    row("a later visit", "green_cover", 1, 18, unit="units", date=DAY),
    row("closer visits", "green_cover", 7, 12, unit="days"),
    row("removal day", "", NAN, NAN),
    row("more measures", "", 2, NAN, text="surface hardness, disease cover"),
    row("light under covers", "", 2, NAN, unit="covers"),
]


@pytest.fixture
def definition(tmp_path: Path) -> Definition:
    return trial_with(tmp_path, None).definition


def said(definition: Definition, *rows: dict[str, Any]) -> list[str]:
    return [str(one) for one in next_trial_words(framed(TABLE, rows), definition)]


def html_of(definition: Definition, rows: list[dict[str, Any]], waiting: bool = False) -> str:
    frame = from_csv("next_trial", TABLE, to_csv("next_trial", TABLE, framed(TABLE, rows)))
    one = pd.DataFrame({"mean": [1.0], "which": ["as planned"], "difference": [1.0]})
    held = one.iloc[:0] if waiting else one
    page = Page({"next_trial": frame, "primary": held, "means": held}, {}, definition)
    template = page._templates.get_template("sections/decisions/next_trial.html.j2")
    return template.render({**next_trial_context(page), "freeze": freeze_of(page)})


def test_the_list_begins_with_blocks_and_ends_with_what_told_nothing(
    definition: Definition,
) -> None:
    words = said(definition, *ROWS)
    assert words[0] == (
        "With the spread of this trial, 5 blocks see a true difference of 8 points with a chance "
        "of 80 %; this trial had 6. The spread is known from few plots: planned with a larger one, "
        "which the true spread exceeds in one of five cases, it takes 7."
    )
    starts = [re.split(r"[: ](?=more|half|on|two|did)", one)[0] for one in words[1:]]
    assert starts[:2] == ["Green cover:", "Pull force:"]
    assert words[-2].startswith("Colour rating did not follow the photo")


def test_numbers_are_in_the_unit_of_the_reader(definition: Definition) -> None:
    # 18.32 N are 4.12 lbf (4.4482216 N each, NIST SP 811).
    apart = said(definition, ROWS[0])[0]
    assert "a true difference of 4.1 lbf would have been seen" in apart
    assert "no sign that the treatments are alike" in apart
    metric = definition.model_copy(update={"units": "metric"})
    assert "a true difference of 18 N" in said(metric, ROWS[0])[0]


def test_a_single_date_and_no_number(definition: Definition) -> None:
    words = said(definition, row("not told apart", "pull_force", NAN, 1))[0]
    assert words == (
        "Pull force: on its 1 date every interval against a control holds zero. That is no sign "
        "that the treatments are alike."
    )
    words = said(definition, row("blocks", "green_cover", NAN, 6, unit="blocks"))[0]
    assert "more than 60 blocks" in words
    words = said(definition, row("raters", "colour_rating", NAN, 2))[0]
    assert "no better apart than the raters themselves differ" in words


def test_every_number_stands_in_the_table(definition: Definition) -> None:
    html = html_of(definition, ROWS)
    text = to_csv("next_trial", TABLE, framed(TABLE, ROWS))
    numbers = numbers_of(html)
    assert len(numbers) >= 15
    assert untied(numbers, {"next_trial": text}) == []


def test_the_page_points_to_what_it_shows_already(definition: Definition) -> None:
    soup = BeautifulSoup(html_of(definition, ROWS), "html.parser")
    assert [link["href"] for link in soup.find_all("a")] == ["#replication", "#shares"]
    # Dates of one measure at an end of its scale stand in one sentence.
    assert len(soup.find_all("li")) == len(ROWS) - 1


def test_what_to_look_at_longer_oftener_or_as_well(definition: Definition) -> None:
    words = said(definition, *ROWS)
    for one in (
        "falls from 6.3 points to 5.3 points with 8 blocks, and no further with twice the",
        "by 24 March 2026 4 of 18 plots were not known to have got there (soil: mean of 5 days",
        "A later visit for green cover: by 24 March 2026 1 of 18 plots had not reached",
        "visits 3 to 4 days apart while holes close (common practice, no source). On 12 plots",
        "make it a treatment: the same cover, off on two days that are dealt out by chance",
        "Nobody took two measures here by which a field is judged beside its looks: surface",
        "Light under covers: that of two covers is stated by the definition and was not measured",
        "83 % of 36 plots, on 24 March 2026 100 % of 18 plots with solid tine 3/8 in stood",
    ):
        assert sum(one in sentence for sentence in words) == 1, one


def test_without_advice_one_sentence_says_so(definition: Definition) -> None:
    assert "no further advice" in html_of(definition, [])
    assert "no longer waits" in html_of(definition, [], waiting=True)
    assert "What a valid trial would need" in html_of(shown_only(definition), [])
