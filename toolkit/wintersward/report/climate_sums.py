"""Degree days in words and tables, and growth beside them, described."""

from __future__ import annotations

import datetime as dt

import pandas as pd
from markupsafe import Markup

from wintersward.report.climate_views import (
    Degrees,
    climate_factor,
    ends_of,
    held_levels,
    primary_day,
)
from wintersward.report.mean_digits import subtracting_digits
from wintersward.report.numbers import day_text, text
from wintersward.report.said import Said, Sentence, number, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import level_label, measure_view
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["air_words", "counting_words", "degree_days_table", "growth_table"]

_BY_LEVEL, _BY_PLOT = "degree_days_by_level", "degree_day_sums"
_METHODS = {
    "average": "from the middle of the lowest and the highest temperature of the day",
    "modified": "from the lowest and the highest temperature of the day, each cut at base and "
    "ceiling",
    "triangle": "by a triangle through the lowest and the highest temperature of the day",
    "sine": "by a single sine through the lowest and the highest temperature of the day",
    "integrated": "from every reading, for as long as it held",
}


def counting_words(definition: Definition) -> str:
    """Say how degree days are counted; empty where the definition asks for none."""
    asked = definition.climate.degree_days if definition.climate else None
    if asked is None:
        return ""
    degrees = Degrees(definition.units)
    of = "air" if asked.measure is None else measure_view(definition, asked.measure).noun
    base = f"{round(degrees.value(asked.base), 1):g} {degrees.unit}"
    most = "" if asked.upper is None else f", up to {round(degrees.value(asked.upper), 1):g}"
    most += f" {degrees.unit}" if most else ""
    start = day_text(dates_meant(definition.dates, asked.from_)[0])
    return (
        f"Degree days of {of} above {base}{most}, {_METHODS[asked.method]}, summed from {start} to "
        "the end of the day that is named. A plot has a sum up to the first day that was not seen."
    )


def degree_days_table(
    by_level: pd.DataFrame, definition: Definition, off: dt.date | None = None
) -> Markup:
    """Show the sums of degree days by treatment on the days that matter.

    Parameters
    ----------
    by_level : DataFrame
        The table ``degree_days_by_level`` of a run, in SI.
    definition : Definition
        The trial.
    off : date, optional
        Day on which the covers came off; left out, as planned.

    Returns
    -------
    Markup
        A row for covers off, the primary date and the last day; empty without sums.
    """
    if by_level.empty:
        return Markup("")
    degrees = Degrees(definition.units)
    off = off or dates_meant(definition.dates, "covers_off")[0]
    dated = pd.to_datetime(by_level["date"]).dt.date
    days = {off: "covers off", primary_day(definition): "primary date", max(dated): "last day"}
    levels = held_levels(definition, by_level["level"])
    control = definition.treatments[climate_factor(definition)].control
    heads = [Head("To the end of")]
    for level in levels:
        label = level_label(definition, level)
        heads.append(Head("sum", degrees.days, True, label))
        if level != control and "more" in by_level:
            heads.append(Head("more", degrees.days, True, label))
        heads.append(Head("plots", "", True, label))
    shown = by_level[dated.isin(list(days))]
    decimals = _decimals(shown, control, degrees)
    rows = []
    for day in sorted(days):
        here = by_level[dated == day]
        if here.empty:
            continue
        cells: list[Cell] = []
        for level in levels:
            found = here.index[here["level"] == level]
            compared = level != control and "more" in by_level
            for one in ("sum", *(["more"] if compared else []), "plots"):
                at = int(found[0]) if len(found) else None
                cells.append("–" if at is None else _cell(by_level, at, one, degrees, decimals))
        rows.append(Row((f"{day_text(day)} ({days[day]})",), tuple(cells)))
    note = "Means over the plots whose sum is known on the day; where fewer plots are left, the "
    note += "means may step. They describe; no test was made of them."
    return html_table("Degree days by treatment", heads, rows, note) if rows else Markup("")


def _cell(frame: pd.DataFrame, at: int, column: str, degrees: Degrees, decimals: int) -> Said | str:
    value = value_at(frame, at, column)
    if column == "plots":
        return number(_BY_LEVEL, frame, at, column, f"{value:.0f}")
    shown = text(degrees.difference(value), decimals, signed=column == "more")
    return number(_BY_LEVEL, frame, at, column, shown) if value == value else "–"


def _decimals(shown: pd.DataFrame, control: str, degrees: Degrees) -> int:
    """Choose the decimals with which a reader who subtracts the sums finds the differences."""
    if "more" not in shown:
        return 0
    own = shown[shown["level"] == control].set_index("date")["sum"]
    compared = [
        (degrees.difference(one), degrees.difference(other), degrees.difference(more))
        for one, other, more in zip(
            shown["sum"], shown["date"].map(own), shown["more"], strict=True
        )
    ]
    return subtracting_digits(compared, 0)[0]


def air_words(sums: pd.DataFrame, definition: Definition) -> Sentence:
    """Say the degree days of the air on the primary date; empty where they are of plots."""
    dated = pd.to_datetime(sums["date"]).dt.date
    here = sums[(sums["plot"] == "") & (dated == primary_day(definition)) & sums["sum"].notna()]
    if here.empty:
        return Sentence("")
    degrees, at = Degrees(definition.units), int(here.index[0])
    total = text(degrees.difference(value_at(sums, at, "sum")), 0)
    parts: dict[str, object] = {"day": day_text(primary_day(definition)), "unit": degrees.days}
    parts["sum"] = number(_BY_PLOT, sums, at, "sum", total)
    return Sentence("To the end of {day} the air had {sum} {unit}, the same for all plots.", parts)


def growth_table(growth: pd.DataFrame, definition: Definition) -> Markup:
    """Show the photo measure beside degree days: the least and the most of all plots, by date.

    Parameters
    ----------
    growth : DataFrame
        The table ``growth`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        Empty without rows.
    """
    if growth.empty:
        return Markup("")
    view, degrees = (
        measure_view(definition, str(growth["measure"].iloc[0])),
        Degrees(definition.units),
    )
    heads = [Head("Date")]
    for label, unit in (("Degree days", degrees.days), (view.label, view.unit)):
        heads += [Head(end, unit, True, label) for end in ("least", "most")]
    rows = []
    for day, here in growth.groupby("date", sort=True):
        cells: list[Cell] = []
        for column in ("degree_days", "value"):
            for at in ends_of(here[column]):
                value = value_at(growth, at, column)
                shown = view.value(value) if column == "value" else degrees.difference(value)
                cells.append(
                    number("growth", growth, at, column, text(shown, 0 if view.unit else 2))
                )
        rows.append(Row((day_text(day),), tuple(cells)))
    note = (
        "Over all plots, whatever lay on them. Warmth is one of the things that a cover changes, "
        "and light, wind and wet are others: this describes."
    )
    return html_table(f"{view.label} beside degree days", heads, rows, note)
