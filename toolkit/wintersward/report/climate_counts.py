"""The picture of risks: hours or days counted on each plot, a panel a risk."""

from __future__ import annotations

from textwrap import fill

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from wintersward.climate.own_limits import own_risks
from wintersward.climate.risk import RISKS
from wintersward.report.climate_views import climate_factor, held_levels
from wintersward.report.drawing import (
    INK,
    PAPER,
    RULE,
    SIZE,
    axes_at,
    empty_figure,
    new_figure,
    style,
)
from wintersward.report.numbers import counted, text
from wintersward.report.views import in_sentence, level_label, marks_of
from wintersward.trial.schema import Definition

__all__ = ["UNITS", "plot_counts", "risk_label", "risks", "risks_alt", "soon_after"]

_WIDTH, _LEFT = 6.8, 1.75
_ROW, _HEAD, _FOOT = 0.3, 0.3, 0.3
UNITS = {"h": "hours", "d": "days"}


def risk_label(name: str) -> str:
    """Name a risk for a heading."""
    label = RISKS[name].label
    return label[:1].upper() + label[1:]


def soon_after(definition: Definition) -> int:
    """Tell up to how many days after covers came off something is counted."""
    return max(risk.within for risk in own_risks(definition.climate, ()).values())


def plot_counts(counts: pd.DataFrame) -> pd.DataFrame:
    """Add up what was counted on each plot, under a cover and open.

    Parameters
    ----------
    counts : DataFrame
        The table ``risks`` of a run.

    Returns
    -------
    DataFrame
        Columns risk, plot, level, unit, counted; of several sensors in a plot their mean. Rows
        without a treatment are left out.
    """
    told = counts[counts["level"].fillna("") != ""].fillna({"position": "", "measure": ""})
    keys = ["risk", "plot", "level", "unit"]
    each = told.groupby([*keys, "measure", "position"], as_index=False)["counted"].sum()
    return each.groupby(keys, as_index=False)["counted"].mean()


def risks(counts: pd.DataFrame, definition: Definition) -> Figure:
    """Draw what was counted of each risk, plot by plot.

    Parameters
    ----------
    counts : DataFrame
        The table ``risks`` of a run.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        A panel a risk of which any was counted; a mark a plot, and a stroke at their mean.
    """
    found = plot_counts(counts)
    shown = [name for name in RISKS if found.loc[found["risk"] == name, "counted"].sum() > 0]
    if not shown:
        return empty_figure(_WIDTH, "No risk was counted on any plot")
    rows = {name: found[found["risk"] == name] for name in shown}
    levels = {name: held_levels(definition, own["level"]) for name, own in rows.items()}
    tall = {name: _ROW * len(levels[name]) for name in shown}
    with style():
        height = sum(tall.values()) + (_HEAD + _FOOT) * len(shown) + 0.05
        figure, top = new_figure(_WIDTH, height), height
        for name in shown:
            top -= _HEAD + tall[name]
            axes = axes_at(figure, _LEFT, top, _WIDTH - _LEFT - 0.2, tall[name])
            _panel(axes, rows[name], levels[name], definition)
            unit = UNITS[str(rows[name]["unit"].iloc[0])]
            axes.set_title(f"{risk_label(name)} [{unit}]", loc="left", fontsize=SIZE, pad=4)
            top -= _FOOT
    return figure


def _panel(axes: Axes, own: pd.DataFrame, levels: list[str], definition: Definition) -> None:
    marks = marks_of(definition, climate_factor(definition))
    most = float(own["counted"].max())
    axes.set_xlim(-0.02 * most, 1.04 * most)
    axes.set_ylim(len(levels) - 0.5, -0.5)
    axes.set_yticks(range(len(levels)), [fill(level_label(definition, one), 22) for one in levels])
    axes.xaxis.set_major_locator(MaxNLocator(4, integer=True, steps=[1, 2, 5, 10]))
    axes.grid(axis="x", color=RULE, linewidth=0.6)
    axes.tick_params(axis="both", length=0)
    axes.spines["left"].set_visible(False)
    for at, level in enumerate(levels):
        one = own[own["level"] == level].sort_values("plot")
        spread = [at + 0.6 * ((i + 0.5) / len(one) - 0.5) for i in range(len(one))]
        axes.vlines(float(one["counted"].mean()), at - 0.38, at + 0.38, color=INK, linewidth=1.2)
        axes.plot(
            one["counted"], spread, linestyle="", marker=marks[level].marker, ms=5, zorder=4,
            color=marks[level].colour, markeredgecolor=PAPER, markeredgewidth=0.6, clip_on=False,
        )  # fmt: skip


def risks_alt(counts: pd.DataFrame, definition: Definition) -> str:
    """Tell what `risks` shows, with its numbers.

    Parameters
    ----------
    counts : DataFrame
        The table ``risks`` of a run.
    definition : Definition
        The trial.
    """
    found, said = plot_counts(counts), ["Hours or days of risks, a mark a plot."]
    for name in RISKS:
        own = found[found["risk"] == name]
        if own.empty:
            continue
        if not own["counted"].sum():
            said.append(f"{risk_label(name)}: none on any plot, and not drawn.")
            continue
        parts = []
        for level in held_levels(definition, own["level"]):
            one = own.loc[own["level"] == level, "counted"]
            low, high = text(float(one.min()), 0), text(float(one.max()), 0)
            span = low if low == high else f"{low} to {high}"
            plots = counted(len(one), "plot")
            parts.append(f"{in_sentence(level_label(definition, level))} {span} ({plots})")
        unit = UNITS[str(own["unit"].iloc[0])]
        said.append(f"{risk_label(name)}, {unit}: {', '.join(parts)}.")
    return " ".join(said)
