"""The map of a trial: every plot to scale, to be read on paper, on a screen and on the turf."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd
from matplotlib.figure import Figure

from wintersward.design.areas import Box
from wintersward.design.blocks import around, block_names
from wintersward.design.enlarged import enlarged_plot
from wintersward.design.furniture import (
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
from wintersward.design.hatching import draw_areas, reach
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
    heading,
    key_entries,
    main_factor,
    panels,
    plot_words,
    square,
)
from wintersward.design.marks import treatment_marks
from wintersward.design.walks import draw_way, walk_words, ways
from wintersward.trial import Definition

__all__ = ["plot_map"]

# Points on paper: the tape's room on the left, the tallest map that still goes on a page.
_LEFT, _TALLEST = 30.0, 540.0
_TITLE, _NOTE = 11.0, 7.5
_TAPES, _FOOT, _KEY_STEP, _LABEL = 40.0, 22.0, 12.0, 16.0


@dataclass(frozen=True)
class _Setting:
    """The scale of a map [pt/m], and what stands in each plot and how it is set."""

    scale: float
    lettering: Lettering
    stacks: Stacks
    in_strip: bool


def plot_map(
    plots: pd.DataFrame, definition: Definition, treatments: bool = True, ground: str = ""
) -> Figure:
    """Draw the plan to scale.

    Parameters
    ----------
    plots : DataFrame
        The plots table.
    definition : Definition
        Names, labels, alley and edge; ``units`` gives the reader's unit of length.
    treatments : bool
        False makes the copy for raters: no treatment is named or coloured.
    ground : str
        Short name of one of several grounds; empty draws all of them, one below another.

    Returns
    -------
    Figure
        7 inches wide. Colour stands for the factor of the whole plots, or of the primary
        comparison; words in each plot name its level of every factor. The dashed inner line
        bounds what is sampled. Numbers along the left and lower side are distances from the
        corner post of the ground. The grey line is the way on foot. Areas left out are hatched.
        Up the page is along the length of the plots; a north arrow is drawn only when the layout
        has a ``north`` [degrees clockwise from up the page]. Where photos or destructive readings
        have places of their own, one plot is drawn enlarged.

    Raises
    ------
    WinterswardError
        For a ground that the definition does not have.
    """
    shown = panels(plots, definition, ground)
    every = pd.concat([part for _, part in shown], ignore_index=True)
    walk = walk_words([part for _, part in shown], definition)
    title, *notes = heading(every, definition, treatments, ground, walk)
    notes = [line for note in notes for line in wrapped(note.split(), _NOTE, PAGE - 2 * SIDE)]
    alley = definition.layout.alley
    reaches = [reach(part, definition, name) for name, part in shown]
    wide = max(right for right, _ in reaches) + 2 * alley
    high = sum(top + 2 * alley for _, top in reaches)
    setting = _setting(every, definition, treatments, wide, high)
    coded = setting.lettering.choice == CODED
    key = key_lines(key_entries(every, definition, treatments, coded))
    enlarged = enlarged_plot(every, definition)
    beside = enlarged.height if enlarged else 0.0
    named = _LABEL if len(shown) > 1 else 0.0
    head = _TITLE * 1.8 + len(notes) * _NOTE * 1.35 + 6
    foot = _FOOT + beside + len(key) * _KEY_STEP
    tall = head + high * setting.scale + len(shown) * (named + _TAPES) + foot
    axes = _paper(tall)
    left = _LEFT + (PAGE - _LEFT - SIDE - wide * setting.scale) / 2 + alley * setting.scale
    y = tall - head
    for (name, part), (right, top) in zip(shown, reaches, strict=True):
        y -= named + (top + 2 * alley) * setting.scale
        sheet = Sheet(axes, part, definition, setting.scale, left, y + alley * setting.scale)
        if named:
            _name_ground(sheet, name, y + (top + 2 * alley) * setting.scale + 5)
        _draw_ground(sheet, setting, treatments, name, (right, top))
        y -= _TAPES
    whole = Sheet(axes, every, definition, setting.scale, left, y)
    whole.write(SIDE, tall - 14, title, _TITLE, ha="left", weight="bold")
    for at, note in enumerate(notes):
        down = tall - 14 - _TITLE * 1.2 - at * _NOTE * 1.35
        whole.write(SIDE, down, note, _NOTE, ha="left", color=SOFT)
    draw_scale_bar(whole, y - 10)
    draw_up(whole, y - 10)
    if enlarged:
        enlarged.draw(whole, y - 20)
    draw_key(whole, key, y - 26 - beside, _KEY_STEP)
    return axes.figure


def _paper(tall: float) -> Any:
    """Make a page with axes that count points from its lower left corner."""
    figure = Figure(figsize=(PAGE / 72, tall / 72), facecolor="white")
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, PAGE), ylim=(0, tall), autoscale_on=False)
    axes.axis("off")
    return axes


def _name_ground(sheet: Sheet, name: str, y: float) -> None:
    """Write the name of a ground and the size of what lies on it above its plots."""
    label = (sheet.definition.layout.grounds or {})[name]
    sheet.write(SIDE, y, label, _NOTE + 1, ha="left", weight="bold")
    x = SIDE + text_width(label, _NOTE + 1, True) + 8
    sheet.write(x, y, square(sheet.plots, sheet.definition), _NOTE, ha="left", color=SOFT)


def _draw_ground(
    sheet: Sheet, setting: _Setting, treatments: bool, ground: str, shown: tuple[float, float]
) -> None:
    """Draw all that lies on one ground, and the tapes along it."""
    names = block_names(sheet) if is_blocked(sheet.definition) else []
    draw_areas(sheet, ground, shown, [name.box(sheet) for name in names])
    for stretch in ways(sheet.plots, sheet.definition):
        draw_way(sheet, stretch)
    _draw_plots(sheet, setting, treatments)
    for name in names:
        name.write(sheet)
    draw_tapes(sheet)


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
            sides = around(plots)
            sheet.box(sides, fill=False, edgecolor=INK, linewidth=1.4)
            if setting.in_strip:
                size = min(max(0.8 * edge * sheet.scale, LEGIBLE), SMALL)
                place = sheet.x(sides[0]) + 2.5, sheet.y(sides[3] - edge / 2)
                sheet.write(*place, str(name), size, ha="left", va="center_baseline")
    if is_strip(definition):
        for _, plots in sheet.plots.groupby(["block", "row"], sort=False):
            sheet.box(around(plots), fill=False, edgecolor=INK, linewidth=1.4)


def _letter(sheet: Sheet, setting: _Setting, at: Box, number: str, fill: str) -> None:
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
