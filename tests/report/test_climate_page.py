"""The section on temperature and light as a whole: every number has its place in the tables."""

from __future__ import annotations

import re
from pathlib import Path

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from analysis.planned import SPLIT
from logged_study import changed, drawn_with, opened_with
from report.climate_made import LEVELS, by_hand, definition_for, plots
from wintersward.analysis import climate_tables
from wintersward.analysis.climate_columns import CLIMATE
from wintersward.analysis.results import TABLES, empty
from wintersward.handin.page_numbers import numbers_of, untied
from wintersward.report.climate_figures import climate_pictures, made_pictures
from wintersward.report.covers import spells_of
from wintersward.report.page import Drawn, Page
from wintersward.runs.pictures import svg
from wintersward.runs.tables import to_csv
from wintersward.study import Trial
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
HEADINGS = [
    "Under the covers",
    "Degree days",
    "Days gained on the thermometer",
    "Sun and light",
    "Risks, counted",
    "The rule for taking covers off",
]
# Before the primary question has its data.
EARLY = ("under_cover", "under_cover_means", "diurnal", "degree_days_by_level")
EARLY += ("thermometer_gained", "risks_by_level")


def answered(tables: Tables) -> Tables:
    """Add a row of an answer, without which a page waits."""
    return tables | {"primary": empty("primary").reindex([0]), "means": empty("means").reindex([0])}


def drawn(pictures: list) -> dict[str, Drawn]:
    return {
        one.name: Drawn(svg(one.figure), "image/svg+xml", one.alt, one.caption) for one in pictures
    }


def section(tables: Tables, definition: Definition) -> str:
    pictures = drawn(made_pictures(tables, definition, plots(), LEVELS))
    return Page(tables, pictures, definition, plots=plots()).section("climate").html


def heads(html: str) -> list[str]:
    return [head.get_text() for head in BeautifulSoup(html, "html.parser").find_all("h3")]


@pytest.fixture(scope="module")
def us(tmp_path_factory: pytest.TempPathFactory) -> Definition:
    return definition_for(tmp_path_factory.mktemp("us"))


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    drawn_plan = drawn_with(tmp_path_factory.mktemp("plan"), changed())
    return opened_with(drawn_plan, tmp_path_factory.mktemp("logged"))


@pytest.fixture(scope="module")
def whole(trial: Trial) -> tuple[Tables, str]:
    """Give the tables of a trial with loggers, and the section made of them."""
    tables = climate_tables(trial)
    pictures = drawn(climate_pictures(trial, tables))
    page = Page(
        answered(tables), pictures, trial.definition, plots=trial.plots, spells=spells_of(trial)
    )
    return tables, page.section("climate").html


class TestWhole:
    def test_every_number_stands_in_the_tables(self, whole: tuple[Tables, str]) -> None:
        tables, html = whole
        written = {name: to_csv(name, TABLES[name], frame) for name, frame in tables.items()}
        numbers = numbers_of(html)
        assert len(numbers) > 100
        assert untied(numbers, written) == []
        # Words and tables draw on all of these.
        used = {number.source.partition(".csv")[0] for number in numbers}
        assert used == {
            "under_cover",
            "under_cover_means",
            "degree_days_by_level",
            "thermometer_gained",
            "sun_hours",
            "risks_by_level",
            "removal",
        }

    def test_what_is_not_tied_is_a_date_a_limit_or_a_count_of_what_came_in(
        self, whole: tuple[Tables, str]
    ) -> None:
        tables, html = whole
        soup = BeautifulSoup(html, "html.parser")
        for tied in soup.find_all("data"):
            tied.replace_with("tied")
        cells = [cell.get_text() for cell in soup.select("tbody td") if cell.get_text()]
        assert [cell for cell in cells if re.search(r"\d", cell)] == []
        for words in soup.select("h2, h3, caption, figcaption, table, ul"):
            words.decompose()
        text = " ".join(soup.get_text(" ").split())
        text = re.sub(r"\d{1,2} (January|February|March|April) 2026", "day", text)
        text = re.sub(r"plot \d{3}\b", "plot", text)
        used = f"{int(tables['logger_sums']['used'].sum()):,}"
        known = {used, "36", "18", "0.5", "4.6", "12", "95", "80", "60", "100", "2026"}
        # Limits of the definition, in degF: its degree days, the levels, the rule.
        known |= {"32", "41", "180", "3"}
        # What covers are taken to keep back [%], and the days after which to look for disease.
        known |= {"20", "40", "7", "14"}
        found = set(re.findall(r"\d[\d,.]*\d|\d", text))
        assert found <= known, found - known

    def test_each_picture_is_shown_once(self, whole: tuple[Tables, str]) -> None:
        images = BeautifulSoup(whole[1], "html.parser").find_all("img")
        assert len(images) == 7
        assert all(re.search(r"\d", image["alt"]) for image in images)
        assert heads(whole[1]) == HEADINGS

    def test_it_explains_nothing_and_judges_nothing(self, whole: tuple[Tables, str]) -> None:
        text = BeautifulSoup(whole[1], "html.parser").get_text(" ")
        assert not re.search(r"(?i)warmth explains|because of the warmth|\bsafe\b|signific", text)
        assert "A count is not a diagnosis" in text
        assert "Whoever answers for the field" in text


def test_parts_appear_only_where_their_tables_hold_rows(us: Definition) -> None:
    tables = answered(by_hand(us))
    assert heads(section(tables, us)) == HEADINGS
    for name, heading in (
        ("degree_day_sums", "Degree days"),
        ("thermometer_gained", "Days gained on the thermometer"),
        ("risks", "Risks, counted"),
        ("removal", "The rule for taking covers off"),
    ):
        without = section(tables | {name: empty(name)}, us)
        assert heads(without) == [head for head in HEADINGS if head != heading]
    # What covers let through stands in the definition: it is told without an estimate too.
    without = section(tables | {"sun_hours": empty("sun_hours")}, us)
    assert heads(without) == HEADINGS
    assert "is taken to keep back 20 %" in without
    assert "Light on the turf" not in without
    none = section({name: empty(name) for name in CLIMATE}, us)
    assert heads(none) == ["Sun and light"]
    assert "No logger was read" in none


def test_before_the_primary_date_no_treatment_is_told_apart(us: Definition) -> None:
    tables = by_hand(us) | {name: empty(name) for name in EARLY}
    tables["risks"] = tables["risks"].assign(level="")
    html = section(tables, us)
    assert heads(html) == ["Degree days", *HEADINGS[3:]]
    assert "nothing here tells the treatments apart" in html
    soup = BeautifulSoup(html, "html.parser")
    for words in soup.find_all("p"):
        if "by the definition; nobody measured it here" in words.get_text():
            words.decompose()
    assert not re.search("(?i)fleece|woven|no cover", str(soup))
    # Values of single plots wait with the comparison.
    assert "beside degree days" not in html


def test_a_demonstration_describes_and_pictures(tmp_path: Path) -> None:
    whole = ("    applied: aeration\n", ""), (SPLIT, "  kind: demonstration\n")
    definition = definition_for(tmp_path, "us", *whole)
    html = section(answered(by_hand(definition)), definition)
    assert heads(html) == HEADINGS
    text = BeautifulSoup(html, "html.parser").get_text(" ")
    assert not re.search(r"interval|standard error|\bdf\b|warmer|colder|earlier", text)
    assert "When every plot got there" in text
    assert "Risks counted, plot by plot" in text
    assert len(BeautifulSoup(html, "html.parser").find_all("img")) == 5
