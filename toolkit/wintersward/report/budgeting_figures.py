"""Picture of the budget: the net change of every treatment against zero."""

from __future__ import annotations

from textwrap import fill

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator

from wintersward.report.budgeting import WITH_ESTIMATE, futures_text
from wintersward.report.drawing import (
    INK,
    PAPER,
    RULE,
    SIZE,
    SOFT,
    axes_at,
    empty_figure,
    new_figure,
    style,
)
from wintersward.report.money import area_text, money_step, money_text
from wintersward.report.picture import Picture
from wintersward.report.said import row_at
from wintersward.report.views import in_sentence, level_label, marks_of
from wintersward.trial.schema import Definition

__all__ = ["budget_bars", "budget_bars_alt", "budget_picture"]

_WIDE, _LEFT, _RIGHT, _ROW = 6.8, 2.3, 0.75, 0.46
_COUNTING = {WITH_ESTIMATE: "and what the trial found", "entries alone": "entries alone"}

_TOLD = {WITH_ESTIMATE: "entries and what the trial found", "entries alone": "entries alone"}


def _rows(budget: pd.DataFrame, definition: Definition) -> list[int]:
    """Order the rows: by treatment, the entries alone first."""
    levels = [level for factor in definition.treatments.values() for level in factor.levels]
    return sorted(
        map(int, budget.index),
        key=lambda at: (
            levels.index(row_at(budget, at)["treatment"]),
            row_at(budget, at)["counting"] == WITH_ESTIMATE,
        ),
    )


def budget_bars(budget: pd.DataFrame, definition: Definition) -> Figure:
    """Draw the net change of each treatment, a line a way of counting.

    Parameters
    ----------
    budget : DataFrame
        Table of a run.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        The middle of the futures as a mark, eight of ten of them as a thick line, all ranges at
        their worst and best as a thin one; open where the entries alone are counted.
    """
    if budget.empty:
        return empty_figure(_WIDE, "The diary tells no costs")
    rows = _rows(budget, definition)
    first = row_at(budget, rows[0])
    with style():
        figure = new_figure(_WIDE, 0.85 + _ROW * len(rows))
        wide = _WIDE - _LEFT - _RIGHT
        axes = axes_at(figure, _LEFT, 0.55, wide, _ROW * len(rows))
        axes.set_ylim(len(rows) - 0.5, -0.5)
        axes.axvline(0, color=INK, linewidth=0.9, zorder=1)
        for place, at in enumerate(rows):
            _bar(axes, row_at(budget, at), place, definition)
        names = [_name(budget, at, place, definition) for place, at in enumerate(rows)]
        axes.set_yticks(range(len(rows)), names)
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
        axes.xaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: money_text(value)))
        axes.grid(axis="x", color=RULE, linewidth=0.6)
        area = area_text(float(first["area"]), definition.units)
        axes.set_xlabel(f"Net change of one season on {area} [{first['currency']}]")
    return figure


def _name(budget: pd.DataFrame, at: int, place: int, definition: Definition) -> str:
    """Name a treatment once, in its first line."""
    row, rows = row_at(budget, at), _rows(budget, definition)
    counting = _COUNTING[str(row["counting"])]
    if place and row_at(budget, rows[place - 1])["treatment"] == row["treatment"]:
        return counting
    return f"{fill(level_label(definition, str(row['treatment'])), 30)}:\n{counting}"


def _bar(axes: Axes, row: pd.Series, place: int, definition: Definition) -> None:
    mark = marks_of(definition, str(row["factor"]))[str(row["treatment"])]
    whole = row["counting"] == WITH_ESTIMATE
    axes.plot([row["least"], row["most"]], [place, place], color=SOFT, linewidth=0.9, zorder=2)
    axes.plot(
        [row["net_low"], row["net_high"]], [place, place], color=mark.colour,
        linewidth=4.5 if whole else 2.0, solid_capstyle="butt", zorder=3,
    )  # fmt: skip
    axes.plot(
        [row["net_median"]], [place], mark.marker, ms=7.5, zorder=4, markeredgewidth=1.4,
        markeredgecolor=PAPER if whole else mark.colour,
        markerfacecolor=mark.colour if whole else PAPER,
    )  # fmt: skip
    step = money_step(float(row["net_high"]) - float(row["net_low"]))
    axes.annotate(
        money_text(float(row["net_median"]), step, signed=True),
        (1.02, place), xycoords=("axes fraction", "data"), va="center", fontsize=SIZE,
    )  # fmt: skip


def budget_bars_alt(budget: pd.DataFrame, definition: Definition) -> str:
    """Tell what `budget_bars` shows, with its numbers.

    Parameters
    ----------
    budget, definition
        As for `budget_bars`.

    Returns
    -------
    str
        A sentence a line.
    """
    if budget.empty:
        return "The diary tells no costs."
    said = []
    for at in _rows(budget, definition):
        row = row_at(budget, at)
        step = money_step(float(row["net_high"]) - float(row["net_low"]))
        low, middle, high = (
            money_text(float(row[f"net_{name}"]), step, signed=True)
            for name in ("low", "median", "high")
        )
        label = level_label(definition, str(row["treatment"]))
        control = in_sentence(level_label(definition, str(row["control"])))
        said.append(
            f"{label} against {control}, {_TOLD[str(row['counting'])]}: net change "
            f"{middle} {row['currency']}, {low} to {high} in eight of ten futures; "
            f"{futures_text(float(row['above_zero']))} of 100 above zero."
        )
    return " ".join(said)


def budget_picture(budget: pd.DataFrame, definition: Definition) -> Picture:
    """Make the picture of the budget.

    Parameters
    ----------
    budget, definition
        As for `budget_bars`.
    """
    caption = (
        "Right of zero a treatment leaves more than its control, left of it less. Mark: the middle "
        "of the futures; thick line: eight of ten of them; thin line: all ranges at their worst "
        "and at their best. Open marks count the entries of the diary alone."
    )
    figure, alt = budget_bars(budget, definition), budget_bars_alt(budget, definition)
    return Picture("budget", figure, alt, caption)
