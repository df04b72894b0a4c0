"""The lowest acceptable mark of a rating, as a line in its pictures and in words."""

from __future__ import annotations

import math
from dataclasses import replace

import pandas as pd

from wintersward.report.drawing import INK
from wintersward.report.numbers import day_text, listed_words, text
from wintersward.report.picture import Picture
from wintersward.report.views import in_sentence, level_label, main_factor
from wintersward.trial.schema import Definition, SheetMeasure

__all__ = ["acceptable_words", "with_acceptable"]

_MOST_DECIMALS = 4


def with_acceptable(picture: Picture, definition: Definition, measure: str, more: str) -> Picture:
    """Draw the lowest acceptable mark into every panel of a picture, and tell it.

    Parameters
    ----------
    picture : Picture
        Of the measure, with its values upwards.
    definition : Definition
        The trial.
    measure : str
        What is drawn.
    more : str
        Said after it in the caption and in the alternative text.

    Returns
    -------
    Picture
        The same one where the definition names no such mark.
    """
    mark = _mark(definition, measure)
    if mark is None:
        return picture
    for axes in picture.figure.axes:
        axes.axhline(mark, color=INK, linewidth=0.9, linestyle=(0, (5, 3)), zorder=1.5)
    said = f"The dashed line is {mark:g}, the lowest acceptable mark. {more}".rstrip()
    return replace(picture, alt=f"{picture.alt} {said}", caption=f"{picture.caption} {said}")


def acceptable_words(means: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Say on which date a mean was last below the lowest acceptable mark.

    Parameters
    ----------
    means : DataFrame
        Table of a run, of any measures.
    definition : Definition
        The trial.
    measure : str
        A rating.

    Returns
    -------
    str
        Every treatment of the main factor on that date; empty where the definition names no
        such mark, or nothing was rated.
    """
    mark = _mark(definition, measure)
    factor = main_factor(definition)
    rows = means[(means["measure"] == measure) & (means["effect"] == factor)]
    rows = rows.assign(date=pd.to_datetime(rows["date"])).dropna(subset="mean")
    if mark is None or rows.empty:
        return ""
    below = rows[rows["mean"] < mark]
    if below.empty:
        return "No mean lies below it."
    day = below["date"].max()
    here = rows[rows["date"] == day].set_index("level")["mean"]
    said = [
        f"{in_sentence(level_label(definition, level))} {_beside(float(here[level]), mark)}"
        for level in definition.treatments[factor].levels
        if level in here.index
    ]
    return (
        f"{day_text(day)} is the last date with a mean below it: {listed_words(said)}. Whether "
        "turf is fit to play on, no mark decides."
    )


def _mark(definition: Definition, measure: str) -> float | None:
    held = definition.measures[measure]
    return held.acceptable if isinstance(held, SheetMeasure) else None


def _beside(mean: float, mark: float) -> str:
    """Write a mean so finely that it does not fall onto the mark that it lies beside."""
    decimals = 1
    apart = not math.isclose(mean, mark)
    while apart and decimals < _MOST_DECIMALS and round(mean, decimals) == mark:
        decimals += 1
    return text(mean, decimals)
