"""Pictures of agreement: severity of raters by date, eye against photo.

Treatments play no part in them, so their colours do not either.
"""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from wintersward.design import Mark
from wintersward.report.agreeing import rater_gaps
from wintersward.report.drawing import (
    HALO,
    INK,
    RULE,
    SIZE,
    SOFT,
    EndLabel,
    axes_at,
    date_axis,
    days_apart,
    empty_figure,
    end_labels,
    new_figure,
    style,
)
from wintersward.report.numbers import (
    between_text,
    common_decimals,
    counted,
    day_short,
    day_text,
    text,
)
from wintersward.report.views import MeasureView, in_sentence, measure_view, rater_name
from wintersward.trial.schema import Definition

__all__ = [
    "eye_against_photo",
    "eye_against_photo_alt",
    "pairs",
    "quiet",
    "severity",
    "severity_alt",
    "statistics",
]

_WIDTH, _GAP = 6.8, 0.34
_PALE = "#B9C2BD"
_CORRELATION = "repeated-measures correlation"
_OVER, _BETWEEN = "over the dates, within plots", "between plots, within dates"
# Raters are told apart by marker and dash; colours are for treatments.
_RATERS = (
    (INK, "d", "-"),
    (SOFT, "*", (0, (5, 2))),
    (INK, "x", (0, (1, 1.5))),
    (SOFT, "+", (0, (6, 2, 1, 2))),
)


def severity(raters: pd.DataFrame, definition: Definition, measure: str) -> Figure:
    """Draw how far each rater lies from the mean of the raters, date by date.

    Parameters
    ----------
    raters : DataFrame
        Table of a run, of any measures, in SI.
    definition : Definition
        The trial.
    measure : str
        What was rated.

    Returns
    -------
    Figure
        One line a rater, named at its end; a line that stays level is a steady
        rater, two lines that part are raters who drift. Of two raters the one less the other is
        one line, for each would mirror the other.
    """
    view = measure_view(definition, measure)
    shown = _severities(raters, definition, measure)
    if shown.empty:
        return empty_figure(_WIDTH, f"{view.label}: no two raters on the same plots yet")
    dates = sorted(set(shown["date"]))
    room = dt.timedelta(days=max(2, (dates[-1] - dates[0]).days // 30))
    with style():
        figure = new_figure(_WIDTH, 2.25)
        axes = axes_at(figure, 0.62, 0.62, _WIDTH - 1.75, 1.2)
        date_axis(axes, dates, dates[0] - room, dates[-1] + room)
        reach = 1.25 * float(shown["severity"].abs().max()) or 1.0
        axes.set_ylim(-reach, reach)
        axes.axhline(0, color=INK, linewidth=0.9, zorder=1)
        quiet(axes)
        unit = f" [{view.difference_unit}]" if view.difference_unit else ""
        what = (
            f"{shown['rater'].iloc[0]}" if shown.attrs["two"] else "rater less mean of the raters"
        )
        title = f"{view.label}: {what}{unit}"
        axes.set_title(title, loc="left", fontsize=SIZE, pad=6)
        ends = []
        for at, (rater, rows) in enumerate(shown.groupby("rater", sort=False)):
            colour, marker, dash = _RATERS[at % len(_RATERS)]
            x, y = days_apart(list(rows["date"])), list(rows["severity"])
            axes.plot(
                x, y, color=colour, linestyle=dash, linewidth=1.5, marker=marker, ms=6,
                zorder=3,
            )  # fmt: skip
            named = rater_name(definition, str(rater))
            ends.append(EndLabel(x[-1], y[-1], named, Mark(colour, marker, "")))
        if not shown.attrs["two"]:  # of two, the title names the one line
            end_labels(axes, ends, wrap=14)
    return figure


def quiet(axes: Axes, most: int = 6) -> None:
    """Rule the values lightly, without a side: at most so many lines."""
    axes.yaxis.set_major_locator(MaxNLocator(most, steps=[1, 2, 2.5, 5, 10]))
    axes.grid(axis="y", color=RULE, linewidth=0.6)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)


def _severities(raters: pd.DataFrame, definition: Definition, measure: str) -> pd.DataFrame:
    """Take the rows of a measure in the reader's unit; raters in the table's order."""
    view = measure_view(definition, measure)
    kept = raters[raters["measure"] == measure]
    apart = rater_gaps(kept)
    two = not apart.empty
    if two:
        name = " less ".join(rater_name(definition, one) for one in apart.attrs["raters"])
        kept = pd.DataFrame({"date": apart.index, "rater": name, "severity": apart.to_numpy()})
    shown = kept.assign(
        date=pd.to_datetime(kept["date"]).dt.date,
        severity=[view.difference(float(value)) for value in kept["severity"]],
    )
    shown.attrs["two"] = two
    return shown


def severity_alt(raters: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Tell what `severity` shows, with its numbers.

    Parameters
    ----------
    raters : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What was rated.
    """
    view = measure_view(definition, measure)
    shown = _severities(raters, definition, measure)
    if shown.empty:
        return f"{view.label}: no two raters on the same plots yet."
    decimals = common_decimals(abs(float(value)) / 3 for value in shown["severity"])
    unit = f", in {view.difference_unit}" if view.difference_unit else ""
    what = "one rater less the other" if shown.attrs["two"] else "each rater less the mean of"
    what += "" if shown.attrs["two"] else " the raters"
    said = [f"Line chart of {view.noun}: {what}{unit}, by date."]
    for rater, rows in shown.groupby("rater", sort=False):
        days = [
            f"{day_text(day)} {text(float(value), decimals, True)}"
            for day, value in zip(rows["date"], rows["severity"], strict=True)
        ]
        said.append(f"{rater_name(definition, str(rater))}: {', '.join(days)}.")
    return " ".join(said)


def eye_against_photo(
    eye_and_photo: pd.DataFrame, definition: Definition, measure: str, against: str
) -> Figure:
    """Draw a rating against a score from photos, one panel a date.

    Parameters
    ----------
    eye_and_photo : DataFrame
        Table of a run, of any measures, in SI.
    definition : Definition
        The trial.
    measure, against : str
        The rating, and the measure from photos.

    Returns
    -------
    Figure
        Plots of the panel's date in ink, those of the other dates pale behind them. The lines
        have one slope, that of the repeated-measures correlation between plots within dates.
    """
    eye, photo = measure_view(definition, measure), measure_view(definition, against)
    shown = pairs(eye_and_photo, eye, photo)
    if shown.empty:
        return empty_figure(_WIDTH, f"{eye.label} beside {photo.noun}: no plots in common yet")
    dates = sorted(set(shown["date"]))
    across = min(3, len(dates))
    down = -(-len(dates) // across)
    wide = (_WIDTH - 0.75 - _GAP * (across - 1)) / across if across > 1 else 3.2
    tall = 1.6
    slope = _slope(shown)
    with style():
        figure = new_figure(_WIDTH, 0.74 + down * (tall + 0.38))
        for at, day in enumerate(dates):
            column, row = at % across, at // across
            bottom = 0.6 + (down - 1 - row) * (tall + 0.38)
            axes = axes_at(figure, 0.55 + column * (wide + _GAP), bottom, wide, tall)
            _panel(axes, shown, day, slope)
            _square(axes, eye, photo, shown)
            axes.tick_params(labelleft=column == 0, labelbottom=at + across >= len(dates))
            axes.set_title(_day(day, dates, at), loc="left", fontsize=SIZE, pad=4)
        size = figure.get_size_inches()
        middle = 0.55 + (across * wide + (across - 1) * _GAP) / 2
        title = f"{eye.head} against {in_sentence(photo.head)}"
        figure.text(0.55 / size[0], 1 - 0.15 / size[1], title, va="center")
        figure.text(middle / size[0], 0.18 / size[1], photo.head, ha="center", va="center")
    return figure


def pairs(eye_and_photo: pd.DataFrame, eye: MeasureView, photo: MeasureView) -> pd.DataFrame:
    """Take the plots and dates of a rating and a measure from photos, in the reader's units."""
    named = (eye_and_photo["measure"] == eye.name) & (eye_and_photo["against"] == photo.name)
    kept = eye_and_photo[named]
    return kept.assign(
        date=pd.to_datetime(kept["date"]).dt.date,
        eye=[eye.value(float(value)) for value in kept["eye"]],
        photo=[photo.value(float(value)) for value in kept["photo"]],
    )


def _day(day: dt.date, dates: list[dt.date], at: int) -> str:
    year = at == 0 or dates[at - 1].year != day.year
    return f"{day_short(day)} {day.year}" if year else day_short(day)


def _slope(shown: pd.DataFrame) -> float:
    """Find the slope that is common to all dates; not a number where photos do not vary."""
    own = shown[["photo", "eye"]] - shown.groupby("date")[["photo", "eye"]].transform("mean")
    across = float((own["photo"] ** 2).sum())
    return float((own["photo"] * own["eye"]).sum()) / across if across > 0 else float("nan")


def _panel(axes: Axes, shown: pd.DataFrame, day: dt.date, slope: float) -> None:
    other, own = shown[shown["date"] != day], shown[shown["date"] == day]
    axes.plot(other["photo"], other["eye"], ".", color=_PALE, ms=3, alpha=0.6, zorder=2)
    if len(own) > 1 and np.isfinite(slope):
        middle, height = float(own["photo"].mean()), float(own["eye"].mean())
        x = np.array([own["photo"].min(), own["photo"].max()], dtype=float)
        axes.plot(
            x, height + slope * (x - middle), color=INK, linewidth=1.5, zorder=4,
            path_effects=HALO,
        )  # fmt: skip
    axes.plot(
        own["photo"], own["eye"], linestyle="", marker="o", ms=4, markerfacecolor="none",
        markeredgecolor=INK, markeredgewidth=0.9, alpha=0.8, zorder=3,
    )  # fmt: skip


def _square(axes: Axes, eye: MeasureView, photo: MeasureView, shown: pd.DataFrame) -> None:
    """Scale all panels alike: by what can be, else by what was found."""
    for view, found, put in (
        (photo, shown["photo"], axes.set_xlim),
        (eye, shown["eye"], axes.set_ylim),
    ):
        low, high = view.limits
        room = 0.06 * (float(found.max() - found.min()) or 1.0)
        put(
            low if low is not None and high is not None else float(found.min()) - room,
            high if low is not None and high is not None else float(found.max()) + room,
        )
    axes.xaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]))
    quiet(axes, 5)


def eye_against_photo_alt(
    eye_and_photo: pd.DataFrame,
    agreement: pd.DataFrame,
    definition: Definition,
    measure: str,
    against: str,
) -> str:
    """Tell what `eye_against_photo` shows, with its numbers.

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
    shown = pairs(eye_and_photo, eye, photo)
    if shown.empty:
        return f"{eye.label} beside {photo.noun}: no plots in common yet."
    dates = sorted(set(shown["date"]))
    said = [
        f"Scatter plots of {eye.noun} against {photo.noun}, {counted(len(dates), 'date')}, "
        f"{counted(len(shown), 'pair')} in all."
    ]
    rows = statistics(agreement, measure, against)
    for form, words in (
        (_BETWEEN, "From plot to plot on one date the correlation is"),
        (_OVER, "Over the dates within plots it is"),
    ):
        found = rows[(rows["statistic"] == _CORRELATION) & (rows["form"] == form)]
        for one in found.to_dict("records"):
            interval = between_text(float(one["lower"]), float(one["upper"]), 2)
            said.append(f"{words} {text(float(one['value']), 2)} ({interval}).")
    return " ".join(said)


def statistics(agreement: pd.DataFrame, measure: str, against: str) -> pd.DataFrame:
    """Take the rows of the table ``agreement`` for a rating and a measure from photos."""
    return agreement[(agreement["measure"] == measure) & (agreement["against"] == against)]
