"""The picture of holes that close: against days since the aeration, and against degree days."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from wintersward.analysis.results import empty
from wintersward.decisions.closure import CLOSED, aerated_on, closure_measures
from wintersward.report.climate_views import degree_day_view
from wintersward.report.drawing import (
    PAPER,
    SIZE,
    SOFT,
    EndLabel,
    axes_at,
    empty_figure,
    end_labels,
    new_figure,
    style,
    value_axis,
)
from wintersward.report.numbers import text
from wintersward.report.picture import Picture
from wintersward.report.views import (
    factor_label,
    in_sentence,
    level_label,
    main_factor,
    marks_of,
    measure_view,
)
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["closure_alt", "closure_figure", "closure_picture"]

_WIDTH, _LEFT, _RIGHT, _GAP = 6.8, 0.5, 1.45, 0.45
_TALL, _ROW = 1.75, 2.4
_DAYS, _WARMTH = "days", "degree_days"


def closure_picture(tables: Mapping[str, pd.DataFrame], definition: Definition) -> Picture:
    """Make the picture of closing holes.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Of a run, in SI: ``closure``.
    definition : Definition
        The trial.
    """
    found = tables["closure"] if "closure" in tables else empty("closure")
    rows = _rows(found, definition)
    caption = (
        "Holes that had closed, by the time since the aeration. Faint lines are single plots, "
        "strong lines their plain means, which are described and not compared here; the dashed "
        f"line is at {CLOSED:g} %."
    )
    if _warm(rows):
        seen = ", as far as every day was seen" if rows[_WARMTH].isna().any() else ""
        caption += (
            f" At the right, the same by the degree days since then{seen}, and its means are "
        )
        caption += "of plots that have them; that warmth goes along with closing does not tell "
        caption += "that it is the cause."
    figure = closure_figure(found, definition)
    return Picture("closure", figure, closure_alt(found, definition), caption)


def closure_figure(closure: pd.DataFrame, definition: Definition) -> Figure:
    """Draw closed holes against days and degree days, a row for each treatment of the other factor.

    Parameters
    ----------
    closure : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        Every plot as a faint line, the plain mean of each cover on top.
    """
    rows = _rows(closure, definition)
    if rows.empty:
        return empty_figure(_WIDTH, "No aeration holes were looked at yet.")
    other = _other(definition, rows)
    levels = list(definition.treatments[other].levels) if other else [""]
    levels = [level for level in levels if not other or (rows[other] == level).any()]
    sides = [_DAYS, _WARMTH] if _warm(rows) else [_DAYS]
    wide = (_WIDTH - _LEFT - _RIGHT - _GAP * (len(sides) - 1)) / len(sides)
    with style():
        figure = new_figure(_WIDTH, 0.35 + _ROW * len(levels))
        for down, level in enumerate(levels):
            own = rows[rows[other] == level] if other else rows
            bottom = 0.5 + _ROW * (len(levels) - 1 - down)
            for across, side in enumerate(sides):
                left = _LEFT + across * (wide + _GAP)
                axes = axes_at(figure, left, bottom, wide, _TALL)
                lowest = down == len(levels) - 1
                named = _time_words(definition, side) if lowest else ""
                ends = _panel(axes, own, rows, side, definition, named)
                title = level_label(definition, level) if level and not across else ""
                axes.set_title(title, loc="left", fontsize=SIZE, pad=12, fontweight="bold")
                if across:
                    axes.tick_params(axis="y", labelleft=False)
                if side == _DAYS and not down:
                    _measured(axes, rows, definition, wide)
                if not lowest:
                    axes.tick_params(axis="x", labelbottom=False)
                # The names stand once: all rows show the same treatments.
                if across == len(sides) - 1 and not down:
                    _labels(axes, definition, ends)
    return figure


def _rows(closure: pd.DataFrame, definition: Definition) -> pd.DataFrame:
    """Take what was seen of holes after the aeration, with text as text."""
    kept = closure[closure["measure"].isin(closure_measures(definition)[:1])]
    kept = kept[kept["days"] > 0]
    factors = [name for name in definition.treatments if name in kept]
    return kept.astype(dict.fromkeys(factors, "str")).sort_values(["plot", "days"], kind="stable")


def _other(definition: Definition, rows: pd.DataFrame) -> str:
    """Name the factor that has a row of panels for each treatment; empty without one."""
    names = [n for n in definition.treatments if n != main_factor(definition) and n in rows]
    return next(iter(names), "")


def _warm(rows: pd.DataFrame) -> bool:
    """Tell whether degree days are known of two visits or more."""
    return bool(rows.loc[rows[_WARMTH].notna(), _DAYS].nunique() > 1) if len(rows) else False


def _means(own: pd.DataFrame, factor: str, side: str) -> pd.DataFrame:
    """Average the plots of each treatment, visit by visit; x is that of all of them."""
    known = own[own[side].notna()]
    seen = known.groupby("plot")[_DAYS].nunique()
    most = seen.groupby(own.drop_duplicates("plot").set_index("plot")[factor]).transform("max")
    # A mean of other plots on another visit would jump for another reason than closing.
    known = known[known["plot"].isin(seen.index[seen == most])]
    by_visit = known.groupby([factor, _DAYS], as_index=False)
    return by_visit.agg(x=(side, "mean"), value=("value", "mean"))


def _panel(
    axes: Axes,
    own: pd.DataFrame,
    rows: pd.DataFrame,
    side: str,
    definition: Definition,
    named: str,
) -> list[tuple[str, float, float]]:
    """Draw one panel; return level, x and y of every mean line's last point."""
    factor, view = main_factor(definition), measure_view(definition, str(rows["measure"].iloc[0]))
    warmth, marks = degree_day_view(definition), marks_of(definition, factor)

    def x(values: pd.Series) -> list[float]:
        return [warmth.difference(float(v)) if side == _WARMTH else float(v) for v in values]

    value_axis(axes, view, [view.value(float(v)) for v in rows["value"]])
    axes.set_title("")
    axes.set_xlim(0, 1.04 * np.nanmax(x(rows[side])))
    axes.xaxis.set_major_locator(MaxNLocator(5, integer=True))
    axes.set_xlabel(named, fontsize=SIZE - 1)
    axes.axhline(CLOSED, color=SOFT, linewidth=0.8, linestyle=(0, (3, 3)), zorder=1)
    if side == _DAYS:
        _event(axes, definition)
    for level, plots in own.groupby(factor, sort=True):
        # One path a treatment, broken between plots, keeps the file small.
        broken = [
            (at, value)
            for _, plot in plots.groupby("plot", sort=True)
            for at, value in [*zip(x(plot[side]), plot["value"], strict=True), (np.nan, np.nan)]
        ]
        axes.plot(
            [at for at, _ in broken], [view.value(float(value)) for _, value in broken],
            linewidth=0.7, color=marks[str(level)].colour, alpha=0.34, zorder=2,
        )  # fmt: skip
    means, ends = _means(own, factor, side), []
    for level, mark in marks.items():
        held = means[means[factor] == level]
        if held.empty:
            continue
        at, values = x(held["x"]), [view.value(float(v)) for v in held["value"]]
        axes.plot(
            at, values, color=mark.colour, linewidth=1.9, marker=mark.marker, ms=4.8,
            markeredgecolor=PAPER, markeredgewidth=0.6, zorder=4,
        )  # fmt: skip
        ends.append((level, at[-1], values[-1]))
    return ends


def _time_words(definition: Definition, side: str) -> str:
    """Name an axis of time, or of warmth."""
    if side == _DAYS:
        return "days since the aeration"
    return f"degree days since then [{degree_day_view(definition).unit}]"


def _event(axes: Axes, definition: Definition) -> None:
    """Mark the first event, where it lies among the days shown."""
    on = aerated_on(definition)
    if on is None or "first_event" not in definition.dates:
        return
    day = float((dates_meant(definition.dates, "first_event")[0] - on).days)
    if 0 < day < axes.get_xlim()[1]:
        axes.axvline(day, color=SOFT, linewidth=0.9, linestyle=(0, (4, 2)), zorder=1)
        axes.text(
            day, 1.01, "first event", transform=axes.get_xaxis_transform(), ha="center",
            va="bottom", fontsize=SIZE - 1, color=SOFT,
        )  # fmt: skip


def _measured(axes: Axes, rows: pd.DataFrame, definition: Definition, wide: float) -> None:
    """Name the measure above the first panel."""
    view = measure_view(definition, str(rows["measure"].iloc[0]))
    place = 1 + 0.42 / _TALL
    axes.text(-(_LEFT - 0.1) / wide, place, view.head, transform=axes.transAxes, va="bottom")


def _labels(axes: Axes, definition: Definition, ends: list[tuple[str, float, float]]) -> None:
    marks = marks_of(definition, main_factor(definition))
    named = [EndLabel(x, y, level_label(definition, level), marks[level]) for level, x, y in ends]
    end_labels(axes, named, wrap=17)


def closure_alt(closure: pd.DataFrame, definition: Definition) -> str:
    """Tell what `closure_figure` shows, with its numbers.

    Parameters
    ----------
    closure : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.
    """
    rows = _rows(closure, definition)
    if rows.empty:
        return "No aeration holes were looked at yet."
    view, factor = measure_view(definition, str(rows["measure"].iloc[0])), main_factor(definition)
    other = _other(definition, rows)
    groups = list(definition.treatments[other].levels) if other else [""]
    visits = sorted(set(rows[_DAYS].astype(int)))
    days = ", ".join(str(day) for day in visits)
    said = [f"Line chart of {view.noun}, in {view.unit}, means {days} days after the aeration."]
    for group in groups:
        own = rows[rows[other] == group] if other else rows
        means = own.groupby([factor, _DAYS])["value"].mean()
        parts = []
        for level in definition.treatments[factor].levels:
            if level in means.index.get_level_values(0):
                values = means[level].reindex(visits)
                shown = ", ".join(text(view.value(float(v)), 0) for v in values)
                parts.append(f"{in_sentence(level_label(definition, level))} {shown}")
        begin = f"{level_label(definition, group)}: " if group else ""
        said += [f"{begin}{'; '.join(parts)}."] if parts else []
    if _warm(rows):
        said.append("At the right the same against degree days since then.")
    by = in_sentence(factor_label(definition, factor))
    return " ".join([*said, f"Colours tell the {by}; faint lines are single plots."])
