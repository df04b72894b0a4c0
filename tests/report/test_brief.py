"""The brief: what one page says in every state of a study, and that it says no more."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace
from pathlib import Path

import jinja2
import pandas as pd
import pytest
from bs4 import BeautifulSoup

from report.briefs import FROZEN, all_pages, changes
from wintersward.analysis.results import empty
from wintersward.analysis.skeleton import DEMONSTRATION
from wintersward.paths import template_folder
from wintersward.report import brief
from wintersward.report.brief import CAUTIONS, ROOMS, brief_page
from wintersward.report.cautions import cautions
from wintersward.report.page import Page
from wintersward.report.said import raw_text
from wintersward.trial.diary import CoverSpell
from wintersward.trial.schema import LoggerMeasure

from .test_demonstrating import WORDS as JUDGING
from .test_language import found

STATES = [
    "answered",
    "cannot tell",
    "not estimated",
    "planned",
    "demonstration",
    "demonstration, planned",
    "long, answered",
    "long, a family",
]
HEADS = ("The question", "What next", "Cautions")


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Page]:
    return all_pages(tmp_path_factory.mktemp("briefs") / "shown")


@pytest.fixture(scope="module")
def briefs(pages: dict[str, Page]) -> dict[str, str]:
    return {name: brief_page(page) for name, page in pages.items()}


def words(html: str) -> str:
    return " ".join(BeautifulSoup(html, "html.parser").main.get_text().split())


def replaced(page: Page, **tables: pd.DataFrame) -> Page:
    return Page(page.tables | tables, page.figures, page.definition)


@pytest.mark.parametrize("name", STATES)
class TestEveryState:
    def test_it_fetches_nothing_and_runs_nothing(self, briefs: dict[str, str], name: str) -> None:
        soup = BeautifulSoup(briefs[name], "html.parser")
        policy = soup.find("meta", attrs={"http-equiv": "Content-Security-Policy"})
        assert policy["content"] == "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
        assert re.search(r"https?:|url\(|@import", briefs[name]) is None
        assert soup.find(["script", "link", "iframe", "object", "embed", "base", "form"]) is None
        assert all(image["src"].startswith("data:image/") for image in soup.find_all("img"))

    def test_its_frame_is_whole(self, briefs: dict[str, str], name: str) -> None:
        soup = BeautifulSoup(briefs[name], "html.parser")
        assert soup.html["lang"] == "en"
        assert len(soup.find_all("h1")) == len(soup.find_all("main")) == 1
        assert soup.h1.get_text() in soup.title.get_text()
        heads = [head.get_text() for head in soup.find_all("h2")]
        assert [head for head in HEADS if head in heads] == list(HEADS)
        for section in soup.find_all(attrs={"aria-labelledby": True}):
            assert soup.find("h2", id=section["aria-labelledby"])
        for image in soup.find_all("img"):
            assert re.search(r"\d", image["alt"])
        assert soup.main["class"][0] in ROOMS

    def test_numbers_are_those_of_the_tables(
        self, briefs: dict[str, str], pages: dict[str, Page], name: str
    ) -> None:
        for data in BeautifulSoup(briefs[name], "html.parser").find_all("data"):
            table, line = data["title"].split(".csv:")
            row = pages[name].tables[table].loc[int(line) - 2]
            assert data["value"] in [raw_text(value) for value in row], data

    def test_no_word_claims_more_than_it_can(self, briefs: dict[str, str], name: str) -> None:
        assert found(words(briefs[name])) == []
        assert "nan" not in words(briefs[name]).split()

    def test_the_same_run_gives_the_same_page(
        self, briefs: dict[str, str], pages: dict[str, Page], name: str
    ) -> None:
        assert brief_page(pages[name]) == briefs[name]


def numbers(html: str) -> list[str]:
    soup = BeautifulSoup(html, "html.parser")
    return [" ".join(one.get_text().split()) for one in soup.select(".numbers .big")]


def test_an_answer_has_one_picture_and_three_numbers(briefs: dict[str, str]) -> None:
    said = words(briefs["answered"])
    for part in (
        "On 24 March 2026, did plots with spun-bond fleece have more or less green cover",
        "We estimate that on 24 March 2026 plots with spun-bond fleece had 13 points more",
        "the whole interval lies beyond 8 points",
        "By these data the difference is one that the definition calls worth acting on.",
        "Supporting, not the answer.",
        "Still to come, as planned: first event on 18 April 2026.",
        "What a trial without anything set aside would have shown.",
    ):
        assert part.lower() in said.lower(), part
    assert "Exploratory" not in said
    soup = BeautifulSoup(briefs["answered"], "html.parser")
    assert len(soup.find_all("img")) == 1
    assert numbers(briefs["answered"]) == [
        "13 points more",
        "about 8 days or more earlier",
        "No cover 3 points behind",
    ]
    assert "days after 25 March 2026 take in recovery from the aeration" in said
    assert (
        "behind spun-bond fleece in green cover on 17 April 2026, the day before the first" in said
    )
    assert ", averaged over aeration treatments" in said
    assert soup.select("#numbers ~ ul data")[0]["title"].startswith("primary.csv:")


@pytest.mark.parametrize(
    ("verdict", "difference", "told"),
    [
        ("cannot tell", 3.0, "No cover 3 points behind spun-bond fleece in green cover on 17 "),
        ("cannot tell", 3.0, "; the true lead may be as large as 6.1 points. Whether plots with"),
        ("caught up", 3.0, "; the true lead is at most 6.1 points. Plots with no cover had ca"),
        (
            "not caught up",
            3.0,
            "; the true lead is at least 2.1 points. Plots with no cover had not",
        ),
        ("cannot tell", -3.0, "No cover 3 points ahead of spun-bond fleece in green cover on 17"),
        ("cannot tell", -3.0, "; the true lead of spun-bond fleece may be as large as 6.1 points."),
    ],
)
def test_the_lead_names_who_was_behind_and_how_far_it_may_be(
    pages: dict[str, Page], verdict: str, difference: float, told: str
) -> None:
    page = pages["answered"]
    rows = page.tables["equivalence"].copy()
    last = rows["kind"] == "caught up"
    rows.loc[last, ["difference", "lower", "upper"]] = (difference, 2.13, 6.08)
    rows.loc[last, "verdict"] = verdict
    assert told in words(brief_page(replaced(page, equivalence=rows)))


def test_a_long_name_stands_in_small_type(pages: dict[str, Page]) -> None:
    html = brief_page(pages["long, answered"])
    assert numbers(html)[2] == "3 points behind"
    assert "left to the weather as before was behind spun-bond fleece in one layer" in words(html)


def test_what_the_data_cannot_tell_is_said(briefs: dict[str, str]) -> None:
    said = words(briefs["cannot tell"])
    assert "These data cannot tell whether the treatments differed" in said
    assert "no reason to give the covers up, nor one to buy more" in said
    assert re.search(
        r"For the next trial: \w+ blocks would give a chance of about (> )?\d+ %", said
    )


def test_without_what_else_is_asked_the_numbers_are_those_behind_the_answer(
    pages: dict[str, Page],
) -> None:
    page = pages["answered"]
    bare = {name: empty(name) for name in ("days_gained", "equivalence")}
    html = brief_page(replaced(page, **bare))
    shown = numbers(html)
    assert shown[0] == "13 points more"
    assert re.fullmatch(r"\d\d(\.\d)? and \d\d(\.\d)? %", shown[1])
    assert shown[2] == "6 of 6"
    assert "days" not in " ".join(shown)


def test_supporting_numbers_that_cannot_be_told(pages: dict[str, Page]) -> None:
    page = pages["answered"]
    gained, equivalence = page.tables["days_gained"].copy(), page.tables["equivalence"].copy()
    gained[["days", "lower", "upper"]] = float("nan")
    gained["says"] = "cannot tell"
    last = equivalence["kind"] == "caught up"
    equivalence.loc[last, ["difference", "lower", "upper"]] = float("nan")
    equivalence.loc[last, "verdict"] = "not estimated"
    html = brief_page(replaced(page, days_gained=gained, equivalence=equivalence))
    assert numbers(html)[1:] == ["not told", "not told"]
    assert words(html).count("these data cannot tell.") == 2


def test_a_question_that_could_not_be_estimated(briefs: dict[str, str]) -> None:
    html = briefs["not estimated"]
    assert "could not be estimated" in words(html)
    assert "<img" not in html
    assert numbers(html) == ["36 planned", "36 used", "0 set aside"]
    assert "The question stays open." in words(html)


def test_before_its_data_it_says_what_is_planned_and_when(
    briefs: dict[str, str], pages: dict[str, Page]
) -> None:
    html, said = briefs["planned"], words(briefs["planned"])
    assert "The comparison waits: on the primary date, 24 March 2026" in said
    assert "So far 0 of 36 planned are there." in said
    assert numbers(html) == ["36 plots", "24 March 2026", "36 planned"]
    planned = BeautifulSoup(html, "html.parser").select_one(".plan dl").get_text(" ")
    for part in ("Covers on", "19 January 2026", "Visits", "observed on 24 March and 17 April"):
        assert part in " ".join(planned.split())
    # No picture: that of the plots would tell raters what lies where.
    assert "<img" not in html
    tables = {data["title"].split(":")[0] for data in BeautifulSoup(html, "html.parser")("data")}
    assert tables == {"counts.csv"}
    assert "coming" not in said.split()
    assert pages["planned"].waiting


@pytest.mark.parametrize("name", ["demonstration", "demonstration, planned", "long, demonstration"])
def test_a_demonstration_judges_nothing(briefs: dict[str, str], name: str) -> None:
    said = words(briefs[name])
    alts = [image["alt"] for image in BeautifulSoup(briefs[name], "html.parser").find_all("img")]
    assert [one for one in (said, *alts) if JUDGING.search(one)] == []
    assert "Brief of a winter-cover demonstration" in said
    assert "A demonstration leaves it open" in said


def test_a_demonstration_tells_what_was_seen_and_why_nothing_is_compared(
    briefs: dict[str, str], pages: dict[str, Page]
) -> None:
    html, said = briefs["demonstration"], words(briefs["demonstration"])
    assert said.count(DEMONSTRATION) == 1
    assert "Several plots of every treatment" in said
    assert "Which treatment is the better one." in said
    soup = BeautifulSoup(html, "html.parser")
    assert len(soup.find_all("img")) == 1
    shown = soup.select(".numbers .big data")
    means = pages["demonstration"].tables["means"]
    rows = means[means["date"] == means["date"].max()]
    assert sorted(data["value"] for data in shown) == sorted(raw_text(v) for v in rows["mean"])
    assert "over one plot" in said
    planned = words(briefs["demonstration, planned"])
    assert "The values of the treatments wait: on the primary date, 10 April 2026" in planned
    assert numbers(briefs["demonstration, planned"]) == ["three areas", "10 April 2026"]


def test_a_changed_plan_makes_it_exploratory(pages: dict[str, Page]) -> None:
    frozen = pd.DataFrame([FROZEN])
    page = pages["answered"]
    kept = words(brief_page(replaced(page, frozen=frozen, changes=changes())))
    assert "Exploratory" not in kept
    assert "The plan was frozen on 12 January 2026 at 14:05 UTC." in kept
    assert "That the question came before the data" not in kept
    touched = words(brief_page(replaced(page, frozen=frozen, changes=changes("primary"))))
    assert "Exploratory: We estimate that" in touched
    assert touched.count("Exploratory:") == 3  # answer, its number, and why
    assert "was changed after the freeze (analysis.primary.0)" in touched
    assert "That the question came before the data. It was changed after" in touched
    days = words(brief_page(replaced(page, frozen=frozen, changes=changes("days_gained"))))
    assert "Exploratory: at 60 % green cover" in days
    assert "Exploratory: We estimate" not in days
    late = pd.DataFrame([FROZEN | {"late": "after the covers went on"}])
    assert "The plan was frozen after the covers" in words(brief_page(replaced(page, frozen=late)))


def test_a_family_has_a_number_for_every_comparison(briefs: dict[str, str]) -> None:
    shown = numbers(briefs["long, a family"])
    assert shown[0] == "13 points more"
    assert shown[1].endswith("points more")
    assert len(shown) == 3


@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_caution_of_a_brief_is_one_of_the_report(units: str) -> None:
    held = [one.text for one in cautions(units)]
    assert [sum(text.startswith(start) for text in held) for start in CAUTIONS] == [1] * 5


def test_cautions_stand_with_their_sources(briefs: dict[str, str]) -> None:
    said = words(briefs["answered"])
    for one in cautions("us", hardness=False):
        if one.text.startswith(CAUTIONS):
            assert f"{one.text} ({one.source})" in said
    assert "Twelve cautions more stand in the report" in said


def test_what_has_more_to_say_is_set_smaller(briefs: dict[str, str]) -> None:
    sizes = {
        name: BeautifulSoup(html, "html.parser").main["class"][0] for name, html in briefs.items()
    }
    assert sizes["not estimated"] == "roomy"
    assert sizes["long, a family"] == "tight"


def test_markup_in_a_definition_is_only_text(pages: dict[str, Page]) -> None:
    evil = '<script>alert("x")</script>'
    changed = pages["planned"].definition.model_copy(update={"title": evil, "notice": evil})
    html = brief_page(Page(pages["planned"].tables, {}, changed))
    assert "<script" not in html
    assert "&lt;script&gt;" in html


def test_a_study_may_have_its_own_words(tmp_path: Path, pages: dict[str, Page]) -> None:
    own = tmp_path / "templates" / "reports" / "brief"
    own.mkdir(parents=True)
    shipped = template_folder("reports") / "brief" / "index.html.j2"
    text = shipped.read_text(encoding="utf-8").replace("Brief of a winter-cover", "Our")
    (own / "index.html.j2").write_text(text, encoding="utf-8")
    page = pages["answered"]
    html = brief_page(Page(page.tables, page.figures, page.definition, study=tmp_path))
    assert words(html).startswith("Our trial")
    assert "--paper" in html  # the style is still the shipped one
    (own / "index.html.j2").write_text("{{ nobody }}", encoding="utf-8")
    with pytest.raises(jinja2.UndefinedError, match="nobody"):
        brief_page(Page(page.tables, page.figures, page.definition, study=tmp_path))


def test_the_words_of_the_template_claim_nothing() -> None:
    folder = template_folder("reports") / "brief"
    assert sorted(path.name for path in folder.iterdir()) == ["index.html.j2", "style.css"]
    assert found((folder / "index.html.j2").read_text(encoding="utf-8")) == []


def test_what_is_to_come_is_what_nobody_has_told_of_yet(pages: dict[str, Page]) -> None:
    page = pages["answered"]
    dates = {
        "visits": [dt.date(2026, 4, 17), dt.date(2026, 4, 24)],
        "first_event": dt.date(2026, 4, 18),
    }
    later = replace(page, definition=page.definition.model_copy(update={"dates": dates}))
    assert [name for name, _ in brief._coming(later)] == ["first event", "visits"]
    # A covers' spell or mown turf is told by a person, a logger's reading is not.
    for name, column in (("management", "date"), ("cover_events", "date")):
        told = page.table(name).iloc[:0].reindex([0]).assign(**{column: pd.Timestamp("2026-04-20")})
        seen = replace(later, tables={**later.tables, name: told})
        assert brief._coming(seen) == [("visits", "24 April 2026")]
    spell = CoverSpell(on="2026-01-19", off="2026-05-01")
    assert brief._coming(replace(later, covers=[spell])) == []


def test_a_logger_that_read_on_hides_no_lost_visit(pages: dict[str, Page]) -> None:
    page = pages["answered"]
    told = {"from": "logger", "what": "air temperature", "dates": ["2026-04-17"]}
    measures = {**page.definition.measures, "air": LoggerMeasure.model_validate(told)}
    observed = page.table("observations")
    more = observed.iloc[:1].assign(measure="air", date=pd.Timestamp("2026-06-01"))
    read = replace(
        page,
        definition=page.definition.model_copy(update={"measures": measures}),
        tables={**page.tables, "observations": pd.concat([observed, more], ignore_index=True)},
    )
    assert brief._coming(read) == brief._coming(page) == [("first event", "18 April 2026")]
