"""Pictures over the season: daily means under each cover, and sums of degree days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from wintersward.report.climate_limits import LimitLine, limit_lines, sum_lines
from wintersward.report.climate_views import (
    climate_factor,
    degree_day_view,
    held_levels,
    middles,
    primary_day,
    temperature_view,
    thinned,
)
from wintersward.report.covers import covered_spells
from wintersward.report.drawing import (
    INK,
    SIZE,
    EndLabel,
    axes_at,
    date_axis,
    days_apart,
    empty_figure,
    end_labels,
    inches,
    mark_days,
    new_figure,
    style,
    value_axis,
)
from wintersward.report.numbers import day_text, text
from wintersward.report.progress import Spells
from wintersward.report.views import MeasureView, events, in_sentence, level_label, marks_of
from wintersward.trial.schema import Definition

__all__ = ["sums", "sums_alt", "trace", "trace_alt"]

_WIDTH = 6.8
# What a point of a faint line, and of a strong one, may lie off [pt]: less than the line is wide.
_FAINT, _STRONG = 1.2, 0.4
# An event so soon after the last day is still shown [d].
_SOON = 14
_INCHES_A_CHARACTER, _LINE_INCHES = 0.062, 0.14
Levels = Mapping[str, str]


def trace(
    facts: pd.DataFrame,
    by_level: pd.DataFrame,
    definition: Definition,
    measure: str,
    levels: Levels,
    spells: Spells | None = None,
) -> Figure:
    """Draw the daily means of a temperature: each plot faint, means of treatments strong.

    Parameters
    ----------
    facts, by_level : DataFrame
        The tables ``daily_facts`` and ``under_cover`` of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What to draw.
    levels : mapping of str to str
        Treatment of each plot, or whole plot, with a logger.
    spells : sequence of (date, date), optional
        Time under cover; left out, as planned.

    Returns
    -------
    Figure
        With the covered time as a band, and the limits of `limit_lines` as labelled lines.
    """
    view = temperature_view(definition, measure)
    strong = by_level[by_level["measure"] == measure].rename(columns={"mean": "value"})
    own = facts[(facts["measure"] == measure) & (facts["excluded"].fillna("") == "")]
    least = float(getattr(definition.measures[measure], "complete", 0.0))
    own = own[own["completeness"] >= least - 1e-6].rename(columns={"mean": "value"})
    lines = limit_lines(definition, measure)
    title = f"{view.label}, mean of the day [{view.unit}]"
    return _season(own, strong, definition, view, levels, spells, lines, title)


def sums(
    by_plot: pd.DataFrame,
    by_level: pd.DataFrame,
    definition: Definition,
    levels: Levels,
    spells: Spells | None = None,
) -> Figure:
    """Draw the sums of degree days: each plot faint, means of treatments strong.

    Parameters
    ----------
    by_plot, by_level : DataFrame
        The tables ``degree_day_sums`` and ``degree_days_by_level`` of a run, in SI.
    definition : Definition
        The trial.
    levels : mapping of str to str
        Treatment of each plot, or whole plot, with a logger.
    spells : sequence of (date, date), optional
        Time under cover; left out, as planned.
    """
    view = degree_day_view(definition)
    own = by_plot.assign(value=by_plot["sum"], position="")
    strong = by_level.rename(columns={"sum": "value"})
    title = f"Sum of degree days [{view.unit}]"
    return _season(own, strong, definition, view, levels, spells, sum_lines(definition), title)


def _season(
    plots: pd.DataFrame,
    means: pd.DataFrame,
    definition: Definition,
    view: MeasureView,
    levels: Levels,
    spells: Spells | None,
    lines: Sequence[LimitLine],
    title: str,
) -> Figure:
    if means.empty:
        return empty_figure(_WIDTH, f"{view.label}: no means of treatments yet")
    marks = marks_of(definition, climate_factor(definition))
    spells = covered_spells(definition) if spells is None else spells
    with style():
        figure = new_figure(_WIDTH, 3.9)
        axes = axes_at(figure, 0.5, 0.6, _WIDTH - 2.15, 2.75)
        days = pd.to_datetime(pd.concat([plots["date"], means["date"]])).dt.date
        soon = days.max() + dt.timedelta(days=_SOON)
        marked = [one for one in events(definition) if days.min() <= one.date <= soon]
        seen = [days.min(), max([days.max(), *(event.date for event in marked)])]
        _frame(axes, view, seen, [*plots["value"], *means["value"]], lines)
        axes.set_title(title, loc="left", fontsize=SIZE, pad=24, x=-0.09)
        mark_days(axes, spells, marked)
        _limits(axes, view, means, lines)
        for (plot, _), one in plots.groupby(["plot", "position"], sort=True):
            mark = marks.get(levels.get(str(plot), ""))
            if mark is not None:
                how = {"color": mark.colour, "alpha": 0.34, "linewidth": 0.6, "zorder": 2}
                _line(axes, one, view, _FAINT, **how)
        ends = []
        for level in held_levels(definition, means["level"]):
            one, mark = means[means["level"] == level], marks[level]
            how = {"color": mark.colour, "linewidth": 1.9, "zorder": 4}
            _line(axes, one, view, _STRONG, **how)
            last = one[one["value"].notna()].sort_values("date").iloc[-1]
            end = days_apart([last["date"]])[0], view.value(float(last["value"]))
            ends.append(EndLabel(*end, level_label(definition, level), mark))
        end_labels(axes, ends, wrap=17)
    return figure


def _frame(
    axes: Axes,
    view: MeasureView,
    days: list[dt.date],
    values: Sequence[float],
    lines: Sequence[LimitLine],
) -> None:
    """Set both axes, so that the marked values are within."""
    low, high = days[0] - dt.timedelta(days=2), days[1] + dt.timedelta(days=2)
    date_axis(axes, middles(days[0], days[1]), low, high)
    shown = [view.value(float(one)) for one in [*values, *(line.value for line in lines)]]
    value_axis(axes, view, shown)
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10]))


def _limits(axes: Axes, view: MeasureView, means: pd.DataFrame, lines: Sequence[LimitLine]) -> None:
    """Draw the marked values, each named where the means leave most room above its line."""
    (low, high), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    wide, tall = inches(axes)
    x = np.array(days_apart([str(day) for day in means["date"]]))
    y = np.array([view.value(float(one)) for one in means["value"]])
    for line in lines:
        at = view.value(line.value)
        axes.axhline(at, color=INK, linewidth=0.8, linestyle=(0, (1, 2)), zorder=3)
        long = len(line.words) * _INCHES_A_CHARACTER * (high - low) / wide
        starts = np.linspace(low + 0.01 * (high - low), max(high - long, low), 40)
        middle = at + 0.5 * _LINE_INCHES * (top - bottom) / tall
        room = []
        for start in starts:
            beside = (x >= start - 1) & (x <= start + long + 1) & np.isfinite(y)
            room.append(float(np.abs(y[beside] - middle).min()) if beside.any() else np.inf)
        axes.text(
            starts[int(np.argmax(room))], at, line.words, ha="left", va="bottom", zorder=7,
            fontsize=SIZE - 1.5, color=INK,
        )  # fmt: skip


def _line(axes: Axes, rows: pd.DataFrame, view: MeasureView, room: float, **how: Any) -> None:
    """Draw a line through days, broken where a day is missing, with no more points than it takes.

    So many days of so many plots would weigh more than all else in a page.
    """
    days = pd.to_datetime(rows["date"])
    series = pd.Series(rows["value"].to_numpy(dtype=float), index=days).sort_index()
    series = series[~series.index.duplicated()].asfreq("D")
    values = np.array([view.value(one) for one in series])
    x = np.array(days_apart([str(day) for day in series.index]))
    there = np.isfinite(values)
    breaks = np.flatnonzero(np.diff(np.concatenate([[0], there.astype(int), [0]])))
    points: list[tuple[float, float]] = []
    for first, after in zip(breaks[::2], breaks[1::2], strict=True):
        own = np.column_stack([x[first:after], values[first:after]])
        place = axes.transData.transform(own) * 72 / axes.figure.dpi
        points += [(np.nan, np.nan)] if points else []
        points += [(float(a), float(b)) for a, b in own[thinned(place[:, 0], place[:, 1], room)]]
    if points:
        line = np.array(points)
        axes.plot(line[:, 0], line[:, 1], **how)


def trace_alt(by_level: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Tell what `trace` shows, with its numbers.

    Parameters
    ----------
    by_level : DataFrame
        The table ``under_cover`` of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What is drawn.
    """
    view = temperature_view(definition, measure)
    own = by_level[by_level["measure"] == measure].rename(columns={"mean": "value"})
    begin = f"Line chart of the daily mean of {view.noun}, in {view.unit}, each plot faint. "
    lines = [line.words for line in limit_lines(definition, measure)]
    said = _levels_said(own, definition, view, 1)
    return begin + said + (f" Marked: {', '.join(lines)}." if lines else "")


def sums_alt(by_level: pd.DataFrame, definition: Definition) -> str:
    """Tell what `sums` shows, with its numbers."""
    view = degree_day_view(definition)
    begin = f"Line chart of sums of degree days, in {view.unit}, each plot faint. "
    lines = [line.words for line in sum_lines(definition)]
    said = _levels_said(by_level.rename(columns={"sum": "value"}), definition, view, 0)
    return begin + said + (f" Marked: {', '.join(lines)}." if lines else "")


def _levels_said(
    means: pd.DataFrame, definition: Definition, view: MeasureView, decimals: int
) -> str:
    """Say the means of the treatments on a few days: as the covers came off, and asked about."""
    dated = means.assign(date=pd.to_datetime(means["date"]).dt.date)
    if dated.empty:
        return "No means of treatments yet."
    off = covered_spells(definition)[-1][1]
    wanted = sorted({min(dated["date"]), off, primary_day(definition), max(dated["date"])})
    sentences = []
    for day in wanted:
        rows = dated[dated["date"] == day].set_index("level")
        parts = [
            f"{in_sentence(level_label(definition, level))} "
            f"{text(view.value(float(rows['value'][level])), decimals)}"
            for level in held_levels(definition, rows.index)
        ]
        sentences += [f"{day_text(day)}: {', '.join(parts)}."] if parts else []
    return " ".join(sentences)
