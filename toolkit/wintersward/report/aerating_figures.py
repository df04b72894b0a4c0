"""The picture of ways to aerate: the ground that each one hits against the days it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, MaxNLocator

from wintersward.decisions.planner import options
from wintersward.design import Mark, treatment_marks
from wintersward.report.aerating_rows import NAME, in_order
from wintersward.report.drawing import (
    BAND,
    INK,
    PAPER,
    RULE,
    SIZE,
    SOFT,
    EndLabel,
    axes_at,
    empty_figure,
    end_labels,
    new_figure,
    style,
)
from wintersward.report.numbers import between_text, counted, text
from wintersward.report.picture import Picture
from wintersward.report.said import row_at
from wintersward.report.views import in_sentence, marks_of
from wintersward.trial import Definition

__all__ = ["aeration_picture", "aeration_pictures"]

_WIDTH, _HEIGHT = 6.8, 3.6
# Share of the axis of days that is kept at its left for options whose days nobody knows.
_UNKNOWN = 0.14


@dataclass(frozen=True)
class _Shown:
    """One way to aerate as it is drawn: shares of the ground [%], days, its mark."""

    label: str
    affected: float
    removed: float
    low: float
    high: float
    mark: Mark

    @property
    def known(self) -> bool:
        return math.isfinite(self.low)

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2 if math.isfinite(self.high) else self.low


def aeration_pictures(tables: dict[str, pd.DataFrame], definition: Definition) -> list[Picture]:
    """Make the picture of ways to aerate where there is something to show.

    Parameters
    ----------
    tables : dict of str to DataFrame
        Tables of a run, in SI; ``aeration_options`` is shown.
    definition : Definition
        The trial.
    """
    found = tables.get(NAME)
    if found is None or found.empty:
        return []
    return [aeration_picture(found, definition)]


def aeration_picture(found: pd.DataFrame, definition: Definition) -> Picture:
    """Draw the ground that each way to aerate hits against the days until its holes have closed.

    Parameters
    ----------
    found : DataFrame
        The table ``aeration_options``.
    definition : Definition
        The trial.
    """
    if found.empty:
        said = "No way to aerate is told yet."
        return Picture(NAME, empty_figure(_WIDTH, said), said, said)
    shown = _shown(found, definition)
    left = float(found["days_available"].iloc[0])
    caption = (
        "Ground that each way to aerate hits (filled mark) and takes out (open mark below it), "
        "against the days until its holes have closed; the bar runs from fewest to most days."
    )
    if math.isfinite(left):
        caption += " The line is the first use: what lies beyond it is still open then."
    return Picture(NAME, _drawn(shown, left), _alt(shown, left), caption)


def _shown(found: pd.DataFrame, definition: Definition) -> list[_Shown]:
    marks = _marks(definition)
    made = []
    for at in in_order(found, definition):
        row = row_at(found, at)
        hit, out, low, high = (
            float(row[name]) for name in ("affected", "removed", "days_low", "days_high")
        )
        made.append(_Shown(str(row["label"]), hit, out, low, high, marks[str(row["option"])]))
    return made


def _marks(definition: Definition) -> dict[str, Mark]:
    """Give treatments the marks that they have in every picture, and planned options others."""
    used: dict[str, Mark] = {}
    for factor in definition.treatments:
        used |= marks_of(definition, factor)
    planned = [option.name for option in options(definition) if option.source == "planned"]
    # None of them is a control.
    return used | treatment_marks(["", *planned], "", list(used.values()))


def _drawn(shown: list[_Shown], left: float) -> Figure:
    known = [one for one in shown if one.known]
    ends = [end for one in known for end in (one.low, one.high) if math.isfinite(end)]
    most = 1.08 * max([*ends, left] if math.isfinite(left) else [*ends, 1.0])
    unknown = len(known) < len(shown)
    with style():
        figure = new_figure(_WIDTH, _HEIGHT)
        axes = axes_at(figure, 0.5, 0.6, _WIDTH - 2.6, _HEIGHT - 1.15)
        axes.set_xlim(-_UNKNOWN * most if unknown else 0.0, most)
        axes.set_ylim(0, 1.15 * max(one.affected for one in shown))
        _frame(axes, most, unknown)
        if math.isfinite(left):
            _first_use(axes, left)
        for one in shown:
            _option(axes, one, -_UNKNOWN / 2 * most)
        end_labels(axes, [_end(one, -_UNKNOWN / 2 * most) for one in shown], wrap=22)
    return figure


def _frame(axes: Axes, most: float, unknown: bool) -> None:
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10]))
    axes.grid(axis="y", color=RULE, linewidth=0.6)
    axes.tick_params(axis="both", length=0)
    axes.spines["left"].set_visible(False)
    axes.set_title("Ground hit [%]", loc="left", fontsize=SIZE, pad=20)
    ticks = MaxNLocator(7, steps=[1, 2, 5, 7, 10], integer=True).tick_values(0, most)
    axes.xaxis.set_major_locator(FixedLocator([tick for tick in ticks if 0 <= tick <= most]))
    axes.set_xlabel("days until holes have closed")
    if not unknown:
        return
    axes.axvspan(-_UNKNOWN * most, 0, color=BAND, linewidth=0, zorder=0)
    axes.text(
        -_UNKNOWN / 2 * most, 1.02, "no figure", transform=axes.get_xaxis_transform(),
        ha="center", va="bottom", fontsize=SIZE - 1, color=SOFT,
    )  # fmt: skip


def _first_use(axes: Axes, left: float) -> None:
    axes.axvline(left, color=INK, linewidth=1.0, linestyle=(0, (4, 2)), zorder=1)
    axes.text(
        left, 1.02, "first use", ha="center", va="bottom",
        transform=axes.get_xaxis_transform(), fontsize=SIZE - 1, color=SOFT,
    )  # fmt: skip


def _option(axes: Axes, one: _Shown, aside: float) -> None:
    """Draw the range of days as a bar, the ground hit on it, the ground taken out below it."""
    colour, place = one.mark.colour, one.middle if one.known else aside
    if one.known:
        high = one.high if math.isfinite(one.high) else axes.get_xlim()[1]
        axes.plot([one.low, high], [one.affected] * 2, color=colour, linewidth=2.6, zorder=3)
    if one.removed > 0:
        axes.plot(
            [place, place], [one.removed, one.affected], color=colour, linewidth=0.9,
            linestyle=(0, (1, 2)), zorder=2,
        )  # fmt: skip
        axes.plot(
            [place], [one.removed], marker=one.mark.marker, ms=5.5, zorder=4,
            markerfacecolor=PAPER, markeredgecolor=colour, markeredgewidth=1.2,
        )  # fmt: skip
    axes.plot(
        [place], [one.affected], marker=one.mark.marker, ms=7, zorder=4, color=colour,
        markeredgecolor=PAPER, markeredgewidth=0.6,
    )  # fmt: skip


def _end(one: _Shown, aside: float) -> EndLabel:
    """Name an option at the end of its bar."""
    place = (one.high if math.isfinite(one.high) else one.low) if one.known else aside
    return EndLabel(place, one.affected, one.label, one.mark)


def _alt(shown: list[_Shown], left: float) -> str:
    said = []
    for one in shown:
        days = "no figure for its days"
        if one.known:
            ends = math.isfinite(one.high)
            days = between_text(one.low, one.high, 0) if ends else f"{text(one.low, 0)} or more"
            days += " days to close"
        taken = f", {text(one.removed, 1)} % taken out" if one.removed > 0 else ""
        said.append(f"{in_sentence(one.label)} {text(one.affected, 1)} % hit{taken}, {days}")
    there = ""
    if math.isfinite(left):
        there = f" The first use is {counted(round(left), 'day')} after the aeration."
    return f"Ground hit and days until holes have closed: {'; '.join(said)}.{there}"
