"""The map of the sun: hours of direct sun a day on every plot, from what stands around."""

from __future__ import annotations

import pandas as pd
from matplotlib.colors import LinearSegmentedColormap, to_hex
from matplotlib.figure import Figure

from wintersward.design.furniture import PAGE, SIDE, SOFT, Sheet, draw_scale_bar, draw_up
from wintersward.design.lettering import LEADING, text_width
from wintersward.design.map_words import extent, panels
from wintersward.report.drawing import empty_figure, new_figure, style
from wintersward.report.numbers import listed_words, text
from wintersward.trial.schema import Definition

__all__ = ["season_sun", "sun_map", "sun_map_alt"]

# Dark for shade, pale for sun: one hue, which a grey print keeps in order.
_SHADES = LinearSegmentedColormap.from_list("sun", ["#9DA7B5", "#FFF6D2"])
_MOST_SCALE, _LARGEST, _SMALLEST = 20.0, 8.0, 4.0
_HEAD, _FOOT, _NAME = 6.0, 40.0, 16.0


def season_sun(hours: pd.DataFrame) -> pd.DataFrame:
    """Average sun and light over the months of a trial, by plot.

    Parameters
    ----------
    hours : DataFrame
        The table ``sun_hours`` of a run.

    Returns
    -------
    DataFrame
        Columns plot, sun_hours and open_sun_hours [h d-1], each month counting by its days.
    """
    days = hours["days"].astype(float)
    names = ["sun_hours", "open_sun_hours"]
    totals = hours.assign(_days=days, **{name: hours[name] * days for name in names})
    found = totals.groupby("plot", sort=False)[[*names, "_days"]].sum()
    return found[names].div(found["_days"], axis=0).reset_index()


def sun_map(hours: pd.DataFrame, plots: pd.DataFrame, definition: Definition) -> Figure:
    """Draw the plots to scale, with the hours of direct sun a day that each can get.

    Parameters
    ----------
    hours : DataFrame
        The table ``sun_hours`` of a run.
    plots : DataFrame
        The plots table.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        Means over the dates of the trial, for a clear sky; the darker, the less. Names of plots
        stand above the hours where both have room.
    """
    if hours.empty:
        return empty_figure(PAGE / 72, "No hours of sun were computed")
    sun = season_sun(hours).set_index("plot")["sun_hours"]
    shown = panels(plots, definition)
    alley = definition.layout.alley
    wide = max(extent(part)[0] for _, part in shown)
    highs = [extent(part)[1] for _, part in shown]
    scale = min(_MOST_SCALE, (PAGE - 2 * SIDE) / wide, 470.0 / (sum(highs) + alley * len(highs)))
    named = _NAME if len(shown) > 1 else 0.0
    tall = _HEAD + sum(high * scale + named + 10 for high in highs) + _FOOT
    left = SIDE + (PAGE - 2 * SIDE - wide * scale) / 2
    with style():
        figure = new_figure(PAGE / 72, tall / 72)
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set(xlim=(0, PAGE), ylim=(0, tall), autoscale_on=False)
        axes.axis("off")
        y = tall - _HEAD
        for (name, part), high in zip(shown, highs, strict=True):
            y -= named + high * scale
            sheet = Sheet(axes, part, definition, scale, left, y)
            if named:
                label = (definition.layout.grounds or {})[name]
                sheet.write(left, y + high * scale + 7, label, 8, ha="left", weight="bold")
            _plots(sheet, sun)
            y -= 10
        whole = Sheet(axes, plots, definition, scale, left, y)
        draw_scale_bar(whole, y - 14)
        draw_up(whole, y - 14)
        _key(whole, sun, y - 32)
    return figure


def _plots(sheet: Sheet, sun: pd.Series) -> None:
    size = _size(sheet, sun)
    for plot in sheet.plots.to_dict("records"):
        name, x, y = str(plot["plot"]), float(plot["x_m"]), float(plot["y_m"])
        at = x, y, x + float(plot["width_m"]), y + float(plot["length_m"])
        fill = _fill(sun, float(sun[name]))
        sheet.box(at, facecolor=fill, edgecolor=SOFT, linewidth=0.6)
        middle = sheet.x((at[0] + at[2]) / 2), sheet.y((at[1] + at[3]) / 2)
        hours = text(float(sun[name]), 1)
        # The number in front, the name of the plot small above it.
        both = (at[3] - at[1]) * sheet.scale > 2.2 * LEADING * size
        down = 0.42 * size if both else 0.0
        sheet.write(middle[0], middle[1] - down, hours, size, va="center_baseline")
        if both:
            up = middle[1] + 0.72 * size
            sheet.write(middle[0], up, name, 0.7 * size, color=SOFT, va="center_baseline")


def _size(sheet: Sheet, sun: pd.Series) -> float:
    """Find the largest letters with which the hours go into the narrowest plot."""
    room = float(sheet.plots["width_m"].min()) * sheet.scale - 3
    widest = max(text_width(text(float(one), 1), 1.0) for one in sun)
    return max(_SMALLEST, min(_LARGEST, room / widest))


def _fill(sun: pd.Series, hours: float) -> str:
    low, high = float(sun.min()), float(sun.max())
    share = 1.0 if high - low < 0.05 else (hours - low) / (high - low)
    return str(to_hex(_SHADES(share)))


def _key(sheet: Sheet, sun: pd.Series, y: float) -> None:
    """Explain the shades by their ends."""
    low, high = text(float(sun.min()), 1), text(float(sun.max()), 1)
    words = [f"{low} h a day, the least", f"{high} h a day, the most"]
    if low == high:
        words = [f"{low} h a day"]
    x = sheet.left
    for word, hours in zip(words, (float(sun.min()), float(sun.max())), strict=False):
        corner = (x - sheet.left) / sheet.scale, (y - sheet.bottom) / sheet.scale
        box = (*corner, corner[0] + 11 / sheet.scale, corner[1] + 8 / sheet.scale)
        sheet.box(box, facecolor=_fill(sun, hours), edgecolor=SOFT, linewidth=0.5)
        sheet.write(x + 15, y + 4, word, 7, ha="left", color=SOFT)
        x += 15 + text_width(word, 7) + 16


def sun_map_alt(hours: pd.DataFrame, definition: Definition) -> str:
    """Tell what `sun_map` shows, with its numbers.

    Parameters
    ----------
    hours : DataFrame
        The table ``sun_hours`` of a run.
    definition : Definition
        The trial.
    """
    if hours.empty:
        return "No hours of sun were computed."
    season = season_sun(hours)
    sun = season.set_index("plot")["sun_hours"]
    around = [one.name for one in definition.site.shade]
    low, high = text(float(sun.min()), 1), text(float(sun.max()), 1)
    opened = text(float(season["open_sun_hours"].max()), 1)
    begin = f"Map of {len(sun)} plots with their hours of direct sun a day, mean over the trial: "
    most = [str(name) for name in sun.index[sun > sun.max() - 0.05]]
    least = [str(name) for name in sun.index[sun < sun.min() + 0.05]]
    if low == high:
        said = f"{low} on every plot"
    else:
        said = f"{low} on {_named(least)}, {high} on {_named(most)}"
    because = f"; what stands around: {listed_words(around)}" if around else ""
    return f"{begin}{said}; {opened} with nothing around{because}."


def _named(plots: list[str]) -> str:
    """Name a few plots, or count them."""
    if len(plots) > 3:
        return f"{len(plots)} plots"
    return f"plot{'s' if len(plots) > 1 else ''} {listed_words(plots)}"
