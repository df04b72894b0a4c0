"""The picture of the course of a day: a panel a cover, the control in each."""

from __future__ import annotations

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedFormatter, FixedLocator, MaxNLocator

from wintersward.design import Mark
from wintersward.report.climate_views import (
    climate_factor,
    ends_of,
    held_levels,
    temperature_view,
    under_words,
)
from wintersward.report.drawing import (
    PAPER,
    SIZE,
    SOFT,
    axes_at,
    empty_figure,
    new_figure,
    style,
    value_axis,
)
from wintersward.report.numbers import text
from wintersward.report.said import row_at
from wintersward.report.views import MeasureView, in_sentence, level_label, marks_of
from wintersward.trial.schema import Definition

__all__ = ["diurnal", "diurnal_alt"]

_WIDTH, _LEFT, _GAP, _TALL = 6.8, 0.5, 0.45, 2.3
_HEAD, _FOOT, _ACROSS = 0.62, 0.62, 2
_NO_BAND = pd.Series(dtype=float)


def diurnal(hours: pd.DataFrame, definition: Definition, measure: str) -> Figure:
    """Draw the course of a day under each cover, and on the control.

    Parameters
    ----------
    hours : DataFrame
        The table ``diurnal`` of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What to draw.

    Returns
    -------
    Figure
        Means by the hour of the site's clock, a panel a cover with the control in each; bands hold
        the middle half of the days, where the table has their quartiles.
    """
    view = temperature_view(definition, measure)
    own = hours[hours["measure"] == measure].sort_values("hour")
    if own.empty:
        return empty_figure(_WIDTH, f"{view.label}: no days under cover yet")
    factor = climate_factor(definition)
    control = definition.treatments[factor].control
    held = held_levels(definition, own["level"])
    covers = [level for level in held if level != control] or held
    marks, down = marks_of(definition, factor), -(-len(covers) // _ACROSS)
    wide = (_WIDTH - _LEFT - 0.1 - _GAP * (_ACROSS - 1)) / _ACROSS
    shown = [*own["mean"], *own.get("lower", _NO_BAND), *own.get("upper", _NO_BAND)]
    values = [view.value(float(one)) for one in shown]
    with style():
        step = _TALL + _HEAD
        figure = new_figure(_WIDTH, _FOOT + step * down)
        for at, level in enumerate(covers):
            left = _LEFT + (at % _ACROSS) * (wide + _GAP)
            bottom = _FOOT + (down - 1 - at // _ACROSS) * step
            axes = axes_at(figure, left, bottom, wide, _TALL)
            _frame(axes, view, values)
            title = level_label(definition, level)
            axes.set_title(title, loc="left", fontsize=SIZE, pad=6)
            for name in dict.fromkeys([control if control in held else level, level]):
                _course(axes, own[own["level"] == name], view, marks[name])
            if not at:
                axes.text(-0.5 / wide, 1.16, _head(view), transform=axes.transAxes)
        beside = f"Hour that begins, by the clock of the site; grey: {_control(definition)}"
        figure.text(_LEFT / _WIDTH, 0.06, beside, color=SOFT, ha="left", va="bottom")
    return figure


def _head(view: MeasureView) -> str:
    return f"{view.label}, mean of the hour [{view.unit}]"


def _control(definition: Definition) -> str:
    control = definition.treatments[climate_factor(definition)].control
    return f"{in_sentence(level_label(definition, control))}, on the same days"


def _frame(axes: Axes, view: MeasureView, values: list[float]) -> None:
    value_axis(axes, view, values)
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10]))
    axes.set_xlim(-0.5, 23.5)
    axes.xaxis.set_major_locator(FixedLocator(range(0, 24, 6)))
    axes.xaxis.set_major_formatter(FixedFormatter([f"{hour}:00" for hour in range(0, 24, 6)]))


def _course(axes: Axes, one: pd.DataFrame, view: MeasureView, mark: Mark) -> None:
    """Draw the mean of every hour, and where the middle half of the days lies."""
    hour = one["hour"].to_numpy(dtype=float)
    if "lower" in one:
        low, high = ([view.value(float(v)) for v in one[end]] for end in ("lower", "upper"))
        axes.fill_between(hour, low, high, facecolor=mark.colour, alpha=0.25, linewidth=0, zorder=2)
    mean = [view.value(float(v)) for v in one["mean"]]
    axes.plot(
        hour, mean, color=mark.colour, linewidth=1.9, marker=mark.marker, markevery=6, ms=5.4,
        markeredgecolor=PAPER, markeredgewidth=0.7, zorder=4,
    )  # fmt: skip


def diurnal_alt(hours: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Tell what `diurnal` shows, with its numbers.

    Parameters
    ----------
    hours : DataFrame
        The table ``diurnal`` of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What is drawn.
    """
    view = temperature_view(definition, measure)
    own = hours[hours["measure"] == measure]
    said = [f"Line chart of {view.noun} by the hour, in {view.unit}, on days under cover."]
    for level in held_levels(definition, own["level"]):
        one = own[own["level"] == level].sort_values("hour")
        least, most = (row_at(one, at) for at in ends_of(one["mean"]))
        low, high = (text(view.value(float(end["mean"])), 1) for end in (least, most))
        words = under_words(definition, level)
        said.append(
            f"{words[:1].upper()}{words[1:]} from {low} at {int(least['hour'])}:00 to {high} at "
            f"{int(most['hour'])}:00."
        )
    return " ".join(said)
