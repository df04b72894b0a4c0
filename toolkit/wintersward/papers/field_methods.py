"""What the protocol says of the ground and the work on it, with room for what is not known yet."""

from __future__ import annotations

import re
from dataclasses import dataclass

from wintersward.papers.scales import marks
from wintersward.report.numbers import counted, listed_words
from wintersward.report.views import measure_view, quantity
from wintersward.trial import Definition
from wintersward.trial.catalogue import CATALOGUE
from wintersward.trial.schema import LoggerMeasure, PhotoMeasure, SheetMeasure

__all__ = [
    "ALIKE",
    "EARLY",
    "UNSOURCED",
    "Fact",
    "Reading",
    "blinding_words",
    "photo_facts",
    "photo_rules",
    "plan_holders",
    "readings",
    "site_facts",
]

UNSOURCED = "common practice, no source"

# Who makes or keeps the plan, by the role that the definition gives.
_HOLDS_PLAN = re.compile(r"(?i)ground[s']*[ -]?(keeper|staff|manager)|extension")


@dataclass(frozen=True)
class Fact:
    """Something that is known, or a line on which it is written by hand.

    Parameters
    ----------
    what : str
        What it is about.
    words : str
        What is known of it; empty for a line to fill in.
    hint : str
        What belongs on the line, in few words.
    """

    what: str
    words: str = ""
    hint: str = ""


@dataclass(frozen=True)
class Reading:
    """How a measure on sheets is taken.

    Parameters
    ----------
    label : str
        Its name.
    how : str
        One line; empty where it is written by hand.
    record : str
        What is written down beside the values; empty where it is written by hand.
    source : str
        Where the way of taking it comes from; empty where there is no catalogue entry.
    """

    label: str
    how: str
    record: str
    source: str


# What is kept alike, and what belongs on the line beside it.
ALIKE = (
    Fact("Mowing", hint="height, days, machine, clippings"),
    Fact("Nitrogen", hint="product, rate, days"),
    Fact("Irrigation", hint="amount, days; when the system is drained"),
    Fact("Fungicide", hint="product, rate, day; above all before the covers go on"),
    Fact("Snow removal", hint="none, or how and by whom, with no salt"),
    Fact("Traffic", hint="from when to when closed, and to whom"),
    Fact("Sand", hint="rate, days"),
)


# What is settled before a cover may come off earlier than planned.
EARLY = (
    Fact("What calls for it", hint="a forecast, heat under a cover, disease; with a number"),
    Fact("Who decides"),
    Fact("Do all kinds come off?", hint="all on one day, or which ones"),
    Fact("Do they go back?", hint="no, or when"),
)


def site_facts(definition: Definition) -> list[Fact]:
    """Say where the trial lies and what grows there.

    Parameters
    ----------
    definition : Definition
        Its site and turf.

    Returns
    -------
    list of Fact
        Name, position (only where given), use, turf, and north; what a definition leaves out is
        a line to fill in.
    """
    site, turf = definition.site, definition.site.turf
    found = [Fact("Name", site.name)]
    if site.latitude is not None and site.longitude is not None:
        found.append(Fact("Position", _position(site.latitude, site.longitude)))
    height = turf.mowing_height
    return [
        *found,
        Fact("Use", site.use or ""),
        Fact("Turf species", ", ".join(turf.species)),
        Fact("Established", turf.established or "", "sod or seed, and when"),
        Fact("Root zone", turf.root_zone or "", "what, and how deep"),
        Fact(
            "Mowing height", "" if height is None else quantity(height, "depth", definition.units)
        ),
        Fact("North on the map", _north(definition.layout.north), "which side of the map"),
    ]


def _position(latitude: float, longitude: float) -> str:
    """Write a position.

    Examples
    --------
    >>> _position(43.1, -77.6)
    '43.1° N, 77.6° W'
    """
    northern, eastern = "S" if latitude < 0 else "N", "W" if longitude < 0 else "E"
    return f"{abs(latitude):g}° {northern}, {abs(longitude):g}° {eastern}"


def _north(north: float | None) -> str:
    """Say where north is on a page.

    Examples
    --------
    >>> _north(0), _north(30), _north(None)
    ('up the page', '30° clockwise from up the page', '')
    """
    if north is None:
        return ""
    return f"{north:g}° clockwise from up the page" if north else "up the page"


def photo_facts(definition: Definition) -> list[Fact]:
    """List what is settled once for all photos of a trial; empty where there are no photos."""
    photos = _photos(definition)
    if not photos:
        return []
    sides = dict.fromkeys(tuple(one.quadrat) for one in photos if one.quadrat)
    shown = [
        " by ".join(quantity(side, "distance", definition.units) for side in pair) for pair in sides
    ]
    return [
        Fact("Camera", hint="one for the whole season"),
        Fact("Height above the turf", hint="by a frame or a stand"),
        Fact("Ground that a photo shows", " and ".join(shown), "quadrat or frame"),
        Fact("Light", hint="time of day; overcast, shaded or a lamp of its own"),
        Fact("Exposure and white balance", hint="locked at, or grey card used"),
        Fact("Days since mowing", hint="the same on every visit"),
    ]


def photo_rules(definition: Definition) -> list[str]:
    """Say how photos are taken so that they compare; empty where there are none.

    Notes
    -----
    Common practice, no source.
    """
    photos = _photos(definition)
    if not photos:
        return []
    middle = " in the middle of the plot" if any(one.quadrat for one in photos) else ""
    more = max(one.per_plot for one in photos)
    spots = "The same spot" if more == 1 else f"The same {counted(more, 'spot')}"
    return [
        f"{spots} of every plot on every visit{middle}, found from the corner of the plot, with "
        "the camera straight down.",
        "One camera, at one height, with exposure and white balance locked; where they cannot be "
        "locked, a grey card is photographed first and whenever the light changes.",
        "Even light: no shadow of camera or person, and all plots within one spell of the same "
        "light, block after block.",
        "All plots mown the same number of days before.",
        "No photo with frost, dew, snow, standing water, cores or sand on the turf: the visit "
        "waits for all plots, and the diary says so.",
    ]


def _photos(definition: Definition) -> list[PhotoMeasure]:
    return [one for one in definition.measures.values() if isinstance(one, PhotoMeasure)]


def readings(definition: Definition) -> list[Reading]:
    """Say how each measure on sheets is taken, as the catalogue of measures has it.

    Parameters
    ----------
    definition : Definition
        Its measures on sheets and of loggers.

    Returns
    -------
    list of Reading
        In the order of the definition.
    """
    found = []
    for name, measure in definition.measures.items():
        if isinstance(measure, LoggerMeasure):
            label, taken = measure_view(definition, name).label, measure.logged
            found.append(Reading(label, taken.protocol, taken.record, taken.source))
        if not isinstance(measure, SheetMeasure):
            continue
        kind = CATALOGUE.get(getattr(measure, "kind", None) or "")
        how = [] if kind is None else [kind.protocol]
        if measure.settings is not None:
            how.append(f"Read with: {measure.settings.rstrip('.')}.")
        if marks(measure):
            how.append("Whole and half marks are allowed.")
        found.append(
            Reading(
                measure_view(definition, name).label,
                " ".join(how),
                "" if kind is None else kind.record_on_paper,
                "" if kind is None else kind.source,
            )
        )
    return found


def plan_holders(definition: Definition) -> list[str]:
    """Name the raters who hold the plan by their role, and so cannot be blind to treatments.

    Returns
    -------
    list of str
        ``R. Example (groundskeeper)``, in the order of the people.
    """
    raters = _raters(definition)
    return [
        f"{one.name} ({one.role})"
        for one in definition.people
        if one.initials in raters and _HOLDS_PLAN.search(one.role)
    ]


def _raters(definition: Definition) -> list[str]:
    named: dict[str, None] = {}
    for measure in definition.measures.values():
        if isinstance(measure, SheetMeasure):
            named |= dict.fromkeys(measure.raters)
    return list(named)


def blinding_words(definition: Definition) -> str:
    """Say which raters know the treatments; empty where nobody rates."""
    if not _raters(definition):
        return ""
    sheets = (
        "Raters do not see the treatments on their sheets, nor one another's marks, and nobody "
        "tells them."
    )
    holders = plan_holders(definition)
    if not holders:
        return sheets
    rate = "rates" if len(holders) == 1 else "rate"
    hold = "holds" if len(holders) == 1 else "hold"
    return (
        f"{sheets} {listed_words(holders)} {hold} this plan and {rate} as well: not blind, "
        "whatever a sheet shows."
    )
