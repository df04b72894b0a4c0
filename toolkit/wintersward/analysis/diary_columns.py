"""Tables of what the diary tells of the season: covers, care, mishaps and weather."""

from __future__ import annotations

from wintersward.analysis.columns import Column, Table
from wintersward.errors import listed
from wintersward.trial.happenings import COVER_EVENTS

__all__ = ["HAPPENED"]

_DAY = Column("date", "date", "", "day")
_PLOTS = Column("plots", "text", "", "plots and whole plots, or a word for many")
_NOTE = Column("note", "text", "", "as the diary says")

HAPPENED: dict[str, Table] = {
    "cover_events": Table(
        "What befell the covers while they lay, and snow, ice and water.",
        ("date", "what", "plots", "note"),
        (
            _DAY,
            Column("what", "text", "", listed(COVER_EVENTS)),
            _PLOTS,
            _NOTE,
        ),
    ),
    "management": Table(
        "What was done to the turf as part of its care.",
        ("date", "what", "plots", "amount", "note"),
        (
            _DAY,
            Column("what", "text", "", "kind of care"),
            _PLOTS,
            Column("amount", "text", "", "with its unit, as the diary says"),
            _NOTE,
        ),
    ),
    "mishaps": Table(
        "What went wrong on plots, and what it did to them.",
        ("date", "plots", "what"),
        (
            _DAY,
            _PLOTS,
            Column("what", "text", "", "what happened"),
            Column("effect", "text", "", "what it did"),
        ),
    ),
    "weather_months": Table(
        "The weather of every calendar month of the trial, beside the stated normals.",
        ("month", "what"),
        (
            Column("month", "date", "", "first day of the month"),
            Column("what", "text", "", "low, high (means), rain, days_below_zero (sums)"),
            Column("value", "number", "", "in 'unit', of the days measured"),
            Column("unit", "text", "", "degC, mm or day"),
            Column("days", "integer", "", "days measured"),
            Column("of_days", "integer", "", "days of the month"),
            Column("first_day", "integer", "", "day of the month first measured; 0 for none"),
            Column("last_day", "integer", "", "day of the month last measured; 0 for none"),
            Column("normal", "number", "", "the stated normal, in 'unit'"),
            Column("departure", "number", "", "value minus normal, in 'unit'; empty: not compared"),
            Column("why_not", "text", "", "why it is not compared; empty where it is"),
            Column("source", "text", "", "where the normal comes from"),
        ),
    ),
    "weather_gaps": Table(
        "Days of which the weather file holds nothing, between its first day and its last.",
        ("first",),
        (
            Column("first", "date", "", "first of the days"),
            Column("last", "date", "", "last of the days"),
            Column("days", "integer", "", "number of days"),
            Column("what", "text", "", "no row, or a row with no values"),
        ),
    ),
}
