from __future__ import annotations

import itertools
from collections.abc import Callable

import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from wintersward.report.deciding import deciding, deciding_alt
from wintersward.report.figures import deciding_picture
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


def test_blocks_alike_can_still_be_counted(tables: Tables, definition: Definition) -> None:
    means = tables["plot_means"].copy()
    shown = (means["measure"] == "green_cover") & (means["date"] == pd.Timestamp("2026-03-24"))
    means.loc[shown & (means["cover"] == "open"), "value"] = 50.0
    means.loc[shown & (means["cover"] == "fleece"), "value"] = 62.0
    right = deciding(tables["primary"], means, definition).axes[1]
    (circles,) = [line for line in right.lines if line.get_markerfacecolor() == "none"]
    assert len({*circles.get_ydata()}) == 1
    places = sorted(circles.get_xdata())
    # In inches, each circle stands clear of the next; together they keep their place.
    gaps = [1.3 * (b - a) for a, b in itertools.pairwise(places)]
    assert len(gaps) == 5
    assert min(gaps) >= 4.5 / 72
    assert sum(places) / 6 == pytest.approx(0.25)


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


@pytest.mark.parametrize("middle", [-2.0, -0.5, 0.0, 0.4, 1.5, 3.0])
def test_the_words_beside_an_estimate_near_zero_keep_clear(
    middle: float,
    primary_row: Callable[..., pd.DataFrame],
    tables: Tables,
    definition: Definition,
) -> None:
    row = primary_row(middle - 6, middle + 6)
    figure = deciding(row, tables["plot_means"], definition)
    FigureCanvasAgg(figure).draw()
    boxes = [t.get_window_extent() for t in figure.axes[1].texts if t.get_text()]
    assert len(boxes) == 3
    for one, other in itertools.combinations(boxes, 2):
        assert not one.overlaps(other)


def test_axis_labels_have_the_decimals_of_their_ticks(
    primary_row: Callable[..., pd.DataFrame], tables: Tables, definition: Definition
) -> None:
    held = tables["plot_means"].assign(value=50.0)
    row = primary_row(1.0, 2.0, matters_from=6.5)
    figure = deciding(row, held, definition)
    FigureCanvasAgg(figure).draw()
    axes = figure.axes[1]
    for tick, label in zip(axes.get_yticks(), axes.get_yticklabels(), strict=True):
        assert float(label.get_text().replace("−", "-")) == pytest.approx(tick)


def test_different_tines_are_not_joined(
    primary_row: Callable[..., pd.DataFrame], tables: Tables, definition: Definition
) -> None:
    held = tables["plot_means"]
    late = pd.Timestamp("2026-04-17")
    gone = (held["unit_name"] == held.loc[held["date"] == late, "unit_name"].iloc[0]) & (
        held["date"] == late
    )
    kept = held[~gone]
    figure = deciding(primary_row(1, 9).assign(date=late), kept, definition)
    joined = [line for line in figure.axes[0].lines if list(line.get_xdata()) == [0, 1]]
    lost = held.loc[gone, "cover"].iloc[0] in ("fleece", "open")
    assert len(joined) == 6 - lost


def test_what_could_not_be_estimated_has_no_picture(
    unanswered: Tables, definition: Definition
) -> None:
    figure = deciding(unanswered["primary"], unanswered["plot_means"], definition)
    assert "could not be estimated" in figure.texts[0].get_text()
    said = deciding_alt(unanswered["primary"], unanswered["plot_means"], definition)
    assert "could not be estimated" in said


def test_before_the_primary_date_it_waits(early: Tables, definition: Definition) -> None:
    figure = deciding(early["primary"], early["plot_means"], definition)
    assert "waits" in figure.texts[0].get_text()
    assert "waits" in deciding_alt(early["primary"], early["plot_means"], definition)


def test_the_alternative_text_holds_the_numbers(tables: Tables, definition: Definition) -> None:
    said = deciding_alt(tables["primary"], tables["plot_means"], definition)
    row = tables["primary"].iloc[0]
    # 58 less 44 would be 14, not the 13 that the answer says: one decimal more.
    assert f"spun-bond fleece {row['left_mean']:.1f} %" in said
    assert f"no cover {row['right_mean']:.1f} %" in said
    assert f"{row['difference']:.0f} points more green cover" in said
    assert said.split("Differences within the blocks: ")[1].count(",") == 5


def test_a_declared_family_stands_side_by_side(
    declared_tables: Tables, declared: Definition
) -> None:
    primary = declared_tables["primary"]
    figure = deciding(primary, declared_tables["plot_means"], declared)
    FigureCanvasAgg(figure).draw()
    left, right = figure.axes
    assert len(left.get_xticks()) == 3
    assert [line.get_xdata().tolist() for line in left.lines].count([0, 1, 2]) == 6
    labels = [t.get_text() for t in right.get_xticklabels()]
    assert [label.split("\n")[0] for label in labels] == ["Spun-bond fleece", "Woven permeable"]
    for label, level in zip(labels, ("fleece", "woven"), strict=True):
        row = primary[(primary["left"] == level) & (primary["which"] == "as planned")].iloc[0]
        assert f"+{row['difference']:.0f}\n+{row['lower']:.0f} to" in label
    circles = [line for line in right.lines if line.get_markerfacecolor() == "none"]
    assert [len(line.get_ydata()) for line in circles] == [6, 6]
    boxes = [t.get_window_extent() for t in right.get_xticklabels()]
    assert not boxes[0].overlaps(boxes[1])
    said = deciding_alt(primary, declared_tables["plot_means"], declared)
    assert said.count("within the blocks") == 2


def test_without_blocks_every_plot_is_a_mark_and_nothing_is_joined(
    blocks_tables: Tables, laid_out: Callable[..., Definition]
) -> None:
    loose = laid_out("completely random", replicates=6)
    means = blocks_tables["plot_means"].assign(block="")
    figure = deciding(blocks_tables["primary"], means, loose)
    FigureCanvasAgg(figure).draw()
    left, right = figure.axes
    assert left.get_title(loc="left") == "Green cover [%], every plot"
    assert [line for line in left.lines if list(line.get_xdata()) == [0, 1]] == []
    assert [len(line.get_ydata()) for line in left.lines if len(line.get_ydata()) == 6] == [6, 6]
    assert [t.get_text() for t in right.get_xticklabels()] == ["", "estimate"]
    circles = [line for line in right.lines if line.get_markerfacecolor() == "none"]
    assert sum(len(line.get_ydata()) for line in circles) == 0
    assert "within the blocks" not in deciding_alt(blocks_tables["primary"], means, loose)
    picture = deciding_picture(blocks_tables | {"plot_means": means}, loose)
    assert picture.caption.startswith("Marks are the single plots; the bars")
    assert "blocks" not in picture.caption
