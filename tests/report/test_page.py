from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest
from bs4 import BeautifulSoup
from nbformat import NotebookNode

from wintersward.errors import WinterswardError
from wintersward.paths import template_folder
from wintersward.report.demonstrating import SHOWN
from wintersward.report.page import Page, report_page
from wintersward.report.rendering import render
from wintersward.report.sections import CONTEXTS
from wintersward.runs.record import Record
from wintersward.trial import Definition
from wintersward.trial.schema import CoverSpell, Diary

Tables = dict[str, pd.DataFrame]
# The grounds have a section only where there are several (see test_grounds.py).
ALWAYS = [name for name in CONTEXTS if name != "grounds"]


@pytest.mark.parametrize("name", ALWAYS)
def test_every_section_is_one_and_named(page: Page, name: str) -> None:
    section = page.section(name)
    soup = BeautifulSoup(section._repr_html_(), "html.parser")
    assert soup.find("section", id=name) is not None
    assert repr(section) == f"section '{name}' of the report"


def test_an_unknown_section_is_told(page: Page) -> None:
    with pytest.raises(WinterswardError, match="did you mean methods"):
        page.section("method")


@pytest.mark.parametrize("name", ALWAYS)
def test_every_section_stands_without_results(definition: Definition, name: str) -> None:
    bare = Page({}, {}, definition)
    html = bare.section(name)._repr_html_()
    assert BeautifulSoup(html, "html.parser").get_text().strip()


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("answer", "The comparison waits"),
        ("layout", "no map of the plots"),
        ("results", "Nothing has been observed yet"),
        ("support", "The comparison waits"),
        ("agreement", "often enough to set them against"),
        ("photos", "No photo has been scored yet"),
        ("checks", "The checks wait"),
        ("replication", "once the comparison no longer waits"),
        ("methods", "No date with treatments on the ground"),
        ("exclusions", "sets no observation aside"),
        ("deviations", "nothing that was not done"),
        ("records", "holds no account of its records"),
        ("provenance", "Made by hand"),
        ("references", "No analysis has been made yet"),
        ("climate", "No logger was read for this report"),
        ("appendix", "No table has been written yet"),
    ],
)
def test_a_section_without_results_says_so(definition: Definition, name: str, words: str) -> None:
    html = Page({}, {}, definition).section(name)._repr_html_()
    assert words in " ".join(BeautifulSoup(html, "html.parser").get_text().split())


@pytest.mark.parametrize("name", ALWAYS)
def test_plain_randomised_blocks_have_every_section(blocks_page: Page, name: str) -> None:
    said = BeautifulSoup(blocks_page.section(name)._repr_html_(), "html.parser").get_text()
    assert said.strip()
    # The appendix keeps the columns of every table.
    assert ("whole plot" in said.lower()) == (name == "appendix")
    assert ("13 points more" in said) == (name in ("answer", "exclusions"))


def test_results_follow_the_definitions_order(page: Page, definition: Definition) -> None:
    soup = BeautifulSoup(page.section("results")._repr_html_(), "html.parser")
    found = [s["id"].removeprefix("results-") for s in soup.select("section section")]
    assert found == list(definition.measures)


def test_the_first_screen_says_who_where_and_when(page: Page) -> None:
    said = " ".join(BeautifulSoup(page.section("answer")._repr_html_(), "html.parser").text.split())
    for words in (
        "Alder Road ground",
        "winter and spring 2026",
        "R. Example (groundskeeper), T. Example (extension agent)",
        "for the Invented County Turf Program",
        "observations up to 17 April 2026",
        "We estimate that on 24 March 2026 plots with spun-bond fleece had 13 points more green",
        "From 6 of 6 blocks.",
        "What this does not show",
    ):
        assert words in said
    assert said.index("points more green cover") < said.index("What this does not show")


def test_before_the_primary_date_nothing_compares_treatments(
    early_html: str, definition: Definition
) -> None:
    soup = BeautifulSoup(early_html, "html.parser")
    assert "plot_means" not in soup.find(id="appendix").get_text()
    results = soup.find(id="results")
    assert results.find("table") is None
    assert results.find("img") is None
    for level in definition.treatments["cover"].levels.values():
        assert level.label not in results.get_text()


def test_markup_in_a_definition_is_only_text(
    make_page: Callable[..., Page], tables: Tables, definition: Definition
) -> None:
    evil = '<script>alert("x")</script>'
    cover = definition.measures["green_cover"].model_copy(update={"label": evil})
    changed = definition.model_copy(
        update={
            "title": evil,
            "question": evil,
            "measures": {**definition.measures, "green_cover": cover},
        }
    )
    for made in (make_page(tables, changed), Page({}, {}, changed)):
        for name in CONTEXTS:
            html = made.section(name)._repr_html_()
            assert "<script" not in html, name
    assert "&lt;script&gt;" in made.section("answer")._repr_html_()


def test_a_study_may_have_its_own_words(
    tmp_path: Path, definition: Definition, tables: Tables
) -> None:
    own = tmp_path / "templates" / "reports" / "study" / "sections"
    own.mkdir(parents=True)
    (own / "limits.html.j2").write_text("<section id='limits'>{{ blocks }}, ours</section>")
    page = Page(tables, {}, definition, study=tmp_path)
    assert page.section("limits")._repr_html_() == "<section id='limits'>six blocks, ours</section>"
    assert "Cautions" in page.section("cautions")._repr_html_()


def test_every_section_has_a_template_and_every_template_a_section() -> None:
    folder = template_folder("reports") / "study" / "sections"
    assert {path.name.removesuffix(".html.j2") for path in folder.glob("*.j2")} == set(CONTEXTS)
    own = (folder / "demonstration").iterdir()
    assert {path.name.removesuffix(".html.j2") for path in own} == set(SHOWN)


@pytest.fixture
def trial(definition: Definition, tmp_path: Path, fabricate: object) -> SimpleNamespace:
    return SimpleNamespace(
        definition=definition,
        diary=Diary(covers=[CoverSpell(on="2026-01-20", off="2026-03-08")]),
        plots=fabricate.draw_plots(),
        folder=tmp_path,
    )


def test_a_page_is_set_up_from_a_record(
    trial: SimpleNamespace, tables: Tables, tmp_path: Path, page: Page
) -> None:
    record = Record(tmp_path / "runs" / ".unfinished-004")
    record.folder.mkdir(parents=True)
    record.write_all(tables)
    from PIL import Image

    record.save_figure("answer", Image.new("RGB", (8, 8)), "13 points more", "The answer.")
    inputs = {
        "files": {"trial.yaml": {"sha256": "cd" * 32, "bytes": 9}},
        "versions": {"numpy": "2"},
    }
    (record.folder / "inputs.json").write_text(json.dumps(inputs))
    made = report_page(trial, record)
    assert made.figures["answer"].media == "image/jpeg"
    assert made.provenance.files == {"trial.yaml": "cd" * 32}
    assert "004" not in made.section("provenance")._repr_html_()  # the same page from every run
    trial_section = BeautifulSoup(made.section("trial")._repr_html_(), "html.parser")
    assert "20 January 2026 8 March 2026 all plots with a cover" in trial_section.get_text(
        " ", strip=True
    )
    # Read back from CSV, the numbers of the page stay those of the files.
    results, seen = record.folder / "results", set()
    for section in ("answer", "support", "results", "agreement", "checks", "replication"):
        soup = BeautifulSoup(made.section(section)._repr_html_(), "html.parser")
        for data in soup.find_all("data"):
            name, line = data["title"].split(":")
            row = (results / name).read_text().splitlines()[int(line) - 1]
            assert data["value"] in row.split(","), (name, line)
            seen.add(name.removesuffix(".csv"))
    assert seen >= {"primary", "randomisation", "equivalence", "days_gained", "sensitivity"}
    assert seen >= {"joint_tests", "joint_differences", "season_means", "structures", "agreement"}
    assert seen >= {"raters", "checks", "block_value", "replication", "seasons_differences"}


def test_without_results_a_page_says_what_to_run(trial: SimpleNamespace, tmp_path: Path) -> None:
    with pytest.raises(WinterswardError, match="wintersward run"):
        report_page(trial, Record(tmp_path))


def text_of(page: Page, name: str) -> str:
    soup = BeautifulSoup(page.section(name)._repr_html_(), "html.parser")
    return " ".join(soup.get_text(" ").split())


def test_a_question_that_could_not_be_estimated_is_told(
    make_page: Callable[..., Page], unanswered: Tables, definition: Definition
) -> None:
    made = make_page(unanswered, definition)
    said = text_of(made, "answer")
    assert "could not be estimated because no block holds both treatments." in said
    assert "<img" not in made.section("answer")._repr_html_()
    for name in CONTEXTS:
        assert "nan" not in text_of(made, name).split(), name
    assert "progress_green_cover" in made.figures
    assert "answer" not in made.figures


def test_the_page_claims_no_more_than_it_can_show(page: Page) -> None:
    whole = " ".join(text_of(page, name) for name in CONTEXTS).lower()
    for words in ("beforehand", "before the first observation", "drawn once"):
        assert words not in whole
    assert whole.count("was not frozen") == 1
    assert "cannot show that the question came before the data" in text_of(page, "limits")
    assert "colour balance" in text_of(page, "limits")


def test_cautions_and_measurements_name_their_sources(page: Page, definition: Definition) -> None:
    for made in (page, Page({}, {}, definition)):
        said = text_of(made, "references")
        assert said.count("Vavrek B. (2013) Covers can cure the winterkill blues.") == 1
        assert "this report says nothing of its hardness" in text_of(made, "cautions")
    assert "Crop Science 43, 943–951" in text_of(page, "references")
    limits = text_of(page, "limits")
    assert "Plots of 10 ft by 6 ft: a cover over a whole field may lie" in limits
    assert "Sod in its first winter" in limits


def test_methods_name_their_sources_once(page: Page) -> None:
    said = text_of(page, "references")
    for words in ("Biometrics 53, 983–997", "Biometrika 58, 545–554", "Statistics 6, 65–70"):
        assert said.count(words) == 1
    # Only what was used is cited.
    assert "Dunnett" not in said
    assert "Temperature" not in text_of(page, "measurements")
    # Nobody can tell by hand in a notebook what computed the numbers.
    assert "numpy 2.1" not in text_of(page, "methods")
    assert "numpy 2.1" in text_of(page, "provenance")


def test_crossings_have_their_own_table(page: Page) -> None:
    soup = BeautifulSoup(page.section("results")._repr_html_(), "html.parser")
    heads = [h.get_text() for h in soup.find_all("h4")]
    assert heads.count("Does the aeration difference depend on the cover?") == 3
    assert text_of(page, "results").count("Secondary: we estimate") == 3


def test_flagged_photos_stand_on_paper(page: Page) -> None:
    assert "flagged, still used" in text_of(page, "photos")
    soup = BeautifulSoup(page.section("photos")._repr_html_(), "html.parser")
    assert soup.details["class"] == ["keep"]


def test_while_the_comparison_waits_no_plots_value_is_shown(
    make_page: Callable[..., Page], early: Tables, definition: Definition
) -> None:
    made = make_page(early, definition)
    said = text_of(made, "appendix")
    for name in ("observations (", "plot_means (", "photo_scores ("):
        assert name not in said
    assert "are left out here" in said
    assert "So far 0 of 36 planned are there" in text_of(made, "answer")
    # Two measures on three dates, and one on two, wait for the season to go on.
    later = early["counts"].loc[early["counts"]["due"] == "not yet", "expected"].sum()
    assert f"not yet due: {later}" in text_of(made, "exclusions")


def test_a_notice_stands_under_the_title(
    page: Page, make_notebook: Callable[[Page], NotebookNode], definition: Definition
) -> None:
    changed = definition.model_copy(update={"notice": "Everything here is invented."})
    html = render(make_notebook(replace(page, definition=changed)))
    soup = BeautifulSoup(html, "html.parser")
    assert soup.h1.find_next_sibling().get_text() == "Everything here is invented."
    assert '2026 · Everything here is invented."; } }' in html


def test_longer_tables_stand_in_the_appendix_on_paper_too(page: Page) -> None:
    soup = BeautifulSoup(page.section("appendix")._repr_html_(), "html.parser")
    held = soup.find("div", class_="long")
    assert held is not None
    captions = [caption.get_text() for caption in held.find_all("caption")]
    assert captions[0] == "Green cover: differences between treatments"
    assert captions[-2:] == [
        "Blocks that a like trial would need",
        "Observations planned, used, excluded and missing",
    ]
    # What is folded up is left out on paper; these are not.
    assert not held.find_all("details")
    assert not held.find_parents("details")
    results = BeautifulSoup(page.section("results")._repr_html_(), "html.parser")
    assert "Green cover: differences between treatments" not in [
        caption.get_text() for caption in results.find_all("caption")
    ]
    assert results.find("a", href="#appendix") is not None


def test_no_raw_names_reach_the_reader(page: Page) -> None:
    for name in CONTEXTS:
        if name == "appendix":  # it shows the tables as the files hold them
            continue
        said = BeautifulSoup(page.section(name)._repr_html_(), "html.parser").get_text(" ")
        for raw in ("block:date", "whole_plot", "log odds", "1 unit "):
            assert raw not in said, (name, raw)
