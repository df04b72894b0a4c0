"""What stands around the plots of a map: tapes, scale bar, direction, key."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import cos, floor, log10, radians, sin
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.patches import Polygon, Rectangle

from wintersward.design.lengths import bare_length, length, reader_length
from wintersward.design.lettering import FONT, text_width
from wintersward.design.map_words import Entry, extent
from wintersward.trial import Definition
from wintersward.units import reader_unit, to_si

__all__ = [
    "FAINT",
    "INK",
    "PAGE",
    "SIDE",
    "SMALL",
    "SOFT",
    "Sheet",
    "draw_key",
    "draw_scale_bar",
    "draw_tapes",
    "draw_up",
    "key_lines",
]

INK, SOFT, FAINT = "#000000", "#404040", "#9A9A9A"
# Lengths on paper are in points (1/72 inch); the page is 7 inches wide.
PAGE, SIDE = 504.0, 18.0
SMALL = 6.5
_KEY, _SWATCH, _GAP = 7.5, 13.0, 14.0
KeyLine = list[tuple[float, Entry]]


@dataclass(frozen=True)
class Sheet:
    """A map being drawn: where metres fall on the paper.

    Parameters
    ----------
    axes : Axes
        Covers the whole figure, in points from its lower left corner.
    plots : DataFrame
        The plots table.
    definition : Definition
        The trial as decided.
    scale : float
        Points to a metre [pt/m].
    left, bottom : float
        Where the corner post stands [pt].
    """

    axes: Axes
    plots: pd.DataFrame
    definition: Definition
    scale: float
    left: float
    bottom: float

    def x(self, metres: float) -> float:
        """Place on the paper [pt] of a distance along the width [m]."""
        return self.left + metres * self.scale

    def y(self, metres: float) -> float:
        """Place on the paper [pt] of a distance along the length [m]."""
        return self.bottom + metres * self.scale

    def write(self, x: float, y: float, text: str, size: float, **how: Any) -> None:
        """Write text at a place on the paper [pt]."""
        style: dict[str, Any] = {"ha": "center", "va": "center", "color": INK, "family": FONT} | how
        self.axes.text(x, y, text, fontsize=size, parse_math=False, **style)

    def line(self, x: Iterable[float], y: Iterable[float], colour: str, width: float) -> None:
        """Draw a line through places on the paper [pt]."""
        self.axes.plot(list(x), list(y), color=colour, linewidth=width, solid_capstyle="butt")

    def box(self, at: tuple[float, float, float, float], **how: Any) -> None:
        """Draw a rectangle given by its left, lower, right and upper side [m]."""
        x, y = self.x(at[0]), self.y(at[1])
        self.axes.add_patch(Rectangle((x, y), self.x(at[2]) - x, self.y(at[3]) - y, **how))

    def arrow_head(self, x: float, y: float, turn: float, size: float = 3.5) -> None:
        """Draw a filled triangle that points along an angle [degrees from the right]."""
        corners = [
            (x + size * cos(radians(turn + by)), y + size * sin(radians(turn + by)))
            for by in (0, 140, 220)
        ]
        self.axes.add_patch(Polygon(corners, closed=True, facecolor=SOFT, edgecolor="none"))


def draw_tapes(sheet: Sheet) -> None:
    """Write how far from the corner post the plots begin and end, along both sides."""
    alley, system = sheet.definition.layout.alley, sheet.definition.units
    low, left = sheet.y(-alley) - 2, sheet.x(-alley) - 2
    plots = sheet.plots
    widest = max(
        text_width(bare_length(value, system), SMALL)
        for value in _edges(plots["x_m"], plots["width_m"])
    )
    for at, marks in enumerate(_lines(plots["x_m"], plots["width_m"], (widest + 3) / sheet.scale)):
        for metres in marks:
            x, down = sheet.x(metres), 3 + 8 * at
            sheet.line((x, x), (low, low - down), FAINT if at else SOFT, 0.4)
            label = bare_length(metres, system)
            sheet.write(x, low - down - 2, label, SMALL, va="top", color=SOFT)
    for metres in _lines(plots["y_m"], plots["length_m"], SMALL / sheet.scale)[0]:
        y = sheet.y(metres)
        sheet.line((left, left - 3), (y, y), SOFT, 0.4)
        sheet.write(left - 5, y, bare_length(metres, system), SMALL, ha="right", color=SOFT)
    sheet.axes.plot([sheet.x(0)], [sheet.y(0)], color=INK, marker="s", markersize=4)
    wide, _ = extent(plots)
    text = f"{reader_unit('distance', system)} from the corner post (black square)"
    sheet.write(sheet.x(wide / 2), low - 24, text, SMALL, color=SOFT)


def _edges(start: pd.Series, size: pd.Series) -> list[float]:
    """List where plots begin and end [m]."""
    return sorted({round(float(value), 3) for side in (start, start + size) for value in side})


def _lines(start: pd.Series, size: pd.Series, room: float) -> list[list[float]]:
    """Mark a tape in one line of labels, or where they are crowded in two: starts, then ends.

    Parameters
    ----------
    start, size : Series
        Where plots begin, and how far they reach [m].
    room : float
        What a label needs [m].
    """
    edges = _edges(start, size)
    if all(b - a >= room for a, b in pairwise(edges)):
        return [edges]
    starts = sorted({round(float(value), 3) for value in start})
    ends = [value for value in edges if value not in starts]
    return [_clear(starts + ends[-1:], room), _clear(ends[:-1], room)]


def _clear(values: list[float], room: float) -> list[float]:
    """Leave out what would stand nearer than ``room`` to its neighbour; both ends stay."""
    kept = values[:1]
    for value in values[1:-1]:
        if value - kept[-1] >= room and values[-1] - value >= room:
            kept.append(value)
    return kept + values[1:][-1:]


def draw_scale_bar(sheet: Sheet, y: float) -> None:
    """Draw a bar of a round length, about a quarter of the trial wide."""
    system = sheet.definition.units
    wide, _ = extent(sheet.plots)
    about = reader_length(wide, system) / 4
    power = 10.0 ** floor(log10(about))
    nice = max(step * power for step in (1, 2, 5) if step * power <= about)
    metres = to_si(nice, reader_unit("distance", system))
    half = metres * sheet.scale / 2
    for at, colour in ((sheet.left, INK), (sheet.left + half, "white")):
        sheet.axes.add_patch(
            Rectangle((at, y), half, 4, facecolor=colour, edgecolor=INK, linewidth=0.6)
        )
    x = sheet.left + 2 * half + 5
    sheet.write(x, y + 2, length(metres, system), 7, ha="left", color=SOFT)


def draw_up(sheet: Sheet, y: float) -> None:
    """Point north where the layout knows it; else say what up the page is."""
    north = getattr(sheet.definition.layout, "north", None)
    x = PAGE - SIDE - 8
    if north is None:
        sheet.line((x, x), (y - 5, y + 7), SOFT, 0.9)
        sheet.arrow_head(x, y + 8, 90)
        text = "up the page: along the length of the plots"
        sheet.write(x - 8, y + 2, text, 7, ha="right", color=SOFT)
        return
    turn = 90 - float(north)
    across, up = 9 * cos(radians(turn)), 9 * sin(radians(turn))
    sheet.line((x - across, x + across), (y + 2 - up, y + 2 + up), SOFT, 1.2)
    sheet.arrow_head(x + across, y + 2 + up, turn, 4.5)
    sheet.write(x - 12, y + 2, "north", 7, ha="right", color=SOFT)


def key_lines(entries: list[Entry]) -> list[KeyLine]:
    """Set the key in lines: each entry with its place from the left [pt]."""
    lines: list[KeyLine] = []
    x = 0.0
    for entry in entries:
        swatch = _SWATCH if entry.colour else 0
        long = text_width(entry.text, _KEY, entry.head) + swatch + _GAP
        if entry.head or not lines or x + long > PAGE - 2 * SIDE:
            lines.append([])
            x = 0.0 if entry.head else 12.0
        lines[-1].append((x, entry))
        x += long
    return lines


def draw_key(sheet: Sheet, lines: list[KeyLine], top: float, step: float) -> None:
    """Draw the lines of a key downwards from a place on the paper [pt]."""
    for at, line in enumerate(lines):
        y = top - at * step
        for along, entry in line:
            x = SIDE + along
            if entry.colour:
                swatch = Rectangle((x, y - 4), 9, 8, facecolor=entry.colour, edgecolor=INK)
                swatch.set_linewidth(0.6)
                sheet.axes.add_patch(swatch)
                x += _SWATCH
            weight = "bold" if entry.head else "normal"
            sheet.write(x, y, entry.text, _KEY, ha="left", weight=weight)
