"""One plot of a map, enlarged: its sides, its edge strip, and where photos and spots lie."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import combinations
from math import hypot

import pandas as pd
from matplotlib.patches import Rectangle

from wintersward.design.furniture import INK, PAGE, SIDE, SOFT, Sheet
from wintersward.design.lengths import length
from wintersward.design.lettering import text_width, wrapped
from wintersward.design.places import sampled, sampling_places
from wintersward.design.spots import SPACING_M
from wintersward.trial import Definition

__all__ = ["Enlarged", "enlarged_plot"]

# Points on paper: the largest plot, and the largest one that is longer than wide.
_WIDE, _LOW, _TALL = 190.0, 92.0, 170.0
_LEFT, _HEAD, _FOOT = SIDE + 34.0, 18.0, 22.0
_TEXT, _STEP, _GAP = 7.0, 10.0, 12.0
# Spots nearer than this on paper cannot be told apart [pt].
_APART = 4.0
_MARKS = ("o", "s", "^", "D", "v", "P", "X", "<", ">", "p", "h", "*")
_SHADE = "#E4E4E4"
_Mark = tuple[str, bool]


@dataclass(frozen=True)
class _Piece:
    """A piece of the key: its place in the key [pt], what is drawn before it, and its words."""

    x: float
    words: str
    mark: _Mark = ("", False)


@dataclass(frozen=True)
class Enlarged:
    """The drawing of one plot, ready to be put on a map.

    Parameters
    ----------
    title : str
        What it shows.
    size : tuple of float
        Width and length of the plot [m].
    scale : float
        Points to a metre [pt/m].
    places : DataFrame
        Its `wintersward.design.sampling_places`.
    marks : dict
        The mark of each measure and date of which spots are drawn; empty where spots are too
        close to be told apart.
    key : list of list of _Piece
        What stands beside it, line by line.
    """

    title: str
    size: tuple[float, float]
    scale: float
    places: pd.DataFrame
    marks: dict[tuple[str, dt.date], _Mark]
    key: list[list[_Piece]]

    @property
    def height(self) -> float:
        """Room that the drawing takes [pt]."""
        return max(self.size[1] * self.scale, len(self.key) * _STEP) + _HEAD + _FOOT

    def draw(self, sheet: Sheet, top: float) -> None:
        """Draw it below a place on the paper [pt]."""
        low = top - _HEAD - self.size[1] * self.scale
        sheet.write(SIDE, top - 6, self.title, 7.5, ha="left", weight="bold")
        self._outline(sheet, low)
        for photo in self.places[self.places["kind"] == "photo"].to_dict("records"):
            wide, tall = photo["width_m"] * self.scale, photo["length_m"] * self.scale
            x = _LEFT + photo["x_m"] * self.scale - wide / 2
            y = low + photo["y_m"] * self.scale - tall / 2
            _shade(sheet, x, y, wide, tall)
        size = min(5.0, max(2.5, SPACING_M * self.scale))
        for spot in self.places[self.places["kind"] == "spot"].to_dict("records"):
            if self.marks:
                mark = self.marks[spot["measure"], spot["date"]]
                x, y = _LEFT + spot["x_m"] * self.scale, low + spot["y_m"] * self.scale
                _mark(sheet, x, y, mark, size)
        left = _LEFT + self.size[0] * self.scale + 26
        for at, line in enumerate(self.key):
            for piece in line:
                _write(sheet, piece, left + piece.x, top - _HEAD - 4 - at * _STEP)

    def _outline(self, sheet: Sheet, low: float) -> None:
        """Draw the plot and its edge strip, with the lengths of its sides."""
        edge, system = sheet.definition.layout.edge_left_out, sheet.definition.units
        wide, high = (side * self.scale for side in self.size)
        whole = Rectangle((_LEFT, low), wide, high, facecolor="white", edgecolor=INK)
        whole.set_linewidth(0.8)
        sheet.axes.add_patch(whole)
        strip = edge * self.scale
        inner = Rectangle(
            (_LEFT + strip, low + strip), wide - 2 * strip, high - 2 * strip, fill=False
        )
        inner.set(edgecolor=SOFT, linewidth=0.5, linestyle=(0, (3, 2)))
        sheet.axes.add_patch(inner)
        below, beside = (length(side, system) for side in self.size)
        sheet.write(_LEFT + wide / 2, low - 8, below, _TEXT, color=SOFT)
        sheet.write(_LEFT - 8, low + high / 2, beside, _TEXT, color=SOFT, rotation=90)


def enlarged_plot(plots: pd.DataFrame, definition: Definition) -> Enlarged | None:
    """Prepare the drawing of the smallest plot; none where no measure has a place in the plots.

    Parameters
    ----------
    plots : DataFrame
        The plots that a map shows.
    definition : Definition
        The trial as decided.
    """
    if not sampled(definition):
        return None
    areas = plots["width_m"] * plots["length_m"]
    first = plots.loc[[areas.idxmin()]]
    size = float(first["width_m"].iloc[0]), float(first["length_m"].iloc[0])
    scale = min(_WIDE / size[0], (_TALL if size[1] > 1.5 * size[0] else _LOW) / size[1])
    same = bool((areas - areas.min() < 1e-6).all())
    title = "Every plot, enlarged" if same else f"Plot {first['plot'].iloc[0]}, enlarged"
    places = sampling_places(first, definition)
    marks = _marks(places, scale)
    room = PAGE - SIDE - (_LEFT + size[0] * scale + 26)
    key = [*_edge_lines(definition, room), *_photo_lines(places, definition, room)]
    key += _spot_lines(places, marks, definition, room)
    return Enlarged(title, size, scale, places, marks, key)


def _marks(places: pd.DataFrame, scale: float) -> dict[tuple[str, dt.date], _Mark]:
    """Choose a mark for every measure and date, where spots are far enough apart on paper."""
    spots = places[places["kind"] == "spot"]
    middles = [(x * scale, y * scale) for x, y in zip(spots["x_m"], spots["y_m"], strict=True)]
    apart = [hypot(a[0] - b[0], a[1] - b[1]) for a, b in combinations(middles, 2)]
    if min(apart, default=_APART) < _APART:
        return {}
    visits = dict.fromkeys(zip(spots["measure"], spots["date"], strict=True))
    turns = len(_MARKS)
    return {
        visit: (_MARKS[at % turns], (at + at // turns) % 2 == 0) for at, visit in enumerate(visits)
    }


def _edge_lines(definition: Definition, room: float) -> list[list[_Piece]]:
    edge = definition.layout.edge_left_out
    if not edge:
        return []
    words = f"what is sampled lies {length(edge, definition.units)} inside every edge"
    return _set(words, ("dashed", False), room)


def _photo_lines(places: pd.DataFrame, definition: Definition, room: float) -> list[list[_Piece]]:
    lines = []
    photos = places[places["kind"] == "photo"].drop_duplicates(["measure", "sample"])
    for measure, part in photos.groupby("measure", sort=False):
        sides = (float(part[side].iloc[0]) for side in ("width_m", "length_m"))
        size = " by ".join(length(side, definition.units) for side in sides)
        what = "a photo" if len(part) == 1 else f"{len(part)} photos, each"
        words = f"{_label(definition, str(measure))}: {what} of {size}"
        lines += _set(words, ("photo", False), room)
    return lines


def _spot_lines(
    places: pd.DataFrame,
    marks: dict[tuple[str, dt.date], _Mark],
    definition: Definition,
    room: float,
) -> list[list[_Piece]]:
    """Name each measure that takes spots, and its marks with their dates below it."""
    spots = places[places["kind"] == "spot"]
    if not marks and len(spots):
        words = f"{len(spots)} spots of destructive readings are too close to be drawn here"
        return _set(words, ("", False), room)
    years = {day.year for _, day in marks}
    lines: list[list[_Piece]] = []
    for measure in dict.fromkeys(name for name, _ in marks):
        lines += _set(f"spots of {_label(definition, measure)} on", ("", False), room)
        x = _GAP
        lines.append([])
        for (name, day), mark in marks.items():
            words = f"{day.day} {day:%B}" + (f" {day.year}" if len(years) > 1 else "")
            wide = _GAP + text_width(words, _TEXT) + 8
            if name != measure:
                continue
            if x + wide > room:
                lines.append([])
                x = _GAP
            lines[-1].append(_Piece(x, words, mark))
            x += wide
    return lines


def _set(words: str, mark: _Mark, room: float) -> list[list[_Piece]]:
    """Set words behind a mark, in as many lines as they need."""
    start = _GAP if mark[0] else 0.0
    lines = wrapped(words.split(), _TEXT, room - start)
    blank = ("", False)
    return [
        [_Piece(0.0 if at == 0 else start, line, mark if at == 0 else blank)]
        for at, line in enumerate(lines)
    ]


def _write(sheet: Sheet, piece: _Piece, x: float, y: float) -> None:
    kind = piece.mark[0]
    if kind == "photo":
        _shade(sheet, x, y - 3, 8, 6)
    elif kind == "dashed":
        for start in (x, x + 4.5):
            sheet.line((start, start + 3), (y, y), SOFT, 0.8)
    elif kind:
        _mark(sheet, x + 4, y, piece.mark, 4.5)
    sheet.write(x + (_GAP if kind else 0), y, piece.words, _TEXT, ha="left", color=SOFT)


def _shade(sheet: Sheet, x: float, y: float, wide: float, tall: float) -> None:
    shade = Rectangle((x, y), wide, tall, facecolor=_SHADE, edgecolor=SOFT)
    # Thinner than the outline of a plot.
    shade.set_linewidth(0.5)
    sheet.axes.add_patch(shade)


def _mark(sheet: Sheet, x: float, y: float, mark: _Mark, size: float) -> None:
    style, filled = mark
    sheet.axes.plot(
        [x],
        [y],
        marker=style,
        markersize=size,
        markerfacecolor=INK if filled else "white",
        markeredgecolor=INK,
        markeredgewidth=0.6,
        linestyle="",
    )


def _label(definition: Definition, measure: str) -> str:
    return definition.measures[measure].label or measure.replace("_", " ")
