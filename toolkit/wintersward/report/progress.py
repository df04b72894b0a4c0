"""Pictures of a measure over the season: every unit, treatment means and their intervals."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from wintersward.design import Mark
from wintersward.report.block_values import complete_units
from wintersward.report.covers import covered_spells
from wintersward.report.drawing import (
    HALO,
    PAPER,
    SIZE,
    EndLabel,
    axes_at,
    date_axis,
    days_apart,
    empty_figure,
    end_labels,
    mark_days,
    new_figure,
    style,
    value_axis,
)
from wintersward.report.numbers import between_text, day_text, mean_decimals, text
from wintersward.report.views import (
    MeasureView,
    carried_by,
    events,
    in_sentence,
    level_label,
    main_factor,
    marks_of,
    measure_view,
)
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = [
    "before_means",
    "crossed",
    "crossed_alt",
    "crossed_effect",
    "progress",
    "progress_alt",
    "unit_lines",
]

_WIDTH, _GAP = 6.8, 0.5
Spells = Sequence[tuple[dt.date, dt.date]]


def progress(
    means: pd.DataFrame,
    plot_means: pd.DataFrame,
    definition: Definition,
    measure: str,
    spells: Spells | None = None,
) -> Figure:
    """Draw a measure over the season for the treatments of the main factor.

    Parameters
    ----------
    means, plot_means : DataFrame
        Tables of a run, of any measures, in SI.
    definition : Definition
        The trial.
    measure : str
        What to draw.
    spells : sequence of (date, date), optional
        Time under cover; left out, as planned.

    Returns
    -------
    Figure
        Every experimental unit of the factor as a faint line, means with intervals on top.
    """
    factor, view = main_factor(definition), measure_view(definition, measure)
    chosen = _chosen(means, measure, factor)
    lines = unit_lines(plot_means, definition, measure)
    if chosen.empty and lines.empty:
        return empty_figure(_WIDTH, f"{view.label}: no observations yet")
    marks = marks_of(definition, factor)
    with style():
        figure = new_figure(_WIDTH, 4.1)
        axes = axes_at(figure, 0.5, 0.72, _WIDTH - 2.15, 2.8)
        _frame(axes, view, chosen, lines, definition, spells)
        _units(axes, view, lines, marks)
        _labels(axes, definition, _mean_lines(axes, view, chosen, marks))
    return figure


def _chosen(means: pd.DataFrame, measure: str, effect: str) -> pd.DataFrame:
    kept = means[(means["measure"] == measure) & (means["effect"] == effect)]
    return kept.assign(date=pd.to_datetime(kept["date"])).sort_values("date", kind="stable")


def unit_lines(plot_means: pd.DataFrame, definition: Definition, measure: str) -> pd.DataFrame:
    """Gather the values of every experimental unit of the main factor over the season.

    Plots are averaged onto their whole plot or strip where these carry the factor and all plots
    in them were observed.

    Returns
    -------
    DataFrame
        Columns unit, block, level, date, value (in SI); units whose treatment is not told on any
        date are left out.
    """
    factor = main_factor(definition)
    kept = plot_means[plot_means["measure"] == measure]
    if kept.empty or factor not in kept:
        return pd.DataFrame(columns=["unit", "block", "level", "date", "value"])
    carried = carried_by(definition, factor)  # by whole plots or strips, over their plots
    unit = kept["whole_plot" if carried == "whole plot" else "unit_name"].astype(str)
    if carried.endswith("strip"):  # of which each block has one a treatment
        unit = kept["block"].astype(str) + ":" + kept[factor].astype(str)
    whole = complete_units(kept, unit, factor) if carried else pd.Series(True, index=kept.index)
    held = pd.DataFrame(
        {
            "unit": unit,
            "block": kept["block"].astype(str),
            "level": kept[factor].astype(str),
            "date": pd.to_datetime(kept["date"]),
            "value": kept["value"].astype(float).where(whole),
        }
    )
    told = held[held["level"].isin(definition.treatments[factor].levels)]
    level = told.drop_duplicates("unit", keep="last").set_index("unit")["level"]
    held = held[held["unit"].isin(level.index)].assign(level=lambda f: f["unit"].map(level))
    keys = ["unit", "block", "level", "date"]
    # A unit that lacks a part has no value on that day, and its line is broken there.
    frame = pd.DataFrame(held.groupby(keys, as_index=False)["value"].mean())
    return frame.sort_values(["unit", "date"], kind="stable", ignore_index=True)


def _frame(
    axes: Axes,
    view: MeasureView,
    chosen: pd.DataFrame,
    lines: pd.DataFrame,
    definition: Definition,
    spells: Spells | None,
) -> None:
    """Set both axes, and mark the covered time and the events."""
    observed = sorted({day.date() for day in [*chosen["date"], *lines["date"]]})
    spells = covered_spells(definition) if spells is None else spells
    marked = events(definition)
    ends = [*observed, *(day for spell in spells for day in spell), *(e.date for e in marked)]
    room = max(1, (max(ends) - min(ends)).days // 40)
    step = dt.timedelta(days=room)
    date_axis(axes, observed, min(ends) - step, max(ends) + step)
    shown = [*chosen["mean"], *chosen["lower"], *chosen["upper"], *lines["value"]]
    value_axis(axes, view, [view.value(float(value)) for value in shown])
    # Leave the left end to the axis' own title.
    axes.set_title(view.head, loc="left", fontsize=SIZE, pad=24, x=-0.09)
    mark_days(axes, spells, marked)


def _units(
    axes: Axes, view: MeasureView, lines: pd.DataFrame, marks: Mapping[str, Mark], thin: float = 0.8
) -> None:
    for (_, level), one in lines.groupby(["unit", "level"], sort=True):
        values = [view.value(value) for value in one["value"]]
        axes.plot(
            days_apart(list(one["date"])), values, color=marks[str(level)].colour, alpha=0.34,
            linewidth=thin, marker="." if len(values) == 1 else "", ms=4, zorder=2,
        )  # fmt: skip


def _mean_lines(
    axes: Axes, view: MeasureView, chosen: pd.DataFrame, marks: Mapping[str, Mark]
) -> list[tuple[str, float, float]]:
    """Draw means with intervals; return level, x and y of every line's last point."""
    dates = sorted(set(chosen["date"]))
    low, high = axes.get_xlim()
    aside = 0.009 * (high - low)
    ends = []
    for at, (level, mark) in enumerate(marks.items()):
        rows = chosen[chosen["level"] == level].drop_duplicates("date").set_index("date")
        # A date without a mean breaks the line instead of being bridged.
        rows = rows.reindex(dates)
        values = {
            name: np.array([view.value(float(v)) for v in rows[name]])
            for name in ("mean", "lower", "upper")
        }
        there = np.isfinite(values["mean"])
        if not there.any():
            continue
        x = np.array(days_apart(dates)) + aside * (at - (len(marks) - 1) / 2)
        axes.plot(x, values["mean"], color=mark.colour, linewidth=1.9, zorder=4, path_effects=HALO)
        axes.vlines(
            x[there], values["lower"][there], values["upper"][there], color=mark.colour,
            linewidth=1.7, zorder=5,
        )  # fmt: skip
        axes.plot(
            x, values["mean"], color=mark.colour, linestyle="", marker=mark.marker, ms=5.8,
            markeredgecolor=PAPER, markeredgewidth=0.7, zorder=6,
        )  # fmt: skip
        last = int(np.flatnonzero(there)[-1])
        ends.append((level, float(x[last]), float(values["mean"][last])))
    return ends


def _labels(axes: Axes, definition: Definition, ends: list[tuple[str, float, float]]) -> None:
    marks = marks_of(definition, main_factor(definition))
    end_labels(
        axes,
        [EndLabel(x, y, level_label(definition, level), marks[level]) for level, x, y in ends],
        wrap=17,
    )


def progress_alt(means: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Tell what `progress` shows, with its numbers.

    Parameters
    ----------
    means : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What is drawn.
    """
    view, factor = measure_view(definition, measure), main_factor(definition)
    return _alt(_chosen(means, measure, factor), definition, view, factor)


def _alt(chosen: pd.DataFrame, definition: Definition, view: MeasureView, effect: str) -> str:
    unit = f", in {view.unit}" if view.unit else ""
    begin = f"Line chart of {view.noun}{unit}, by date. "
    if chosen.empty:
        return begin + "Every experimental unit is a faint line; no treatment means yet."
    sentences = []
    for day, rows in chosen.groupby("date", sort=True):
        decimals = mean_decimals([view.difference(float(se)) for se in rows["se"]])
        said = []
        for level in _levels(definition, effect):
            for _, row in rows[rows["level"] == level].iterrows():
                mean, low, up = (view.value(float(row[n])) for n in ("mean", "lower", "upper"))
                interval = between_text(low, up, decimals)
                name = in_sentence(level_label(definition, level))
                said.append(f"{name} {text(mean, decimals)} ({interval})")
        sentences.append(f"{day_text(day)}: {', '.join(said)}.")
    return begin + "Means with intervals. " + " ".join(sentences)


def _levels(definition: Definition, effect: str) -> list[str]:
    names = [""]
    for factor in effect.split(":"):
        levels = definition.treatments[factor].levels
        names = [f"{name}:{level}" if name else level for name in names for level in levels]
    return names


def crossed_effect(means: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Name the effect that crosses the main factor with one other, or nothing without means."""
    factor = main_factor(definition)
    held = set(means.loc[means["measure"] == measure, "effect"])
    for other in definition.treatments:
        for effect in (f"{factor}:{other}", f"{other}:{factor}"):
            if other != factor and effect in held:
                return effect
    return ""


def crossed(means: pd.DataFrame, definition: Definition, measure: str) -> Figure:
    """Draw the treatments of the main factor within each treatment of the other one.

    Parameters
    ----------
    means : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What to draw.

    Returns
    -------
    Figure
        One panel for each treatment of the other factor, on one scale. All panels start at the
        same means, those of the last date before the other factor began, where there is one.
    """
    view, factor = measure_view(definition, measure), main_factor(definition)
    effect = crossed_effect(means, definition, measure)
    if not effect:
        return empty_figure(_WIDTH, f"{view.label}: no combinations of treatments yet")
    chosen, other = _crossed_rows(means, definition, measure, effect)
    levels = list(definition.treatments[other].levels)
    chosen = pd.concat([_before(means, measure, factor, chosen, levels), chosen])
    across = min(3, len(levels))
    down = -(-len(levels) // across)
    wide = (_WIDTH - 2.15 - _GAP * (across - 1)) / across
    with style():
        figure = new_figure(_WIDTH, 0.4 + down * 3.0)
        for at, level in enumerate(levels):
            column, row = at % across, at // across
            left, bottom = 0.5 + column * (wide + _GAP), 0.4 + (down - 1 - row) * 3.0 + 0.3
            axes = axes_at(figure, left, bottom, wide, 2.05)
            _panel(axes, view, chosen, definition, other)
            rows = chosen[chosen["other"] == level]
            ends = _mean_lines(axes, view, rows, marks_of(definition, factor))
            title = level_label(definition, level)
            axes.set_title(title, loc="left", fontsize=SIZE, pad=20, fontweight="bold")
            if column:
                axes.tick_params(axis="y", labelleft=False)
            if not row and not column:
                axes.text(-0.42 / wide, 1.23, view.head, transform=axes.transAxes)
            if column == across - 1 or at == len(levels) - 1:
                _labels(axes, definition, ends)
    return figure


def _crossed_rows(
    means: pd.DataFrame, definition: Definition, measure: str, effect: str
) -> tuple[pd.DataFrame, str]:
    """Split the levels of an effect into those of the main factor and of the other one."""
    factor = main_factor(definition)
    names = effect.split(":")
    other = next(name for name in names if name != factor)
    chosen = _chosen(means, measure, effect)
    parts = chosen["level"].str.split(":", expand=True)
    main = parts[names.index(factor)]
    return chosen.assign(other=parts[names.index(other)], level=main), other


def before_means(means: pd.DataFrame, definition: Definition, measure: str) -> bool:
    """Tell whether the panels of `crossed` start at means of a date before the other factor."""
    effect = crossed_effect(means, definition, measure)
    chosen = _chosen(means, measure, effect)
    held = _chosen(means, measure, main_factor(definition))
    return bool((held["date"] < chosen["date"].min()).any())


def _before(
    means: pd.DataFrame, measure: str, factor: str, chosen: pd.DataFrame, levels: list[str]
) -> pd.DataFrame:
    """Take the means of the main factor on the last date before the other one, for every panel."""
    held = _chosen(means, measure, factor)
    held = held[held["date"] < chosen["date"].min()]
    last = held[held["date"] == held["date"].max()]
    return pd.concat([last.assign(other=level) for level in levels])


def _panel(
    axes: Axes, view: MeasureView, chosen: pd.DataFrame, definition: Definition, other: str
) -> None:
    observed = sorted({day.date() for day in chosen["date"]})
    begins = definition.treatments[other].applied
    marked = [e for e in events(definition) if e.date >= min(observed) - dt.timedelta(days=21)]
    if begins is not None:
        marked = [e for e in marked if e.date >= dates_meant(definition.dates, begins)[0]]
    ends = [*observed, *(event.date for event in marked)]
    step = dt.timedelta(days=max(1, (max(ends) - min(ends)).days // 12))
    date_axis(axes, observed, min(ends) - step, max(ends) + step)
    shown = [*chosen["mean"], *chosen["lower"], *chosen["upper"]]
    value_axis(axes, view, [view.value(float(value)) for value in shown])
    mark_days(axes, [], marked)


def crossed_alt(means: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Tell what `crossed` shows, with its numbers."""
    view = measure_view(definition, measure)
    effect = crossed_effect(means, definition, measure)
    if not effect:
        return f"{view.label}: no combinations of treatments yet."
    return _alt(_chosen(means, measure, effect), definition, view, effect)
