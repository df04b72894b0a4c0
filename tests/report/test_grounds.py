"""The section on several grounds: a table, a picture and plain words."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from bs4 import BeautifulSoup
from matplotlib.figure import Figure

from analysis.dated import dated_trial
from analysis.grounded import ON_TWO, values
from wintersward.analysis import analyse
from wintersward.report.figures import pictures
from wintersward.report.grounds import (
    grounds_alt,
    grounds_figure,
    grounds_picture,
    grounds_table,
    grounds_words,
    several_grounds,
)
from wintersward.report.page import Page
from wintersward.report.sections import CONTEXTS
from wintersward.study import Trial
from wintersward.trial.questions import Family

ALIKE = {(c, g): d for c, d in (("fleece", 8.0), ("woven", 3.0)) for g in ("upper", "lower")}


@pytest.fixture(scope="module")
def apart(tmp_path_factory: pytest.TempPathFactory) -> tuple[Trial, dict[str, pd.DataFrame]]:
    """Make a study whose covers do more on the lower field."""
    trial = dated_trial(tmp_path_factory.mktemp("apart") / "s", values(), layout=ON_TWO)
    return trial, analyse(trial)


@pytest.fixture(scope="module")
def alike(tmp_path_factory: pytest.TempPathFactory) -> tuple[Trial, dict[str, pd.DataFrame]]:
    """Make a study whose covers do the same on both fields."""
    folder = tmp_path_factory.mktemp("alike") / "s"
    trial = dated_trial(folder, values(cover=ALIKE), layout=ON_TWO)
    return trial, analyse(trial)


def said(words: object) -> str:
    return BeautifulSoup(str(words), "html.parser").get_text()


def test_words_tell_each_ground_and_that_they_are_not_alike(
    apart: tuple[Trial, dict[str, pd.DataFrame]],
) -> None:
    trial, tables = apart
    first, second = grounds_words(tables["grounds"], tables["grounds_test"], trial.definition)
    rows = tables["grounds"].set_index("ground")["difference"]
    for ground, label in (("upper", "Upper field"), ("lower", "Lower field")):
        assert f"{rows[ground]:.0f} points more on {label}" in str(first)
    assert str(first).startswith("Described ground by ground")
    assert "is not the same on both grounds" in str(second)
    assert "before you act on the average" in str(second)


def test_words_do_not_call_alike_what_cannot_be_told(
    alike: tuple[Trial, dict[str, pd.DataFrame]],
) -> None:
    trial, tables = alike
    assert tables["grounds_test"]["p"].iloc[0] >= 0.05
    last = str(grounds_words(tables["grounds"], tables["grounds_test"], trial.definition)[-1])
    assert "these data cannot tell" in last
    assert "that does not say that it is" in last


def test_grounds_stand_in_the_order_of_the_definition(
    apart: tuple[Trial, dict[str, pd.DataFrame]],
) -> None:
    # The file of a run is sorted by its key.
    trial, tables = apart
    filed = tables["grounds"].sort_values("ground").reset_index(drop=True)
    assert filed["ground"].tolist() == ["lower", "upper"]
    first = str(grounds_words(filed, tables["grounds_test"], trial.definition)[0])
    assert first.index("Upper field") < first.index("Lower field")
    table = str(grounds_table(filed, trial.definition))
    assert table.index("Upper field") < table.index("Lower field")
    # Every number is tied to its row of the file: the first one shown stands in the second.
    assert "grounds.csv" in table
    alt = grounds_alt(filed, tables["primary"], trial.definition)
    assert alt.index("Upper field") < alt.index("Lower field")


def test_nothing_is_said_without_rows(apart: tuple[Trial, dict[str, pd.DataFrame]]) -> None:
    trial, tables = apart
    none, test = tables["grounds"].iloc[:0], tables["grounds_test"].iloc[:0]
    assert grounds_words(none, test, trial.definition) == []
    assert str(grounds_table(none, trial.definition)) == ""
    assert grounds_alt(none, tables["primary"], trial.definition).endswith("yet.")
    assert isinstance(grounds_figure(none, tables["primary"], trial.definition), Figure)


def test_the_table_holds_every_ground_with_its_error_and_own_spread(
    apart: tuple[Trial, dict[str, pd.DataFrame]],
) -> None:
    trial, tables = apart
    table = BeautifulSoup(str(grounds_table(tables["grounds"], trial.definition)), "html.parser")
    heads = [cell.get_text(" ", strip=True) for cell in table.find_all("th")]
    assert {"Upper field", "Lower field"} <= set(heads)
    rows = table.tbody.find_all("tr") if table.tbody else []
    assert len(table.find_all("tr")) >= 3
    assert "12" in rows[0].get_text(" ", strip=True)
    words = table.get_text(" ", strip=True)
    assert "Described" in words
    assert "not adjusted" in words
    assert "own standard deviation" in words


def test_the_picture_shows_each_ground_and_the_answer(
    apart: tuple[Trial, dict[str, pd.DataFrame]],
) -> None:
    trial, tables = apart
    picture = grounds_picture(tables["grounds"], tables["primary"], trial.definition)
    labels = [one.get_text() for one in picture.figure.axes[0].get_yticklabels()]
    assert labels == ["Upper field", "Lower field", "All grounds"]
    rows = tables["grounds"].set_index("ground")["difference"]
    assert f"Upper field: {rows['upper']:+.0f}" in picture.alt
    assert f"All grounds: {tables['primary']['difference'].iloc[0]:+.0f}" in picture.alt
    assert "described" in picture.caption
    names = [one.name for one in pictures(tables, trial.definition)]
    assert "grounds" in names


def test_a_declared_family_has_a_line_for_every_comparison(
    tmp_path: Path,
) -> None:
    trial = dated_trial(tmp_path / "s", values(), layout=ON_TWO)
    compare = Family.model_validate({"each": ["fleece", "woven"], "with": "open"})
    primary = trial.definition.analysis.primary.model_copy(update={"compare": compare})
    analysis = trial.definition.analysis.model_copy(update={"primary": primary})
    definition = trial.definition.model_copy(update={"analysis": analysis})
    both = Trial(trial.folder, definition, trial.diary, trial.plots)
    tables = analyse(both)
    assert len(tables["grounds"]) == 4
    words = grounds_words(tables["grounds"], tables["grounds_test"], definition)
    assert len(words) == 3
    figure = grounds_figure(tables["grounds"], tables["primary"], definition)
    assert len(figure.axes[0].get_yticks()) == 6


def test_the_page_speaks_of_its_grounds(apart: tuple[Trial, dict[str, pd.DataFrame]]) -> None:
    trial, tables = apart
    page = Page(tables, {}, trial.definition, plots=trial.plots)
    html = {name: said(page.section(name).html) for name in CONTEXTS}
    assert "Ground by ground" in html["grounds"]
    assert "speaks of these grounds and of no others" in " ".join(html["grounds"].split())
    assert "averaged over the grounds" in html["answer"]
    assert "These are two grounds in one season" in html["answer"]
    assert "From 8 of 8 blocks" in " ".join(html["answer"].split())
    assert "four blocks on each of the grounds Upper field and Lower field" in html["layout"]
    assert "Two grounds of" in html["limits"]
    assert "Cover × ground" in html["methods"]
    assert "Gomez" in html["references"]
    assert "blocks on each ground" in html["replication"]


def test_a_page_of_one_ground_has_no_such_section(page: Page) -> None:
    assert page.section("grounds").html.strip() == ""
    assert several_grounds(page.definition) == ""
    assert "This is one ground in one season" in page.section("answer").html


def test_before_the_data_the_section_waits(
    apart: tuple[Trial, dict[str, pd.DataFrame]],
) -> None:
    trial, _ = apart
    html = Page({}, {}, trial.definition).section("grounds").html
    assert "The comparison waits" in html
