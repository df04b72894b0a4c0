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
from wintersward.report.aerating_rows import DAYS, NAME, in_order
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
from wintersward.report.views import factor_label, in_sentence, marks_of
from wintersward.trial import Definition

__all__ = ["aeration_picture", "aeration_pictures"]

_WIDTH, _HEIGHT = 6.8, 3.6
# Share of the axis of days that is kept at its left for options whose days nobody knows.
_UNKNOWN = 0.14


@dataclass(frozen=True)
class _Shown:
    """One way to aerate as it is drawn: shares of the ground [%], days, its mark.

    The pieces are the days of single treatments of another factor, joined where they meet.
    """

    label: str
    affected: float
    removed: float
    low: float
    high: float
    mark: Mark
    pieces: tuple[tuple[float, float], ...] = ()

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
    return [aeration_picture(found, definition, tables.get(DAYS))]


def aeration_picture(
    found: pd.DataFrame, definition: Definition, days: pd.DataFrame | None = None
) -> Picture:
    """Draw the ground that each way to aerate hits against the days until its holes have closed.

    Parameters
    ----------
    found, days : DataFrame
        The tables ``aeration_options`` and, where there is one, ``aeration_days``.
    definition : Definition
        The trial.
    """
    if found.empty:
        said = "No way to aerate is told yet."
        return Picture(NAME, empty_figure(_WIDTH, said), said, said)
    shown = _shown(found, definition, days)
    left = float(found["days_available"].iloc[0])
    caption = (
        "Ground that each way to aerate hits (filled mark) and takes out (open mark below it), "
        "against the days until its holes have closed; the bar runs from fewest to most days."
    )
    if any(len(one.pieces) > 1 for one in shown) and days is not None:
        factor = next(str(one).partition("=")[0] for one in days["within"] if one)
        by = in_sentence(factor_label(definition, factor))
        caption += f" Where it is thick in pieces only, days differed by {by}: each piece is one or"
        caption += " more of its treatments, the thin line between them none."
    if math.isfinite(left):
        caption += " The line is the first use: what lies beyond it is still open then."
    return Picture(NAME, _drawn(shown, left), _alt(shown, left), caption)


def _shown(found: pd.DataFrame, definition: Definition, days: pd.DataFrame | None) -> list[_Shown]:
    marks = _marks(definition)
    made = []
    for at in in_order(found, definition):
        row = row_at(found, at)
        hit, out, low, high = (
            float(row[name]) for name in ("affected", "removed", "days_low", "days_high")
        )
        name, label = str(row["option"]), str(row["label"])
        pieces = () if days is None else _pieces(days[days["option"] == name])
        made.append(_Shown(label, hit, out, low, high, marks[name], pieces))
    return made


def _pieces(own: pd.DataFrame) -> tuple[tuple[float, float], ...]:
    """Join the ranges of days that meet; none where an end is not known."""
    if own.empty or own["days_high"].isna().any():
        return ()
    joined: list[tuple[float, float]] = []
    for low, high in sorted(zip(own["days_low"], own["days_high"], strict=True)):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], float(high)))
        else:
            joined.append((float(low), float(high)))
    return tuple(joined)


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
        if len(one.pieces) > 1:
            axes.plot([one.low, high], [one.affected] * 2, color=colour, linewidth=0.8, zorder=3)
        for ends in one.pieces or ((one.low, high),):
            axes.plot([*ends], [one.affected] * 2, color=colour, linewidth=3.4, zorder=3)
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
            if len(one.pieces) > 1:
                said_pieces = (between_text(low, high, 0) for low, high in one.pieces)
                days += f" (in pieces: {', '.join(said_pieces)})"
        taken = f", {text(one.removed, 1)} % taken out" if one.removed > 0 else ""
        said.append(f"{in_sentence(one.label)} {text(one.affected, 1)} % hit{taken}, {days}")
    there = ""
    if math.isfinite(left):
        there = f" The first use is {counted(round(left), 'day')} after the aeration."
    return f"Ground hit and days until holes have closed: {'; '.join(said)}.{there}"
