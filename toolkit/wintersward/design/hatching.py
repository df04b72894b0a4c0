"""Areas left out, as a map shows them: hatched, and named where there is room."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from wintersward.design.areas import Box, area_box, areas_on, lie_on_one_another
from wintersward.design.faults import boxes
from wintersward.design.furniture import FAINT, SMALL, SOFT, Sheet
from wintersward.design.lettering import LEADING, LEGIBLE, text_width
from wintersward.design.map_words import extent
from wintersward.trial import Definition

__all__ = ["draw_areas", "reach"]

# Areas beyond the plots are shown as far as this share of what the plots take up.
_BEYOND = 0.25


def reach(plots: pd.DataFrame, definition: Definition, ground: str) -> tuple[float, float]:
    """Measure what a map shows from the corner post [m]: the plots, and areas near them."""
    wide, long = extent(plots)
    sides = [area_box(area) for area in areas_on(definition, ground)]
    most = wide * (1 + _BEYOND), long * (1 + _BEYOND)
    near = [side for side in sides if side[0] < most[0] and side[1] < most[1]]
    right = max([wide, *(min(side[2], most[0]) for side in near)])
    top = max([long, *(min(side[3], most[1]) for side in near)])
    return right, top


def draw_areas(sheet: Sheet, ground: str, shown: tuple[float, float], taken: Sequence[Box]) -> None:
    """Hatch the areas left out of a ground, and name them where nothing else stands.

    Parameters
    ----------
    sheet : Sheet
        The map.
    ground : str
        Short name of the ground; empty where there is only one.
    shown : tuple of float
        How far the map reaches [m] along width and length; areas are cut there.
    taken : sequence of tuple
        Sides [m] of what is written outside the plots.
    """
    alley = sheet.definition.layout.alley
    plots = list(boxes(sheet.plots).values())
    for area in areas_on(sheet.definition, ground):
        left, low, right, high = area_box(area)
        cut = left, low, min(right, shown[0] + alley), min(high, shown[1] + alley)
        if cut[0] >= cut[2] or cut[1] >= cut[3]:
            continue
        sheet.box(cut, facecolor="white", edgecolor=FAINT, linewidth=0.5, hatch="////", zorder=0.5)
        sheet.box(cut, fill=False, edgecolor=SOFT, linewidth=0.7, zorder=0.6)
        _name(sheet, area.what, cut, [*plots, *taken])


def _name(sheet: Sheet, name: str, cut: Box, taken: Sequence[Box]) -> None:
    """Write the name in the middle of an area, level or upright; the key has every name."""
    middle = (cut[0] + cut[2]) / 2, (cut[1] + cut[3]) / 2
    for upright in (False, True):
        along, across = (
            (cut[3] - cut[1], cut[2] - cut[0])
            if upright
            else (
                cut[2] - cut[0],
                cut[3] - cut[1],
            )
        )
        for size in (SMALL + 1, SMALL, LEGIBLE):
            wide, tall = text_width(name, size) + 3, size * LEADING + 1
            if wide > along * sheet.scale or tall > across * sheet.scale:
                continue
            half = [side / sheet.scale / 2 for side in ((tall, wide) if upright else (wide, tall))]
            box = middle[0] - half[0], middle[1] - half[1], middle[0] + half[0], middle[1] + half[1]
            if any(lie_on_one_another(box, other) for other in taken):
                return
            behind = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}
            turn = 90 if upright else 0
            place = sheet.x(middle[0]), sheet.y(middle[1])
            sheet.write(*place, name, size, color=SOFT, rotation=turn, bbox=behind)
            return
