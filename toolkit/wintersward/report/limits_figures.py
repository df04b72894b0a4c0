"""Picture of limits of agreement: eye less photo against the mean of both."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from wintersward.report.agreement_figures import pairs, quiet, statistics
from wintersward.report.drawing import (
    BAND,
    INK,
    PAPER,
    SIZE,
    SOFT,
    axes_at,
    empty_figure,
    new_figure,
    style,
)
from wintersward.report.numbers import between_text, common_decimals, counted, text
from wintersward.report.views import MeasureView, measure_view
from wintersward.trial.schema import Definition

__all__ = ["limits", "limits_alt"]

_WIDTH = 6.8


def limits(
    eye_and_photo: pd.DataFrame,
    agreement: pd.DataFrame,
    definition: Definition,
    measure: str,
    against: str,
) -> Figure:
    """Draw the differences between eye and photo against their mean, with limits of agreement.

    Parameters
    ----------
    eye_and_photo, agreement : DataFrame
        Tables of a run, of any measures, in SI.
    definition : Definition
        The trial.
    measure, against : str
        The rating, and the measure from photos.

    Returns
    -------
    Figure
        One mark a plot and date; bias and limits as lines with their intervals as bands. Where
        both are not in one unit, a picture that says so.
    """
    eye, photo = measure_view(definition, measure), measure_view(definition, against)
    # One view for both: they are in one unit.
    shown = pairs(eye_and_photo, eye, photo)
    ends = _ends(agreement, eye, measure, against)
    if shown.empty or not ends:
        return empty_figure(_WIDTH, _no_limits(eye, photo))
    apart = shown["eye"] - shown["photo"]
    with style():
        figure = new_figure(_WIDTH, 3.4)
        axes = axes_at(figure, 0.62, 0.55, _WIDTH - 2.3, 2.4)
        axes.plot(
            (shown["eye"] + shown["photo"]) / 2, apart, linestyle="", marker="o", ms=4,
            markerfacecolor="none", markeredgecolor=INK, markeredgewidth=0.8, alpha=0.6, zorder=3,
        )  # fmt: skip
        axes.axhline(0, color=SOFT, linewidth=0.8, zorder=1)
        tall = [float(apart.min()), float(apart.max()), 0.0]
        for _, low, high in ends.values():
            axes.axhspan(low, high, color=BAND, linewidth=0, zorder=0)
            tall += [end for end in (low, high) if np.isfinite(end)]
        for name, (value, _, _) in ends.items():
            dash = "-" if name == "bias" else (0, (5, 2))
            axes.axhline(value, color=INK, linewidth=1.3, linestyle=dash, zorder=4)
        room = 0.06 * (max(tall) - min(tall))
        axes.set_ylim(min(tall) - room, max(tall) + room)
        axes.margins(x=0.04)
        axes.xaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
        quiet(axes)
        unit = f" [{eye.unit}]" if eye.unit else ""
        axes.set_xlabel(f"Mean of eye and photo{unit}")
        side = f" [{eye.difference_unit}]" if eye.difference_unit else ""
        title = f"{eye.label}, eye less photo{side}"
        axes.set_title(title, loc="left", fontsize=SIZE, pad=6)
        _end_words(axes, ends)
    return figure


def _ends(
    agreement: pd.DataFrame, view: MeasureView, measure: str, against: str
) -> dict[str, tuple[float, float, float]]:
    """Take bias and limits with their intervals, in the reader's unit; nothing without them."""
    rows, found = statistics(agreement, measure, against), {}
    for name, statistic, form in (
        ("upper limit", "limits", "upper"),
        ("bias", "bias", "eye less photo"),
        ("lower limit", "limits", "lower"),
    ):
        for one in rows[(rows["statistic"] == statistic) & (rows["form"] == form)].to_dict(
            "records"
        ):
            value, low, high = (
                view.difference(float(one[end])) for end in ("value", "lower", "upper")
            )
            found[name] = (value, low, high)
    return found if len(found) == 3 else {}


def _end_words(axes: Axes, ends: dict[str, tuple[float, float, float]]) -> None:
    decimals = _decimals(ends)
    for name, (value, low, high) in ends.items():
        said = f"{name} {text(value, decimals, True)}\n({between_text(low, high, decimals, True)})"
        axes.text(
            1.02, value, said, transform=axes.get_yaxis_transform(), va="center",
            fontsize=SIZE - 0.5, linespacing=1.15, backgroundcolor=PAPER,
        )  # fmt: skip


def _decimals(ends: dict[str, tuple[float, float, float]]) -> int:
    return common_decimals((high - low) / 4 for _, low, high in ends.values())


def _no_limits(eye: MeasureView, photo: MeasureView) -> str:
    if eye.unit != photo.unit:
        units = [f"in {view.unit}" if view.unit else "without a unit" for view in (eye, photo)]
        return f"{eye.label} is {units[0]}, {photo.noun} {units[1]}: no limits of agreement"
    return f"{eye.label} beside {photo.noun}: too few plots in common for limits of agreement"


def limits_alt(
    eye_and_photo: pd.DataFrame,
    agreement: pd.DataFrame,
    definition: Definition,
    measure: str,
    against: str,
) -> str:
    """Tell what `limits` shows, with its numbers.

    Parameters
    ----------
    eye_and_photo, agreement : DataFrame
        Tables of a run, in SI.
    definition : Definition
        The trial.
    measure, against : str
        The rating, and the measure from photos.
    """
    eye, photo = measure_view(definition, measure), measure_view(definition, against)
    shown, ends = pairs(eye_and_photo, eye, photo), _ends(agreement, eye, measure, against)
    if shown.empty or not ends:
        return f"{_no_limits(eye, photo)}."
    decimals = _decimals(ends)
    inside = (shown["eye"] - shown["photo"]).between(ends["lower limit"][0], ends["upper limit"][0])
    unit = f", in {eye.difference_unit}" if eye.difference_unit else ""
    said = [
        f"Scatter plot of {eye.noun}: eye less photo{unit}, against the mean of both, "
        f"{counted(len(shown), 'pair')}."
    ]
    for name, (value, low, high) in ends.items():
        interval = between_text(low, high, decimals, True)
        said.append(f"{name.capitalize()} {text(value, decimals, True)} ({interval}).")
    said.append(f"{int(inside.sum())} of {len(shown)} lie between the limits.")
    return " ".join(said)
