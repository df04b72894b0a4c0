from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest

from wintersward.report.deciding import deciding, deciding_alt
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def test_both_treatments_and_every_block_are_there(tables: Tables, definition: Definition) -> None:
    figure = deciding(tables["primary"], tables["plot_means"], definition)
    figure.canvas.draw()
    left, right = figure.axes
    assert [t.get_text() for t in left.get_xticklabels()] == ["No cover", "Spun-bond fleece"]
    assert left.get_ylim() == (0.0, 100.0)
    joined = [line for line in left.lines if list(line.get_xdata()) == [0, 1]]
    assert len(joined) == 6
    circles = [line for line in right.lines if line.get_markerfacecolor() == "none"]
    assert len(circles[0].get_ydata()) == 6
    assert "+13" in [t.get_text() for t in right.texts]


@pytest.mark.parametrize(("lower", "upper"), [(float("nan"), float("nan")), (-30, -2), (-0.2, 0.1)])
def test_any_interval_draws_without_a_warning(
    lower: float,
    upper: float,
    primary_row: Callable[..., pd.DataFrame],
    tables: Tables,
    definition: Definition,
) -> None:
    row = primary_row(lower, upper)
    deciding(row, tables["plot_means"], definition).canvas.draw()
    assert deciding_alt(row, tables["plot_means"], definition)


def test_blocks_may_be_missing(tables: Tables, definition: Definition) -> None:
    held = tables["plot_means"]
    kept = held[~((held["block"] == "2") & (held["cover"] == "open"))]
    figure = deciding(tables["primary"], kept, definition)
    figure.canvas.draw()
    circles = [line for line in figure.axes[1].lines if line.get_markerfacecolor() == "none"]
    assert len(circles[0].get_ydata()) == 5


def test_before_the_primary_date_it_waits(early: Tables, definition: Definition) -> None:
    figure = deciding(early["primary"], early["plot_means"], definition)
    assert "waits" in figure.texts[0].get_text()
    assert "waits" in deciding_alt(early["primary"], early["plot_means"], definition)


def test_the_alternative_text_holds_the_numbers(tables: Tables, definition: Definition) -> None:
    said = deciding_alt(tables["primary"], tables["plot_means"], definition)
    row = tables["primary"].iloc[0]
    assert f"spun-bond fleece {row['left_mean']:.0f} %" in said
    assert f"no cover {row['right_mean']:.0f} %" in said
    assert f"{row['difference']:.0f} points more green cover" in said
    assert said.split("Differences within the blocks: ")[1].count(",") == 5
