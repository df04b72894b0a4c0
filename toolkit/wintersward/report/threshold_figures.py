"""Pictures of other windows of green: the answer, or the cover of all plots, as a band."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from wintersward.report.comparisons import pair_text
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
    style,
)
from wintersward.report.numbers import between_text, day_text, level_text, text, tick_decimals
from wintersward.report.picture import Picture
from wintersward.report.said import row_at, value_at
from wintersward.report.threshold_answers import Hanging, hangings
from wintersward.report.thresholds import PICTURE
from wintersward.report.views import MeasureView, marks_of, measure_view
from wintersward.report.words import matters_text
from wintersward.trial.schema import Definition

__all__ = [
    "answers_by_window",
    "answers_by_window_alt",
    "covers_by_window",
    "covers_by_window_alt",
    "threshold_pictures",
]

_WIDTH, _HIGH, _LEFT, _GAP = 6.8, 2.1, 0.55, 0.14
_BETWEEN_ROWS = 0.75
_WIDE = 0.22
_NARROW = 0.5

Convert = Callable[[float], float]
# The columns of a band: its lower end, its middle, its upper end.
Columns = tuple[str, str, str]
_ANSWER: Columns = ("lower", "difference", "upper")
_COVER: Columns = ("lowest", "mean", "highest")


def answers_by_window(answers: pd.DataFrame, definition: Definition) -> Figure:
    """Draw the primary difference by every window of green.

    Parameters
    ----------
    answers : DataFrame
        Table ``window_answers`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        A panel for each lowest saturation, a row for each comparison: over the lower edge of hue
        the difference with its interval, as bands that hold every upper edge of hue; the declared
        window as a mark with its interval; zero, and the band of what is too small to matter.
    """
    view = measure_view(definition, definition.analysis.primary.measure)
    found = hangings(answers, definition)
    if not found:
        return empty_figure(_WIDTH, f"{view.label}: no comparison by other windows of green")
    floors = sorted(answers["saturation_low"].unique())
    unit = f" [{view.difference_unit}]" if view.difference_unit else ""
    several = len(found) > 1
    with style():
        figure, rows = _panels(len(found), len(floors))
        for one, panels in zip(found, rows, strict=True):
            own = answers[(answers["left"] == one.left) & (answers["right"] == one.right)]
            factor = definition.factor_of(one.left)
            colour = marks_of(definition, factor)[one.left].colour
            matters = view.difference(definition.analysis.primary.matters_from.value)
            upper, columns = value_at(own, one.declared, "hue_high"), _ANSWER
            for axes, floor in zip(panels, floors, strict=True):
                axes.axhspan(-matters, matters, color=BAND, linewidth=0, zorder=0)
                axes.axhline(0, color=INK, linewidth=0.9, zorder=1)
                rows_there = own[own["saturation_low"] == floor]
                _band(axes, rows_there, upper, columns, colour, view.difference)
            ends = [view.difference(end) for name in columns for end in own[name].astype(float)]
            _scale(panels, [*ends, -matters, matters, 0.0])
            title = f"Difference in {view.noun}{unit}"
            _heads(
                panels,
                floors,
                pair_text(definition, row_at(answers, one.declared)) + unit if several else title,
            )
    return figure


def covers_by_window(covers: pd.DataFrame, definition: Definition) -> Figure:
    """Draw the cover of all plots together by every window of green; no treatment is told.

    Parameters
    ----------
    covers : DataFrame
        Table ``window_covers`` of a run.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        As `answers_by_window`, with the mean of the plots, and the least and the most of them.
    """
    view = measure_view(definition, definition.analysis.primary.measure)
    if covers.empty or covers["mean"].isna().all():
        return empty_figure(_WIDTH, f"{view.label}: no cover by other windows of green yet")
    floors = sorted(covers["saturation_low"].unique())
    upper = float(covers.loc[covers["declared"] == "yes", "hue_high"].iloc[0])
    with style():
        figure, (panels,) = _panels(1, len(floors))
        for axes, floor in zip(panels, floors, strict=True):
            rows = covers[covers["saturation_low"] == floor]
            _band(axes, rows, upper, _COVER, SOFT, view.value)
            axes.set_ylim(0, 100)
            axes.set_yticks(range(0, 101, 20))
        _heads(panels, floors, f"{view.head}, all plots")
    return figure


def _panels(rows: int, columns: int) -> tuple[Figure, list[list[Axes]]]:
    """Lay out panels, from the top row down."""
    wide = (_WIDTH - _LEFT - _GAP * columns) / columns
    each = _HIGH + _BETWEEN_ROWS
    figure = new_figure(_WIDTH, 0.25 + each * rows)
    made = []
    for row in range(rows):
        bottom = 0.5 + each * (rows - 1 - row)
        made.append(
            [
                axes_at(figure, _LEFT + at * (wide + _GAP), bottom, wide, _HIGH)
                for at in range(columns)
            ]
        )
    return figure, made


def _band(
    axes: Axes, rows: pd.DataFrame, upper: float, columns: Columns, colour: str, shown: Convert
) -> None:
    """Draw over the lower edge of hue what every upper edge gives, and the declared window.

    The line is that of the declared upper edge.
    """
    low, middle, high = columns
    edges = rows.groupby("hue_low")
    x = np.array(sorted(rows["hue_low"].unique()), dtype=float)

    def ends(name: str, how: str) -> list[float]:
        return [shown(float(value)) for value in edges[name].agg(how)]

    axes.fill_between(
        x, ends(low, "min"), ends(high, "max"), color=colour, alpha=_WIDE, linewidth=0, zorder=2
    )
    axes.fill_between(
        x, ends(middle, "min"), ends(middle, "max"), color=colour, alpha=_NARROW, linewidth=0,
        zorder=3,
    )  # fmt: skip
    line = rows[rows["hue_high"] == upper].sort_values("hue_low")
    values = [shown(float(value)) for value in line[middle]]
    axes.plot(line["hue_low"].to_numpy(float), values, color=colour, linewidth=1.4, zorder=3)
    for row in rows[rows["declared"] == "yes"].to_dict("records"):
        at = float(row["hue_low"])
        values = [shown(float(row[name])) for name in columns]
        if columns == _ANSWER:  # what plots reach is no interval, and must not look like one
            ends_of = values[0], values[2]
            axes.vlines(at, *ends_of, color=INK, linewidth=1.6, zorder=4, path_effects=HALO)
        axes.plot(
            [at], [values[1]], marker="o", color=INK, ms=6, markeredgecolor=PAPER,
            markeredgewidth=0.8, zorder=5,
        )  # fmt: skip
    room = 0.12 * ((x[-1] - x[0]) or 10.0)
    axes.set_xlim(x[0] - room, x[-1] + room)
    axes.set_xticks(x[:: 2 if len(x) > 3 else 1])


def _scale(panels: list[Axes], values: list[float]) -> None:
    """Give the panels of a row one axis, signed."""
    found = [value for value in values if np.isfinite(value)]
    room = 0.05 * (max(found) - min(found))
    for axes in panels:
        axes.set_ylim(min(found) - room, max(found) + room)
        axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
        decimals = tick_decimals([float(tick) for tick in axes.get_yticks()])
        axes.yaxis.set_major_formatter(partial(_signed, decimals))


def _signed(decimals: int, value: float, _: object = None) -> str:
    return text(value, decimals, signed=True)


def _heads(panels: list[Axes], floors: list[float], title: str) -> None:
    """Name the axes: the measure above the first panel, the edge of hue below the middle."""
    for axes, floor in zip(panels, floors, strict=True):
        axes.grid(axis="y", color=RULE, linewidth=0.6)
        axes.tick_params(axis="y", length=0, labelleft=axes is panels[0])
        axes.tick_params(axis="x", length=3, pad=3)
        axes.spines["left"].set_visible(False)
        words = f"saturation from {floor:g}"
        axes.text(
            0.5, 1.015, words, transform=axes.transAxes, ha="center", va="bottom", color=SOFT,
            fontsize=SIZE - 1,
        )  # fmt: skip
    panels[0].set_title(title, loc="left", fontsize=SIZE, pad=18)
    figure = panels[0].figure
    left, right = panels[0].get_position(), panels[-1].get_position()
    inch = 1 / figure.get_size_inches()[1]  # type: ignore[union-attr]
    figure.text(
        (left.x0 + right.x1) / 2, left.y0 - 0.42 * inch, "Lower edge of hue [degrees]",
        ha="center", va="center",
    )  # fmt: skip


def answers_by_window_alt(answers: pd.DataFrame, definition: Definition) -> str:
    """Tell what `answers_by_window` shows, with its numbers.

    Parameters
    ----------
    answers : DataFrame
        Table ``window_answers`` of a run, in SI.
    definition : Definition
        The trial.
    """
    view = measure_view(definition, definition.analysis.primary.measure)
    found = hangings(answers, definition)
    if not found:
        return f"{view.label}: no comparison by other windows of green."
    unit = f", in {view.difference_unit}" if view.difference_unit else ""
    said = [
        f"Differences in {view.noun}{unit}, by {found[0].windows} windows of green around the "
        f"declared one, against zero and {matters_text(definition)}."
    ]
    for one in found:
        own = answers[(answers["left"] == one.left) & (answers["right"] == one.right)]
        said.append(_pair_alt(own, one, view, definition))
    return " ".join(said)


def _pair_alt(own: pd.DataFrame, one: Hanging, view: MeasureView, definition: Definition) -> str:
    def shown(at: int, name: str) -> float:
        return view.difference(value_at(own, at, name))

    interval = between_text(shown(one.declared, "lower"), shown(one.declared, "upper"), 1, True)
    ends = between_text(shown(one.least, "difference"), shown(one.most, "difference"), 1, True)
    widest = between_text(
        view.difference(float(own["lower"].min())),
        view.difference(float(own["upper"].max())),
        1,
        True,
    )
    zero = "leaves out zero on that side" if one.side else "holds zero"
    return (
        f"{pair_text(definition, row_at(own, one.declared))}: declared window "
        f"{text(shown(one.declared, 'difference'), 1, True)} ({interval}); all windows {ends}, "
        f"their intervals within {widest}; by {one.alike} of {one.answered} the interval {zero}."
    )


def covers_by_window_alt(covers: pd.DataFrame, definition: Definition) -> str:
    """Tell what `covers_by_window` shows, with its numbers.

    Parameters
    ----------
    covers : DataFrame
        Table ``window_covers`` of a run.
    definition : Definition
        The trial.
    """
    view = measure_view(definition, definition.analysis.primary.measure)
    if covers.empty or covers["mean"].isna().all():
        return f"{view.label}: no cover by other windows of green yet."
    own = covers[covers["declared"] == "yes"].iloc[0]
    ends = between_text(float(covers["mean"].min()), float(covers["mean"].max()), 1)
    plots = between_text(float(covers["lowest"].min()), float(covers["highest"].max()), 1)
    return (
        f"{view.label} of all plots on {day_text(own['date'])}, in %, by {len(covers)} windows of "
        f"green: mean {text(float(own['mean']), 1)} by the declared window, {ends} by all; single "
        f"plots from {plots}."
    )


def threshold_pictures(
    covers: pd.DataFrame, answers: pd.DataFrame, definition: Definition
) -> list[Picture]:
    """Make the picture of other windows of green: of the answer where there is one.

    Parameters
    ----------
    covers, answers : DataFrame
        Tables ``window_covers`` and ``window_answers`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Picture
        None where nothing was scored by other windows.
    """
    panels = (
        "A panel for each lowest saturation; from left to right the lower edge of hue rises, so "
        "that less counts as green"
    )
    if hangings(answers, definition):
        level = level_text(definition.analysis.alpha)
        caption = (
            f"The answer by other windows of green. {panels}. The line keeps the declared "
            f"upper edge of hue, and the dark band around it holds the others; the pale band holds "
            f"their {level} intervals. The mark is the declared window. Shaded: below "
            f"{matters_text(definition)}."
        )
        figure = answers_by_window(answers, definition)
        alt = answers_by_window_alt(answers, definition)
        return [Picture(PICTURE, figure, alt, caption)]
    if covers.empty or covers["mean"].isna().all():
        return []
    caption = (
        f"Cover of all plots by other windows of green. {panels}. The line is the mean of the "
        "plots, the pale band reaches from the plot with the least to the one with the most; the "
        "mark is the declared window. Treatments are not told apart."
    )
    figure, alt = covers_by_window(covers, definition), covers_by_window_alt(covers, definition)
    return [Picture(PICTURE, figure, alt, caption)]
