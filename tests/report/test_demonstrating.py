"""A demonstration: described on every table and page, compared on none."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from bs4 import BeautifulSoup
from nbformat import NotebookNode

from analysis.dated import COVER, dated_trial
from analysis.seasonal import simulated
from wintersward.analysis import analyse
from wintersward.analysis.results import TABLES, empty
from wintersward.analysis.skeleton import DEMONSTRATION
from wintersward.report.demonstrating import plain, shown_means_table
from wintersward.report.figures import pictures
from wintersward.report.page import Drawn, Page
from wintersward.report.rendering import render
from wintersward.report.sections import CONTEXTS
from wintersward.study import Trial
from wintersward.trial import Definition

from .conftest import svg

# Columns that could hold an F, a t, a p, degrees of freedom, a letter, an error or an interval.
JUDGING = re.compile(
    r"^(f|t|p|p_.*|.*_p|df|df_.*|.*_df|se|sd|lower|upper|letters|statistic|studentised|agrees)$"
)
WORDS = re.compile(
    r"\binterval|significan|\bp\s*(=|<|&lt;)|\bdf\b|degrees of freedom|we estimate|Kenward"
    r"|F test|standard error",
    re.IGNORECASE,
)
MORE = "  days_gained: {measure: cover_share, level: 60 %}\n  caught_up_within: 2 points\n"
SHADE = """\
  shade:
    control: sun
    levels: {sun: {label: sun}, net: {label: net}}
"""


def shown(folder: Path, treatments: str = COVER) -> Trial:
    layout = "kind: demonstration\n  plots_in_a_row: 3"
    return dated_trial(folder, simulated(3), layout=layout, treatments=treatments, more=MORE)


@pytest.fixture(scope="module", params=[COVER, COVER + SHADE], ids=["one factor", "two"])
def study(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Trial, dict[str, pd.DataFrame]]:
    trial = shown(tmp_path_factory.mktemp("shown") / "s", request.param)
    return trial, analyse(trial)


def test_no_table_holds_anything_that_judges(
    study: tuple[Trial, dict[str, pd.DataFrame]],
) -> None:
    _, tables = study
    assert set(tables) == set(TABLES) - {"photo_scores"}
    for name, table in tables.items():
        for column in table.columns:
            if JUDGING.match(str(column)):
                held = table[column].replace("", np.nan).dropna()
                assert held.empty, (name, column)
    gone = ("primary", "tests", "differences", "equivalence", "sensitivity", "days_gained")
    gone += ("randomisation", "replication", "block_value", "checks", "residuals", "variances")
    gone += ("joint_tests", "joint_differences", "season_means", "season_differences", "grounds")
    for name in gone:
        assert tables[name].empty, name


def test_what_was_seen_is_there(study: tuple[Trial, dict[str, pd.DataFrame]]) -> None:
    trial, tables = study
    assert len(tables["observations"]) == 4 * len(trial.plots)
    assert int(tables["counts"]["used"].sum()) == len(tables["observations"])
    assert len(tables["arrivals"]) == len(trial.plots)
    means = tables["means"]
    day = tables["plot_means"]["date"].max()
    seen = tables["plot_means"][tables["plot_means"]["date"] == day]
    own = means[(means["date"] == day) & (means["effect"] == "cover")].set_index("level")
    by_cover = seen.groupby("cover")["value"].mean()
    assert own["mean"].to_dict() == pytest.approx(by_cover.to_dict())
    assert set(own["units"]) == {len(trial.plots) // 3}
    assert tables["notes"]["text"].tolist().count(DEMONSTRATION) == 1
    skeleton = tables["skeleton"]
    assert set(skeleton["role"]) == {"treatment", "residual"}


def drawn(trial: Trial, tables: dict[str, pd.DataFrame]) -> Page:
    made = {
        p.name: Drawn(svg(p.figure), "image/svg+xml", p.alt, p.caption)
        for p in pictures(tables, trial.definition)
    }
    return Page(tables, made, trial.definition, plots=trial.plots)


def test_the_page_says_why_and_judges_nothing(
    study: tuple[Trial, dict[str, pd.DataFrame]],
    make_notebook: Callable[[Page], NotebookNode],
) -> None:
    trial, tables = study
    page = drawn(trial, tables)
    assert not page.waiting
    html = render(make_notebook(page))
    soup = BeautifulSoup(html, "html.parser")
    words = " ".join((soup.main or soup).get_text(" ").split())
    found = WORDS.search(words)
    assert found is None, words[max(0, found.start() - 100) : found.end() + 60]
    for picture in soup.find_all("img"):
        assert not WORDS.search(picture["alt"]), picture["alt"]
    answer = soup.find(id="answer")
    assert answer is not None
    assert "One area of each treatment cannot tell the treatment from its place" in (
        answer.get_text()
    )
    assert "a valid trial needs several plots of every treatment" in answer.get_text()
    assert {"progress_cover_share", "arrivals"} == set(page.figures)


def test_until_the_values_are_there_the_page_waits(
    study: tuple[Trial, dict[str, pd.DataFrame]],
) -> None:
    trial, _ = study
    page = Page({}, {}, trial.definition, plots=trial.plots)
    assert page.waiting
    text = page.section("results").html
    assert "The values of the treatments wait" in text
    for name in CONTEXTS:
        assert not WORDS.search(page.section(name).html), name


def test_the_means_are_those_of_plots(study: tuple[Trial, dict[str, pd.DataFrame]]) -> None:
    trial, tables = study
    made = str(shown_means_table(tables["means"], trial.definition, "cover_share", "cover"))
    assert "described" in made
    assert "It describes that place" in made
    none = tables["means"].iloc[:0]
    assert not shown_means_table(none, trial.definition, "cover_share", "cover")


def test_tables_of_a_tested_trial_keep_their_columns(page: Page) -> None:
    means = page.table("means")
    frame, words = plain(page.definition, "means", means, "as they are")
    assert frame is means
    assert words == "as they are"


def test_raters_and_photos_are_shown_without_their_agreement(
    laid_out: Callable[..., Definition],
    tables: dict[str, pd.DataFrame],
    make_page: Callable[..., Page],
) -> None:
    definition = laid_out("demonstration", both=True)
    kept = ("observations", "counts", "raters", "eye_and_photo", "plot_means", "photo_scores")
    means = tables["means"].assign(se=np.nan, df=np.nan, lower=np.nan, upper=np.nan, letters="")
    seen = {name: tables[name] for name in kept if name in tables} | {"means": means}
    seen = {name: empty(name) for name in TABLES} | seen
    page = make_page(seen, definition)
    html = page.section("agreement").html
    assert "each rater against the average" in html
    assert "raters_colour_rating" in page.figures
    for name in CONTEXTS:
        section = BeautifulSoup(page.section(name).html, "html.parser")
        for picture in section.find_all("img"):
            picture.replace_with(picture["alt"])
        found = WORDS.search(" ".join(section.get_text(" ").split()))
        assert found is None, (name, found)
