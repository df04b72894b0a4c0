"""A demonstration: described on every table and page, compared on none."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from bs4 import BeautifulSoup
from nbformat import NotebookNode

from analysis.dated import COVER, dated_trial
from analysis.seasonal import simulated
from wintersward.analysis import analyse
from wintersward.analysis.demonstration_tables import DEMONSTRATION_TABLES
from wintersward.analysis.results import OF_OTHER_STAGES, TABLES, empty
from wintersward.analysis.skeleton import DEMONSTRATION
from wintersward.errors import WinterswardError
from wintersward.report.demonstrating import (
    demonstration_words,
    rater_counts_table,
    shown_means_table,
    valid_trial_words,
)
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
    assert set(tables) == set(DEMONSTRATION_TABLES) - {*OF_OTHER_STAGES}
    for name, table in tables.items():
        assert [c for c in table.columns if JUDGING.match(str(c))] == [], name
        for column in DEMONSTRATION_TABLES[name].columns:
            assert not JUDGING.match(column.name), (name, column)
            assert not WORDS.search(column.text), (name, column)
    gone = ("primary", "tests", "differences", "equivalence", "sensitivity", "days_gained")
    gone += ("randomisation", "replication", "block_value", "checks", "residuals", "variances")
    gone += ("joint_tests", "joint_differences", "season_means", "season_differences", "grounds")
    for name in gone:
        with pytest.raises(WinterswardError, match=f"a demonstration has no table '{name}'"):
            tables[name]


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
    support = soup.find(id="support")
    assert support is not None
    assert "The day on which every plot reached 60 % " in support.get_text()
    references = soup.find(id="references")
    assert references is not None
    assert "Nothing was analysed." in references.get_text()


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
    few = len(trial.plots) == 3
    assert ("It describes that place" if few else "It describes those places") in made
    heads = [cell.get_text(" ") for cell in BeautifulSoup(made, "html.parser")("th", scope="col")]
    order = ["Date", *(one.label for one in trial.definition.treatments["cover"].levels.values())]
    assert [head.partition("[")[0].strip() for head in heads] == order
    if not few:
        both = shown_means_table(tables["means"], trial.definition, "cover_share", "cover:shade")
        crossed = BeautifulSoup(str(both), "html.parser")("th", scope="col")
        assert [head.get_text(" ").split()[0] for head in crossed[1:]] == [
            label for label in order[1:] for _ in range(2)
        ]
    none = tables["means"].iloc[:0]
    assert not shown_means_table(none, trial.definition, "cover_share", "cover")


def test_what_a_valid_trial_needs_counts_its_plots(
    study: tuple[Trial, dict[str, pd.DataFrame]],
) -> None:
    trial, _ = study
    said = valid_trial_words(trial.definition)
    plots = len(trial.plots)
    assert f"Six of each are {6 * plots} plots of 6.56 ft by 6.56 ft" in said[0] or (
        f"Six of each are {6 * plots} plots of 2 m by 2 m" in said[0]
    )
    assert not [one for one in said if WORDS.search(one)]
    why, question = demonstration_words(trial.definition)
    assert why == DEMONSTRATION
    assert question.endswith("? A demonstration leaves it open; a valid trial can answer it.")


def test_a_tested_trial_has_another_notebook(page: Page) -> None:
    said = "layout.kind is 'split plot', which is no demonstration; its notebook is 30-statistics"
    with pytest.raises(WinterswardError, match=said):
        demonstration_words(page.definition)


def test_two_looks_are_counted_in_a_table(definition: Definition) -> None:
    counts = pd.DataFrame(
        [
            ("colour_rating", pd.Timestamp(2026, 3, 24), "rx", "second look", 3, 1, 3, 1.0),
            ("colour_rating", pd.Timestamp(2026, 3, 24), "rx", "te", 6, 2, 5, 2.0),
        ],
        columns=["measure", "date", "rater", "against", "plots", "same", "near", "furthest"],
    )
    table = BeautifulSoup(
        str(rater_counts_table(counts, definition, "colour_rating")), "html.parser"
    )
    heads = [cell.get_text(" ") for cell in table("th", scope="col")]
    assert heads[2:5] == ["plots", "the same", "at most one mark apart"]
    rows = [[cell.get_text() for cell in row("td")] for row in table("tr")[1:]]
    assert rows == [["3", "1", "3", "1.0"], ["6", "2", "5", "2.0"]]
    assert "twice" in table.get_text()
    assert table.data["title"] == "rater_counts.csv:2"
    unmarked = counts.assign(near=pd.NA)
    assert "mark apart" not in str(rater_counts_table(unmarked, definition, "colour_rating"))
    assert not rater_counts_table(counts, definition, "green_cover")


def test_raters_and_photos_are_shown_without_their_agreement(
    laid_out: Callable[..., Definition],
    tables: dict[str, pd.DataFrame],
    make_page: Callable[..., Page],
) -> None:
    definition = laid_out("demonstration", both=True)
    kept = ("observations", "counts", "raters", "eye_and_photo", "plot_means", "photo_scores")
    means = tables["means"].drop(columns=["se", "df", "lower", "upper", "letters"])
    seen = {name: tables[name] for name in kept if name in tables} | {"means": means}
    seen = {name: empty(name) for name in TABLES if name in DEMONSTRATION_TABLES} | seen
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
