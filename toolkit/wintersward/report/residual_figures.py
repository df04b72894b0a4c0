"""Pictures of residuals: by date and block, against fitted values, and normal quantiles."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Hashable, Mapping

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedFormatter, FixedLocator, MaxNLocator
from scipy.stats import norm

from wintersward.design import Mark
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
from wintersward.report.numbers import common_decimals, counted, day_short, day_text, text
from wintersward.report.views import (
    MeasureView,
    in_sentence,
    level_label,
    main_factor,
    marks_of,
    measure_view,
)
from wintersward.trial.schema import Definition

__all__ = ["residuals", "residuals_alt"]

_WIDTH, _LEFT = 6.8, 0.62
_INSIDE = _WIDTH - _LEFT - 0.15
_KEY_ROW = 0.2
# Named in the picture when their studentised residual is farther from zero: rare among a few
# dozen normal values, and no more than a reason to look.
_FAR = 3.0
_MOST_NAMED = 3


def residuals(residuals: pd.DataFrame, definition: Definition, measure: str) -> Figure:
    """Draw what the fitted models of a measure leave unexplained.

    Parameters
    ----------
    residuals : DataFrame
        Table of a run, of any measures, in SI.
    definition : Definition
        The trial.
    measure : str
        What to draw.

    Returns
    -------
    Figure
        Above, residuals by date and within it by block; below, residuals against fitted values,
        and studentised residuals against normal quantiles. Colour and marker tell the treatment
        of the main factor.
    """
    view = measure_view(definition, measure)
    shown = _shown(residuals, definition, measure)
    if shown.empty:
        return empty_figure(_WIDTH, f"{view.label}: no residuals yet")
    marks = marks_of(definition, main_factor(definition))
    key = _key_places([level_label(definition, level) for level in marks])
    below = (_INSIDE - 0.75) / 2
    with style():
        figure = new_figure(_WIDTH, 4.55 + _KEY_ROW * (key[-1][1] + 1))
        upper = axes_at(figure, _LEFT, 2.95, _INSIDE, 1.25)
        left = axes_at(figure, _LEFT, 0.5, below, 1.4)
        right = axes_at(figure, _LEFT + below + 0.75, 0.5, below, 1.4)
        _key(figure, key, marks)
        _by_date(upper, view, shown, marks)
        _by_fitted(left, view, shown, marks)
        _quantiles(right, shown, marks)
    return figure


def _shown(residuals: pd.DataFrame, definition: Definition, measure: str) -> pd.DataFrame:
    """Take the rows of a measure, in the reader's unit, with their normal quantiles."""
    view = measure_view(definition, measure)
    kept = residuals[(residuals["measure"] == measure) & residuals["residual"].notna()]
    own = list(definition.treatments[main_factor(definition)].levels)
    main = [next((x for x in str(level).split(":") if x in own), "") for level in kept["level"]]
    kept = kept.assign(
        date=pd.to_datetime(kept["date"]).dt.date,
        main=main,
        fitted=[view.value(float(value)) for value in kept["fitted"]],
        residual=[view.difference(float(value)) for value in kept["residual"]],
    )
    return kept.sort_values(["date", "block", "unit_name"], kind="stable", ignore_index=True)


def _points(
    axes: Axes, x: pd.Series, y: pd.Series, main: pd.Series, marks: dict[str, Mark]
) -> None:
    # Units that do not carry the main factor yet have no treatment of it.
    for level, mark in {**marks, "": Mark(INK, ".", "")}.items():
        own = main == level
        axes.plot(
            x[own], y[own], linestyle="", marker=mark.marker, color=mark.colour, ms=4.6,
            markeredgecolor=PAPER, markeredgewidth=0.5, alpha=0.85, zorder=3,
        )  # fmt: skip


def _key_places(names: list[str]) -> list[tuple[float, int, str]]:
    """Give each name its place from the left in inches, and its row."""
    places, at, row = [], 0.05, 0
    for name in names:
        wide = 0.36 + 0.075 * len(name)
        if at + wide > _INSIDE and at > 0.05:
            at, row = 0.05, row + 1
        places.append((at, row, name))
        at += wide
    return places


def _key(figure: Figure, key: list[tuple[float, int, str]], marks: dict[str, Mark]) -> None:
    """Name the treatments at the top."""
    rows = key[-1][1] + 1
    axes = axes_at(figure, _LEFT, 4.5, _INSIDE, _KEY_ROW * rows)
    axes.set_axis_off()
    axes.set_xlim(0, _INSIDE)
    axes.set_ylim(rows, 0)
    for (at, row, name), mark in zip(key, marks.values(), strict=True):
        axes.plot([at], [row + 0.5], mark.marker, color=mark.colour, ms=5)
        axes.text(at + 0.1, row + 0.5, name, va="center")


def _scale(axes: Axes, values: pd.Series) -> None:
    """Scale residuals evenly to both sides of zero, with a line there."""
    reach = 1.12 * float(np.abs(values).max()) or 1.0
    axes.set_ylim(-reach, reach)
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    axes.grid(axis="y", color=RULE, linewidth=0.6)
    axes.axhline(0, color=INK, linewidth=0.9, zorder=1)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)


def _by_date(axes: Axes, view: MeasureView, shown: pd.DataFrame, marks: dict[str, Mark]) -> None:
    """Draw one column a date, and within it one place a block."""
    dates, blocks = sorted(set(shown["date"])), _blocks(shown)
    place = {block: 0.08 + 0.84 * (at + 0.5) / len(blocks) for at, block in enumerate(blocks)}
    x = pd.Series(
        [
            dates.index(date) + place[block]
            for date, block in zip(shown["date"], shown["block"], strict=True)
        ]
    )
    axes.set_xlim(0, len(dates))
    for at in range(1, len(dates)):
        axes.axvline(at, color=RULE, linewidth=0.8, zorder=0)
    _scale(axes, shown["residual"])
    _points(axes, x, shown["residual"], shown["main"], marks)
    axes.xaxis.set_major_locator(FixedLocator([at + 0.5 for at in range(len(dates))]))
    labels = [_day_label(day, dates[at - 1] if at else None) for at, day in enumerate(dates)]
    axes.xaxis.set_major_formatter(FixedFormatter(labels))
    axes.tick_params(axis="x", length=0, pad=13)
    if len(blocks) > 1:
        _block_names(axes, dates, place)
    unit = f" [{view.difference_unit}]" if view.difference_unit else ""
    order = ", blocks in order within a date" if len(blocks) > 1 else ""
    title = f"{view.label}: residual{unit} by date{order}"
    axes.set_title(title, loc="left", fontsize=SIZE, pad=6)


def _block_names(axes: Axes, dates: list[dt.date], place: dict[str, float]) -> None:
    """Name the blocks under the axis, where there is room for it."""
    if _INSIDE / (len(dates) * len(place)) < 0.08 * max(len(name) for name in place):
        return
    for at in range(len(dates)):
        for name, where in place.items():
            axes.text(
                at + where, -0.02, name, transform=axes.get_xaxis_transform(), ha="center",
                va="top", fontsize=SIZE - 2, color=SOFT,
            )  # fmt: skip


def _blocks(shown: pd.DataFrame) -> list[str]:
    """List the blocks, numbers by their size."""
    found = {str(block) for block in shown["block"]}
    return sorted(found, key=lambda name: (int(name) if name.isdigit() else math.inf, name))


def _day_label(day: dt.date, before: dt.date | None) -> str:
    return day_short(day) + (f"\n{day.year}" if before is None or before.year != day.year else "")


def _by_fitted(axes: Axes, view: MeasureView, shown: pd.DataFrame, marks: dict[str, Mark]) -> None:
    _scale(axes, shown["residual"])
    _points(axes, shown["fitted"], shown["residual"], shown["main"], marks)
    axes.margins(x=0.05)
    axes.xaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]))
    unit = f" [{view.unit}]" if view.unit else ""
    axes.set_xlabel(f"Fitted value{unit}")
    side = f" [{view.difference_unit}]" if view.difference_unit else ""
    axes.set_title(f"Residual{side} against fitted value", loc="left", fontsize=SIZE, pad=6)


def _quantiles(axes: Axes, shown: pd.DataFrame, marks: dict[str, Mark]) -> None:
    ranked = _ranked(shown)
    if ranked.empty:
        axes.set_axis_off()
        return
    reach = 1.1 * max(np.abs(ranked["normal"]).max(), np.abs(ranked["studentised"]).max())
    _scale(axes, ranked["studentised"])
    axes.set_xlim(-1.15 * ranked["normal"].max(), 1.15 * ranked["normal"].max())
    axes.plot([-reach, reach], [-reach, reach], color=SOFT, linewidth=0.9, zorder=1)
    _points(axes, ranked["normal"], ranked["studentised"], ranked["main"], marks)
    axes.xaxis.set_major_locator(MaxNLocator(5, integer=True))
    axes.set_xlabel("Quantile of a normal distribution")
    axes.set_title("Residual over its standard deviation", loc="left", fontsize=SIZE, pad=6)
    for row in _far(ranked).to_dict("records"):
        right = float(row["normal"]) > 0
        axes.annotate(
            _name(row), (float(row["normal"]), float(row["studentised"])),
            xytext=(-6 if right else 6, 0), textcoords="offset points", va="center",
            ha="right" if right else "left", fontsize=SIZE - 1.5, color=INK,
        )  # fmt: skip


def _ranked(shown: pd.DataFrame) -> pd.DataFrame:
    """Sort by studentised residual and set the normal quantiles beside them (Blom 1958)."""
    kept = shown[np.isfinite(shown["studentised"].astype(float))]
    ranked = kept.sort_values("studentised", kind="stable", ignore_index=True)
    n = len(ranked)
    return ranked.assign(normal=norm.ppf((np.arange(1, n + 1) - 0.375) / (n + 0.25)))


def _far(ranked: pd.DataFrame) -> pd.DataFrame:
    size = ranked["studentised"].abs()
    far = ranked[size > _FAR]
    return far.loc[size[far.index].sort_values(ascending=False).index[:_MOST_NAMED]]


def _name(row: Mapping[Hashable, object]) -> str:
    return f"{row['unit_name']}, {day_short(row['date'])}"


def residuals_alt(residuals: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Tell what `residuals` shows, with its numbers.

    Parameters
    ----------
    residuals : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What is drawn.
    """
    view = measure_view(definition, measure)
    shown = _shown(residuals, definition, measure)
    if shown.empty:
        return f"{view.label}: no residuals yet."
    spread = shown.groupby("date")["residual"].std()
    decimals = common_decimals(float(one) / 4 for one in spread)
    days = [
        f"{day_text(day)} {text(float(one), decimals)}"
        for day, one in spread.items()
        if math.isfinite(one)
    ]
    unit = f" in {view.difference_unit}" if view.difference_unit else ""
    said = [
        f"Three scatter plots of the residuals of {view.noun}: {counted(len(shown), 'value')}.",
        f"By date and block, with a standard deviation{unit}: {'; '.join(days)}.",
    ]
    size = shown["studentised"].abs()
    if size.notna().any():
        row = shown.iloc[int(np.nanargmax(size.to_numpy()))]
        level = in_sentence(level_label(definition, str(row["level"])))
        said.append(
            f"Against normal quantiles, the farthest is unit {row['unit_name']} ({level}) on "
            f"{day_text(row['date'])}, {text(float(row['studentised']), 1, True)} standard "
            f"deviations; {counted(int((size > _FAR).sum()), 'value')} beyond {_FAR:.0f}."
        )
    return " ".join(said)
