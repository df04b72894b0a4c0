"""The way on foot through the plots of a map: which alleys it takes, and how it is drawn."""

from __future__ import annotations

from itertools import pairwise

import pandas as pd

from wintersward.design.areas import TOUCH_M
from wintersward.design.furniture import FAINT, SOFT, Sheet
from wintersward.trial import Definition

__all__ = ["draw_way", "walk_words", "ways"]


def ways(plots: pd.DataFrame, definition: Definition) -> list[pd.DataFrame]:
    """Split the plots of one ground into stretches that are walked row by row.

    Parameters
    ----------
    plots : DataFrame
        The plots of one ground.
    definition : Definition
        Says whether the blocks lie each by itself.

    Returns
    -------
    list of DataFrame
        In walking order: all plots; or those of each block where the blocks have places of their
        own; nothing where plots laid by hand do not stand in rows that are walked one by one.
    """
    ordered = plots.sort_values("walk")
    apart = definition.layout.block_places is not None
    stretches = [part for _, part in ordered.groupby("block", sort=False)] if apart else [ordered]
    alley = definition.layout.alley
    return stretches if all(_in_rows(part, alley) for part in stretches) else []


def walk_words(parts: list[pd.DataFrame], definition: Definition) -> str:
    """Say how to walk the plots of all the grounds that a map shows."""
    found = [ways(plots, definition) for plots in parts]
    if not all(found):
        return "The column walk of plan/plots.csv is the order on foot."
    if definition.layout.block_places is not None:
        return "Walk block after block, each along its grey line from the dot."
    return "Walk the grey line from its dot." if len(parts) == 1 else "Walk the grey lines."


def _in_rows(plots: pd.DataFrame, alley: float) -> bool:
    """Tell whether plots in walking order stand in rows, with room to walk below each row."""
    rows = [part for _, part in plots.groupby("row", sort=False)]
    if [row for part in rows for row in part["walk"]] != plots["walk"].tolist():
        return False
    for part in rows:
        steps = part["x_m"].diff().dropna()
        level = part["y_m"].max() - part["y_m"].min() <= TOUCH_M
        if not level or not ((steps > 0).all() or (steps < 0).all()):
            return False
    return all(
        (here["y_m"] + here["length_m"]).max() + alley / 2 <= there["y_m"].min() + TOUCH_M
        for here, there in pairwise(rows)
    )


def draw_way(sheet: Sheet, plots: pd.DataFrame) -> None:
    """Draw one stretch in the alley below each of its rows, with a dot where it begins.

    Parameters
    ----------
    sheet : Sheet
        The map.
    plots : DataFrame
        One of `ways`, in walking order.
    """
    half = sheet.definition.layout.alley / 2
    start, end = float(plots["x_m"].min()), float((plots["x_m"] + plots["width_m"]).max())
    ordered = plots.to_dict("records")
    middle = [(plot["x_m"] + plot["width_m"] / 2, plot["y_m"] - half) for plot in ordered]
    side = [start - half if x < (start + end) / 2 else end + half for x, _ in middle]
    way = [(side[0], middle[0][1])]
    for at, (here, there) in enumerate(pairwise(middle)):
        way.append(here)
        if ordered[at]["row"] != ordered[at + 1]["row"]:
            way += [(side[at], here[1]), (side[at], there[1])]
    way += [middle[-1], (side[-1], middle[-1][1])]
    xs, ys = [sheet.x(x) for x, _ in way], [sheet.y(y) for _, y in way]
    sheet.line(xs, ys, FAINT, 1.0)
    sheet.axes.plot(xs[:1], ys[:1], color=SOFT, marker="o", markersize=4)
    for row in plots["row"].drop_duplicates():
        inside = [spot for spot, plot in zip(middle, ordered, strict=True) if plot["row"] == row]
        back = inside[-1][0] < inside[0][0]
        x, y = sheet.x((inside[0][0] + inside[-1][0]) / 2), sheet.y(inside[0][1])
        sheet.arrow_head(x, y, 180.0 if back else 0.0)
    sheet.arrow_head(xs[-1], ys[-1], 180.0 if xs[-1] < xs[-2] else 0.0)
