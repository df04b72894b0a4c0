"""Counted pins on the page: what is missing, in the plainest words, and what is done about it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.decisions.pins import ALL_OUT, MISSING, MORE_OUT, NEVER_IN, NEVER_OUT
from wintersward.report.cautions import UNSOURCED
from wintersward.report.numbers import day_text
from wintersward.report.said import Sentence, number, row_at
from wintersward.report.tables import Cell, Head, Row, html_table

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["SEARCH", "pins_context", "pins_table"]

_TABLE = "pin_counts"
SEARCH = (
    "Nobody plays, trains or mows there until they are found. Search along every edge where a "
    "cover lay, by eye and by hand, lane by lane; then sweep with a magnet, which finds steel "
    "only: pins of plastic, wood, aluminium and most stainless steel it passes over "
    f"({UNSOURCED})."
)
_EVEN = (
    "As many came out as went in. A count can err, and an even one does not say that the turf is "
    "clear: walk every edge where a cover lay and sweep with a magnet all the same, which finds "
    f"steel only, before anyone plays ({UNSOURCED})."
)
_DECIDES = "Whoever answers for the field decides when anyone plays on it; no count here does."
_STILL = "The covers are still on, by the diary: what went in has yet to come out."
_NONE = (
    "The diary holds no count of pins or staples (pins), so that nobody can tell from it whether "
    "all of them are out of the turf. Take some to be in it still. "
)
_BEFORE = (
    "The diary holds no count of pins or staples yet. Count each kind as it goes into the turf "
    f"and as it comes out, the broken ones too ({UNSOURCED})."
)
_FORMS = {
    MISSING: (
        "MISSING: {missing} of {out} {what}. Counted into the turf, and nobody has counted them "
        "out: take them to be in the turf."
    ),
    NEVER_OUT: (
        "{out} {what} were counted into the turf and NOBODY HAS COUNTED ANY OUT: take all of them "
        "to be in the turf."
    ),
    NEVER_IN: (
        "{back} {what} were counted out of the turf and NOBODY HAD COUNTED THEM IN: how many are "
        "still in it, no count tells."
    ),
    MORE_OUT: (
        "{back} {what} were counted out and {out} in, so that ONE OF THE COUNTS IS WRONG: whether "
        "any are still in the turf, these counts cannot tell."
    ),
    ALL_OUT: "All {out} {what} that were counted into the turf were counted out of it.",
}


def pins_context(page: Page) -> dict[str, Any]:
    """Say what became of the pins and staples that held the covers.

    Returns
    -------
    dict
        ``alarms`` (sentences that come first and stand out), ``words`` (sentences), ``search``
        (what is done where any may be left), ``table``, ``decides``.
    """
    rows = page.table(_TABLE)
    still_on = any(spell.off is None for spell in page.covers)
    if rows.empty:
        bare = bool(page.covers) and not still_on
        return {
            "alarms": [_NONE + SEARCH] if bare else [],
            "words": [] if bare else [_BEFORE],
            "search": "",
            "table": Markup(""),
            "decides": _DECIDES,
        }
    whole = rows[rows["plots"].fillna("") == ""]
    told = [(_state(rows, int(at)), _said(rows, int(at))) for at in whole.index]
    # While covers lie, what is in the turf is where it belongs.
    open_count = (MISSING, NEVER_OUT) if still_on else ()
    alarms = [said for state, said in told if state not in (ALL_OUT, *open_count)]
    words = [said for state, said in told if state == ALL_OUT]
    words += [_under(rows, int(at)) for at in whole.index if _state(rows, int(at)) in open_count]
    return {
        "alarms": alarms,
        "words": words,
        "search": SEARCH if alarms else _STILL if still_on else _EVEN,
        "table": pins_table(rows),
        "decides": _DECIDES,
    }


def _state(rows: pd.DataFrame, at: int) -> str:
    return str(rows["state"].loc[at])


def _said(rows: pd.DataFrame, at: int) -> Sentence:
    return Sentence(_FORMS[_state(rows, at)], _parts(rows, at))


def _under(rows: pd.DataFrame, at: int) -> Sentence:
    """Say what is in the turf while covers lie."""
    form = "{out} {what} were counted into the turf"
    form += ", {back} of them out again" if _state(rows, at) == MISSING else ""
    return Sentence(f"{form} so far.", _parts(rows, at))


def _parts(rows: pd.DataFrame, at: int) -> dict[str, object]:
    row = row_at(rows, at)
    known = [name for name in ("out", "back", "missing") if math.isfinite(float(row[name]))]
    counts = {name: number(_TABLE, rows, at, name, f"{float(row[name]):.0f}") for name in known}
    return {"what": str(row["what"]), **counts}


def pins_table(rows: pd.DataFrame) -> Markup:
    """Show the counts, kind by kind, and plots by plots where the same ones were counted twice.

    Parameters
    ----------
    rows : DataFrame
        Table ``pin_counts`` of a run.
    """
    heads = [Head("Kind"), Head("Plots")]
    heads += [Head(name, "", True) for name in ("in", "out", "missing")]
    heads += [Head("First count"), Head("Last count"), Head("State")]
    lines = []
    for at in map(int, rows.index):
        row = row_at(rows, at)
        parts = _parts(rows, at)
        cells: list[Cell] = [
            parts.get(name, "–")  # type: ignore[misc]
            for name in ("out", "back", "missing")
        ]
        cells += [day_text(row[name]) for name in ("first", "last")]
        plots = row["plots"] if isinstance(row["plots"], str) and row["plots"] else "all counts"
        strong = str(row["state"]) != ALL_OUT
        lines.append(Row((str(row["what"]), plots), (*cells, str(row["state"])), strong))
    return html_table("Pins and staples, counted into the turf and out of it", heads, lines)
