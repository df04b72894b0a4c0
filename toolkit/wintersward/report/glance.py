"""All treatments of the question on its date in one small table: which is primary, which beside."""

from __future__ import annotations

import math

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import said_or_dash
from wintersward.report.numbers import counted, day_text, level_text, text
from wintersward.report.said import Said, Sentence, interval_said, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import (
    MeasureView,
    averaged_over,
    in_sentence,
    level_label,
    measure_view,
)
from wintersward.report.words import PLANNED, planned_rows, shown_decimals
from wintersward.trial.schema import Definition

__all__ = ["glance_table"]


def glance_table(
    means: pd.DataFrame, differences: pd.DataFrame, primary: pd.DataFrame, definition: Definition
) -> Markup:
    """Show every treatment of the asked factor on the primary date, against the control.

    Parameters
    ----------
    means, differences, primary : DataFrame
        Tables of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        A row a treatment, the control first: mean, difference to the control with its interval,
        and whether that is the primary question. Empty before the question has an answer.
    """
    rows = primary[primary["which"] == PLANNED]
    if rows.empty or not rows["difference"].notna().any():
        return Markup("")
    question = definition.analysis.primary
    factor = definition.factor_of(question.levels[0])
    control = definition.treatments[factor].control
    view, day = measure_view(definition, question.measure), rows["date"].iloc[0]
    decimals = max(shown_decimals(row_at(primary, int(at)), view) for at in rows.index)
    level = level_text(definition.analysis.alpha)
    against = f"difference to {in_sentence(level_label(definition, control))}"
    heads = [Head("Treatment"), Head("mean", view.unit, True)]
    heads += [Head(against, view.difference_unit, True)]
    heads += [Head(f"{level} interval", view.difference_unit, True), Head("question")]
    here = differences[differences["measure"] == question.measure]
    here = here[pd.to_datetime(here["date"]) == pd.Timestamp(str(day))]
    here = here[(here["effect"] == factor) & (here["within"].fillna("") == "")]
    own = means[(means["measure"] == question.measure) & (means["effect"] == factor)]
    own = own[pd.to_datetime(own["date"]) == pd.Timestamp(str(day))]
    lines, beside = [], list[int]()
    names = [control, *(name for name in definition.treatments[factor].levels if name != control)]
    for name in names:
        mean = _mean(own, primary, name, view, decimals, definition)
        if name == control:
            label = f"{level_label(definition, name)} (control)"
            lines.append(Row((label,), (mean, "–", "–", "–")))
            continue
        found = _against(name, control, here, primary, view, decimals, definition)
        if found is None:
            lines.append(Row((level_label(definition, name),), (mean, "–", "–", "not compared")))
            continue
        cells, asked, family = found
        beside += [family] if family else []
        label = level_label(definition, name)
        lines.append(Row((label,), (mean, *cells, asked), strong=not family))
    caption = f"{view.label} on {day_text(day)}"
    return html_table(caption, heads, lines, _note(beside, averaged_over(definition, factor, day)))


def _mean(
    means: pd.DataFrame,
    primary: pd.DataFrame,
    level: str,
    view: MeasureView,
    decimals: int,
    definition: Definition,
) -> Cell:
    """Write the mean of a treatment: that of the answer where it takes part in it."""
    for at in planned_rows(primary, definition):
        for side in ("left", "right"):
            if str(row_at(primary, at)[side]) == level:
                column = f"{side}_mean"
                shown = text(view.value(value_at(primary, at, column)), decimals)
                return said_or_dash("primary", primary, at, column, shown)
    found = means.index[means["level"] == level]
    if not len(found):
        return "–"
    at = int(found[0])
    shown = text(view.value(value_at(means, at, "mean")), decimals)
    return said_or_dash("means", means, at, "mean", shown)


def _against(
    level: str,
    control: str,
    differences: pd.DataFrame,
    primary: pd.DataFrame,
    view: MeasureView,
    decimals: int,
    definition: Definition,
) -> tuple[tuple[Cell, Cell], str, int] | None:
    """Give difference and interval, how it is asked, and the size of its family (0: primary)."""
    planned = primary.loc[planned_rows(primary, definition)]
    for table, frame in (
        ("primary", planned),
        ("differences", differences[differences["role"] == "secondary"]),
    ):
        for sign, left, right in ((1, level, control), (-1, control, level)):
            found = frame.index[(frame["left"] == left) & (frame["right"] == right)]
            if not len(found):
                continue
            cells = _cells(table, frame, int(found[0]), view, decimals, sign)
            if table == "primary":
                return cells, "primary", 0
            return cells, "secondary", int(value_at(frame, int(found[0]), "comparisons"))
    return None


def _cells(
    table: str, frame: pd.DataFrame, at: int, view: MeasureView, decimals: int, sign: int
) -> tuple[Cell, Cell]:
    """Write difference and interval; turned round where the table holds control less treatment."""

    def said(name: str) -> str | Said:
        value = sign * view.difference(value_at(frame, at, name))
        if not math.isfinite(value):
            return "–"
        return said_or_dash(table, frame, at, name, text(value, decimals, signed=True))

    ends = ("lower", "upper") if sign > 0 else ("upper", "lower")
    interval: Sentence = interval_said({"lower": said(ends[0]), "upper": said(ends[1])})
    return said("difference"), interval


def _note(families: list[int], averaged: str) -> str:
    """Say what the secondary rows are, and what all are averaged over."""
    said = []
    if families:
        many = counted(max(families), "comparison")
        said.append(
            "Secondary: a lead to follow up, not an answer; its interval is widened to hold "
            f"together with {many} (Bonferroni)."
        )
    if averaged:
        said.append(f"{averaged[0].upper()}{averaged[1:]}.")
    return " ".join(said)
