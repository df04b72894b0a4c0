"""Pictures of differences: estimates and intervals against zero and what matters."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from wintersward.report.block_values import BlockValues
from wintersward.report.comparisons import pair_rank
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
from wintersward.report.numbers import (
    between_text,
    day_short,
    day_text,
    table_decimals,
    text,
    tick_decimals,
)
from wintersward.report.views import (
    MeasureView,
    in_sentence,
    level_label,
    marks_of,
    measure_view,
)
from wintersward.report.words import matters_text
from wintersward.trial.schema import Definition

__all__ = [
    "difference_decimals",
    "differences",
    "differences_alt",
    "shown_differences",
]

_WIDTH = 6.8
_ROW = 0.26
_MOST_ROWS = 36


def shown_differences(
    differences: pd.DataFrame, definition: Definition, measure: str
) -> pd.DataFrame:
    """Choose the differences that a picture or a main table shows.

    The primary contrast stands in for the adjusted one of its pair and date. Where there are
    too many pairs to read, only those with the control stay.

    Parameters
    ----------
    differences : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What is compared.

    Returns
    -------
    DataFrame
        Rows of the table with its index, sorted by factor, pair and date as they stand.
    """
    kept = differences[
        (differences["measure"] == measure)
        & (differences["within"].fillna("") == "")
        & ~differences["effect"].astype(str).str.contains(":")
    ]
    kept = kept.assign(date=pd.to_datetime(kept["date"]))
    first = kept.sort_values("role", key=lambda r: r != "primary", kind="stable")
    one = first.drop_duplicates(["effect", "left", "right", "date"]).sort_index()
    if len(one) > _MOST_ROWS:
        controls = [factor.control for factor in definition.treatments.values()]
        one = one[one["right"].isin(controls) | one["left"].isin(controls)]
    pairs = dict.fromkeys(zip(one["effect"], one["left"], one["right"], strict=True))
    ranked = sorted(pairs, key=lambda pair: pair_rank(definition, *pair))
    order = {pair: at for at, pair in enumerate(ranked)}
    rank = [order[pair] for pair in zip(one["effect"], one["left"], one["right"], strict=True)]
    ordered = one.assign(_rank=rank).sort_values(["_rank", "date"], kind="stable")
    return ordered.drop(columns="_rank")


@dataclass(frozen=True)
class _Line:
    """One difference where it stands in the picture."""

    row: pd.Series
    y: float


def differences(
    differences: pd.DataFrame, plot_means: pd.DataFrame, definition: Definition, measure: str
) -> Figure:
    """Draw the differences between treatments on every date against zero.

    Parameters
    ----------
    differences, plot_means : DataFrame
        Tables of a run, of any measures, in SI.
    definition : Definition
        The trial.
    measure : str
        What to draw.

    Returns
    -------
    Figure
        One line a pair and date: the estimate with its interval, every block's own difference,
        and, under the line of the primary question, a band for what is too small to matter.
    """
    view = measure_view(definition, measure)
    shown = shown_differences(differences, definition, measure)
    if shown.empty:
        return empty_figure(_WIDTH, f"{view.label}: no differences yet")
    lines, heads, depth = _places(shown, definition)
    blocks = BlockValues(plot_means, measure)
    with style():
        figure = new_figure(_WIDTH, depth * _ROW + 1.1)
        axes = axes_at(figure, 0.95, 0.65, _WIDTH - 2.75, depth * _ROW)
        axes.set_ylim(depth - 0.4, -0.6)
        _scale(axes, view, shown, blocks, definition)
        _ground(axes, view, lines, definition)
        for line in lines:
            _blocks(axes, view, line, blocks)
            _estimate(axes, view, line, definition)
        _words(axes, view, lines, heads)
    return figure


def _places(
    shown: pd.DataFrame, definition: Definition
) -> tuple[list[_Line], list[tuple[float, str]], float]:
    """Stack the lines under one head a pair; return lines, heads and depth."""
    lines, heads, y = [], [], 0.0
    before: tuple[str, str] | None = None
    for _, row in shown.iterrows():
        pair = (str(row["left"]), str(row["right"]))
        if pair != before:
            y += 0.35 if before else 0.0
            left, right = (level_label(definition, level) for level in pair)
            heads.append((y, f"{left} minus {in_sentence(right)}"))
            before, y = pair, y + 1.0
        lines.append(_Line(row, y))
        y += 1.0
    return lines, heads, y


def _scale(
    axes: Axes,
    view: MeasureView,
    shown: pd.DataFrame,
    blocks: BlockValues,
    definition: Definition,
) -> None:
    """Set the axis of differences, with zero and what matters inside."""
    ends = [0.0, *shown["lower"], *shown["upper"], *shown["difference"]]
    for _, row in shown.iterrows():
        ends += list(_row_blocks(row, blocks))
    if (shown["role"] == "primary").any():
        matters = definition.analysis.primary.matters_from.value
        ends += [-matters, matters]
    found = [view.difference(float(end)) for end in ends if np.isfinite(end)]
    room = 0.05 * ((max(found) - min(found)) or 1.0)
    axes.set_xlim(min(found) - room, max(found) + room)
    axes.xaxis.set_major_locator(MaxNLocator(7, steps=[1, 2, 2.5, 5, 10]))
    axes.xaxis.set_major_formatter(
        lambda value, _: text(value, tick_decimals(list(axes.get_xticks())), True)
    )
    axes.grid(axis="x", color=RULE, linewidth=0.6)
    axes.spines["left"].set_visible(False)
    unit = f" [{view.difference_unit}]" if view.difference_unit else ""
    words = f"Difference in {view.noun}{unit}"
    if (shown["role"] == "primary").any():
        matters_from = matters_text(definition)
        words += f"\nshaded: below {matters_from}, named for the primary question"
    axes.set_xlabel(words, labelpad=4)


def _ground(axes: Axes, view: MeasureView, lines: list[_Line], definition: Definition) -> None:
    """Draw zero under every pair but not its head, and what is too small to matter.

    The smallest difference that matters is named for the primary question alone.
    """
    pairs: dict[tuple[str, str], list[float]] = {}
    for line in lines:
        pairs.setdefault((str(line.row["left"]), str(line.row["right"])), []).append(line.y)
        if line.row["role"] == "primary":
            matters = view.difference(definition.analysis.primary.matters_from.value)
            span = [line.y - 0.5, line.y + 0.5]
            axes.fill_betweenx(span, -matters, matters, color=BAND, linewidth=0, zorder=0)
    for places in pairs.values():
        axes.vlines(0, min(places) - 0.5, max(places) + 0.6, color=INK, linewidth=0.9, zorder=1)


def _row_blocks(row: pd.Series, blocks: BlockValues) -> Iterable[float]:
    effect, left, right = (str(row[name]) for name in ("effect", "left", "right"))
    return blocks.differences(row["date"], effect, left, right)


def _blocks(axes: Axes, view: MeasureView, line: _Line, blocks: BlockValues) -> None:
    own = [view.difference(value) for value in _row_blocks(line.row, blocks)]
    axes.plot(
        own, [line.y + 0.3] * len(own), linestyle="", marker="o", ms=3.2, markerfacecolor="none",
        markeredgecolor=SOFT, markeredgewidth=0.7, alpha=0.75, zorder=2,
    )  # fmt: skip


def _estimate(axes: Axes, view: MeasureView, line: _Line, definition: Definition) -> None:
    row = line.row
    low, middle, high = (view.difference(float(row[n])) for n in ("lower", "difference", "upper"))
    mark = marks_of(definition, str(row["effect"]))[str(row["left"])]
    if np.isfinite([low, high]).all():
        width = 2.6 if row["role"] == "primary" else 1.8
        axes.hlines(
            line.y, low, high, color=mark.colour, linewidth=width, zorder=3, path_effects=HALO
        )
    if np.isfinite(middle):
        axes.plot(
            [middle], [line.y], marker=mark.marker, color=mark.colour, ms=6,
            markeredgecolor=PAPER, markeredgewidth=0.8, zorder=4,
        )  # fmt: skip


def _words(
    axes: Axes, view: MeasureView, lines: list[_Line], heads: list[tuple[float, str]]
) -> None:
    """Write pairs and dates at the left, the numbers at the right."""
    across = axes.get_yaxis_transform()
    axes.set_yticks([])
    for y, head in heads:
        axes.text(-0.2, y, head, transform=across, va="center", fontweight="bold")
    decimals = difference_decimals(view, pd.DataFrame([line.row for line in lines]))
    for line in lines:
        row = line.row
        primary = row["role"] == "primary"
        weight = "bold" if primary else "normal"
        axes.text(
            -0.03, line.y, day_short(row["date"]), transform=across, va="center", ha="right",
            fontweight=weight,
        )  # fmt: skip
        numbers = _numbers(view, row, decimals)
        axes.text(
            1.04, line.y, numbers, transform=across, va="center", fontweight=weight,
            fontsize=SIZE - 0.5,
        )  # fmt: skip


def difference_decimals(view: MeasureView, shown: pd.DataFrame) -> int:
    """Choose the decimals in which differences are written side by side.

    Parameters
    ----------
    view : MeasureView
        The measure.
    shown : DataFrame
        Rows of the table ``differences``, in SI.

    Returns
    -------
    int
        By the standard errors; one more where half an interval is less than two steps of the
        last digit, and up to two more where its end would be written as zero without being zero.
    """
    decimals = table_decimals([view.difference(float(se)) for se in shown["se"]])
    pairs = zip(shown["lower"], shown["upper"], strict=True)
    halves = [view.difference(float(upper) - float(lower)) / 2 for lower, upper in pairs]
    decimals += any(0 < half < 2 * 10**-decimals for half in halves)
    ends = [view.difference(float(end)) for end in [*shown["lower"], *shown["upper"]]]
    for _ in range(2):
        decimals += any(end != 0 and abs(end) < 0.5 * 10**-decimals for end in ends)
    return decimals


def _numbers(view: MeasureView, row: pd.Series, decimals: int) -> str:
    low, middle, high = (view.difference(float(row[n])) for n in ("lower", "difference", "upper"))
    interval = between_text(low, high, decimals, signed=True)
    return f"{text(middle, decimals, signed=True)} ({interval})"


def differences_alt(differences: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Tell what `differences` shows, with its numbers.

    Parameters
    ----------
    differences : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What is compared.
    """
    view = measure_view(definition, measure)
    shown = shown_differences(differences, definition, measure)
    if shown.empty:
        return f"{view.label}: no differences yet."
    unit = f", in {view.difference_unit}" if view.difference_unit else ""
    said = [f"Differences in {view.noun}{unit}, with intervals, against zero."]
    decimals = difference_decimals(view, shown)
    for (left, right), rows in shown.groupby(["left", "right"], sort=False):
        days = [
            f"{day_text(row['date'])} {_numbers(view, row, decimals)}"
            + (" (the primary question)" if row["role"] == "primary" else "")
            for _, row in rows.iterrows()
        ]
        first, second = (level_label(definition, str(level)) for level in (left, right))
        said.append(f"{first} minus {in_sentence(second)}: {'; '.join(days)}.")
    return " ".join(said)
