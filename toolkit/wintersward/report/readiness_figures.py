"""The picture of readiness: each treatment's mean with its bounds against the limit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from textwrap import fill
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator
from matplotlib.transforms import ScaledTranslation, blended_transform_factory

from wintersward.analysis.decision_columns_readiness import READINESS
from wintersward.decisions.limits import CANNOT_TELL, MET
from wintersward.decisions.rows import framed
from wintersward.design import Mark
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
from wintersward.report.limit_words import TABLE, bound_decimals, finest, limit_text, shown_bounds
from wintersward.report.numbers import day_text, text, tick_decimals
from wintersward.report.picture import Picture
from wintersward.report.said import row_at
from wintersward.report.views import (
    MeasureView,
    in_sentence,
    level_label,
    main_factor,
    marks_of,
    measure_view,
)
from wintersward.trial.schema import Definition

__all__ = ["readiness_alt", "readiness_figure", "readiness_pictures"]

_WIDTH, _NAMES, _VERDICTS, _GAP = 7.1, 2.65, 0.85, 0.1
_ROW, _ABOVE, _BELOW = 0.23, 0.55, 0.35
_WORDS = {CANNOT_TELL: "cannot tell"}
_OPEN = "Open marks: with another than the control of the second factor. "
_NONE = "Nothing was held against a limit."


def readiness_pictures(tables: Mapping[str, pd.DataFrame], definition: Definition) -> list[Picture]:
    """Make the picture of readiness; none where nothing was held against a limit.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables of a run, in SI; ``readiness`` among them.
    definition : Definition
        The trial.
    """
    rows = tables[TABLE] if TABLE in tables else framed(READINESS[TABLE])
    if rows.empty:
        return []
    crossed = rows["effect"].astype(str).str.contains(":").any()
    caption = (
        "Each treatment's mean and its two one-sided bounds against the limit; the shaded side "
        "meets it. Met: the whole bar lies on the shaded side; not met: all of it lies on the "
        "other; where it crosses the line these data cannot tell. "
        f"{_OPEN if crossed else ''}The axes begin near the values, not at zero. That a limit is "
        "met does not mean that no injury can occur."
    )
    figure = readiness_figure(rows, definition)
    return [Picture(TABLE, figure, readiness_alt(rows, definition), caption)]


def readiness_figure(rows: pd.DataFrame, definition: Definition) -> Figure:
    """Draw every limit in a panel of its own.

    Parameters
    ----------
    rows : DataFrame
        Table ``readiness`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        One panel a limit, one line a treatment, of the finest ones that there are; panels of the
        same treatments stand side by side.
    """
    lines = _lines(_panels(rows, definition))
    if not lines:
        return empty_figure(_WIDTH, _NONE)
    heights = [_ROW * len(line[0][1]) for line in lines]
    whole = sum(heights) + len(lines) * (_ABOVE + _BELOW)
    with style():
        figure = new_figure(_WIDTH, whole)
        top = whole
        for line, height in zip(lines, heights, strict=True):
            top -= _ABOVE + height
            for at, (name, own) in enumerate(line):
                each = (_WIDTH - _NAMES) / len(line)
                box = (_NAMES + at * each, top, each - _VERDICTS, height)
                axes = axes_at(figure, *box)
                _panel(axes, own, measure_view(definition, name), definition)
                if at == 0:
                    _names(axes, own, definition)
            top -= _BELOW
    return figure


def _lines(panels: list[tuple[str, pd.DataFrame]]) -> list[list[tuple[str, pd.DataFrame]]]:
    """Put panels of the same treatments side by side, two in a line."""
    lines: list[list[tuple[str, pd.DataFrame]]] = []
    for panel in panels:
        before = lines[-1] if lines else []
        if len(before) == 1 and [*before[0][1]["level"]] == [*panel[1]["level"]]:
            before.append(panel)
        else:
            lines.append([panel])
    return lines


def _names(axes: Axes, rows: pd.DataFrame, definition: Definition) -> None:
    """Name the treatments at the left: that of the first factor once, above those within it."""
    first = ""
    for place, level in enumerate(rows["level"].astype(str)):
        outer, _, inner = level.partition(":")
        words = level_label(definition, inner or outer)
        axes.text(-_GAP, place, words, transform=_beside(axes), va="center", ha="right")
        if inner and outer != first:
            said = fill(level_label(definition, outer), 16)
            here = [str(one).split(":")[0] == outer for one in rows["level"]]
            middle = place + (sum(here) - 1) / 2
            axes.text(
                -_NAMES + 0.02, middle, said, transform=_beside(axes), va="center", linespacing=1.1
            )
        first = outer


def _beside(axes: Axes) -> Any:
    """Measure across in inches from the left of the axes, and downwards in rows."""
    figure = axes.get_figure()
    left = axes.get_position().x0
    across = ScaledTranslation(left * _WIDTH, 0, figure.dpi_scale_trans)  # type: ignore[union-attr]
    inch = figure.dpi_scale_trans + across  # type: ignore[union-attr]
    return blended_transform_factory(inch, axes.transData)


def _panels(rows: pd.DataFrame, definition: Definition) -> list[tuple[str, pd.DataFrame]]:
    """Take the finest treatments of every limit, in the definition's order."""
    found = []
    for name in definition.measures:
        own = rows[rows["measure"] == name]
        if not own.empty:
            fine = finest(own)
            order = sorted(map(int, fine.index), key=lambda at: _rank(fine, at, definition))
            found.append((name, fine.loc[order]))
    return found


def _rank(rows: pd.DataFrame, at: int, definition: Definition) -> list[int]:
    names = str(rows["effect"].loc[at]).split(":")
    levels = str(rows["level"].loc[at]).split(":")
    return [
        list(definition.treatments[name].levels).index(level)
        for name, level in zip(names, levels, strict=True)
    ]


def _panel(axes: Axes, rows: pd.DataFrame, view: MeasureView, definition: Definition) -> None:
    """Draw one limit: names at the left, means and bounds, verdicts at the right."""
    first = row_at(rows, int(rows.index[0]))
    limit = view.value(float(first["limit"]))
    _scale(axes, rows, view, limit)
    if math.isfinite(limit):
        low, high = axes.get_xlim()
        meets = (limit, high) if first["at"] == "at least" else (low, limit)
        axes.axvspan(*meets, color=BAND, linewidth=0, zorder=0)
        axes.axvline(limit, color=INK, linewidth=1.1, zorder=2)
    for place, at in enumerate(map(int, rows.index)):
        row = row_at(rows, at)
        _bar(axes, place, row, view, definition)
        verdict = str(row["verdict"])
        axes.text(
            1.04, place, _WORDS.get(verdict, verdict), transform=axes.get_yaxis_transform(),
            va="center", fontweight="normal" if verdict == MET else "bold",
        )  # fmt: skip
    axes.set_yticks([])
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.spines["left"].set_visible(False)
    asked = limit_text(view, float(first["limit"])) if math.isfinite(limit) else "its limit"
    title = f"{view.label}, {first['at']} {asked}\n{day_text(first['date'])}"
    title += ", exploratory" if (rows["role"] == "exploratory").any() else ""
    axes.set_title(title, loc="left", fontsize=SIZE, pad=7, linespacing=1.2)


def _bar(axes: Axes, place: int, row: pd.Series, view: MeasureView, definition: Definition) -> None:
    """Draw mean and bounds of one treatment; a mean without bounds is a mark alone."""
    mark, filled = _mark(row, definition)
    mean, low, high = (view.value(float(row[name])) for name in ("mean", "lower", "upper"))
    if not math.isfinite(mean):
        return
    if math.isfinite(low) and math.isfinite(high):
        axes.hlines(place, low, high, color=mark.colour, linewidth=2.2, zorder=3, path_effects=HALO)
    axes.plot(
        [mean], [place], linestyle="", marker=mark.marker, ms=6, zorder=4,
        markerfacecolor=mark.colour if filled else PAPER, markeredgecolor=mark.colour,
        markeredgewidth=1.3,
    )  # fmt: skip


def _mark(row: pd.Series, definition: Definition) -> tuple[Mark, bool]:
    """Take the mark of the main factor; filled with the control of the other one, or alone."""
    held = dict(zip(str(row["effect"]).split(":"), str(row["level"]).split(":"), strict=True))
    main = main_factor(definition)
    shown = main if main in held else next(iter(held))
    others = [name for name in held if name != shown]
    filled = all(held[name] == definition.treatments[name].control for name in others)
    return marks_of(definition, shown)[held[shown]], filled


def _scale(axes: Axes, rows: pd.DataFrame, view: MeasureView, limit: float) -> None:
    """Scale the axis around means, bounds and limit, within what can be."""
    ends = [view.value(float(v)) for name in ("mean", "lower", "upper") for v in rows[name]]
    found = [end for end in (*ends, limit) if math.isfinite(end)] or [0.0, 1.0]
    room = 0.12 * ((max(found) - min(found)) or 1.0)
    low, high = min(found) - room, max(found) + room
    least, most = view.limits
    low = low if least is None else max(low, least - 0.2 * room)
    high = high if most is None else min(high, most + 0.2 * room)
    axes.set_xlim(low, high)
    axes.xaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
    decimals = tick_decimals(list(axes.get_xticks()))
    unit = f" {view.unit}" if view.kind != "bare" else ""
    last = max(tick for tick in axes.get_xticks() if tick <= high + 1e-9)
    axes.xaxis.set_major_formatter(
        FuncFormatter(lambda v, _: text(v, decimals) + (unit if math.isclose(v, last) else ""))
    )
    axes.grid(axis="x", color=RULE, linewidth=0.6)
    axes.tick_params(axis="x", length=3, color=SOFT)


def readiness_alt(rows: pd.DataFrame, definition: Definition) -> str:
    """Tell what `readiness_figure` shows, with its numbers.

    Parameters
    ----------
    rows : DataFrame
        Table ``readiness`` of a run, in SI.
    definition : Definition
        The trial.
    """
    said = []
    for name, own in _panels(rows, definition):
        first, view = row_at(own, int(own.index[0])), measure_view(definition, name)
        limit = float(first["limit"])
        asked = limit_text(view, limit) if math.isfinite(limit) else "its limit"
        each = []
        for at in map(int, own.index):
            row = row_at(own, at)
            label = in_sentence(level_label(definition, str(row["level"])))
            shown = shown_bounds(view, row, bound_decimals(own, at, view))
            each.append(f"{label} {shown}, {row['verdict']}")
        said.append(
            f"{view.label} on {day_text(first['date'])} against {first['at']} {asked}, mean and "
            f"one-sided {float(first['sure']):.4g} % bounds: {'; '.join(each)}."
        )
    return " ".join(said) or _NONE
