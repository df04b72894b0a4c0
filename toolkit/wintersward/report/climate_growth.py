"""What photos show of turf beside its degree days: described by treatment, never explained."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.report.climate_views import Degrees, held_levels
from wintersward.report.numbers import day_text, text
from wintersward.report.said import number, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import MeasureView, level_label, measure_view
from wintersward.trial.schema import Definition

__all__ = ["growth_by_plot", "growth_table"]

_DESCRIBED = (
    "Plots with more degree days had also lain under a cover, which changes light, wind and wet as "
    "well: this describes, and does not tell what made the turf green."
)


def growth_table(by_level: pd.DataFrame, definition: Definition) -> Markup:
    """Show the photo measure beside degree days, date by date and treatment by treatment.

    Parameters
    ----------
    by_level : DataFrame
        The table ``growth_by_level`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        Empty without rows.
    """
    if by_level.empty:
        return Markup("")
    view, degrees = _views(by_level, definition)
    levels = held_levels(definition, by_level["level"])
    heads = [Head("Date")]
    for level in levels:
        label = level_label(definition, level)
        heads += [
            Head("degree days", degrees.days, True, label),
            Head(view.label, view.unit, True, label),
        ]
    heads.append(Head("plots of each", "", True))
    rows = []
    for day, here in by_level.groupby("date", sort=True):
        at = dict(zip(here["level"], here.index, strict=True))
        cells: list[Cell] = []
        for level in levels:
            cells += _pair("growth_by_level", by_level, at.get(level), view, degrees)
        some = int(here.index[0])
        plots = f"{value_at(by_level, some, 'plots'):.0f}"
        cells.append(number("growth_by_level", by_level, some, "plots", plots))
        rows.append(Row((day_text(day),), tuple(cells)))
    note = f"{_DESCRIBED} Where a plot has no sum of degree days, its block is left out of the row."
    return html_table(f"{view.label} beside degree days", heads, rows, note)


def growth_by_plot(growth: pd.DataFrame, definition: Definition) -> Markup:
    """Show the photo measure beside degree days plot by plot, for few plots.

    Parameters
    ----------
    growth : DataFrame
        The table ``growth`` of a run, in SI.
    definition : Definition
        The trial.
    """
    if growth.empty:
        return Markup("")
    view, degrees = _views(growth, definition)
    heads = [Head("Date"), Head("Plot"), Head("degree days", degrees.days, True)]
    heads.append(Head(view.label, view.unit, True))
    rows = [
        Row(
            (day_text(growth["date"].loc[at]), str(growth["plot"].loc[at])),
            tuple(_pair("growth", growth, at, view, degrees)),
        )
        for at in map(int, growth.sort_values(["date", "plot"], kind="stable").index)
    ]
    return html_table(f"{view.label} beside degree days, plot by plot", heads, rows, _DESCRIBED)


def _views(frame: pd.DataFrame, definition: Definition) -> tuple[MeasureView, Degrees]:
    return measure_view(definition, str(frame["measure"].iloc[0])), Degrees(definition.units)


def _pair(
    table: str, frame: pd.DataFrame, at: int | None, view: MeasureView, degrees: Degrees
) -> list[Cell]:
    """Write degree days and the measure of one row; dashes where there is none."""
    if at is None:
        return ["–", "–"]
    days = text(degrees.difference(value_at(frame, at, "degree_days")), 0)
    value = text(view.value(value_at(frame, at, "value")), 0 if view.unit else 2)
    return [
        number(table, frame, at, "degree_days", days),
        number(table, frame, at, "value", value),
    ]
