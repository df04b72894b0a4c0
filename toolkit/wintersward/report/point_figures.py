"""Picture of a point count: what people counted against the scores, with the line of equality."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from wintersward.report.drawing import (
    INK,
    PAPER,
    RULE,
    SIZE,
    SOFT,
    axes_at,
    empty_figure,
    new_figure,
    style,
)
from wintersward.report.numbers import between_text, counted, text
from wintersward.report.picture import Picture
from wintersward.report.point_counting import APART, found_row
from wintersward.report.said import value_at
from wintersward.report.views import measure_view, picture_name
from wintersward.trial.schema import Definition

__all__ = ["count_pictures", "counts_against_scores", "counts_against_scores_alt"]

_WIDE, _SIDE = 6.8, 3.6
# Of a normal distribution, what holds 95 of 100.
_REACH = 1.959964


def _shown(counts: pd.DataFrame, measure: str) -> pd.DataFrame:
    """Average the raters of each photo that is used: counted, scored [%], points told."""
    used = counts[(counts["measure"] == measure) & (counts["excluded"].fillna("") == "")]
    used = used[used["counted"].notna() & used["scored"].notna()]
    used = used.assign(points=(used["points"] - used["unsure"]).astype(float))
    return used.groupby("photo")[["counted", "scored", "points"]].mean()


def _ends(shown: pd.DataFrame) -> NDArray[np.float64]:
    """Give the 95 % interval of each count by the chance of the crosses alone [%].

    References
    ----------
    Wilson E. B. (1927) Probable inference, the law of succession, and statistical inference.
    Journal of the American Statistical Association 22, 209-212.
    doi:10.1080/01621459.1927.10502953
    """
    share, n = shown["counted"].to_numpy(float) / 100, shown["points"].to_numpy(float)
    squared = _REACH**2 / n
    middle = (share + squared / 2) / (1 + squared)
    half = np.sqrt(squared * (share * (1 - share) + squared / 4)) / (1 + squared)
    return np.asarray(100 * np.stack([middle - half, middle + half]), dtype=float)


def counts_against_scores(
    counts: pd.DataFrame, lines: pd.DataFrame, definition: Definition, measure: str
) -> Figure:
    """Draw the count of each photo against its score.

    Parameters
    ----------
    counts, lines : DataFrame
        Tables ``point_counts`` and ``calibration`` of a run.
    definition : Definition
        The trial.
    measure : str
        A measure of green cover.

    Returns
    -------
    Figure
        One mark a photo, raters averaged, with the line of equality; in a trial that is tested
        bars for the chance of the crosses, and the line of the calibration where there is one.
    """
    view, shown = measure_view(definition, measure), _shown(counts, measure)
    if shown.empty:
        return empty_figure(_WIDE, f"{view.label}: no photo counted yet")
    with style():
        figure = new_figure(_WIDE, _SIDE + 0.95)
        axes = axes_at(figure, 0.62, 0.55, _SIDE, _SIDE)
        axes.set_xlim(0, 100)
        axes.set_ylim(0, 100)
        axes.set_xticks(range(0, 101, 20))
        axes.set_yticks(range(0, 101, 20))
        axes.grid(color=RULE, linewidth=0.6)
        axes.plot([0, 100], [0, 100], color=SOFT, linewidth=1.0, dashes=(5, 2), zorder=2)
        x, y = shown["scored"].to_numpy(float), shown["counted"].to_numpy(float)
        if definition.layout.tested:
            low, high = _ends(shown)
            axes.vlines(x, low, high, color=SOFT, linewidth=0.8, zorder=3)
            _line(axes, lines[lines["measure"] == measure])
        axes.plot(
            x, y, linestyle="", marker="o", ms=4.5, markerfacecolor=PAPER, markeredgecolor=INK,
            markeredgewidth=1.0, zorder=4, clip_on=False,
        )  # fmt: skip
        axes.text(100.8, 100, "count = score", color=SOFT, fontsize=SIZE - 1, va="center")
        axes.set_xlabel(f"{view.label} as scored [%]")
        axes.set_title(f"{view.label} as people counted it [%]", loc="left", fontsize=SIZE, pad=6)
    return figure


def _line(axes: Axes, lines: pd.DataFrame) -> None:
    """Draw the line of a calibration over the scores that it rests on."""
    for row in lines[lines["done"] == "yes"].to_dict("records"):
        x = np.array([row["low"], row["high"]], dtype=float)
        y = float(row["intercept"]) + float(row["slope"]) * x
        axes.plot(x, y, color=INK, linewidth=1.6, zorder=3)


def counts_against_scores_alt(
    counts: pd.DataFrame, agreed: pd.DataFrame, definition: Definition, measure: str
) -> str:
    """Tell what `counts_against_scores` shows, with its numbers.

    Parameters
    ----------
    counts, agreed : DataFrame
        Tables ``point_counts`` and ``point_agreement`` of a run.
    definition : Definition
        The trial.
    measure : str
        A measure of green cover.
    """
    view, shown = measure_view(definition, measure), _shown(counts, measure)
    if shown.empty:
        return f"{view.label}: no photo counted yet."
    above = int((shown["counted"] > shown["scored"]).sum())
    said = [
        f"Scatter plot of {view.noun} as people counted it against the score, in %, "
        f"{counted(len(shown), 'photo')}: scores from {shown['scored'].min():.0f} to "
        f"{shown['scored'].max():.0f}, counts from {shown['counted'].min():.0f} to "
        f"{shown['counted'].max():.0f}. {above} of {len(shown)} lie above the line of equality."
    ]
    at = found_row(agreed, measure, "bias", APART)
    if at is not None:
        told = text(value_at(agreed, at, "value"), 1, signed=True)
        if "lower" in agreed and math.isfinite(value_at(agreed, at, "lower")):
            low, high = (value_at(agreed, at, end) for end in ("lower", "upper"))
            told += f" ({between_text(low, high, 1, True)})"
        said.append(f"On average score less count is {told} points.")
    return " ".join(said)


def count_pictures(
    counts: pd.DataFrame,
    agreed: pd.DataFrame,
    lines: pd.DataFrame,
    definition: Definition,
    measure: str,
) -> list[Picture]:
    """Make the picture of a point count of a measure; none where nothing was counted."""
    if _shown(counts, measure).empty:
        return []
    caption = (
        f"{measure_view(definition, measure).label}: each mark is a photo on which people counted "
        "crosses; on the dashed line count and score are the same."
    )
    if definition.layout.tested:
        caption += " Bars hold 95 of 100 counts by the chance of the crosses alone."
        done = lines[(lines["measure"] == measure) & (lines["done"] == "yes")]
        caption += " The bold line is the calibration." if len(done) else ""
    figure = counts_against_scores(counts, lines, definition, measure)
    alt = counts_against_scores_alt(counts, agreed, definition, measure)
    return [Picture(picture_name("point_count", measure), figure, alt, caption)]
