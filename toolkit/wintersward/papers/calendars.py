"""The dates of a trial as a calendar file, with a reminder the day before each."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from wintersward.papers.looks import walks
from wintersward.papers.pages import season, short_id
from wintersward.report.numbers import listed_words
from wintersward.report.views import measure_view, quantity
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Factor, LoggerMeasure, PhotoMeasure, SheetMeasure

if TYPE_CHECKING:
    import pandas as pd
    from icalendar import Event

__all__ = ["CalendarDay", "calendar_days", "trial_calendar"]

# Nine in the morning of the day before, where the calendar is read.
_REMINDER = dt.timedelta(hours=-15)
# Chosen once; with the study's letters and an event's key it names the event (RFC 9562, version 5).
_NAMES = uuid.UUID("5b0f6f0a-3d6c-5f0e-9d6e-6f1d1c0a7e21")
_TITLES = {
    "baseline": "Baseline visit",
    "covers_on": "Covers on",
    "covers_off": "Covers off",
    "aeration": "Aeration",
    "first_event": "First event",
}
_COVERS = "crew card with its map, cover log, pin count, covers, bright steel pins or staples"
# What is done on a day that has a name of its own, and what to take along for it.
_WORK = {
    "covers_on": (
        "Covers go on, as the map of the crew card says; never in gusts. Pins are counted out.",
        _COVERS,
    ),
    "covers_off": (
        "Covers come off; never in gusts. Pins are counted in, every edge of a cover is searched "
        "by eye and by hand, and a magnet, which finds steel only, is drawn over the ground, "
        "before anyone plays.",
        "crew card with its map, cover log, pin count, magnet",
    ),
    "aeration": (
        "All plots are aerated alike. What is observed on this day comes first.",
        "crew card with its map, flags for irrigation heads, eye and foot protection, ruler",
    ),
    "first_event": (
        "First event on the ground. Whether it is opened is decided by the person responsible.",
        "",
    ),
}


# Names that always mean the same; any other single date may be the day of a treatment.
_SET = ("baseline", "covers_on", "covers_off", "first_event")
# Stands for the name of a day that has none.
_OWN = "applied"


@dataclass(frozen=True)
class CalendarDay:
    """One event of the calendar.

    Parameters
    ----------
    day : date
        When.
    key : str
        What it is, for its identity: the date's name and its place in a list.
    title : str
        A few words.
    told : list of str
        Lines of the description: what is done, what is measured, what to take along.
    """

    day: dt.date
    key: str
    title: str
    told: list[str]


def calendar_days(definition: Definition, plots: pd.DataFrame) -> list[CalendarDay]:
    """List every date of a definition, with what is to be done.

    Parameters
    ----------
    definition : Definition
        Its dates, and those that its measures and factors name by themselves.
    plots : DataFrame
        ``plan/plots.csv``. Its treatments are not read.

    Returns
    -------
    list of CalendarDay
        By day; on a day in the definition's order. No treatment is named: raters read this too.
    """
    due = _due(definition)
    keys = _visit_keys(definition)
    found = []
    seen: set[dt.date] = set()
    for day, name, key, title in _named(definition):
        told = _work_told(definition, name, day)
        if day in due and day not in seen and not told:
            seen.add(day)
            told = _visit_told(definition, plots, due[day])
        found.append(CalendarDay(day, key, title, told))
    for day, names in due.items():
        if day not in seen:
            told = _visit_told(definition, plots, names)
            found.append(CalendarDay(day, keys[day], "Observations", told))
    return sorted(found, key=lambda one: one.day)


def trial_calendar(definition: Definition, plots: pd.DataFrame) -> bytes:
    """Write the dates of a trial as a calendar file.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``. Its treatments are not read.

    Returns
    -------
    bytes
        iCalendar, UTF-8: an all-day event for each date, with a reminder at nine in the morning
        of the day before. The same definition gives the same bytes.

    Notes
    -----
    An event's identity (UID) comes from the study and from what the event is, not from its day:
    when a date has moved and the file is read again, a calendar moves the event and makes no
    second one. The standard wants a time stamp in every event (DTSTAMP); a clock reading would
    make every file differ, so the first date of the definition stands there, at midnight UTC.

    References
    ----------
    Desruisseaux B. (2009) Internet Calendaring and Scheduling Core Object Specification
    (iCalendar), RFC 5545. Daboo C. (2016) New Properties for iCalendar, RFC 7986 (NAME).
    """
    from icalendar import Calendar, vText

    days = calendar_days(definition, plots)
    midnight = dt.time(tzinfo=dt.UTC)
    stamp = dt.datetime.combine(min(one.day for one in days), midnight)
    calendar = Calendar()
    calendar.add("prodid", "-//wintersward//calendar of a trial//EN")
    calendar.add("version", "2.0")
    # The library escapes what RFC 5545 calls text, but not this newer property.
    name = " ".join(f"Trial at {definition.site.name}, {season(definition)}".split())
    calendar.add("name", vText(name))
    for one in days:
        calendar.add_component(_event(definition, one, stamp))
    return bytes(calendar.to_ical())


def _event(definition: Definition, one: CalendarDay, stamp: dt.datetime) -> Event:
    from icalendar import Alarm, Event

    event = Event()
    event.add("uid", str(uuid.uuid5(_NAMES, f"{short_id(definition)}/{one.key}")))
    event.add("dtstamp", stamp)
    event.add("dtstart", one.day)
    event.add("dtend", one.day + dt.timedelta(days=1))
    event.add("summary", f"{one.title}: {definition.site.name}")
    event.add("location", definition.site.name)
    last = [definition.notice] if definition.notice else []
    event.add("description", "\n".join([*one.told, f"Study {short_id(definition)}.", *last]))
    # An all-day event does not make its reader busy all day.
    event.add("transp", "TRANSPARENT")
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", f"Tomorrow: {one.title}, {definition.site.name}")
    alarm.add("trigger", _REMINDER)
    event.add_component(alarm)
    return event


def _applied(definition: Definition) -> dict[dt.date, list[Factor]]:
    """Tell which factors are put on the plots on which day, after the covers."""
    found: dict[dt.date, list[Factor]] = {}
    for factor in definition.treatments.values():
        if factor.applied is not None:
            day = dates_meant(definition.dates, factor.applied)[0]
            found.setdefault(day, []).append(factor)
    return found


def _works(definition: Definition, name: str, day: dt.date) -> bool:
    """Tell whether a name of the definition stands for the day a later treatment is applied."""
    single = isinstance(definition.dates.get(name), dt.date) and name not in _SET
    return single and day in _applied(definition)


def _named(definition: Definition) -> Iterator[tuple[dt.date, str, str, str]]:
    """Go through the dates: day, name, key and title of each."""
    for name, when in definition.dates.items():
        words = name.replace("_", " ")
        title = _TITLES.get(name, words[0].upper() + words[1:])
        if isinstance(when, dt.date):
            yield when, name, name, title
            continue
        one = "Visit" if name == "visits" else title
        for at, day in enumerate(when, 1):
            yield day, name, f"{name}/{at}", f"{one} {at} of {len(when)}"
    for name, factor in definition.treatments.items():
        # A day of work that stands by the factor itself and has no name of its own.
        own = factor.applied
        named = [n for n, when in definition.dates.items() if when == own]
        if isinstance(own, dt.date) and not any(_works(definition, n, own) for n in named):
            title = f"Work on the plots: {name.replace('_', ' ')}"
            yield own, _OWN, f"{_OWN}/{name}", title


def _due(definition: Definition) -> dict[dt.date, list[str]]:
    """Tell which measures are due on which day, days ascending; loggers need no visit."""
    due: dict[dt.date, list[str]] = {}
    for name, measure in definition.measures.items():
        if isinstance(measure, LoggerMeasure):
            continue
        for day in dates_meant(definition.dates, measure.dates):
            due.setdefault(day, []).append(name)
    return dict(sorted(due.items()))


def _visit_keys(definition: Definition) -> dict[dt.date, str]:
    """Name the visit of each day by the first word that asks for it, never by the day itself.

    A date's name and its place in its list, or for a day that stands by a measure the measure
    and the place there, stay when another date moves.
    """
    keys: dict[dt.date, str] = {}
    for name, measure in definition.measures.items():
        for at, word in enumerate(measure.dates, 1):
            if isinstance(word, dt.date):
                keys.setdefault(word, f"observations of {name}/{at}")
                continue
            when = definition.dates[word]
            if isinstance(when, dt.date):
                keys.setdefault(when, f"observations/{word}")
                continue
            for place, day in enumerate(when, 1):
                keys.setdefault(day, f"observations/{word}/{place}")
    return keys


def _work_told(definition: Definition, name: str, day: dt.date) -> list[str]:
    """Say what is done on a day of work, and what to take along; nothing for a visit."""
    what, along = _WORK.get(name, ("", ""))
    if name == _OWN or _works(definition, name, day):
        factors = _applied(definition)[day]
        tines = any(level.tine for factor in factors for level in factor.levels.values())
        done = "Plots are aerated" if tines else "Plots get their next treatment"
        what = (
            f"{done}, as the map of the crew card says. What is observed on this day comes first."
        )
        along = _WORK["aeration"][1] if tines else "crew card with its map"
    return [*([what] if what else []), *([f"Take along: {along}."] if along else [])]


def _visit_told(definition: Definition, plots: pd.DataFrame, due: list[str]) -> list[str]:
    """Say what is measured on a visit, on how many plots, and what to take along."""
    said = [_measured(definition, name) for name in due]
    first = walks(plots)[0]["plot"].iloc[0]
    return [
        f"Measured: {'; '.join(said)}.",
        f"{len(plots)} plots in walking order, from plot {first}.",
        f"Take along: {', '.join(_along(definition, due))}.",
    ]


def _measured(definition: Definition, name: str) -> str:
    measure, view = definition.measures[name], measure_view(definition, name)
    notes = ["photos" if isinstance(measure, PhotoMeasure) else view.unit]
    if measure.per_plot > 1:
        notes.append(f"{measure.per_plot} per plot")
    if isinstance(measure, SheetMeasure):
        if measure.raters:
            notes.append(f"by {listed_words(measure.raters)}, each alone")
        if measure.destructive:
            notes.append("last of all, since it harms the turf")
    return f"{view.noun} ({', '.join(note for note in notes if note)})"


def _along(definition: Definition, due: list[str]) -> list[str]:
    """List what a visit needs, each thing once."""
    things = ["map for raters"]
    for name in due:
        measure = definition.measures[name]
        if isinstance(measure, PhotoMeasure):
            things += ["charged camera or phone", "photo list"]
            if measure.quadrat:
                sides = [quantity(side, "distance", definition.units) for side in measure.quadrat]
                things.append(f"quadrat of {' by '.join(sides)}")
        if not isinstance(measure, SheetMeasure):
            continue
        things.append("the sheets of the day, pencils")
        if measure.scale is None:
            noun = measure_view(definition, name).noun
            things.append(f"instrument for {noun}")
    return list(dict.fromkeys(things))
