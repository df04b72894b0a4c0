"""The primary question as a table: each comparison as planned, and with exclusions put back."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import difference_cells, said_or_dash
from wintersward.report.numbers import level_text, text
from wintersward.report.said import row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import MeasureView, in_sentence, level_label, measure_view
from wintersward.report.words import FAMILIES, PLANNED, PUT_BACK, planned_rows, shown_decimals
from wintersward.trial.schema import Definition

__all__ = ["answers_table"]


def answers_table(primary: pd.DataFrame, definition: Definition) -> Markup:
    """Show the primary answer as planned beside that with excluded observations put back.

    Parameters
    ----------
    primary : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        Empty before the question has data.
    """
    if primary.empty:
        return Markup("")
    view = measure_view(definition, str(primary["measure"].iloc[0]))
    decimals = max(shown_decimals(row_at(primary, int(at)), view) for at in primary.index)
    several = len(definition.analysis.primary.pairs) > 1
    sides = ["first", "second"]
    if not several:
        sides = [level_label(definition, str(primary[s].iloc[0])) for s in ("left", "right")]
    unit, interval = view.difference_unit, f"{level_text(definition.analysis.alpha)} interval"
    heads = [Head("Analysis"), *([Head("Treatments")] if several else [])]
    heads += [Head(f"{side}, mean", view.unit, True) for side in sides]
    heads += [Head("difference", unit, True), Head(interval, unit, True)]
    heads += [Head("df", "", True), Head("p", "", True)]
    lines = []
    for which in (PLANNED, PUT_BACK):
        for at in planned_rows(primary, definition, which):
            row = row_at(primary, at)
            pair = [level_label(definition, str(row[side])) for side in ("left", "right")]
            named = (f"{pair[0]} minus {in_sentence(pair[1])}",) if several else ()
            labels = (which[0].upper() + which[1:], *named)
            lines.append(Row(labels, _cells(primary, at, view, decimals), which == PLANNED))
    caption = "The primary question, with and without exclusions"
    return html_table(caption, heads, lines, _note(primary))


def _cells(primary: pd.DataFrame, at: int, view: MeasureView, decimals: int) -> tuple[Cell, ...]:
    means = [
        said_or_dash(
            "primary", primary, at, n, text(view.value(value_at(primary, at, n)), decimals)
        )
        for n in ("left_mean", "right_mean")
    ]
    gap, interval, _, df, p = difference_cells("primary", primary, at, view, decimals)
    return (*means, gap, interval, df, p)


def _note(primary: pd.DataFrame) -> str:
    """Say which analysis it was, and how several comparisons are adjusted."""
    methods = [text for text in dict.fromkeys(primary["method"].fillna("")) if text]
    said = [f"Analysis: {'; '.join(methods)}."] if methods else []
    adjusted = [FAMILIES[one] for one in dict.fromkeys(primary["adjust"]) if one in FAMILIES]
    if adjusted:
        said.append(f"p and intervals are adjusted together by {' and '.join(adjusted)}.")
    return " ".join(said)
