"""Tables of recovery: days until holes closed, days gained, and differences of differences."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.arrivals import AFTER, ON_OR_BEFORE
from wintersward.decisions.closure import closure_measures
from wintersward.report.comparing import difference_decimals
from wintersward.report.comparisons import (
    difference_cells,
    difference_heads,
    pair_text,
    said_or_dash,
)
from wintersward.report.interactions import crossing_of
from wintersward.report.numbers import day_text, level_text, p_text, table_decimals, text
from wintersward.report.recovering_words import contrasted
from wintersward.report.said import interval_said, number, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import factor_label, in_sentence, level_label, measure_view, unit_kind
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
    kind = unit_kind(definition, ":".join(definition.treatments)) + "s"
    level = f"{float(own['level'].iloc[0]):g} %"
    heads = [Head("Treatments"), Head(kind, "", True), Head("first", "days", True)]
    heads += [Head("last", "days", True), Head("there at the first visit", "", True)]
    heads += [Head("not there at the last visit", "", True)]
    rows = []
    for name, held in parts:
        state = held["censored"].fillna("").astype(str)
        sure = held[state == ""]
        ends = [int(sure["days"].argmin()), int(sure["days"].argmax())] if len(sure) else []
        cells: list[Cell] = [str(len(held))]
        for at in (int(sure.index[end]) for end in ends):
            cells.append(number(TIMES, times, at, "days", text(value_at(times, at, "days"), 0)))
        cells += ["–"] * (2 - len(ends))
        cells += [str(int((state == word).sum())) for word in (ON_OR_BEFORE, AFTER)]
        rows.append(Row((level_label(definition, name),), tuple(cells)))
    note = f"Single {kind}, described; those that were there at the first visit, or not at the "
    note += "last, have no day of their own."
    return html_table(f"Days after the aeration until {level} was closed", heads, rows, note)


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
    heads = [Head("Compared"), Head("says"), Head("days sooner", "days", True)]
    heads += [Head(interval, "days", True), Head("standard error", "days", True)]
    heads += [Head("p", "", True), Head("bounds among the units", "", True)]
    decimals = table_decimals(own["se"])
    rows = []
    for at in map(int, own.index):
        row = row_at(gained, at)

        def said(name: str, shown: str, at: int = at) -> Cell:
            return said_or_dash(GAINED, gained, at, name, shown)

        shown = {n: text(float(row[n]), decimals, signed=True) for n in ("days", "lower", "upper")}
        ends = {name: said(name, shown[name]) for name in ("lower", "upper")}
        many = sum(int(row[f"{s}_{n}"]) for s in ("left", "right") for n in ("before", "after"))
        units = int(row["units_left"]) + int(row["units_right"])
        cells = (
            str(row["says"]),
            said("days", shown["days"]),
            interval_said(ends),
            said("se", text(float(row["se"]), decimals + 1)),
            said("p", p_text(float(row["p"]))),
            f"{many} of {units}",
        )
        rows.append(Row((_compared(definition, row),), cells))
    note = (
        "Above zero the treatment named first was sooner. Every row stands by itself: intervals "
        "and p are not adjusted for their number. Rows with ‘against’ tell whether the lead of one "
        "treatment depends on the other factor."
    )
    return html_table("Days by which holes closed sooner", heads, rows, note)


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
