"""Days gained on the thermometer: who reached a temperature or a sum earlier, and by how much."""

from __future__ import annotations

import math

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.thermometer import ONE_EACH
from wintersward.report.comparisons import in_order, pair_text, said_or_dash
from wintersward.report.numbers import MINUS, day_text, df_text, level_text, p_text, text
from wintersward.report.said import Sentence, interval_said, number, row_at, value_at
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import in_sentence, plots_with
from wintersward.trial.schema import Definition

__all__ = ["arrived_table", "gained_table", "gained_words"]

_NAME = "thermometer_gained"
_DAYS = 1
_BOUNDS = {"at least": " or more", "at most": " or less"}
_STATES = {
    "on or before": "there on the first day that can be told, or before",
    "after": "not reached while it was watched",
}
_DESCRIBED = "one logger a treatment: described, not tested"


def gained_words(gained: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say how much earlier each treatment got there than the control.

    Parameters
    ----------
    gained : DataFrame
        The table ``thermometer_gained`` of a run.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a level that is looked for and a treatment; with an interval where it was tested.
    """
    return [_gained(gained, at, definition) for at in _order(gained, definition)]


def _order(gained: pd.DataFrame, definition: Definition) -> list[int]:
    """Put the rows into the definition's order: by what is looked for, then by pair."""
    first = list(dict.fromkeys(gained["criterion"].astype(str)))
    placed = gained.assign(_at=[first.index(str(one)) for one in gained["criterion"]])
    return in_order(placed, definition, ["_at"])


def _gained(gained: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row = row_at(gained, at)
    days, note = float(row["days"]), str(row["note"] or "")
    parts: dict[str, object] = {
        "goal": in_sentence(str(row["criterion"])),
        "left": plots_with(definition, str(row["left"])),
        "right": plots_with(definition, str(row["right"])),
        "level": level_text(definition.analysis.alpha),
    }
    if not math.isfinite(days):
        parts["why"] = f": {note}" if note and note != "cannot be told" else ""
        form = "For {goal}: how much earlier {left} were there than {right} cannot be told{why}."
        return Sentence(form, parts)
    shown = text(days, _DAYS).lstrip(MINUS)
    parts["days"] = number(_NAME, gained, at, "days", shown)
    parts["more"] = next((words for key, words in _BOUNDS.items() if key in note), "")
    parts["way"] = "earlier" if days > 0 else "later"
    form = "For {goal}: {left} were there {days} days{more} {way} than {right}"
    if float(shown) == 0:
        form = "For {goal}: {left} and {right} were there {days} days apart"
    ends = [float(row[end]) for end in ("lower", "upper")]
    if all(map(math.isfinite, ends)):
        parts |= {
            end: number(_NAME, gained, at, end, text(value, _DAYS, signed=True))
            for end, value in zip(("lower", "upper"), ends, strict=True)
        }
        return Sentence(form + " ({level} interval {lower} to {upper} days earlier).", parts)
    parts["why"] = _DESCRIBED if ONE_EACH in note else "described, not tested"
    return Sentence(form + " ({why}).", parts)


def gained_table(gained: pd.DataFrame, definition: Definition) -> Markup:
    """Show the days gained with all that belongs to them.

    Returns
    -------
    Markup
        Empty without rows.
    """
    if gained.empty:
        return Markup("")
    level = level_text(definition.analysis.alpha)
    heads = [Head("Looked for"), Head("Treatments"), Head("earlier by", "days", True)]
    heads += [Head(f"{level} interval", "days", True), Head("standard error", "days", True)]
    heads += [Head("df", "", True), Head("p", "", True), Head("Remark", prose=True)]
    rows = []
    for at in _order(gained, definition):
        shown = {n: text(value_at(gained, at, n), _DAYS, signed=True) for n in ("lower", "upper")}
        ends = {n: said_or_dash(_NAME, gained, at, n, one) for n, one in shown.items()}
        row = row_at(gained, at)
        days = text(value_at(gained, at, "days"), _DAYS, signed=True)
        cells = (
            said_or_dash(_NAME, gained, at, "days", days),
            interval_said(ends),
            said_or_dash(_NAME, gained, at, "se", text(value_at(gained, at, "se"), _DAYS + 1)),
            said_or_dash(_NAME, gained, at, "df", df_text(value_at(gained, at, "df"))),
            said_or_dash(_NAME, gained, at, "p", p_text(value_at(gained, at, "p"))),
            str(row["note"] or ""),
        )
        rows.append(Row((str(row["criterion"]), pair_text(definition, row)), cells))
    note = "Each comparison by itself, not adjusted for how many there are."
    return html_table("Days gained on the thermometer", heads, rows, note)


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
