"""The picture of arrivals: the day on which every unit reached the stated level."""

from __future__ import annotations

import datetime as dt
from textwrap import fill

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from wintersward.design import Mark
from wintersward.report.arriving import level_reached
from wintersward.report.drawing import (
    PAPER,
    RULE,
    SIZE,
    SOFT,
    axes_at,
    date_axis,
    days_apart,
    empty_figure,
    mark_days,
    new_figure,
    style,
)
from wintersward.report.numbers import counted, day_short, day_text
from wintersward.report.views import (
    events,
    in_sentence,
    level_label,
    main_factor,
    marks_of,
    measure_view,
    stands_on,
)
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["arrivals", "arrivals_alt"]

_WIDTH, _ROW = 6.8, 0.62
_LEFT = 1.55


def arrivals(arrivals: pd.DataFrame, definition: Definition) -> Figure:
    """Draw the day on which every unit reached the stated level, treatment by treatment.

    Parameters
    ----------
    arrivals : DataFrame
        Table of a run.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        A dot a unit. An arrow to the left stands at the first visit of a unit that was there
        already, one to the right at the last visit of a unit that never got there.
    """
    if arrivals.empty:
        return empty_figure(_WIDTH, "No days of arrival yet.")
    rows = _rows(arrivals, definition)
    names = list(dict.fromkeys(rows["level"]))
    marks = marks_of(definition, main_factor(definition))
    view = measure_view(definition, str(arrivals["measure"].iloc[0]))
    with style():
        figure = new_figure(_WIDTH, 1.3 + _ROW * len(names))
        axes = axes_at(figure, _LEFT, 0.62, _WIDTH - _LEFT - 0.25, _ROW * len(names))
        _frame(axes, rows, definition, len(names))
        for at, name in enumerate(names):
            own = rows[rows["level"] == name].reset_index(drop=True)
            _units(axes, own, at, marks[name.split(":")[0]])
        labels = [fill(level_label(definition, name), 20) for name in names]
        axes.set_yticks(range(len(names)), labels)
        goal = level_reached(view, float(arrivals["level"].iloc[0]))
        kind = _kind(definition)
        axes.set_title(f"Day on which a {kind} reached {goal}", loc="left", fontsize=SIZE, pad=24)
    return figure


def _kind(definition: Definition) -> str:
    """Name what reached the level: a plot, or a whole plot."""
    off = dates_meant(definition.dates, "covers_off")[0]
    return stands_on(definition, main_factor(definition), off)


def _rows(arrivals: pd.DataFrame, definition: Definition) -> pd.DataFrame:
    """Take the treatments apart and put them in the definition's order."""
    factor = main_factor(definition)
    order = list(definition.treatments[factor].levels)
    level = [
        next((name for name in str(one).split(":") if name in order), str(one))
        for one in arrivals["treatment"]
    ]
    kept = arrivals.assign(level=level, day=pd.to_datetime(arrivals["day"]))
    kept = kept[kept["level"].isin(order) & kept["day"].notna()]
    rank = kept["level"].map(order.index)
    ordered = kept.assign(_rank=rank).sort_values(["_rank", "block", "unit_name"], kind="stable")
    return ordered.drop(columns="_rank").reset_index(drop=True)


def _frame(axes: Axes, rows: pd.DataFrame, definition: Definition, count: int) -> None:
    """Set real dates, from covers off to the last visit, with the events marked."""
    measure = definition.measures[str(rows["measure"].iloc[0])]
    off = dates_meant(definition.dates, "covers_off")[0]
    visits = [day for day in dates_meant(definition.dates, measure.dates) if day >= off]
    ends = [off, *visits, *(day.date() for day in rows["day"])]
    step = dt.timedelta(days=max(1, (max(ends) - min(ends)).days // 14))
    date_axis(axes, visits, min(ends) - step, max(ends) + step)
    axes.set_ylim(count - 0.5, -0.5)
    axes.grid(axis="x", color=RULE, linewidth=0.6)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    marked = [event for event in events(definition) if event.date <= max(ends) + step]
    mark_days(axes, [], marked)
    place = days_apart([off])[0]
    axes.axvline(place, color=SOFT, linewidth=0.9, zorder=1)
    axes.text(
        place, 1.01, "covers off", transform=axes.get_xaxis_transform(), ha="center",
        va="bottom", fontsize=SIZE - 1, color=SOFT,
    )  # fmt: skip


def _units(axes: Axes, own: pd.DataFrame, at: int, mark: Mark) -> None:
    """Draw the units of one treatment, one below the other in the order of their blocks."""
    spread = [at + 0.6 * ((i + 0.5) / len(own) - 0.5) for i in range(len(own))]
    low, high = axes.get_xlim()
    reach = 0.035 * (high - low)
    for y, row in zip(spread, own.to_dict("records"), strict=True):
        x = days_apart([row["day"]])[0]
        side = {"on or before": -1, "after": 1}.get(str(row["censored"] or ""), 0)
        if side:
            axes.annotate(
                "", (x + side * reach, y), (x, y), zorder=3, annotation_clip=False,
                arrowprops={"arrowstyle": "->", "color": mark.colour, "linewidth": 1.3},
            )  # fmt: skip
        axes.plot(
            [x], [y], linestyle="", marker=mark.marker, ms=5.5, zorder=4,
            markerfacecolor=PAPER if side else mark.colour,
            markeredgecolor=mark.colour if side else PAPER, markeredgewidth=1.0 if side else 0.6,
        )  # fmt: skip


def arrivals_alt(arrivals: pd.DataFrame, definition: Definition) -> str:
    """Tell what `arrivals` shows, with its numbers.

    Parameters
    ----------
    arrivals : DataFrame
        Table of a run.
    definition : Definition
        The trial.
    """
    if arrivals.empty:
        return "No days of arrival yet."
    rows = _rows(arrivals, definition)
    view = measure_view(definition, str(arrivals["measure"].iloc[0]))
    goal = level_reached(view, float(arrivals["level"].iloc[0]))
    kind = _kind(definition)
    said = [f"The day on which each {kind} reached {goal}."]
    for name, own in rows.groupby("level", sort=False):
        known = own[own["censored"].fillna("") == ""]
        parts = []
        if len(known):
            first, last = day_short(known["day"].min()), day_text(known["day"].max())
            parts.append(f"{counted(len(known), kind)} from {first} to {last}")
        for code, words in (
            ("on or before", "there already at the first visit"),
            ("after", "not there at the last visit"),
        ):
            many = int((own["censored"] == code).sum())
            parts += [f"{counted(many, kind)} {words}"] if many else []
        label = in_sentence(level_label(definition, str(name)))
        said.append(f"{label[:1].upper()}{label[1:]}: {', '.join(parts)}.")
    return " ".join(said)
