from __future__ import annotations

import re
from pathlib import Path

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.errors import WinterswardError
from wintersward.papers.crew_cards import crew_card
from wintersward.papers.labels import labels_page
from wintersward.papers.pages import PAPERS, paper_named, printable, season, short_id
from wintersward.trial import Definition

MAP = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 2 1"><path d="M0 0h1"/></svg>'


@pytest.fixture(scope="module", params=["labels", "crew card"])
def html(request: pytest.FixtureRequest, definition: Definition, plots: pd.DataFrame) -> str:
    if request.param == "labels":
        return labels_page(definition, plots, "a4")
    return crew_card(definition, plots, "a4", {"": MAP})


class TestEveryPaper:
    def test_nothing_runs_and_nothing_is_fetched(self, html: str) -> None:
        soup = BeautifulSoup(html, "html.parser")
        assert soup.find_all(["script", "link", "iframe", "object", "embed", "form", "a"]) == []
        assert re.findall(r"https?:|//[a-z]|@import|url\(", html) == []
        assert all(image["src"].startswith("data:") for image in soup.find_all("img"))
        policy = soup.find("meta", attrs={"http-equiv": "Content-Security-Policy"})
        assert policy["content"].startswith("default-src 'none'")

    def test_it_says_what_it_is(self, html: str, definition: Definition) -> None:
        soup = BeautifulSoup(html, "html.parser")
        assert soup.html["lang"] == "en"
        assert definition.site.name in soup.title.text
        assert f"study {short_id(definition)}" in soup.style.text

    def test_it_is_the_same_every_time(
        self, html: str, definition: Definition, plots: pd.DataFrame
    ) -> None:
        again = (
            labels_page(definition, plots, "a4"),
            crew_card(definition, plots, "a4", {"": MAP}),
        )
        assert html in again


@pytest.mark.parametrize(("paper", "size"), [("letter", "letter"), ("a4", "A4"), ("A4", "A4")])
def test_size_of_the_paper(
    definition: Definition, plots: pd.DataFrame, paper: str, size: str
) -> None:
    # 'letter' and 'A4' are page sizes of CSS Paged Media Module Level 3, 7.1.
    assert f"size: {size};" in labels_page(definition, plots, paper)


def test_an_unknown_paper(definition: Definition, plots: pd.DataFrame) -> None:
    with pytest.raises(WinterswardError, match="paper is 'legal'; allowed: letter, a4"):
        labels_page(definition, plots, "legal")
    assert paper_named("Letter") is PAPERS["letter"]


def test_an_unknown_template(definition: Definition) -> None:
    with pytest.raises(WinterswardError, match="no template 'label.html.j2' among the papers"):
        printable("label", definition, "a4")


def test_a_study_s_own_template_goes_first(
    definition: Definition, plots: pd.DataFrame, tmp_path: Path
) -> None:
    own = tmp_path / "templates" / "papers"
    own.mkdir(parents=True)
    (own / "style.css").write_text("body { color: #123456 }", encoding="utf-8")
    assert "#123456" in labels_page(definition, plots, "a4", study=tmp_path)
    assert "#123456" not in labels_page(definition, plots, "a4")


def test_words_of_the_definition_cannot_become_markup(
    definition: Definition, plots: pd.DataFrame
) -> None:
    odd = 'Ground <b>A</b> & "B" } body { x'
    site = definition.site.model_copy(update={"name": odd})
    named = definition.model_copy(update={"site": site, "notice": "</style><p>gone"})
    soup = BeautifulSoup(labels_page(named, plots, "a4"), "html.parser")
    assert soup.find("b") is None
    assert odd in soup.title.text
    assert len(soup.find_all("style")) == 1
    # The foot of the page is a string of the style sheet: neither quote nor brace may end it.
    (foot,) = re.findall(r'@bottom-left \{ content: "([^"]*)"', soup.style.text)
    assert not set("{}<>&") & set(foot)
    shown = re.sub(r"\\([0-9a-f]+) ", lambda found: chr(int(found[1], 16)), foot)
    assert shown.startswith(f"{odd} · 2026 · study ")


class TestShortId:
    def test_it_stays_when_words_and_dates_change(self, definition: Definition) -> None:
        other = definition.model_copy(
            update={"title": "Another title", "dates": {}, "notice": "invented"}
        )
        assert short_id(other) == short_id(definition)

    def test_it_changes_with_the_plan(self, definition: Definition) -> None:
        layout = definition.layout.model_copy(update={"seed": definition.layout.seed + 1})
        site = definition.site.model_copy(update={"name": "Birch Road ground"})
        others = [{"layout": layout}, {"site": site}]
        found = {short_id(definition.model_copy(update=other)) for other in others}
        assert len(found | {short_id(definition)}) == 3

    def test_it_does_not_tell_the_seed(self, html: str, definition: Definition) -> None:
        assert str(definition.layout.seed) not in html


def test_a_season_over_the_turn_of_the_year(definition: Definition) -> None:
    assert season(definition) == "2026"
    first = definition.dates["baseline"]
    dates = definition.dates | {"baseline": first.replace(year=first.year - 1)}
    assert season(definition.model_copy(update={"dates": dates})) == "2025–2026"
