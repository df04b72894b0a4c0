from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward import __version__
from wintersward.paths import SAYS
from wintersward.report.handing_in import citation, provenance_context
from wintersward.report.page import Page, Provenance
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
FILES = ("trial.yaml", "diary.yaml", "plan/plots.csv", "sheets/pulls.csv", "photos/a/1_1.jpg")


def text(page: Page) -> str:
    html = page.section("provenance").html
    return " ".join(BeautifulSoup(html, "html.parser").get_text(" ").split())


def test_it_says_how_to_hand_in_and_how_to_verify(page: Page) -> None:
    said = text(page)
    held = provenance_context(page)
    assert held["bundle"].startswith("wintersward bundle ")
    assert held["verify"].startswith("wintersward verify ")
    assert held["bundle"] in said
    assert held["verify"] in said


def test_the_page_is_the_same_however_it_was_started(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(SAYS, raising=False)
    plain = page.section("provenance").html
    monkeypatch.setenv(SAYS, "python3 toolkit/start.py")
    assert page.section("provenance").html == plain
    assert "start.py" not in plain


def test_the_citation_is_ready_for_print(
    make_page: Callable[..., Page], tables: Tables, definition: Definition
) -> None:
    page = make_page(tables, definition)
    assert citation(page) == (
        "R. Example; T. Example (2026): Winter covers and first aeration on the Alder Road soccer "
        "and lacrosse ground, 2026. Report of a winter-cover trial, Alder Road ground, "
        f"US, winter and spring 2026. Made with wintersward {__version__}."
    )
    assert citation(page) in text(page)
    # Before the first observation the planned dates tell the year.
    assert "(2026): " in citation(Page({}, {}, definition))
    held = Provenance({}, {"wintersward": "9.8.7"})
    assert citation(Page({}, {}, definition, provenance=held)).endswith("wintersward 9.8.7.")


def test_a_demonstration_is_not_cited_as_a_trial(laid_out: Callable[..., Definition]) -> None:
    assert "winter-cover demonstration" in citation(Page({}, {}, laid_out("demonstration")))


def test_files_are_counted_by_what_they_are(definition: Definition) -> None:
    held = Provenance(dict.fromkeys(FILES, "ab" * 32))
    page = Page({}, {}, definition, provenance=held)
    soup = BeautifulSoup(page.section("provenance").html, "html.parser")
    kinds, hashes = soup.find_all("table")
    told = [[c.get_text() for c in row.find_all(["th", "td"])] for row in kinds.select("tbody tr")]
    assert sum(int(count) for _, count in told) == len(FILES)
    assert [what.partition(":")[0] for what, _ in told[:2]] == ["the definition", "the diary"]
    assert len(hashes.select("tbody tr")) == len(FILES)
    assert "SHA-256 of trial.yaml begins with abababababab" in text(page)


def test_a_file_that_nobody_foresaw_is_counted(definition: Definition) -> None:
    page = Page({}, {}, definition, provenance=Provenance({"notes/other.txt": "ab" * 32}))
    assert "other files" in text(page)
