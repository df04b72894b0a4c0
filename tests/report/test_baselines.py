from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.report.baselines import baseline_table
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def test_means_before_the_treatments(tables: Tables, definition: Definition) -> None:
    held, notes = tables["plot_means"], tables["notes"]
    html = baseline_table(held, notes, definition, "green_cover")
    soup = BeautifulSoup(html, "html.parser")
    cells = [cell.get_text() for cell in soup.select("tbody tr th, tbody tr td")]
    here = held[(held["measure"] == "green_cover") & (held["date"] == pd.Timestamp("2026-01-15"))]
    assert cells[0] == "15 January 2026"
    for at, level in enumerate(["open", "fleece", "woven"]):
        own = here.loc[here["cover"] == level, "value"]
        mean, ends = cells[1 + 2 * at : 3 + 2 * at]
        assert float(mean) == pytest.approx(own.mean(), abs=0.51)
        low, high = (float(end) for end in ends.split(" to "))
        assert (low, high) == pytest.approx((own.min(), own.max()), abs=0.51)
    assert "Nothing is tested here" in html


def test_in_a_demonstration_nothing_was_drawn_for_replicates(
    tables: Tables, definition: Definition, laid_out: Callable[..., Definition]
) -> None:
    held, notes = tables["plot_means"], tables["notes"]
    said = str(baseline_table(held, notes, definition, "green_cover"))
    assert "differs at this time came about by the draw" in said
    shown = str(baseline_table(held, notes, laid_out("demonstration"), "green_cover"))
    assert "differs at this time lay in the places" in shown


def test_a_treatment_without_units_leaves_its_place(tables: Tables, definition: Definition) -> None:
    held = tables["plot_means"]
    html = baseline_table(
        held[held["cover"] != "woven"], tables["notes"], definition, "green_cover"
    )
    cells = [cell.get_text() for cell in BeautifulSoup(html, "html.parser").select("tbody td")]
    assert cells[-2:] == ["–", "–"]


def test_without_a_visit_before_there_is_no_table(tables: Tables, definition: Definition) -> None:
    held, notes = tables["plot_means"], tables["notes"]
    assert baseline_table(held, notes, definition, "pull_force") == ""
    assert baseline_table(held.iloc[:0], notes, definition, "green_cover") == ""
