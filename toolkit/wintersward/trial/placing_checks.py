"""Whether places, areas and grounds of a layout fit together, and who laid plots by hand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from wintersward.errors import closest, listed
from wintersward.trial.dates import dates_meant
from wintersward.trial.question_checks import Found
from wintersward.trial.schema import Layout

__all__ = ["PLACING_CHECKS"]


def _block_places(layout: Layout) -> Found:
    places = layout.block_places
    if places is None or not layout.blocks:
        return  # a layout without blocks tells of the line itself
    if "blocks_side_by_side" in layout.model_fields_set:
        hint = "remove one of the two"
        field = ("layout", "blocks_side_by_side")
        yield field, f"'{layout.blocks_side_by_side}'", "nothing beside block_places", hint
    if len(places) != layout.block_count:
        grounds = f" on each of {len(layout.ground_names)} grounds" if layout.grounds else ""
        rule = f"{layout.block_count}, one for each of the {layout.blocks} blocks{grounds}"
        hint = "give the lower left corner of every block, in the order of the blocks"
        yield ("layout", "block_places"), f"{len(places)} places", rule, hint


def _areas(layout: Layout) -> Found:
    known = list(layout.grounds or ())
    for i, area in enumerate(layout.areas_left_out):
        place = ("layout", "areas_left_out", i)
        if known and area.ground is None:
            hint = "add 'ground: ...' to the area"
            yield place, f"{area.what} without a ground", listed(known), hint
        elif area.ground is not None and not known:
            hint = "remove it, or declare grounds"
            found, rule = f"'{area.ground}'", "no ground, since the layout has only one"
            yield (*place, "ground"), found, rule, hint
        elif area.ground is not None and area.ground not in known:
            near = closest(area.ground, known)
            yield (*place, "ground"), f"'{area.ground}'", listed(known), near


def _grounds(layout: Layout) -> Found:
    seen: dict[str, str] = {}
    for name, label in (layout.grounds or {}).items():
        if label in seen:
            rule = f"another name for readers than that of {seen[label]}"
            yield ("layout", "grounds", name), f"'{label}'", rule, ""
        seen.setdefault(label, name)


def _signed(layout: Layout, people: list[Any]) -> Found:
    laid = layout.laid_by_hand
    initials = [person.initials for person in people]
    if laid is not None and laid.signed not in initials:
        hint = closest(laid.signed, initials) or "add the person to 'people'"
        place = ("layout", "laid_by_hand", "signed")
        yield place, f"'{laid.signed}'", f"initials of people ({listed(initials)})", hint


def _laid_before(layout: Layout, dates: dict[str, Any]) -> Found:
    """Chance must have decided before a cover lies."""
    if layout.laid_by_hand is None or "covers_on" not in dates:
        return  # told where the dates are
    on = dates_meant(dates, "covers_on")[0]
    if layout.laid_by_hand.date > on:
        rule = f"a date not after the covers went on ({on})"
        yield ("layout", "laid_by_hand", "date"), f"'{layout.laid_by_hand.date}'", rule, ""


PLACING_CHECKS: list[tuple[Callable[..., Found], tuple[str, ...]]] = [
    (_grounds, ("layout",)),
    (_block_places, ("layout",)),
    (_areas, ("layout",)),
    (_signed, ("layout", "people")),
    (_laid_before, ("layout", "dates")),
]
