from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.modelled import models_table, versions_words
from wintersward.report.page import Page, Provenance
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def rows(page: Page) -> list[list[str]]:
    soup = BeautifulSoup(models_table(page), "html.parser")
    return [[c.get_text() for c in line.find_all(["th", "td"])] for line in soup.select("tbody tr")]


def test_without_results_no_model_is_listed(definition: Definition) -> None:
    assert models_table(Page({}, {}, definition)) == ""


def test_the_primary_question_stands_first_with_its_own_df(page: Page, tables: Tables) -> None:
    planned = tables["primary"].iloc[0]
    first = rows(page)[0]
    assert first[:2] == ["The primary question", "Green cover, 24 March 2026"]
    # Blocks are fixed in this model, not left out.
    assert first[2] == f"Blocks, cover: {planned['method']}"
    assert first[3:] == ["none", f"{planned['unit_kind']}s", f"{planned['df']:.0f}"]


def test_single_dates_name_fixed_and_random_terms_and_the_unit(page: Page) -> None:
    single = [row for row in rows(page) if "Kenward" in row[-1] and "2026 to" not in " ".join(row)]
    words = [" | ".join(row) for row in single]
    early = next(one for one in words if "10, 16 and 24 March 2026" in one)
    late = next(one for one in words if "4 and 17 April 2026" in one)
    assert "Cover | blocks | whole plots | Kenward-Roger" in early
    # In the definition's order, what depends on both behind.
    assert "Cover, aeration, cover × aeration | blocks, whole plots | subplots" in late


def test_measures_with_the_same_model_share_a_row(page: Page, definition: Definition) -> None:
    skeleton = page.table("skeleton")
    residual = skeleton[skeleton["role"] == "residual"]
    alike = set(zip(residual["measure"], residual["date"], strict=True))
    listed = [row for row in rows(page) if "whole plots" in row or "subplots" in row]
    assert len(listed) - 1 < len(alike)  # one of them is the primary question
    assert any("and" in row[1 if len(row) == 6 else 0].split(",")[0] for row in listed)


def test_models_of_all_dates_tell_the_form_that_was_chosen(page: Page, tables: Tables) -> None:
    joint = [row for row in rows(page) if any("also from date to date" in one for one in row)]
    chosen = tables["structures"][tables["structures"]["verdict"] == "chosen"]
    tested = set(zip(tables["joint_tests"]["measure"], tables["joint_tests"]["scope"], strict=True))
    with_tests = [row for _, row in chosen.iterrows() if (row["measure"], row["scope"]) in tested]
    assert 0 < len(joint) <= len(with_tests)
    for row in joint:
        assert any(one.startswith("dates of one unit, ") for one in row)
    random = {one for row in joint for one in row if "from date to date" in one}
    assert random <= {
        "blocks, also from date to date; whole plots",
        "blocks and whole plots, also from date to date; subplots",
    }


def test_the_methods_name_what_computed_the_numbers(definition: Definition) -> None:
    held = Provenance({}, {"wintersward": "0.1.0", "numpy": "2.1", "jinja2": "3.1"})
    html = Page({}, {}, definition, provenance=held).section("methods").html
    assert "The numbers were computed by wintersward 0.1.0 with numpy 2.1." in html
    assert versions_words({}) == versions_words({"numpy": "2.1"}) == ""
    assert versions_words({"wintersward": "1"}) == "The numbers were computed by wintersward 1."
    sun = versions_words({"wintersward": "1", "pvlib": "0.16.1", "scipy": "1.17"})
    assert sun == "The numbers were computed by wintersward 1 with pvlib 0.16.1 and scipy 1.17."
