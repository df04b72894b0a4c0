"""Recovery from an aeration on the page: when holes closed, and what covers changed about it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.decisions.closure import aerated_on, closure_measures
from wintersward.report.recovering_gains import gained_words
from wintersward.report.recovering_rows import contrast_tables, gained_table, times_table
from wintersward.report.recovering_words import contrast_words, green_words, read_off
from wintersward.report.views import factor_label, in_sentence

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["recovering_context"]

_WAITING = "How holes closed is shown once the primary question has its data."
_UNMEASURED = (
    "No measure of this trial tells how far aeration holes had closed, so that this report cannot "
    "say when they were."
)
_UNSEEN = "No holes were looked at after the aeration, so that this report cannot say when they "
_UNSEEN += "were closed."
_SHOWN = "One area of each treatment: described, no verdict."
_DECIDES = (
    "Closed holes do not mean that the turf bears play: roots and footing are other questions, and "
    "whoever answers for the field decides."
)


def recovering_context(page: Page) -> dict[str, Any]:
    """Fill the part on recovery from an aeration.

    Parameters
    ----------
    page : Page
        With the tables ``closure``, ``closure_times``, ``closure_gained``, ``closure_contrast``.

    Returns
    -------
    dict
        ``recovery``: empty where the definition names no aeration; else ``why`` (why nothing is
        shown, or nothing of holes), ``words``, ``contrast_words``, ``green`` (sentences),
        ``picture``, ``times``, ``gained``, ``contrasts`` (tables), ``asked`` (heading of the
        last), ``notes``, ``decides`` and ``tags`` (what it rests on).
    """
    definition = page.definition
    on, holes = aerated_on(definition), closure_measures(definition)
    if on is None:
        return {"recovery": {}}
    told: dict[str, Any] = {"tags": [f"measure:{name}" for name in holes], "notes": []}
    told |= dict.fromkeys(("why", "picture", "times", "gained", "asked", "green", "decides"), "")
    told |= {"words": [], "contrast_words": [], "contrasts": []}
    if page.waiting:
        return {"recovery": told | {"why": _WAITING}}
    closure, times = page.table("closure"), page.table("closure_times")
    gained, contrast = page.table("closure_gained"), page.table("closure_contrast")
    seen = closure["measure"].isin(holes).any()
    told["green"] = green_words(times, closure, definition)
    told["contrast_words"] = contrast_words(contrast, definition)
    told["contrasts"] = contrast_tables(contrast, definition)
    if told["contrasts"]:
        names = [in_sentence(factor_label(definition, name)) for name in definition.treatments]
        told["asked"] = f"Did it depend on the {names[0]} what the {names[1]} left behind?"
    if not seen:
        told["why"] = _UNSEEN if holes else _UNMEASURED
        return {"recovery": told}
    notes = [read_off(closure, definition)]
    if not definition.layout.tested:
        notes.insert(0, _SHOWN)
    return {
        "recovery": told
        | {
            "words": gained_words(gained, times, definition),
            "picture": page.figure("closure"),
            "times": times_table(times, definition),
            "gained": gained_table(gained, definition),
            "notes": [note for note in notes if note],
            "decides": _DECIDES,
        }
    }
