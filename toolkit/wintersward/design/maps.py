"""The map of a trial: every plot to scale, to be read on paper, on a screen and on the turf."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import pandas as pd
from matplotlib.figure import Figure

from wintersward.design.furniture import (
    FAINT,
    INK,
    PAGE,
    SIDE,
    SMALL,
    SOFT,
    Sheet,
    draw_key,
    draw_scale_bar,
    draw_tapes,
    draw_up,
    key_lines,
)
from wintersward.design.layouts import is_blocked, is_split, is_strip
from wintersward.design.lettering import (
    LEADING,
    LEGIBLE,
    NUMBER,
    Lettering,
    Stacks,
    fitted,
    text_width,
    wrapped,
)
from wintersward.design.map_words import (
    CODED,
    extent,
    heading,
    key_entries,
    main_factor,
    plot_words,
)
from wintersward.design.marks import treatment_marks
from wintersward.trial import Definition

__all__ = ["plot_map"]

# Points on paper: the tape's room on the left, the tallest map that still goes on a page.
_LEFT, _TALLEST = 30.0, 540.0
_TITLE, _NOTE = 11.0, 7.5
_FOOT, _KEY_STEP = 62.0, 12.0
_Sides = tuple[float, float, float, float]


@dataclass(frozen=True)
class _Setting:
    """The scale of a map [pt/m], and what stands in each plot and how it is set."""

    scale: float
    lettering: Lettering
    stacks: Stacks
    in_strip: bool


def plot_map(plots: pd.DataFrame, definition: Definition, treatments: bool = True) -> Figure:
    """Draw the plan to scale.

    Parameters
    ----------
    plots : DataFrame
        The plots table.
    definition : Definition
        Names, labels, alley and edge; ``units`` gives the reader's unit of length.
    treatments : bool
        False makes the copy for raters: no treatment is named or coloured.

    Returns
    -------
    Figure
        7 inches wide. Colour stands for the factor of the whole plots, or of the primary
        comparison; words in each plot name its level of every factor. The dashed inner line
        bounds what is sampled. Numbers along the left and lower side are distances from the
        corner post at plot 101. The grey line is the way on foot. Up the page is along the
        length of the plots; a north arrow is drawn only when the layout has a ``north``
        [degrees clockwise from up the page].
    """
    title, *notes = heading(plots, definition, treatments)
    notes = [line for note in notes for line in wrapped(note.split(), _NOTE, PAGE - 2 * SIDE)]
    alley = definition.layout.alley
    wide, high = (side + 2 * alley for side in extent(plots))
    setting = _setting(plots, definition, treatments, wide, high)
    scale = setting.scale
    coded = setting.lettering.choice == CODED
    key = key_lines(key_entries(plots, definition, treatments, coded))
    head = _TITLE * 1.8 + len(notes) * _NOTE * 1.35 + 6
    foot = _FOOT + len(key) * _KEY_STEP
    tall = head + high * scale + foot
    figure = Figure(figsize=(PAGE / 72, tall / 72), facecolor="white")
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, PAGE), ylim=(0, tall), autoscale_on=False)
    axes.axis("off")
    slack = PAGE - _LEFT - SIDE - wide * scale
    left, bottom = _LEFT + slack / 2 + alley * scale, foot + alley * scale
    sheet = Sheet(axes, plots, definition, scale, left, bottom)
    sheet.write(SIDE, tall - 14, title, _TITLE, ha="left", weight="bold")
    for at, note in enumerate(notes):
        y = tall - 14 - _TITLE * 1.2 - at * _NOTE * 1.35
        sheet.write(SIDE, y, note, _NOTE, ha="left", color=SOFT)
    _draw_walk(sheet)
    _draw_plots(sheet, setting, treatments)
    if is_blocked(definition):
        _draw_blocks(sheet)
    draw_tapes(sheet)
    draw_scale_bar(sheet, foot - 50)
    draw_up(sheet, foot - 50)
    draw_key(sheet, key, foot - _FOOT - 4, _KEY_STEP)
    return figure


def _setting(
    plots: pd.DataFrame, definition: Definition, treatments: bool, wide: float, high: float
) -> _Setting:
    """Find the scale: the page's width, less where the map would be taller than the page.

    A tall map shrinks to the page only as far as its plots stay legible.
    """
    across = (PAGE - _LEFT - SIDE) / wide
    least = min(across, _TALLEST / high)
    steps = 20 if least < across else 0
    setting = _at_scale(plots, definition, treatments, least)
    for step in range(1, steps + 1):
        if setting.lettering.fits:
            break
        scale = least + (across - least) * step / steps
        setting = _at_scale(plots, definition, treatments, scale)
    return setting


def _at_scale(
    plots: pd.DataFrame, definition: Definition, treatments: bool, scale: float
) -> _Setting:
    edge = definition.layout.edge_left_out
    in_strip = edge * scale >= LEGIBLE + 0.5
    choices = plot_words(plots, definition, treatments, names=not in_strip)
    width, height = float(plots["width_m"].min()), float(plots["length_m"].min())
    inside = (width - 2 * edge) * scale, (height - 2 * edge) * scale
    lettering = fitted(choices, inside, (width * scale - 4, height * scale - 4))
    return _Setting(scale, lettering, choices[lettering.choice], in_strip)


def _draw_plots(sheet: Sheet, setting: _Setting, treatments: bool) -> None:
    definition = sheet.definition
    factor = main_factor(definition)
    held = definition.treatments[factor]
    marks = treatment_marks(list(held.levels), held.control)
    edge = definition.layout.edge_left_out
    for plot in sheet.plots.to_dict("records"):
        x, y = plot["x_m"], plot["y_m"]
        at = x, y, x + plot["width_m"], y + plot["length_m"]
        fill = marks[plot[factor]].tint if treatments else "#FFFFFF"
        sheet.box(at, facecolor=fill, edgecolor=INK, linewidth=0.6)
        inner = at[0] + edge, at[1] + edge, at[2] - edge, at[3] - edge
        sheet.box(inner, fill=False, edgecolor=SOFT, linewidth=0.4, linestyle=(0, (3, 2)))
        _letter(sheet, setting, at, plot["plot"], fill)
    if is_split(definition):
        for name, plots in sheet.plots.groupby("whole_plot", sort=False):
            around = _around(plots)
            sheet.box(around, fill=False, edgecolor=INK, linewidth=1.4)
            if setting.in_strip:
                size = min(max(0.8 * edge * sheet.scale, LEGIBLE), SMALL)
                place = sheet.x(around[0]) + 2.5, sheet.y(around[3] - edge / 2)
                sheet.write(*place, str(name), size, ha="left", va="center_baseline")
    if is_strip(definition):
        for _, plots in sheet.plots.groupby(["block", "row"], sort=False):
            sheet.box(_around(plots), fill=False, edgecolor=INK, linewidth=1.4)


def _letter(sheet: Sheet, setting: _Setting, at: _Sides, number: str, fill: str) -> None:
    """Write a plot's number and what stands below it, as one centred stack."""
    lettering = setting.lettering
    size = lettering.size
    x, y = sheet.x((at[0] + at[2]) / 2), sheet.y((at[1] + at[3]) / 2)
    stack = [(number, size * NUMBER, "bold")]
    stack += [(line, size, "normal") for line in setting.stacks[number]]
    down = sum(height for _, height, _ in stack) * LEADING / 2
    # The dashed line is broken where words cross it.
    behind = {"facecolor": fill, "edgecolor": "none", "pad": 0.2}
    for text, height, weight in stack:
        off = down - height * LEADING / 2
        down -= height * LEADING
        if lettering.upright:
            sheet.write(x - off, y, text, height, weight=weight, rotation=90, bbox=behind)
        else:
            aligned = "center_baseline"
            sheet.write(x, y + off, text, height, weight=weight, va=aligned, bbox=behind)


def _draw_blocks(sheet: Sheet) -> None:
    """Outline each block and name it in the alley to its right, or in the margin."""
    alley = sheet.definition.layout.alley
    wide, _ = extent(sheet.plots)
    for block, plots in sheet.plots.groupby("block", sort=False):
        left, low, right, high = _around(plots)
        pad = alley / 4
        outline = left - pad, low - pad, right + pad, high + pad
        sheet.box(outline, fill=False, edgecolor=SOFT, linewidth=0.9)
        at_edge = right > wide - alley / 2
        x = sheet.x(right + alley) + 6 if at_edge else sheet.x(right + alley / 2)
        room = _NOTE if at_edge else alley * sheet.scale
        # The key says how plot numbers tell the block where an alley is too narrow for a name.
        if room < LEGIBLE - 1:
            continue
        name = f"Block {block}"
        size = max(LEGIBLE, min(_NOTE, room - 1))
        while size > LEGIBLE and text_width(name, size, True) > (high - low) * sheet.scale:
            size = max(size - 0.5, LEGIBLE)
        if text_width(name, size, True) > (high - low) * sheet.scale:
            name = f"B{block}"
        behind = {"facecolor": "white", "edgecolor": "none", "pad": 0.2}
        y = sheet.y((low + high) / 2)
        sheet.write(x, y, name, size, weight="bold", rotation=90, bbox=behind)


def _draw_walk(sheet: Sheet) -> None:
    """Draw the way on foot in the alley below each row, with a dot where it begins."""
    half = sheet.definition.layout.alley / 2
    wide, _ = extent(sheet.plots)
    ordered = sheet.plots.sort_values("walk").to_dict("records")
    middle = [(plot["x_m"] + plot["width_m"] / 2, plot["y_m"] - half) for plot in ordered]
    side = [-half if x < wide / 2 else wide + half for x, _ in middle]
    way = [(side[0], middle[0][1])]
    for at, (here, there) in enumerate(pairwise(middle)):
        way.append(here)
        if ordered[at]["row"] != ordered[at + 1]["row"]:
            way += [(side[at], here[1]), (side[at], there[1])]
    way += [middle[-1], (side[-1], middle[-1][1])]
    xs, ys = [sheet.x(x) for x, _ in way], [sheet.y(y) for _, y in way]
    sheet.line(xs, ys, FAINT, 1.0)
    sheet.axes.plot(xs[:1], ys[:1], color=SOFT, marker="o", markersize=4)
    for row in sheet.plots["row"].drop_duplicates():
        inside = [spot for spot, plot in zip(middle, ordered, strict=True) if plot["row"] == row]
        back = inside[-1][0] < inside[0][0]
        x, y = sheet.x((inside[0][0] + inside[-1][0]) / 2), sheet.y(inside[0][1])
        sheet.arrow_head(x, y, 180.0 if back else 0.0)
    sheet.arrow_head(xs[-1], ys[-1], 180.0 if xs[-1] < xs[-2] else 0.0)


def _around(plots: pd.DataFrame) -> _Sides:
    return (
        float(plots["x_m"].min()),
        float(plots["y_m"].min()),
        float((plots["x_m"] + plots["width_m"]).max()),
        float((plots["y_m"] + plots["length_m"]).max()),
    )
