"""Degree days in words and tables."""

from __future__ import annotations

import datetime as dt

import pandas as pd
from markupsafe import Markup

from wintersward.report.climate_views import (
    Degrees,
    climate_factor,
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

__all__ = ["air_words", "counting_words", "degree_days_table"]

_BY_LEVEL, _BY_PLOT = "degree_days_by_level", "degree_day_sums"
_METHODS = {
    "average": "from the middle of the lowest and the highest temperature of the day",
    "modified": "from the lowest and the highest temperature of the day, each cut at base and "
    "ceiling",
    "triangle": "by a triangle through the lowest and the highest temperature of the day",
    "sine": "by a single sine through the lowest and the highest temperature of the day",
    "integrated": "from straight lines between one reading and the next",
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
        f"Degree days (growing degree days, GDD) of {of} above {base}{most}, in {degrees.days}, "
        f"{_METHODS[asked.method]}, summed from {start} to the end of the day that is named. A "
        "plot has a sum up to the first day that was not seen."
    )


def degree_days_table(
    by_level: pd.DataFrame,
    definition: Definition,
    off: dt.date | None = None,
    seen_to: dt.date | None = None,
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
    seen_to : date, optional
        Last day of which any plot has a sum; left out, that of the table.

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
    last = "last day" if seen_to in (None, max(dated)) else "last day on which all have a sum"
    days = {max(dated): last, off: "covers off", primary_day(definition): "primary date"}
    levels = held_levels(definition, by_level["level"])
    control = definition.treatments[climate_factor(definition)].control
    heads = [Head("To the end of")]
    for level in levels:
        label = level_label(definition, level)
        heads.append(Head("sum", degrees.days, True, label))
        if level != control and "more" in by_level:
            heads.append(Head("ahead by", degrees.days, True, label))
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
    note = (
        "Means over the same plots on all days. Where a plot has no sum to the primary date, its "
        "block is left out of all treatments; where one ends later, the means end with it. They "
        "describe; no test was made of them."
    )
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
