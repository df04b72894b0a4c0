"""Checks of what the analysis supposes, and what the blocks were worth, as tables."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import said_or_dash
from wintersward.report.numbers import (
    Sentence,
    day_text,
    decimals_for,
    number,
    p_text,
    row_at,
    text,
    value_at,
)
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import MeasureView, measure_view
from wintersward.report.words import matters_text
from wintersward.trial.schema import Definition

__all__ = ["block_value_words", "checks_table", "replication_table"]


def checks_table(checks: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show the tests of the assumptions of a measure, date by date; empty without any."""
    rows = checks[checks["measure"] == measure]
    if rows.empty:
        return Markup("")
    heads = [Head("Date"), Head("What is asked"), Head("test"), Head("statistic", "", True)]
    heads += [Head("p", "", True), Head("what it says", prose=True)]
    lines = []
    for at in map(int, rows.index):
        row = row_at(checks, at)
        cells = (
            str(row["test"]),
            said_or_dash("checks", checks, at, "statistic", text(float(row["statistic"]), 2)),
            said_or_dash("checks", checks, at, "p", p_text(float(row["p"]))),
            str(row["text"]),
        )
        lines.append(Row((day_text(row["date"]), str(row["check"])), cells))
    note = "A small p asks for a look at the picture; with few units a test sees little either way."
    caption = f"{measure_view(definition, measure).label}: tests of the assumptions"
    return html_table(caption, heads, lines, note)


def block_value_words(block_value: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say what the blocks were worth on the primary date.

    Parameters
    ----------
    block_value : DataFrame
        Table of a run.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
    """
    said = []
    for at in map(int, block_value.index):
        row = row_at(block_value, at)
        view = measure_view(definition, str(row["measure"]))
        parts: dict[str, object] = {"noun": view.noun, "day": day_text(row["date"])}
        form = "For {noun} on {day}: "
        if pd.notna(row["efficiency"]):
            shown = text(float(row["efficiency"]), 2)
            parts["efficiency"] = number("block_value", block_value, at, "efficiency", shown)
            form += "relative efficiency {efficiency}"
        if pd.notna(row["cv"]):
            parts["cv"] = number("block_value", block_value, at, "cv", text(float(row["cv"]), 0))
            form += ", " if "efficiency" in parts else ""
            form += "coefficient of variation {cv} %"
        words = str(row["text"]).rstrip(".")
        parts["words"] = f" {words[:1].upper()}{words[1:]}." if words else ""
        said.append(Sentence(form + ".{words}", parts))
    return said


_PURPOSES = {
    "difference": "to see a difference of {matters}",
    "equivalence": "to see that it is less than {matters}",
}


def replication_table(replication: pd.DataFrame, definition: Definition) -> Markup:
    """Show the chance to see the smallest difference that matters with so many blocks.

    Parameters
    ----------
    replication : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        A row a number of blocks, a group of columns a purpose; empty without rows.
    """
    if replication.empty:
        return Markup("")
    view = measure_view(definition, definition.analysis.primary.measure)
    purposes = list(dict.fromkeys(replication["purpose"].astype(str)))
    one = "blocks" if definition.layout.blocks else "replicates"
    heads = [Head(one[:1].upper() + one[1:], "", True)]
    for purpose in purposes:
        matters = matters_text(definition)
        group = _PURPOSES.get(purpose, purpose.replace("_", " ")).format(matters=matters)
        heads += [Head("chance", "%", True, group)]
        heads += [Head("half-width of the interval", view.difference_unit, True, group)]
    heads += [Head("smallest p by randomisation", "", True)]
    # Fine enough to see what one more block brings.
    decimals = decimals_for(view.difference(float(replication["half_width"].min())) / 8)
    lines = []
    for blocks, here in replication.groupby("blocks", sort=True):
        cells: list[Cell] = []
        for purpose in purposes:
            rows = here.index[here["purpose"] == purpose]
            cells += _chance(replication, int(rows[0]), view, decimals) if len(rows) else ["–", "–"]
        at = int(here.index[0])
        least = p_text(value_at(replication, at, "smallest_p"))
        cells.append(said_or_dash("replication", replication, at, "smallest_p", least))
        lines.append(Row((f"{float(str(blocks)):.0f}",), tuple(cells)))
    note = (
        "Half-widths are those to expect. All is planned from the variances of this trial, which "
        "are uncertain themselves: take the numbers as a guide, not as a promise."
    )
    return html_table(
        f"{one[:1].upper()}{one[1:]} that a like trial would need", heads, lines, note
    )


def _chance(replication: pd.DataFrame, at: int, view: MeasureView, decimals: int) -> list[Cell]:
    power = value_at(replication, at, "power")
    half = view.difference(value_at(replication, at, "half_width"))
    shown = {"power": _percent(power), "half_width": text(half, decimals)}
    return [said_or_dash("replication", replication, at, n, words) for n, words in shown.items()]


def _percent(share: float) -> str:
    """Write a chance in percent; a chance is never sure."""
    return "> 99" if share > 0.995 else f"{100 * share:.0f}"
