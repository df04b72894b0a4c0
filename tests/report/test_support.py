from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.report.page import Page
from wintersward.report.support import notes_of, randomised, support_context, together_context
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def text_of(page: Page, name: str) -> str:
    soup = BeautifulSoup(page.section(name)._repr_html_(), "html.parser")
    return " ".join(soup.get_text(" ").split())


@pytest.fixture
def alone(make_page: Callable[..., Page], fabricate: object, definition: Definition) -> Page:
    """Make the page of a run that answered the question, but could do nothing beside it."""
    return make_page(fabricate.fabricate(), definition)


def test_the_supporting_analyses_stand_in_their_order(page: Page) -> None:
    soup = BeautifulSoup(page.section("support")._repr_html_(), "html.parser")
    assert [h.get_text() for h in soup.find_all("h3")] == [
        "Against the smallest difference that matters",
        "By the draw alone",
        "Had the control caught up?",
        "Days gained",
        "On average over the season",
        "The same question by other analyses",
        "How much did the start matter?",
        "Seasons together",
    ]
    assert len(soup.find_all("img")) == 1
    assert "none of it replaces the answer" in soup.get_text()


def test_the_draw_alone_is_one_sentence_under_the_answer_and_told_behind_it(page: Page) -> None:
    said = text_of(page, "answer")
    draw = said.index("The draw alone gives p = 0.031 , the smallest that this layout can give.")
    assert said.index("points more green") < draw
    assert draw < said.index("Beside the question") < said.index("What t")
    assert "Randomisation test" not in said
    assert "There are 64 ways to lay them out" in text_of(page, "support")
    assert "That the question came before the data" in said


def test_what_days_gained_rest_on_stands_beside_them(page: Page) -> None:
    read = "Days are read off straight lines between visits 6 to 13 days apart"
    recovery = "those after 25 March 2026 take in recovery from the aeration."
    assert f"{read}; {recovery}" in text_of(page, "answer")
    html = page.section("support")._repr_html_()
    assert f"{read}. Days after 25 March 2026 are averaged over the aeration" in " ".join(
        html.split()
    )
    note = "Days after 25 March 2026 are averaged over the aeration treatments"
    heads = [html.index(f"<h3>{head}") for head in ("Had the control", "Days gained", "On average")]
    places = [html.index(note), html.index(note, html.index(note) + 1)]
    assert heads[0] < places[0] < heads[1] < places[1] < heads[2]


def test_a_lead_that_depends_on_the_tine_is_not_told_by_its_mean_alone(
    make_page: Callable[..., Page], tables: Tables, definition: Definition
) -> None:
    equivalence, tests = tables["equivalence"], tables["tests"].copy()
    inner = equivalence.iloc[[1, 1]].assign(within=["aeration=solid", "aeration=hollow"])
    rows = pd.concat([equivalence, inner], ignore_index=True)
    words = "The lead may depend on the aeration (F test, p = 0.025 ; secondary, not adjusted)"
    for p, told in ((0.025, True), (0.4, False)):
        tests.loc[tests["term"] == "cover:aeration", "p"] = p
        made = make_page(tables | {"equivalence": rows, "tests": tests}, definition)
        said = text_of(made, "answer")
        assert "behind spun-bond fleece, averaged over aeration treatments." in said
        assert (words in said) is told


def test_the_rule_for_larger_and_smaller_is_said(page: Page) -> None:
    said = text_of(page, "support")
    assert "larger than what matters only where its whole 95 % interval lies beyond it" in said
    assert "smaller only where the 90 % interval of two one-sided tests lies within it" in said


def test_what_could_not_be_done_is_said_in_one_line(alone: Page) -> None:
    assert [str(words) for words in randomised(alone)] == [
        "No randomisation test could be made of these data."
    ]
    said = text_of(alone, "support")
    for words in (
        "could not be held against the margin",
        "Whether it had, these data cannot tell",
        "No day of arrival could be compared.",
        "No other analysis of the question could be made of these data.",
    ):
        assert words in said
    assert "Seasons together" not in said
    assert "The dates could not be analysed together." in text_of(alone, "results")
    assert "often enough to set them against one another" in text_of(alone, "agreement")
    assert "No model could be fitted" in text_of(alone, "checks")
    assert "cannot tell what the blocks were worth" in text_of(alone, "replication")


def test_nothing_is_said_of_what_was_not_asked(
    make_page: Callable[..., Page], tables: Tables, definition: Definition
) -> None:
    analysis = definition.analysis.model_copy(
        update={"days_gained": None, "caught_up_within": None}
    )
    silent = make_page(tables, definition.model_copy(update={"analysis": analysis}))
    said = text_of(silent, "support")
    assert "caught up" not in said
    assert "Days gained" not in said


def test_while_the_comparison_waits_only_agreement_is_shown(
    make_page: Callable[..., Page], early: Tables, tables: Tables, definition: Definition
) -> None:
    kept = {name: tables[name] for name in ("agreement", "raters", "eye_and_photo")}
    made = make_page(early | kept, definition)
    assert randomised(made) == []
    assert "The comparison waits" in text_of(made, "support")
    assert "each rater" in text_of(made, "agreement")
    soup = BeautifulSoup(made.section("agreement")._repr_html_(), "html.parser")
    assert len(soup.find_all("img")) == 2
    assert "eye_and_photo (" not in text_of(made, "appendix")


def test_notes_stand_beside_what_they_are_about(
    make_page: Callable[..., Page], tables: Tables, definition: Definition
) -> None:
    late = pd.Timestamp("2026-04-17")
    told = [
        ("green_cover", late, "zero-variance", "dates together (cover): whole_plot is at zero"),
        ("green_cover", late, "season average", "season average (cover): 2A left out"),
        ("green_cover", late, "days gained", "never seen from covers off on: 3B"),
        ("green_cover", late, "sensitivity", "not answered by 'ranks': too few"),
        ("green_cover", late, "seasons-plots", "seasons together: on other ground"),
    ]
    notes = pd.DataFrame(told, columns=["measure", "date", "code", "text"])
    made = make_page(tables | {"notes": notes}, definition)
    assert notes_of(made, "dates together") == ["Dates together (cover): whole plot is at zero."]
    together = together_context(made, "green_cover")
    assert together["notes"] == notes_of(made, "dates together")
    assert together["season_notes"] == ["Season average (cover): 2A left out."]
    support = support_context(made)
    assert support["days_notes"] == ["Never seen from covers off on: 3B."]
    assert support["other_notes"] == ["Not answered by 'ranks': too few."]
    assert support["seasons_notes"] == ["Seasons together: on other ground."]
    # Single dates have nothing to note.
    assert "What the analysis notes" not in text_of(made, "results")


def test_pictures_of_residuals_come_before_the_tests(
    make_page: Callable[..., Page], tables: Tables, definition: Definition
) -> None:
    loud = make_page(tables | {"checks": tables["checks"].assign(p=0.01)}, definition)
    html = loud.section("checks")._repr_html_()
    assert 0 < html.index("tests ask for a look") < html.index("<img")
    assert html.index("<img") < html.index("Shapiro-Wilk")


def test_every_date_of_one_model_stands_with_its_measure(page: Page) -> None:
    soup = BeautifulSoup(page.section("results")._repr_html_(), "html.parser")
    own = soup.find(id="results-green_cover").get_text(" ")
    assert "All dates in one model" in own
    assert "with all dates in one model we estimate that, averaged over the dates" in own
    whole = " ".join(soup.get_text(" ").split())
    assert whole.count("overlap is no test of a difference") == 1
    assert "runner-up" in own
    assert "The dates could not be analysed together" in soup.find(
        id="results-pull_force"
    ).get_text(" ")


def test_a_declared_family_has_every_section(
    make_page: Callable[..., Page], declared_tables: Tables, declared: Definition
) -> None:
    made = make_page(declared_tables, declared)
    said = text_of(made, "answer")
    assert "Spun-bond fleece against no cover:" in said
    assert "Woven permeable cover against no cover:" in said
    assert "Dunnett C. W. (1955)" in text_of(made, "references")
    assert "adjusted together by Dunnett's method" in text_of(made, "exclusions")


def test_where_nobody_asked_what_happens_on_the_field_nothing_is_said_of_it(
    make_page: Callable[..., Page], tables: dict[str, pd.DataFrame], definition: Definition
) -> None:
    unasked = {name: tables[name].iloc[:0] for name in ("days_gained", "equivalence")}
    html = make_page(tables | unasked, definition).section("answer").html
    assert "caught up" not in html
    assert "days earlier" not in html
