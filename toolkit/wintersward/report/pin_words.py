"""Counted pins on the page: what is missing, in the plainest words, and what is done about it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.decisions.pins import ALL_OUT, MISSING, MORE_OUT, NEVER_IN, NEVER_OUT
from wintersward.report.cautions import UNSOURCED
from wintersward.report.numbers import day_text, listed_words
from wintersward.report.said import Sentence, number, row_at
from wintersward.report.tables import Cell, Head, Row, html_table

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["SEARCH", "pin_alarms", "pins_context", "pins_table"]

_TABLE = "pin_counts"
SEARCH = (
    "Search along every edge where a cover lay, by eye and by hand, lane by lane; then sweep with "
    "a magnet, which finds steel only: pins of plastic, wood, aluminium and most stainless steel "
    f"it passes over ({UNSOURCED})."
)
_DOWNWIND = f"Wind lifted covers of this trial: search downwind of them as well ({UNSOURCED})."
_EVEN = (
    "As many came out as went in. A count can err, and an even one does not say that the turf is "
    "clear: walk every edge where a cover lay and sweep with a magnet all the same, which finds "
    f"steel only, before anyone plays ({UNSOURCED})."
)
_DECIDES = "Whoever answers for the field decides when anyone plays on it; no count here does."
_STILL = "The covers are still on, by the diary: what went in has yet to come out."
_NOBODY = " Nobody plays, trains, mows, rolls or aerates where covers lay until "
_SEARCHED = _NOBODY + "whoever answers for the field has had the ground searched and decides."
_UNTIL = (
    _NOBODY + "{they} found, or until whoever answers for the field has had the ground searched "
    "and decides."
)
_NONE = (
    "NO COUNT: the diary tells of no pins or staples (pins), so that nobody can tell from it "
    "whether all are out of the turf." + _SEARCHED
)
_BEFORE = (
    "The diary holds no count of pins or staples yet. Count each kind as it goes into the turf "
    f"and as it comes out, the broken ones too ({UNSOURCED})."
)
_FORMS = {
    MISSING: "MISSING: {kinds} {was} never counted out of the turf." + _UNTIL,
    NEVER_OUT: "{out} {what} went into the turf and NOBODY HAS COUNTED ANY OUT." + _UNTIL,
    NEVER_IN: (
        "{back} {what} came out of the turf and NOBODY HAD COUNTED THEM IN: how many are still in "
        "it, no count tells." + _SEARCHED
    ),
    MORE_OUT: (
        "{back} {what} were counted out of the turf and {out} into it, so that ONE OF THE COUNTS "
        "IS WRONG: whether any are still in it, they cannot tell." + _SEARCHED
    ),
    ALL_OUT: "All {out} {what} that were counted into the turf were counted out of it.",
}
_NO_PINS = "By the diary no {what} went into the turf."
_LIFTED = "blown off"
# Work by which a pin that is left comes to harm people or machines.
_WORK = ("aeration", "mowing", "rolling", "topdressing", "seeding", "traffic")
_SINCE = "By the diary there was {work} on plots of this trial {since}: search now{machines}."


def pin_alarms(page: Page) -> list[str | Sentence]:
    """Say which pins may still be in the turf, before anything else is said.

    Parameters
    ----------
    page : Page
        Its table ``pin_counts``, and the covers of the diary.

    Returns
    -------
    list of str or Sentence
        One of all kinds that are missing, one a kind of which a count is lacking or wrong; each
        says by itself that nobody plays there. Then, where the diary tells of it, what went over
        the plots all the same. Empty where every count is even, and while covers lie.
    """
    rows = page.table(_TABLE)
    if rows.empty:
        alone = page.covers and not _still_on(page)
        return [_NONE, *_work_since(page, rows)] if alone else []
    # While covers lie, what is in the turf is where it belongs.
    even = (ALL_OUT, MISSING, NEVER_OUT) if _still_on(page) else (ALL_OUT,)
    odd = [at for at in _kinds(rows) if _state(rows, at) not in even]
    lost = [at for at in odd if _state(rows, at) == MISSING]
    said = [_said(rows, at) for at in odd if at not in lost]
    first = [_missing(rows, lost)] if lost else []
    return [*first, *said, *_work_since(page, rows.loc[odd])] if odd else []


def _work_since(page: Page, odd: pd.DataFrame) -> list[str | Sentence]:
    """Say what the diary tells of work on the plots since pins were counted out last."""
    counted = odd.loc[odd["back"].notna(), "last"]
    off = [spell.off for spell in page.covers if spell.off is not None]
    if not counted.empty:
        last, since = pd.Timestamp(counted.max()), "after the last count"
    elif off:
        last, since = pd.Timestamp(max(off)), "after the covers came off"
    else:
        return []
    care = page.table("management")
    later = set(care.loc[pd.to_datetime(care["date"]) > last, "what"])
    work = [one for one in _WORK if one in later]
    if not work:
        return []
    machines = "" if work == ["traffic"] else ", and look over the machines"
    parts = {"work": listed_words(work), "since": f"{since}, {day_text(last)}"}
    return [Sentence(_SINCE, parts | {"machines": machines})]


def _still_on(page: Page) -> bool:
    return any(spell.off is None for spell in page.covers)


def _kinds(rows: pd.DataFrame) -> list[int]:
    """Take the rows that sum all counts of a kind."""
    return [int(at) for at in rows.index[rows["plots"].fillna("") == ""]]


def pins_context(page: Page) -> dict[str, Any]:
    """Say what became of the pins and staples that held the covers.

    Returns
    -------
    dict
        ``pins``: ``alarms`` (sentences that come first and stand out), ``words`` (sentences),
        ``search`` (what is done about it), ``table``, ``decides``.
    """
    rows, alarms, still_on = page.table(_TABLE), pin_alarms(page), _still_on(page)
    if rows.empty:
        words: list[str | Sentence] = [] if alarms else [_BEFORE]
    else:
        words = [_said(rows, at) for at in _kinds(rows) if _state(rows, at) == ALL_OUT]
        open_count = (MISSING, NEVER_OUT) if still_on else ()
        words += [_under(rows, at) for at in _kinds(rows) if _state(rows, at) in open_count]
    search = []
    if alarms or not (rows.empty or still_on):
        search.append(SEARCH if alarms else _EVEN)
        if (page.table("cover_events")["what"] == _LIFTED).any():
            search.append(_DOWNWIND)
    elif still_on and len(rows):
        search.append(_STILL)
    return {
        "pins": {
            "alarms": alarms,
            "words": words,
            "search": " ".join(search),
            "table": Markup("") if rows.empty else pins_table(rows),
            "decides": _DECIDES,
        }
    }


def _state(rows: pd.DataFrame, at: int) -> str:
    return str(rows["state"].loc[at])


def _said(rows: pd.DataFrame, at: int) -> Sentence:
    row, state = row_at(rows, at), _state(rows, at)
    if state == ALL_OUT and not float(row["out"]):
        return Sentence(_NO_PINS, _parts(rows, at))
    return Sentence(_FORMS[state], {"they": "they are", **_parts(rows, at)})


def _missing(rows: pd.DataFrame, places: Sequence[int]) -> Sentence:
    """Name all kinds of which some were never counted out."""
    alone = float(rows.loc[[*places], "missing"].sum()) == 1
    kinds = [Sentence("{missing} of {out} {what}", _parts(rows, at)) for at in places]
    names = [f"{{kind{i}}}" for i in range(len(kinds))]
    parts: dict[str, object] = {f"kind{i}": kind for i, kind in enumerate(kinds)}
    parts |= {"was": "was" if alone else "were", "they": "it is" if alone else "they are"}
    return Sentence(_FORMS[MISSING].replace("{kinds}", listed_words(names)), parts)


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
