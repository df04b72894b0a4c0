"""What to look at longer, oftener or as well in a next trial, in words."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from wintersward.decisions.next_visits import MOST_DAYS_APART
from wintersward.report.cautions import UNSOURCED
from wintersward.report.numbers import counted, day_text, text
from wintersward.report.said import Said, Sentence, number, row_at, value_at
from wintersward.report.views import measure_view
from wintersward.trial.schema import Definition

__all__ = ["VISITS"]

Say = Callable[[pd.DataFrame, int, Definition], Sentence]


def _number(rows: pd.DataFrame, at: int, column: str) -> Said:
    return number("next_trial", rows, at, column, text(value_at(rows, at, column), 0))


def _counts(rows: pd.DataFrame, at: int) -> dict[str, object]:
    row = row_at(rows, at)
    made: dict[str, object] = {name: _number(rows, at, name) for name in ("value", "now")}
    return {**made, "day": "" if pd.isna(row["date"]) else day_text(row["date"])}


def _loggers(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row = row_at(rows, at)
    asked = str(row["text"]).partition(": ")[2]
    parts = {**_counts(rows, at), "asked": f"{asked[:1].lower()}{asked[1:]}"}
    return Sentence(
        "Leave the loggers in until the last plot is there: by {day} {value} of {now} plots were "
        "not known to have got there ({asked}), so that no days gained could be told.",
        parts,
    )


def _later(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    view = measure_view(definition, str(row_at(rows, at)["measure"]))
    parts = {**_counts(rows, at), "noun": view.noun}
    return Sentence(
        "A later visit for {noun}: by {day} {value} of {now} plots had not reached the level that "
        "days gained are counted to, and where one has not, no interval can be given.",
        parts,
    )


def _closer(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    view = measure_view(definition, str(row_at(rows, at)["measure"]))
    parts = {
        "label": view.label,
        "days": _number(rows, at, "value"),
        "now": _number(rows, at, "now"),
        "apart": f"{MOST_DAYS_APART - 1:g} to {MOST_DAYS_APART:g}",
        "unsourced": UNSOURCED,
    }
    return Sentence(
        "{label}: visits {apart} days apart while holes close ({unsourced}). On {now} plots they "
        "closed between visits that were {days} days apart.",
        parts,
    )


def _removal(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    return Sentence(
        "If the day on which covers come off matters, make it a treatment: the same cover, off on "
        "two days that are dealt out by chance. This trial cannot tell of it."
    )


def _more(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row = row_at(rows, at)
    missing = str(row["text"])
    many = number(
        "next_trial", rows, at, "value", counted(int(value_at(rows, at, "value")), "measure")
    )
    return Sentence(
        "Nobody took {many} here by which a field is judged beside its looks: {missing}. Decide "
        "before the covers go on whether the next trial does.",
        {"many": many, "missing": missing},
    )


def _light(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    stated = number(
        "next_trial", rows, at, "value", counted(int(value_at(rows, at, "value")), "cover")
    )
    return Sentence(
        "Light under covers: that of {stated} is stated by the definition and was not measured. A "
        "light meter for photosynthetically active radiation, above and below each cover at noon "
        "of one clear and one dull day, tells it ({unsourced}).",
        {"stated": stated, "unsourced": UNSOURCED},
    )


# In the order of the page.
VISITS: dict[str, Say] = {
    "loggers longer": _loggers,
    "a later visit": _later,
    "closer visits": _closer,
    "removal day": _removal,
    "more measures": _more,
    "light under covers": _light,
}
