"""What every picture shares: inks, axes of dates and values, labels that keep clear."""

from __future__ import annotations

import datetime as dt
import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.figure import Figure
from matplotlib.patheffects import withStroke
from matplotlib.ticker import FixedFormatter, FixedLocator, MaxNLocator

from wintersward.design import Mark
from wintersward.report.numbers import day_short
from wintersward.report.views import Event, MeasureView

__all__ = [
    "BAND",
    "HALO",
    "INK",
    "PAPER",
    "RULE",
    "SIZE",
    "SOFT",
    "EndLabel",
    "axes_at",
    "date_axis",
    "days_apart",
    "empty_figure",
    "end_labels",
    "mark_days",
    "new_figure",
    "spread",
    "style",
    "value_axis",
]

INK, SOFT, RULE, BAND, PAPER = "#1F2A25", "#5A6660", "#D3D9D5", "#E4ECF2", "#FFFFFF"
SIZE = 9.0
# Kept white around what lies on top, so that lines that cross stay apart.
HALO: list[Any] = [withStroke(linewidth=2.6, foreground=PAPER)]
_INCHES_A_CHARACTER = 0.066
_LINE_INCHES = SIZE * 1.2 / 72


def style() -> Any:
    """Return a context in which pictures are drawn alike, whatever the user has set up."""
    return matplotlib.rc_context(
        {
            "font.family": "sans-serif",
            "font.sans-serif": ["DejaVu Sans"],
            "font.size": SIZE,
            "text.color": INK,
            "axes.labelcolor": INK,
            "axes.edgecolor": SOFT,
            "axes.linewidth": 0.8,
            "axes.unicode_minus": True,
            "xtick.color": SOFT,
            "ytick.color": SOFT,
            "xtick.labelcolor": INK,
            "ytick.labelcolor": INK,
            "hatch.linewidth": 0.8,
            "svg.fonttype": "path",
        }
    )


def new_figure(width: float, height: float) -> Figure:
    """Make a white figure of a size in inches."""
    return Figure(figsize=(width, height), facecolor=PAPER)


def empty_figure(width: float, words: str) -> Figure:
    """Make a picture that says why it shows nothing."""
    figure = new_figure(width, 1.0)
    figure.text(0.5, 0.5, words, ha="center", va="center", color=SOFT)
    return figure


def axes_at(figure: Figure, left: float, bottom: float, width: float, height: float) -> Axes:
    """Place axes by inches from the lower left corner, with two quiet sides only."""
    whole_width, whole_height = figure.get_size_inches()
    box = (
        left / whole_width,
        bottom / whole_height,
        width / whole_width,
        height / whole_height,
    )
    axes = figure.add_axes(box)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.set_axisbelow(True)
    return axes


def inches(axes: Axes) -> tuple[float, float]:
    """Width and height of axes in inches."""
    figure = axes.get_figure()
    box = axes.get_position()
    width, height = figure.get_size_inches()  # type: ignore[union-attr]
    return float(box.width * width), float(box.height * height)


def days_apart(dates: Sequence[object]) -> list[float]:
    """Turn days into positions on an axis of dates."""
    return [float(date2num(dt.date.fromisoformat(str(day)[:10]))) for day in dates]


def date_axis(axes: Axes, observed: Sequence[dt.date], low: dt.date, high: dt.date) -> None:
    """Draw real dates: a tick for every day observed, months and years named once.

    Parameters
    ----------
    axes : Axes
        To draw on.
    observed : sequence of date
        Days with observations.
    low, high : date
        Ends of the axis.
    """
    first, last = days_apart([low, high])
    axes.set_xlim(first, last)
    days = sorted(set(observed))
    places = days_apart(days)
    axes.xaxis.set_major_locator(FixedLocator(places))
    axes.xaxis.set_major_formatter(FixedFormatter(_day_labels(axes, days, places)))
    axes.tick_params(axis="x", length=3, pad=3)


def _day_labels(axes: Axes, days: list[dt.date], places: list[float]) -> list[str]:
    low, high = axes.get_xlim()
    an_inch = (high - low) / inches(axes)[0]
    labels: list[str] = []
    named: dt.date | None = None
    free_from = -math.inf
    for day, place in zip(days, places, strict=True):
        new_year = named is None or day.year != named.year
        new_month = new_year or (named is not None and day.month != named.month)
        label = day_short(day).replace(" ", "\n") if new_month else str(day.day)
        label += f"\n{day.year}" if new_year else ""
        half = 0.5 * max(len(line) for line in label.split("\n")) * 0.08 * an_inch
        if place - half < free_from:
            labels.append("")
            continue
        labels.append(label)
        named, free_from = day, place + half
    return labels


def value_axis(axes: Axes, view: MeasureView, values: Sequence[float]) -> None:
    """Scale the axis of a measure: what can be for percent and ratings, else from zero.

    Parameters
    ----------
    axes : Axes
        To draw on.
    view : MeasureView
        The measure, in the reader's unit.
    values : sequence of float
        What is shown, in the reader's unit.
    """
    low, high = view.limits
    found = [value for value in values if math.isfinite(value)] or [0.0, 1.0]
    if low is not None and high is not None:
        axes.set_ylim(low, high)
        step = 20 if high == 100 else 1 if high - low <= 5 else 2
        axes.yaxis.set_major_locator(FixedLocator(_steps(low, high, step)))
    else:
        room = 0.08 * ((max(found) - min(found)) or 1.0)
        bottom = low if low is not None else min(found) - room
        axes.set_ylim(bottom, max(found) + room)
        axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    axes.grid(axis="y", color=RULE, linewidth=0.6)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.set_title(view.head, loc="left", fontsize=SIZE, pad=6)


def _steps(low: float, high: float, step: float) -> list[float]:
    return [low + step * i for i in range(int((high - low) / step + 1e-9) + 1)]


def mark_days(
    axes: Axes, spells: Sequence[tuple[dt.date, dt.date]], events: Sequence[Event]
) -> None:
    """Draw the covered time as a pale band and events as lines, named above the axes.

    Parameters
    ----------
    axes : Axes
        With its dates already set.
    spells : sequence of (date, date)
        First and last day under cover.
    events : sequence of Event
        Days to mark.
    """
    names: list[tuple[float, str]] = []
    for on, off in spells:
        first, last = days_apart([on, off])
        axes.axvspan(first, last, color=BAND, linewidth=0, zorder=0)
        names.append(((first + last) / 2, "covered"))
    for event in events:
        place = days_apart([event.date])[0]
        axes.axvline(place, color=SOFT, linewidth=0.9, linestyle=(0, (4, 2)), zorder=1)
        names.append((place, event.label))
    low, high = axes.get_xlim()
    wide, high_inches = inches(axes)
    an_inch = (high - low) / wide
    rows: list[float] = []
    for place, name in sorted(names):
        half = 0.5 * len(name) * _INCHES_A_CHARACTER * an_inch
        # The first row in which the name does not touch the one before it.
        row = next((r for r, end in enumerate(rows) if place - half > end), len(rows))
        rows[row:] = [place + half + 0.08 * an_inch, *rows[row + 1 :]]
        up = 1 + (0.05 + row * _LINE_INCHES) / high_inches
        axes.text(
            place,
            up,
            name,
            transform=axes.get_xaxis_transform(),
            ha="center",
            va="bottom",
            fontsize=SIZE - 1,
            color=SOFT,
        )


@dataclass(frozen=True)
class EndLabel:
    """A name to write at the end of a line.

    Parameters
    ----------
    x, y : float
        Where the line ends, in data.
    name : str
        What to write.
    mark : Mark
        How the line looks.
    """

    x: float
    y: float
    name: str
    mark: Mark


def end_labels(axes: Axes, labels: Sequence[EndLabel], wrap: int = 20) -> None:
    """Write names at the right of the axes, moved apart until none touches another.

    Parameters
    ----------
    axes : Axes
        With both limits already set.
    labels : sequence of EndLabel
        One a line.
    wrap : int
        Characters in a line of a name.
    """
    kept = sorted((one for one in labels if math.isfinite(one.y)), key=lambda one: one.y)
    low, high = axes.get_ylim()
    wide, tall = inches(axes)
    an_inch = (high - low) / tall
    wrapped = [textwrap.fill(one.name, wrap) for one in kept]
    heights = [(w.count("\n") + 1) * _LINE_INCHES * an_inch for w in wrapped]
    places = spread([one.y for one in kept], heights, low, high)
    x_low, x_high = axes.get_xlim()
    x_inch = (x_high - x_low) / wide
    at = x_high + 0.16 * x_inch
    for one, name, place in zip(kept, wrapped, places, strict=True):
        axes.plot(
            [one.x + 0.06 * x_inch, at - 0.05 * x_inch],
            [one.y, place],
            color=SOFT,
            linewidth=0.6,
            clip_on=False,
            zorder=2,
        )
        axes.plot(
            [at + 0.02 * x_inch], [place], one.mark.marker, color=one.mark.colour, ms=5,
            clip_on=False,
        )  # fmt: skip
        axes.text(at + 0.12 * x_inch, place, name, va="center", ha="left", linespacing=1.05)


def spread(
    places: Sequence[float], heights: Sequence[float], low: float, high: float
) -> list[float]:
    """Move labels apart as little as it takes, within limits.

    Parameters
    ----------
    places : sequence of float
        Wanted centres, ascending.
    heights : sequence of float
        Room that each label needs.
    low, high : float
        Limits; where the labels need more room than there is, they reach beyond both.

    Returns
    -------
    list of float
        Centres, no two nearer than half the sum of their heights.

    Notes
    -----
    Labels that touch are joined into one pile around the mean of their wanted centres, and
    piles that touch are joined again.

    Examples
    --------
    >>> spread([10.0, 10.5, 30.0], [2.0, 2.0, 2.0], 0.0, 100.0)
    [9.25, 11.25, 30.0]
    """
    piles: list[tuple[float, list[float]]] = []
    for place, height in zip(places, heights, strict=True):
        piles.append((place, [height]))
        while len(piles) > 1 and _base(*piles[-1], low, high) < _top(*piles[-2], low, high):
            (upper, above), (lower, below) = piles.pop(), piles.pop()
            weight = len(above) + len(below)
            centre = (upper * len(above) + lower * len(below)) / weight
            piles.append((centre, [*below, *above]))
    moved: list[float] = []
    for centre, pile in piles:
        at = _base(centre, pile, low, high)
        for height in pile:
            moved.append(at + height / 2)
            at += height
    return moved


def _base(centre: float, heights: list[float], low: float, high: float) -> float:
    """Lower end of a pile, kept within the limits."""
    total = sum(heights)
    if total >= high - low:
        return (low + high - total) / 2
    return min(max(centre - total / 2, low), high - total)


def _top(centre: float, heights: list[float], low: float, high: float) -> float:
    return _base(centre, heights, low, high) + sum(heights)
