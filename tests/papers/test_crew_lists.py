"""Lists of the crew: every cover once, marked as not for raters, pins counted out and in."""

from __future__ import annotations

import pandas as pd
import pytest
from openpyxl import Workbook

from papers.trial_papers import opened
from wintersward import design
from wintersward.papers import cover_log, pin_count
from wintersward.papers.crew_lists import covered_pieces
from wintersward.trial import Definition


def layout(definition: Definition, **fields: object) -> Definition:
    changed = definition.layout.model_copy(update={"whole_plot": None, "subplot": None, **fields})
    return definition.model_copy(update={"layout": changed})


def test_each_covered_whole_plot_is_one_cover(definition: Definition, plots: pd.DataFrame) -> None:
    pieces = covered_pieces(definition, plots)
    covered = plots[plots["cover"] != "open"]
    assert len(pieces) == 12
    assert set(pieces["where"]) == set(covered["whole_plot"])
    assert sorted(", ".join(pieces["plots"]).split(", ")) == sorted(covered["plot"])
    assert set(pieces["cover"]) == {"Spun-bond fleece", "Woven permeable cover"}
    first = pieces.iloc[0]
    row = plots[plots["whole_plot"] == first["where"]]
    assert first["plots"] == ", ".join(row.sort_values("walk")["plot"])


def test_covers_drawn_for_plots_are_listed_by_plot(definition: Definition) -> None:
    told = layout(definition, kind="randomised blocks")
    pieces = covered_pieces(told, design.draw(told))
    assert (pieces["where"] == pieces["plots"]).all()
    assert len(pieces) == 24


def test_covers_drawn_for_strips_are_listed_by_strip(definition: Definition) -> None:
    told = layout(
        definition, kind="strip plot", row_strips="cover", column_strips="aeration", blocks=4
    )
    plots = design.draw(told)
    pieces = covered_pieces(told, plots)
    assert len(pieces) == 8
    assert pieces["where"].str.fullmatch(r"block \d, row \d+").all()
    assert pieces["plots"].str.split(", ").map(len).eq(2).all()


def test_where_the_covers_cannot_be_told_every_plot_is_listed(
    definition: Definition, plots: pd.DataFrame
) -> None:
    later = {
        name: factor.model_copy(update={"applied": "aeration"})
        for name, factor in definition.treatments.items()
    }
    pieces = covered_pieces(definition.model_copy(update={"treatments": later}), plots)
    assert list(pieces["where"]) == list(plots.sort_values("walk")["plot"])
    assert set(pieces["cover"]) == {""}


@pytest.fixture
def books(definition: Definition, plots: pd.DataFrame) -> list[Workbook]:
    made = [cover_log(definition, plots, "letter"), pin_count(definition, plots, "letter")]
    return [opened(content) for content in made]


def test_both_are_marked_as_not_for_raters(books: list[Workbook]) -> None:
    for book in books:
        tab = book.worksheets[0]
        assert "CREW ONLY, NOT FOR RATERS" in tab.oddHeader.left.text
        assert tab.oddFooter.left.text == "CREW ONLY, NOT FOR RATERS"
        assert any("Keep it away from whoever rates plots." in step for step in steps(book))


def steps(book: Workbook) -> list[str]:
    """List what stands below the table."""
    (tab,) = book.worksheets
    return [str(tab.cell(row, 1).value) for row in range(15, tab.max_row + 1)]


def test_what_to_do_stands_on_the_page_of_the_table(books: list[Workbook]) -> None:
    for book in books:
        (tab,) = book.worksheets
        said = steps(book)
        assert [step.split(".")[0] for step in said] == [str(n + 1) for n in range(len(said))]
        assert said[-1].endswith("These steps are common practice, no source.")
        assert tab.print_area.endswith(f"${tab.max_row}")
        assert tab.page_setup.orientation == "landscape"
        assert all(tab.cell(row, 1).protection.locked for row in range(15, tab.max_row + 1))


def test_the_log_has_a_column_for_what_may_happen(books: list[Workbook]) -> None:
    tab = books[0].worksheets[0]
    names = ["where", "plots", "cover", "on", "off", "lifted", "blown", "snow", "ice"]
    names += ["under cover (degF)", "disease seen", "why off early", "note"]
    assert [cell.value for cell in tab[1]] == names
    *ticks, warmth = tab.data_validations.dataValidation
    found = {str(rule.sqref): rule.formula1 for rule in ticks}
    assert found == {f"{letter}2:{letter}13": '"x"' for letter in "FGHI"}
    # A temperature may lie below zero.
    assert (warmth.type, str(warmth.sqref), float(warmth.formula1) < -50) == (
        "decimal",
        "J2:J13",
        True,
    )
    assert "covers on 2026-01-19, covers off 2026-03-09" in steps(books[0])[0]


def test_pins_that_are_still_out_are_computed(books: list[Workbook]) -> None:
    tab = books[1].worksheets[0]
    assert [cell.value for cell in tab[1]] == [
        "where",
        "plots",
        "cover",
        "kind of pin",
        "put out",
        "taken in",
        "of these broken",
        "still out (must be 0)",
        "edges searched by hand",
        "magnet sweep done",
        "signature",
    ]
    assert tab["H2"].value == '=IF(COUNT(E2:F2)<2,"",E2-F2)'
    assert tab["H13"].value == '=IF(COUNT(E13:F13)<2,"",E13-F13)'
    kind, count = tab.data_validations.dataValidation[:2]
    assert kind.formula1 == '"steel,stainless,non-metal"'
    assert (count.type, count.operator, count.formula1) == ("whole", "greaterThanOrEqual", "0")
    assert tab["H2"].protection.locked
    assert not tab["E2"].protection.locked


def test_a_magnet_is_not_trusted_with_what_it_cannot_find(books: list[Workbook]) -> None:
    said = " ".join(steps(books[1]))
    assert "a magnet finds steel only" in said
    assert "along every edge of the cover, by eye and by hand" in said
    assert "A pin with a piece missing is still out." in said
