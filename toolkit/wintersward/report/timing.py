"""When covers came off, on the page: compared where chance decided it, else beside the rule."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pandas as pd

from wintersward.decisions.timing import COMPARED, DESCRIBED
from wintersward.report.comparisons import pair_text, said_or_dash
from wintersward.report.numbers import counted, day_text, table_decimals, text
from wintersward.report.said import Sentence, interval_said, number, row_at
from wintersward.report.views import in_sentence, level_label, measure_view
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["timing_context"]

_TABLE = "cover_timing"
_NOT_DEALT = (
    "On which day covers came off was not dealt out by chance among plots that were alike in all "
    "else, so that this trial cannot tell whether an earlier or a later day would have been better."
)
_NO_COVERS = "The diary does not tell when covers lay."


def timing_context(page: Page) -> dict[str, Any]:
    """Fill the part on the day covers came off.

    Returns
    -------
    dict
        ``timing``: ``compared`` and ``described`` (sentences), ``ruled`` (whether the section on
        temperature tells the rule day by day), ``not_dealt`` (why nothing is compared; empty where
        something is).
    """
    rows, definition = page.table(_TABLE), page.definition
    own = rows[rows["kind"] == COMPARED]
    told = rows[rows["kind"] == DESCRIBED]
    ruled = not page.table("removal").empty
    return {
        "timing": {
            "compared": [_compared(rows, int(at), definition) for at in own.index],
            "described": [_described(rows, int(at), ruled) for at in told.index] or [_NO_COVERS],
            "ruled": ruled,
            "not_dealt": "" if len(own) or page.waiting else _NOT_DEALT,
        }
    }


def _compared(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    """Say what the days between two removals made of the primary measure."""
    row = row_at(rows, at)
    view = measure_view(definition, str(row["measure"]))
    decimals = table_decimals([view.difference(float(row["se"]))])

    def shown(name: str) -> object:
        value = text(view.difference(float(row[name])), decimals, signed=True)
        return said_or_dash(_TABLE, rows, at, name, value)

    days = float(row["days"])
    parts: dict[str, object] = {
        "days": number(_TABLE, rows, at, "days", counted(abs(int(days)), "day")),
        "when": "earlier" if days < 0 else "later",
        "left": in_sentence(level_label(definition, str(row["left"]))),
        "right": in_sentence(level_label(definition, str(row["right"]))),
        "left_off": day_text(row["left_off"]),
        "right_off": day_text(row["right_off"]),
        "noun": view.noun,
        "day": day_text(row["date"]),
        "pair": in_sentence(pair_text(definition, row)),
        "difference": shown("difference"),
        "unit": f" {view.difference_unit}" if view.difference_unit else "",
        "interval": interval_said({name: shown(name) for name in ("lower", "upper")}),
        "note": f" {str(row['text'])[:1].upper()}{str(row['text'])[1:]}." if row["text"] else "",
    }
    return Sentence(
        "With {left} the covers came off on {left_off}, {days} {when} than with {right} "
        "({right_off}); the day was dealt out by chance, and as far as the definition tells (mass "
        "and light) the covers were alike. For {noun} on {day} we estimate {pair}: "
        "{difference}{unit} ({interval}).{note}",
        parts,
    )


def _described(rows: pd.DataFrame, at: int, ruled: bool) -> Sentence:
    """Say what was done against the rule of the definition, unless that is told elsewhere."""
    row = row_at(rows, at)
    off, first, last = (row[name] for name in ("left_off", "rule_day", "last_day"))
    if pd.isna(off):
        return Sentence("By the diary covers are still on.")
    said = f"The last cover came off on {day_text(off)}."
    if ruled:
        return Sentence(said)
    if pd.isna(last):
        return Sentence(f"{said} The definition holds no rule for the day (covers_off_when).")
    if pd.notna(first) and pd.Timestamp(first) <= pd.Timestamp(last):
        rule = f"By the loggers of the soil the rule first held on {day_text(first)}"
    elif str(row["text"] or "") and isinstance(row["text"], str):
        rule = (
            "No logger of the soil was read, so that only the last day of the rule is known, "
            f"{day_text(last)}"
        )
    else:
        rule = (
            "By the loggers of the soil the warmth that the rule asks for was not held before its "
            f"last day, {day_text(last)}"
        )
    days = float(row["days"])
    if not math.isfinite(days):
        return Sentence(f"{said} {rule}.")
    shown = counted(abs(int(days)), "day")
    parts = {"days": number(_TABLE, rows, at, "days", shown if days else "on that day")}
    form = f"{said} {rule}: covers came off "
    form += "{days}." if not days else f"{{days}} {'after' if days > 0 else 'before'} that day."
    return Sentence(form, parts)
