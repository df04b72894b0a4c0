"""What a person reads when places, areas, grounds or a statement do not fit: whole messages."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Change = Callable[..., list[str]]

AFTER = "  plot_size: [10 ft, 6 ft]\n"
GROUNDS = "  grounds: {upper: Upper field, lower: Lower field}\n"
PLACES = "  block_places: [{}]\n"
AREA = "  areas_left_out:\n    - {{what: goal mouth, at: [0 ft, 90 ft], size: [24 ft, 12 ft]{}}}\n"
HAND = "  laid_by_hand: {{how: slips from a hat, signed: {}, date: {}}}\n"


def corners(count: int) -> str:
    return ", ".join(f"[0 ft, {at * 10} ft]" for at in range(count))


SOUND = {
    "grounds": GROUNDS,
    "a place for each of six blocks": PLACES.format(corners(6)),
    "a place for each block of two grounds": GROUNDS + PLACES.format(corners(12)),
    "an area of the only ground": AREA.format(""),
    "an area of one of two grounds": GROUNDS + AREA.format(", ground: lower"),
    "north": "  north: 359.5\n",
    "laid by hand on the day": HAND.format("rx", "2026-01-19"),
}


@pytest.mark.parametrize("name", SOUND)
def test_what_fits_is_sound(change: Change, name: str) -> None:
    assert change((AFTER, SOUND[name] + AFTER)) == []


WRONG = {
    "too few places": (
        PLACES.format(corners(5)),
        [
            "trial.yaml:44:17: layout.block_places: found 5 places; allowed: 6, one for each of "
            "the 6 blocks; give the lower left corner of every block, in the order of the blocks"
        ],
    ),
    "places of one ground for two": (
        GROUNDS + PLACES.format(corners(6)),
        [
            "trial.yaml:45:17: layout.block_places: found 6 places; allowed: 12, one for each of "
            "the 6 blocks on each of 2 grounds; give the lower left corner of every block, in the "
            "order of the blocks"
        ],
    ),
    "places beside a number of blocks": (
        "  blocks_side_by_side: 2\n" + PLACES.format(corners(6)),
        [
            "trial.yaml:44:24: layout.blocks_side_by_side: found '2'; allowed: nothing beside "
            "block_places; remove one of the two"
        ],
    ),
    "an area without its ground": (
        GROUNDS + AREA.format(""),
        [
            "trial.yaml:46:7: layout.areas_left_out.1: found goal mouth without a ground; "
            "allowed: upper, lower; add 'ground: ...' to the area"
        ],
    ),
    "an area on a ground that is not there": (
        GROUNDS + AREA.format(", ground: uper"),
        [
            "trial.yaml:46:75: layout.areas_left_out.1.ground: found 'uper'; allowed: upper, "
            "lower; did you mean upper?"
        ],
    ),
    "an area on a ground where there is only one": (
        AREA.format(", ground: upper"),
        [
            "trial.yaml:45:75: layout.areas_left_out.1.ground: found 'upper'; allowed: no ground, "
            "since the layout has only one; remove it, or declare grounds"
        ],
    ),
    "two grounds of one name": (
        "  grounds: {upper: Our field, lower: Our field}\n",
        [
            "trial.yaml:44:38: layout.grounds.lower: found 'Our field'; allowed: another name for "
            "readers than that of upper"
        ],
    ),
    "signed by a stranger": (
        HAND.format("zz", "2026-01-10"),
        [
            "trial.yaml:44:49: layout.laid_by_hand.signed: found 'zz'; allowed: initials of "
            "people (rx, te); add the person to 'people'"
        ],
    ),
    "laid by hand after the covers went on": (
        HAND.format("te", "2026-01-20"),
        [
            "trial.yaml:44:59: layout.laid_by_hand.date: found '2026-01-20'; allowed: a date not "
            "after the covers went on (2026-01-19)"
        ],
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_does_not_fit_is_told(change: Change, name: str) -> None:
    lines, said = WRONG[name]
    assert change((AFTER, lines + AFTER)) == said
