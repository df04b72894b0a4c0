"""Tables of recovery: days until holes closed, days gained, and differences of differences."""

from __future__ import annotations

import datetime as dt
import math

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.arrivals import AFTER, ON_OR_BEFORE
from wintersward.decisions.closure import aerated_on, closure_measures
from wintersward.report.bounds import Side, bounded
from wintersward.report.comparing import difference_decimals
from wintersward.report.comparisons import (
    difference_cells,
    difference_heads,
    pair_text,
    said_or_dash,
)
from wintersward.report.interactions import crossing_of
from wintersward.report.numbers import day_text, level_text, p_text, table_decimals, text
from wintersward.report.recovering_gains import visits_rule
from wintersward.report.recovering_words import contrasted, plot_word
from wintersward.report.said import interval_said, number, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import factor_label, in_sentence, level_label, measure_view
from wintersward.trial.schema import Definition

__all__ = ["contrast_tables", "gained_table", "times_table"]

TIMES, GAINED, CONTRAST = "closure_times", "closure_gained", "closure_contrast"


def _combined(frame: pd.DataFrame, definition: Definition) -> list[tuple[str, pd.DataFrame]]:
    """Take a table apart by combinations of treatments, in the definition's order."""
    factors = [name for name in definition.treatments if name in frame]
    if not factors:
        return []
    ranked = frame.assign(
        **{
            name: pd.Categorical(frame[name].astype(str), list(definition.treatments[name].levels))
            for name in factors
        }
    )
    parts = []
    # The inner factor goes first: what is compared stands together.
    for key, own in ranked.groupby(factors[::-1], observed=True, sort=True):
        levels = key if isinstance(key, tuple) else (key,)
        parts.append((":".join(map(str, reversed(levels))), own))
    return parts


def times_table(times: pd.DataFrame, definition: Definition) -> Markup:
    """Show between which days the holes of each combination of treatments closed.

    Parameters
    ----------
    times : DataFrame
        The table ``closure_times``.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        Empty without such days.
    """
    own = times[times["measure"].isin(closure_measures(definition))]
    parts = _combined(own, definition)
    if not parts:
        return Markup("")
    kind, on = plot_word(definition), aerated_on(definition)
    level = f"{float(own['level'].iloc[0]):g} %"
    heads = [Head("Treatments"), Head(f"{kind}s", "", True), Head(f"first {kind}", "days", True)]
    heads += [Head(f"last {kind}", "days", True), Head("none there on"), Head("all there on")]
    states = own["censored"].fillna("").astype(str)
    words = {ON_OR_BEFORE: "there at the first visit", AFTER: "not there at the last visit"}
    bounds = [word for word in words if (states == word).any()]
    heads += [Head(words[word], "", True) for word in bounds]
    rows = []
    for name, held in parts:
        state = held["censored"].fillna("").astype(str)
        sure = held[state == ""]
        ends = [int(sure["days"].argmin()), int(sure["days"].argmax())] if len(sure) else []
        cells: list[Cell] = [str(len(held))]
        for at in (int(sure.index[end]) for end in ends):
            cells.append(number(TIMES, times, at, "days", text(value_at(times, at, "days"), 0)))
        cells += ["–"] * (2 - len(ends))
        cells += [_visit(on, held, ON_OR_BEFORE), _visit(on, held, AFTER)]
        cells += [str(int((state == word).sum())) for word in bounds]
        rows.append(Row((level_label(definition, name),), tuple(cells)))
    note = f"Single {kind}s, described, read off lines between visits."
    if bounds:
        note += " Those that were there at the first visit, or not at the last, have no day of "
        note += "their own."
    return html_table(f"Days after the aeration until {level} was closed", heads, rows, note)


def _visit(on: dt.date | None, held: pd.DataFrame, bound: str) -> str:
    """Name the last visit with no unit there yet, or the first with all of them; else a dash."""
    lost = (held["censored"].fillna("") == bound).any()
    day = held["last_below"].min() if bound == ON_OR_BEFORE else held["first_there"].max()
    if lost or on is None or pd.isna(day):
        return "–"
    return day_text(on + dt.timedelta(days=int(day)))


def gained_table(gained: pd.DataFrame, definition: Definition) -> Markup:
    """Show every comparison of the days until holes closed.

    Parameters
    ----------
    gained : DataFrame
        The table ``closure_gained``.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        Empty where nothing was compared.
    """
    own = gained[gained["measure"].isin(closure_measures(definition))]
    if own.empty:
        return Markup("")
    interval = f"{level_text(definition.analysis.alpha)} interval"
    heads = [Head("Compared"), Head("as"), Head("days sooner", "days", True)]
    # Plots share their visits: where these lie wide apart the spread of plots tells too little.
    alone = not all(visits_rule(row_at(gained, int(at))) for at in own.index)
    heads += [Head(f"{interval}, of the plots alone", "days", True)] if alone else []
    heads += [Head("by the visits alone", "days", True), Head("standard error", "days", True)]
    heads += [Head("p", "", True)]
    sides = [f"{side}_{name}" for side in ("left", "right") for name in ("before", "after")]
    bounds = bool(own[sides].to_numpy().any())
    heads += [Head("bounds among the plots", "", True)] if bounds else []
    decimals = table_decimals(own["se"])
    rows = []
    for at in map(int, own.index):
        row = row_at(gained, at)

        def said(name: str, shown: str, at: int = at) -> Cell:
            return said_or_dash(GAINED, gained, at, name, shown)

        shown = {n: text(float(row[n]), decimals, signed=True) for n in ("days", "lower", "upper")}
        ends = {name: said(name, shown[name]) for name in ("lower", "upper")}
        allowed = {
            "lower": said("visits_low", _outward(float(row["visits_low"]), "at least")),
            "upper": said("visits_high", _outward(float(row["visits_high"]), "at most")),
        }
        cells: list[Cell] = [
            "read off" if row["says"] == "exactly" else str(row["says"]),
            said("days", shown["days"]),
            *(["–" if visits_rule(row) else interval_said(ends)] if alone else []),
            interval_said(allowed),
            said("se", text(float(row["se"]), decimals + 1)),
            "–" if visits_rule(row) else said("p", p_text(float(row["p"]))),
        ]
        units = int(row["units_left"]) + int(row["units_right"])
        cells += [f"{int(row[sides].sum())} of {units}"] if bounds else []
        rows.append(Row((_compared(definition, row),), tuple(cells)))
    note = (
        "Above zero the treatment named first was sooner. By the visits alone: fewest and most "
        "days that fit between the visits; where they lie further apart than an interval of the "
        "plots alone is wide there is neither that nor p. Every row stands by itself: intervals "
        "and p are not adjusted for their number. Rows with ‘against’ tell whether the lead of one "
        "treatment depends on the other factor."
    )
    told = dict.fromkeys(str(one) for one in own["note"] if str(one or ""))
    note += "".join(f" {one[0].upper()}{one[1:]}." for one in told)
    return html_table("Days by which holes closed sooner", heads, rows, note)


def _outward(value: float, side: Side) -> str:
    """Write whole days that hold what the visits allow; nothing sensible is never shown."""
    return text(bounded(value, 0, side) if math.isfinite(value) else value, 0, signed=True)


def _compared(definition: Definition, row: pd.Series) -> str:
    if ":" not in str(row["left"]):
        return pair_text(definition, row)
    found = crossing_of(definition, str(row["effect"]), str(row["left"]), str(row["right"]))
    left, right, first, second = (
        in_sentence(level_label(definition, level)) for level in (*found.outer, *found.inner)
    )
    return f"{first[0].upper()}{first[1:]} minus {second}: with {left}, against with {right}"


def contrast_tables(contrast: pd.DataFrame, definition: Definition) -> list[Markup]:
    """Show the differences of differences after the aeration, a table a measure.

    Parameters
    ----------
    contrast : DataFrame
        The table ``closure_contrast``.
    definition : Definition
        The trial.
    """
    made = []
    for measure in contrasted(definition):
        own = contrast[contrast["measure"] == measure]
        if len(own):
            made.append(_contrasts(contrast, own, definition, measure))
    return made


def _contrasts(
    contrast: pd.DataFrame, own: pd.DataFrame, definition: Definition, measure: str
) -> Markup:
    view, effect = measure_view(definition, measure), ":".join(definition.treatments)
    decimals = difference_decimals(view, own) if own["se"].notna().any() else 0
    heads = [Head("Compared"), Head("Date")]
    heads += difference_heads(view, level_text(definition.analysis.alpha), ("p, Holm",))
    ordered = own.sort_values(["left", "right", "date"], kind="stable")
    rows, inner = [], ""
    for at in map(int, ordered.index):
        row = row_at(contrast, at)
        found = crossing_of(definition, effect, str(row["left"]), str(row["right"]))
        left, right, first, second = (
            in_sentence(level_label(definition, one)) for one in (*found.outer, *found.inner)
        )
        inner = f"{first} minus {second}"
        said = f"With {left}, minus with {right}"
        cells = difference_cells(CONTRAST, contrast, at, view, decimals)
        rows.append(Row((said, day_text(row["date"])), cells))
    note = str(own.loc[own["se"].notna(), "note"].iloc[0]) if own["se"].notna().any() else ""
    note = f"Intervals and p are {note}." if note else ""
    if own["se"].isna().any():
        note += " Where all plots of one treatment have 100 % and those beside them do not, there "
        note += "is a difference without an interval."
    outer = in_sentence(factor_label(definition, effect.split(":")[0]))
    caption = f"{view.label}, {inner}: how it depends on the {outer}"
    return html_table(caption, heads, rows, note.strip())
