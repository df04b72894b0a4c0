"""The picture of the answer: both treatments block by block, and the difference they make."""

from __future__ import annotations

import math
from textwrap import fill

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from wintersward.design import Mark
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
from wintersward.report.mean_digits import answer_digits
from wintersward.report.numbers import between_text, day_text, text, tick_decimals
from wintersward.report.said import row_at
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
    planned_rows,
    shown_decimals,
    waiting,
)
from wintersward.trial.schema import Definition

__all__ = ["deciding", "deciding_alt"]

_WIDTH, _HEIGHT = 5.75, 2.45
_LINE_INCHES = SIZE * 1.2 / 72
_CIRCLE = 4.5  # across, in points


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
        At the left the treatments in every block, joined by a line; at the right the difference
        in every block, with the estimate and its interval against zero and what matters; in a
        declared family one beside the other.
    """
    if primary.empty:
        return empty_figure(_WIDTH, "The comparison waits for the primary date.")
    if not estimated(primary):
        return empty_figure(_WIDTH, "The primary question could not be estimated.")
    rows = [row_at(primary, at) for at in planned_rows(primary, definition)]
    view = measure_view(definition, str(rows[0]["measure"]))
    with style():
        if len(rows) == 1:
            figure = new_figure(_WIDTH, 3.5)
            before = axes_at(figure, 0.45, 0.6, 2.5, _HEIGHT)
            _treatments(before, view, rows, plot_means, definition)
            beside = axes_at(figure, 3.5, 0.6, 1.3, _HEIGHT)
            _difference(beside, view, rows[0], plot_means, definition)
            return figure
        first, each = 0.85 * (len(rows) + 1), 1.3
        figure = new_figure(1.35 + first + each * len(rows), 3.9)
        before = axes_at(figure, 0.45, 1.0, first, _HEIGHT)
        _treatments(before, view, rows, plot_means, definition)
        beside = axes_at(figure, 1.05 + first, 1.0, each * len(rows), _HEIGHT)
        _family(beside, view, rows, plot_means, definition)
    return figure


def _treatments(
    axes: Axes,
    view: MeasureView,
    rows: list[pd.Series],
    plot_means: pd.DataFrame,
    definition: Definition,
) -> None:
    """Draw every block's treatments, from the control, or what stands for it, onward."""
    row = rows[0]
    factor = definition.factor_of(str(row["left"]))
    marks = marks_of(definition, factor)
    # The line shows the change that the treatment makes.
    means = {str(row["right"]): float(row["right_mean"])}
    means |= {str(one["left"]): float(one["left_mean"]) for one in rows}
    found = block_means(plot_means, str(row["measure"]), row["date"], factor, list(means))
    # A line and its ends stand only where all are there and alike.
    wide = found.dropna().map(view.value)
    points = {level: [*wide[level]] for level in means}
    if definition.layout.blocks:
        for values in wide.itertuples(index=False):
            axes.plot(range(len(means)), values, color=SOFT, linewidth=0.8, alpha=0.7, zorder=2)
    else:
        points = _single(view, row, plot_means, factor, list(means))
    value_axis(axes, view, [value for values in points.values() for value in values])
    decimals = answer_digits(rows, view)
    for at, (level, mean) in enumerate(means.items()):
        axes.plot(
            [at] * len(points[level]), points[level], linestyle="", ms=5.5,
            marker=marks[level].marker, color=marks[level].colour,
            markeredgecolor=PAPER, markeredgewidth=0.6, zorder=3,
        )  # fmt: skip
        _mean_bar(axes, at, view.value(mean), marks[level].colour, decimals, len(means) == 2)
    axes.set_xlim(-0.55, len(means) - 0.45)
    width = 18 if len(means) == 2 else 13
    names = [fill(level_label(definition, level), width) for level in means]
    axes.set_xticks(range(len(means)), names)
    axes.tick_params(axis="x", length=0, pad=6)
    each = "block" if definition.layout.blocks else "plot"
    axes.set_title(f"{view.head}, every {each}", loc="left", fontsize=SIZE, pad=10)


def _single(
    view: MeasureView, row: pd.Series, plot_means: pd.DataFrame, factor: str, levels: list[str]
) -> dict[str, list[float]]:
    """Gather the single plots of each treatment, where no blocks pair them."""
    on = pd.to_datetime(plot_means["date"]) == pd.Timestamp(str(row["date"]))
    kept = plot_means[on & (plot_means["measure"] == row["measure"])]
    return {
        level: [view.value(float(v)) for v in kept.loc[kept[factor].astype(str) == level, "value"]]
        for level in levels
    }


def _mean_bar(axes: Axes, at: int, mean: float, colour: str, decimals: int, beside: bool) -> None:
    """Draw an estimated mean beside the marks of its treatment, with its number."""
    if not math.isfinite(mean):
        return
    side = -0.13 if beside and at == 0 else 0.13
    axes.plot(
        [at + 0.75 * side, at + 1.95 * side], [mean, mean], color=colour, linewidth=3,
        solid_capstyle="butt", zorder=4, path_effects=HALO,
    )  # fmt: skip
    if beside:
        axes.text(
            at + 2.3 * side, mean, text(mean, decimals), va="center",
            ha="right" if at == 0 else "left", fontweight="bold",
        )  # fmt: skip
        return
    low, high = axes.get_ylim()
    axes.text(
        at + 1.35 * side, mean + 0.025 * (high - low), text(mean, decimals), va="bottom",
        ha="center", fontweight="bold", path_effects=HALO,
    )  # fmt: skip


def _family(
    axes: Axes,
    view: MeasureView,
    rows: list[pd.Series],
    plot_means: pd.DataFrame,
    definition: Definition,
) -> None:
    """Draw the comparisons of a declared family side by side."""
    factor = definition.factor_of(str(rows[0]["left"]))
    decimals = max(shown_decimals(row, view) for row in rows)
    found, labels = [0.0], []
    for at, row in enumerate(rows):
        values = _own(view, row, plot_means, definition)
        ends = _ends(view, row)
        found += [*values, *ends, view.difference(float(row["matters_from"]))]
        found.append(-view.difference(float(row["matters_from"])))
        _estimate(
            axes,
            (at - 0.16, at + 0.16),
            values,
            ends,
            marks_of(definition, factor)[str(row["left"])],
        )
        said = text(ends[1], decimals, signed=True) if math.isfinite(ends[1]) else "not estimated"
        if math.isfinite(ends[0]):
            said += f"\n{between_text(ends[0], ends[2], decimals, signed=True)}"
        labels.append(f"{fill(level_label(definition, str(row['left'])), 16)}\n{said}")
    _difference_axis(axes, view, found, view.difference(float(rows[0]["matters_from"])))
    axes.set_xlim(-0.5, len(rows) - 0.5)
    axes.set_xticks(range(len(rows)), labels)
    axes.tick_params(axis="both", length=0, pad=6)
    against = in_sentence(level_label(definition, str(rows[0]["right"])))
    unit = f" [{view.difference_unit}]" if view.difference_unit else ""
    axes.set_title(f"Difference from {against}{unit}", loc="left", fontsize=SIZE, pad=10)


def _own(
    view: MeasureView, row: pd.Series, plot_means: pd.DataFrame, definition: Definition
) -> list[float]:
    """Give the difference of every block."""
    left, right = str(row["left"]), str(row["right"])
    factor = definition.factor_of(left)
    own = block_differences(plot_means, str(row["measure"]), row["date"], factor, left, right)
    return [view.difference(float(value)) for value in own]


def _ends(view: MeasureView, row: pd.Series) -> tuple[float, float, float]:
    low, middle, high = (view.difference(float(row[n])) for n in ("lower", "difference", "upper"))
    return low, middle, high


def _difference_axis(axes: Axes, view: MeasureView, found: list[float], matters: float) -> None:
    """Scale the axis of differences, with zero and the band of what is too small to matter."""
    known = [value for value in found if math.isfinite(value)]
    room = 0.06 * (max(known) - min(known))
    axes.set_ylim(min(known) - room, max(known) + room)
    axes.axhspan(-matters, matters, color=BAND, linewidth=0, zorder=0)
    axes.axhline(0, color=INK, linewidth=0.9, zorder=1)
    axes.grid(axis="y", color=RULE, linewidth=0.6)
    axes.spines["left"].set_visible(False)
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(
        lambda value, _: text(value, tick_decimals(list(axes.get_yticks())), True)
    )


def _estimate(
    axes: Axes,
    places: tuple[float, float],
    values: list[float],
    ends: tuple[float, float, float],
    mark: Mark,
) -> None:
    """Draw the blocks' own differences at one place, estimate and interval at the other."""
    low, middle, high = ends
    axes.plot(
        _apart(axes, places[0], values), values, linestyle="", marker="o", ms=_CIRCLE,
        markerfacecolor="none", markeredgecolor=SOFT, markeredgewidth=0.8, zorder=2,
    )  # fmt: skip
    if math.isfinite(low) and math.isfinite(high):
        axes.vlines(
            places[1], low, high, color=mark.colour, linewidth=2.6, zorder=3, path_effects=HALO
        )
    axes.plot(
        [places[1]], [middle], marker=mark.marker, color=mark.colour, ms=8,
        markeredgecolor=PAPER, markeredgewidth=0.8, zorder=4,
    )  # fmt: skip


def _apart(axes: Axes, place: float, values: list[float]) -> list[float]:
    """Move circles that would lie on one another sideways, so that all can be counted.

    Parameters
    ----------
    axes : Axes
        Scaled already.
    place : float
        Where the middle of the circles is to be, on an axis of 1.3 inches a unit.
    values : list of float
        Their heights, on the axis.

    Returns
    -------
    list of float
        Place of each circle, in the order of the values.
    """
    bottom, top = axes.get_ylim()
    tall = _CIRCLE / 72 * (top - bottom) / _HEIGHT
    wide = 1.15 * _CIRCLE / 72 / 1.3
    groups: list[list[int]] = []
    for at in sorted(range(len(values)), key=lambda at: values[at]):
        if groups and values[at] - values[groups[-1][-1]] < tall:
            groups[-1].append(at)
        else:
            groups.append([at])
    places = [place] * len(values)
    for group in groups:
        # A chain of overlaps takes two lanes in turn; what lies at one height, a lane each.
        tight = len(group) > 2 and values[group[-1]] - values[group[0]] < 1.5 * tall
        lanes = len(group) if tight else min(len(group), 2)
        for n, at in enumerate(group):
            places[at] += (n % lanes - (lanes - 1) / 2) * wide
    return places


def _difference(
    axes: Axes,
    view: MeasureView,
    row: pd.Series,
    plot_means: pd.DataFrame,
    definition: Definition,
) -> None:
    """Draw the one comparison, its numbers beside it."""
    mark = marks_of(definition, definition.factor_of(str(row["left"])))[str(row["left"])]
    matters = view.difference(float(row["matters_from"]))
    values, ends = _own(view, row, plot_means, definition), _ends(view, row)
    _difference_axis(axes, view, [0.0, *ends, -matters, matters, *values], matters)
    axes.set_xlim(0, 1)
    _estimate(axes, (0.25, 0.72), values, ends, mark)
    _difference_words(axes, view, row, ends)
    blocked = definition.layout.blocks > 0
    axes.set_xticks([0.25, 0.72], ["blocks" if blocked else "", "estimate"])
    axes.tick_params(axis="both", length=0, pad=6)
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
    # The band is named at its edge, on the side of the estimate.
    edge = math.copysign(view.difference(float(row["matters_from"])), middle)
    inside = edge - math.copysign(1.2 * line, edge) if math.isfinite(edge) else 0.0
    wanted = [(inside, 2.4 * line, "band"), (middle - 0.6 * line, 3.4 * line, "estimate")]
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
    rows = [row_at(primary, at) for at in planned_rows(primary, definition)]
    view = measure_view(definition, str(rows[0]["measure"]))
    decimals = answer_digits(rows, view)
    means = {str(rows[0]["right"]): float(rows[0]["right_mean"])}
    means |= {str(row["left"]): float(row["left_mean"]) for row in rows}
    unit = f" {view.unit}" if view.unit else ""
    said = ", ".join(
        f"{in_sentence(level_label(definition, level))} {text(view.value(mean), decimals)}{unit}"
        for level, mean in means.items()
    )
    within = []
    for row in rows:
        own = [text(v, decimals, signed=True) for v in _own(view, row, plot_means, definition)]
        name = f" of {in_sentence(level_label(definition, str(row['left'])))}"
        name = name if len(rows) > 1 else ""
        within += [f"Differences{name} within the blocks: {', '.join(own)}."] if own else []
    return (
        f"{view.label} on {day_text(rows[0]['date'])}: {said}. "
        f"{' '.join([str(answer(primary, definition)), *within])} "
        f"The band of what is too small to matter ends at {matters_text(definition)}."
    )
