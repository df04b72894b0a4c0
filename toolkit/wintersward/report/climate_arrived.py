"""When plots reached a temperature or a sum: by treatment in words, plot by plot in a table."""

from __future__ import annotations

import datetime as dt
import math

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.arrivals import AFTER, NOT_KNOWN, ON_OR_BEFORE, REACHED
from wintersward.report.climate_views import held_levels
from wintersward.report.numbers import counted, day_text, in_words, listed_words
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import in_sentence, level_label
from wintersward.trial.schema import Definition

__all__ = ["arrived_table", "arrived_words", "goal_words", "span_text", "whole_days"]

_STATES = {
    ON_OR_BEFORE: "on this day, or before on one that was not seen",
    AFTER: "not reached while it was watched",
    NOT_KNOWN: "not on a day that was seen; on others it may have been",
}
_WEEK = 7


def goal_words(criterion: str) -> str:
    """Name what is looked for at the beginning of a sentence.

    Examples
    --------
    >>> goal_words("Soil: mean of 5 days at 50 °F or more")
    'Soil, mean of 5 days at 50 °F or more'
    """
    return criterion.replace(": ", ", ")


def span_text(first: object, last: object) -> str:
    """Write a span of days, its month once where there is one.

    Examples
    --------
    >>> span_text("2026-03-26", "2026-03-28"), span_text("2026-03-28", "2026-04-01")
    ('26 to 28 March 2026', '28 March 2026 to 1 April 2026')
    """
    begin, end = day_text(first), day_text(last)
    if begin == end:
        return end
    day, _, month = begin.partition(" ")
    return f"{day if month == end.partition(' ')[2] else begin} to {end}"


def whole_days(arrived: pd.DataFrame) -> bool:
    """Tell whether days of arrival are whole ones, as of means over days."""
    days = arrived["day"].dropna()
    return bool(len(days)) and bool((days == days.round()).all())


def arrived_words(arrived: pd.DataFrame, definition: Definition, off: dt.date | None = None) -> str:
    """Say when the plots of each treatment got there, and which did not, or were not seen.

    Parameters
    ----------
    arrived : DataFrame
        Rows of the table ``thermometer`` that look for one thing.
    definition : Definition
        The trial.
    off : date, optional
        Day on which the covers came off.

    Returns
    -------
    str
        A sentence; empty where no treatment is told.
    """
    told = arrived[arrived["level"].fillna("") != ""]
    if told.empty:
        return ""
    goal = goal_words(str(told["criterion"].iloc[0]))
    there = told[told["reached"].notna()]
    if there.empty:
        last = day_text(told["last"].max())
        return f"{goal}: no plot was seen to get there by {last}, the last whole day."
    first, latest = there["reached"].min(), there["reached"].max()
    span = f"{'on' if first == latest else 'from'} {span_text(first, latest)}"
    weeks = ((first.date() - off).days if off is not None else 0) // _WEEK
    after = f", over {counted(weeks, 'week')} after the covers came off" if weeks > 0 else ""
    if set(told["state"]) == {REACHED}:
        return f"{goal}: reached on {_about(told, definition)} (single plots {span}{after})."
    many = "most plots" if 2 * len(there) > len(told) else counted(len(there), "plot")
    return f"{goal}: {many} got there {span}{after}; {_others(told, definition)}."


def _about(told: pd.DataFrame, definition: Definition) -> str:
    """Name the mean day of each treatment; those with the same day are joined."""
    days: dict[str, list[str]] = {}
    for level in held_levels(definition, told["level"]):
        own = told[told["level"] == level]
        mean = float(own["day"].mean())
        # A sum is reached within a day, a mean of days on one.
        since = round(mean) if whole_days(told) else math.floor(mean)
        day = pd.Timestamp(own["start"].iloc[0]) + pd.Timedelta(days=since)
        label = in_sentence(level_label(definition, level))
        days.setdefault(day_text(day), []).append(f"with {label}")
    return listed_words([f"about {day} {listed_words(names)}" for day, names in days.items()])


def _others(told: pd.DataFrame, definition: Definition) -> str:
    """Count the plots that had not got there, or of which that is not known."""
    said, last = [], day_text(told["last"].max())
    for state, words in (
        (AFTER, f"by {last}, the last whole day, {{}} had not"),
        (NOT_KNOWN, "{} cannot be told, since days on which it may have been there were not seen"),
        (ON_OR_BEFORE, "{} may have been there before, on days that were not seen"),
    ):
        own = told[told["state"] == state]
        parts = []
        for level in held_levels(definition, own["level"]):
            whole, some = (int((one["level"] == level).sum()) for one in (told, own))
            many = f"{in_words(some)} of {counted(whole, 'plot')}"
            many = "the one plot" if whole == 1 else many
            parts.append(f"{many} with {in_sentence(level_label(definition, level))}")
        if parts:
            said.append(words.format(listed_words(parts)))
    return "; ".join(said)


def arrived_table(arrived: pd.DataFrame) -> Markup:
    """List the day on which every plot got there, for few plots.

    Parameters
    ----------
    arrived : DataFrame
        The table ``thermometer`` of a run.
    """
    if arrived.empty:
        return Markup("")
    heads = [Head("Looked for"), Head("Plot"), Head("Reached"), Head("Remark")]
    rows = []
    for row in arrived.to_dict("records"):
        day = "–" if pd.isna(row["reached"]) else day_text(row["reached"])
        remark = _STATES.get(str(row["state"]), "")
        rows.append(Row((str(row["criterion"]), str(row["plot"])), (day, remark)))
    return html_table("When every plot got there", heads, rows)
