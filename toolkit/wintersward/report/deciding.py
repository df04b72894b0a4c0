"""The picture of the answer: both treatments block by block, and the difference they make."""

from __future__ import annotations

import math
from textwrap import fill

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from wintersward.report.block_values import block_differences, block_means
from wintersward.report.drawing import (
    BAND,
    HALO,
    INK,
    PAPER,
    RULE,
    SIZE,
    SOFT,
    axes_at,
    empty_figure,
    new_figure,
    spread,
    style,
    value_axis,
)
from wintersward.report.numbers import between_text, day_text, text, tick_decimals
from wintersward.report.views import (
    MeasureView,
    in_sentence,
    level_label,
    marks_of,
    measure_view,
)
from wintersward.report.words import (
    answer,
    estimated,
    matters_text,
    planned_row,
    shown_decimals,
    waiting,
)
from wintersward.trial.schema import Definition

__all__ = ["deciding", "deciding_alt"]

_WIDTH, _HEIGHT = 5.75, 2.45
_LINE_INCHES = SIZE * 1.2 / 72


def deciding(primary: pd.DataFrame, plot_means: pd.DataFrame, definition: Definition) -> Figure:
    """Draw the answer to the primary question.

    Parameters
    ----------
    primary, plot_means : DataFrame
        Tables of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        At the left both treatments in every block, joined by a line; at the right the difference
        in every block, with the estimate and its interval against zero and what matters.
    """
    if primary.empty:
        return empty_figure(_WIDTH, "The comparison waits for the primary date.")
    if not estimated(primary):
        return empty_figure(_WIDTH, "The primary question could not be estimated.")
    row = planned_row(primary)
    view = measure_view(definition, str(row["measure"]))
    with style():
        figure = new_figure(_WIDTH, 3.5)
        before = axes_at(figure, 0.45, 0.6, 2.5, _HEIGHT)
        _treatments(before, view, row, plot_means, definition)
        beside = axes_at(figure, 3.5, 0.6, 1.3, _HEIGHT)
        _difference(beside, view, row, plot_means, definition)
    return figure


def _treatments(
    axes: Axes,
    view: MeasureView,
    row: pd.Series,
    plot_means: pd.DataFrame,
    definition: Definition,
) -> None:
    factor = definition.factor_of(str(row["left"]))
    marks = marks_of(definition, factor)
    # Read from the control, or what stands for it, to the treatment: the line shows the change.
    pair = [str(row["right"]), str(row["left"])]
    found = block_means(plot_means, str(row["measure"]), row["date"], factor, pair)
    # A line and its ends stand only where both are there and alike.
    wide = found.dropna().map(view.value)
    for values in wide.itertuples(index=False):
        axes.plot([0, 1], values, color=SOFT, linewidth=0.8, alpha=0.7, zorder=2)
    value_axis(axes, view, [*wide.to_numpy().ravel()])
    for at, level in enumerate(pair):
        mark = marks[level]
        axes.plot(
            [at] * len(wide), wide[level], linestyle="", marker=mark.marker, ms=5.5,
            color=mark.colour, markeredgecolor=PAPER, markeredgewidth=0.6, zorder=3,
        )  # fmt: skip
        mean = view.value(float(row["right_mean" if at == 0 else "left_mean"]))
        side = -0.13 if at == 0 else 0.13
        axes.plot(
            [at + 0.75 * side, at + 1.95 * side], [mean, mean], color=mark.colour, linewidth=3,
            solid_capstyle="butt", zorder=4, path_effects=HALO,
        )  # fmt: skip
        axes.text(
            at + 2.3 * side, mean, text(mean, shown_decimals(row, view)), va="center",
            ha="right" if at == 0 else "left", fontweight="bold",
        )  # fmt: skip
    axes.set_xlim(-0.55, 1.55)
    names = [fill(level_label(definition, level), 18) for level in pair]
    axes.set_xticks([0, 1], names)
    axes.tick_params(axis="x", length=0, pad=6)
    axes.set_title(f"{view.head}, every block", loc="left", fontsize=SIZE, pad=10)


def _difference(
    axes: Axes,
    view: MeasureView,
    row: pd.Series,
    plot_means: pd.DataFrame,
    definition: Definition,
) -> None:
    left, right = str(row["left"]), str(row["right"])
    factor = definition.factor_of(left)
    own = block_differences(plot_means, str(row["measure"]), row["date"], factor, left, right)
    matters = view.difference(float(row["matters_from"]))
    low, middle, high = (view.difference(float(row[n])) for n in ("lower", "difference", "upper"))
    values = [view.difference(float(value)) for value in own]
    found = [v for v in (0.0, low, middle, high, -matters, matters, *values) if math.isfinite(v)]
    room = 0.06 * (max(found) - min(found))
    axes.set_ylim(min(found) - room, max(found) + room)
    axes.set_xlim(0, 1)
    axes.axhspan(-matters, matters, color=BAND, linewidth=0, zorder=0)
    axes.axhline(0, color=INK, linewidth=0.9, zorder=1)
    axes.grid(axis="y", color=RULE, linewidth=0.6)
    axes.plot(
        [0.25] * len(values), values, linestyle="", marker="o", ms=4.5, markerfacecolor="none",
        markeredgecolor=SOFT, markeredgewidth=0.8, zorder=2,
    )  # fmt: skip
    mark = marks_of(definition, factor)[left]
    if math.isfinite(low) and math.isfinite(high):
        axes.vlines(0.72, low, high, color=mark.colour, linewidth=2.6, zorder=3, path_effects=HALO)
    axes.plot(
        [0.72], [middle], marker=mark.marker, color=mark.colour, ms=8, markeredgecolor=PAPER,
        markeredgewidth=0.8, zorder=4,
    )  # fmt: skip
    _difference_words(axes, view, row, (low, middle, high))
    axes.set_xticks([0.25, 0.72], ["blocks", "estimate"])
    axes.tick_params(axis="both", length=0, pad=6)
    axes.spines["left"].set_visible(False)
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(
        lambda value, _: text(value, tick_decimals(list(axes.get_yticks())), True)
    )
    unit = f" [{view.difference_unit}]" if view.difference_unit else ""
    axes.set_title(f"Difference{unit}", loc="left", fontsize=SIZE, pad=10)


def _difference_words(
    axes: Axes, view: MeasureView, row: pd.Series, interval: tuple[float, float, float]
) -> None:
    """Write estimate and interval beside their mark, and name the band; none on another."""
    low, middle, high = interval
    decimals = shown_decimals(row, view)
    across = axes.get_yaxis_transform()
    bottom, top = axes.get_ylim()
    line = (top - bottom) * _LINE_INCHES / _HEIGHT
    # The interval stands below the estimate, so that the middle of both is lower than the mark.
    wanted = [(0.0, 2.4 * line, "band"), (middle - 0.6 * line, 3.4 * line, "estimate")]
    wanted = sorted(one for one in wanted if math.isfinite(one[0]))
    centres = spread([one[0] for one in wanted], [one[1] for one in wanted], bottom, top)
    place = {one[2]: centre for one, centre in zip(wanted, centres, strict=True)}
    axes.text(
        1.06, place["band"], "too small\nto matter", transform=across, va="center", color=SOFT,
        fontsize=SIZE - 1, linespacing=1.05,
    )  # fmt: skip
    if "estimate" not in place:
        return
    at = place["estimate"] + 0.6 * line
    axes.text(
        1.06, at, text(middle, decimals, signed=True), transform=across, va="center",
        fontweight="bold", fontsize=SIZE + 2,
    )  # fmt: skip
    if math.isfinite(low) and math.isfinite(high):
        axes.text(
            1.06, at - 1.3 * line, between_text(low, high, decimals, signed=True),
            transform=across, va="center",
        )  # fmt: skip


def deciding_alt(primary: pd.DataFrame, plot_means: pd.DataFrame, definition: Definition) -> str:
    """Tell what `deciding` shows, with its numbers.

    Parameters
    ----------
    primary, plot_means : DataFrame
        Tables of a run, in SI.
    definition : Definition
        The trial.
    """
    if primary.empty:
        return waiting(definition)
    if not estimated(primary):
        return str(answer(primary, definition))
    row = planned_row(primary)
    view = measure_view(definition, str(row["measure"]))
    left, right = str(row["left"]), str(row["right"])
    own = block_differences(
        plot_means, str(row["measure"]), row["date"], definition.factor_of(left), left, right
    )
    decimals = shown_decimals(row, view)
    blocks = ", ".join(text(view.difference(float(v)), decimals, signed=True) for v in own)
    means = [text(view.value(float(row[n])), decimals) for n in ("left_mean", "right_mean")]
    unit = f" {view.unit}" if view.unit else ""
    return (
        f"{view.label} on {day_text(row['date'])}: {in_sentence(level_label(definition, left))} "
        f"{means[0]}{unit}, {in_sentence(level_label(definition, right))} {means[1]}{unit}. "
        f"{answer(primary, definition)} Differences within the blocks: {blocks}. "
        f"The band of what is too small to matter ends at {matters_text(definition)}."
    )
