"""Blocks on a map: their outlines and their names."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from wintersward.design.areas import Box
from wintersward.design.furniture import SOFT, Sheet
from wintersward.design.lettering import LEADING, LEGIBLE, text_width
from wintersward.design.map_words import extent

__all__ = ["BlockName", "around", "block_names"]

_NOTE = 7.5


@dataclass(frozen=True)
class BlockName:
    """A block to be drawn: its sides [m], and its name with its place [pt] and size [pt].

    Parameters
    ----------
    sides : tuple of float
        Left, lower, right and upper side [m] of its plots.
    text : str
        Empty where an alley is too narrow for a name: the key says how numbers tell the block.
    x, y : float
        Middle of the name on the paper [pt].
    size : float
        Height of the type [pt].
    """

    sides: Box
    text: str
    x: float
    y: float
    size: float

    def box(self, sheet: Sheet) -> Box:
        """Give the sides of the name [m], which runs up the page."""
        high = text_width(self.text, self.size, True) / sheet.scale / 2 if self.text else 0.0
        wide = self.size * LEADING / sheet.scale / 2 if self.text else 0.0
        x, y = (self.x - sheet.left) / sheet.scale, (self.y - sheet.bottom) / sheet.scale
        return x - wide, y - high, x + wide, y + high

    def write(self, sheet: Sheet) -> None:
        """Outline the block and write its name."""
        pad = sheet.definition.layout.alley / 4
        left, low, right, high = self.sides
        outline = left - pad, low - pad, right + pad, high + pad
        sheet.box(outline, fill=False, edgecolor=SOFT, linewidth=0.9)
        if self.text:
            behind = {"facecolor": "white", "edgecolor": "none", "pad": 0.2}
            sheet.write(
                self.x, self.y, self.text, self.size, weight="bold", rotation=90, bbox=behind
            )


def block_names(sheet: Sheet) -> list[BlockName]:
    """Find where each block is named: in the alley to its right, or in the margin.

    Returns
    -------
    list of BlockName
    """
    alley = sheet.definition.layout.alley
    wide, _ = extent(sheet.plots)
    found = []
    for block, plots in sheet.plots.groupby("block", sort=False):
        sides = around(plots)
        _, low, right, high = sides
        at_edge = right > wide - alley / 2
        x = sheet.x(right + alley) + 6 if at_edge else sheet.x(right + alley / 2)
        room = _NOTE if at_edge else alley * sheet.scale
        name, size = _fitted(f"Block {block}", f"B{block}", room, (high - low) * sheet.scale)
        found.append(BlockName(sides, name, x, sheet.y((low + high) / 2), size))
    return found


def _fitted(name: str, short: str, room: float, high: float) -> tuple[str, float]:
    """Choose the name of a block and its size for a room of so many points."""
    if room < LEGIBLE - 1:
        return "", LEGIBLE
    size = max(LEGIBLE, min(_NOTE, room - 1))
    while size > LEGIBLE and text_width(name, size, True) > high:
        size = max(size - 0.5, LEGIBLE)
    return (name if text_width(name, size, True) <= high else short), size


def around(plots: pd.DataFrame) -> Box:
    """Give the sides of the rectangle around plots [m]."""
    return (
        float(plots["x_m"].min()),
        float(plots["y_m"].min()),
        float((plots["x_m"] + plots["width_m"]).max()),
        float((plots["y_m"] + plots["length_m"]).max()),
    )
