"""What no single field of a diary can tell: unknown plots, dates out of order, covers not there."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Any

from wintersward.errors import Problem, closest, listed
from wintersward.trial.cost_checks import costs_found
from wintersward.trial.count_checks import established_found, pins_found
from wintersward.trial.dates import dates_meant
from wintersward.trial.diary import MONTHS, CoverEvent, CoverSpell, Deviation, Weather
from wintersward.trial.logger_checks import forecast_found, loggers_found
from wintersward.trial.plot_lists import ALL_COVERED, ALL_PLOTS, known_plot, listed_plots
from wintersward.trial.question_checks import Found
from wintersward.trial.reading import Place, Source
from wintersward.trial.schema import Definition

__all__ = ["WEATHER_COLUMNS", "deviation_problems", "diary_problems"]

# Columns of a weather file, by the names that the diary calls them.
WEATHER_COLUMNS = ("date", "low", "high", "rain", "humidity", "radiation")
_SHEET_COLUMNS = ("date", "plot", "rater", "sample", "repeat")
# Sections in which an entry that says the same as another is a slip.
_ONCE = (
    "cover_events",
    "management",
    "mishaps",
    "pins",
    "established_turf",
    "exclusions",
    "missing",
    "deviations",
)
_LONGEST_MONTH = {name: 31 for name in MONTHS} | {
    name: 30 for name in ("April", "June", "September", "November")
}
_LONGEST_MONTH["February"] = 29
_HALF_A_YEAR = dt.timedelta(days=183)


def diary_problems(
    source: Source, diary: dict[str, Any], definition: Definition, plots: list[str] | None
) -> list[Problem]:
    """Check what a diary names against the definition and the plots.

    Parameters
    ----------
    source : Source
        Where it was read.
    diary : dict
        The sound fields of the diary; those that are not are absent.
    definition : Definition
        The trial as decided.
    plots : list of str or None
        Names of plots and whole plots; None before they are drawn.

    Returns
    -------
    list of Problem
        Each with line and column.
    """
    season = _season(definition)
    found = [
        *_covers(diary.get("covers", []), definition),
        *_places(diary, plots),
        *_left_out(diary, definition, plots),
        *_out_of_season(diary, definition),
        *_sheets(diary.get("sheets", []), definition),
        *loggers_found(diary.get("loggers", []), definition, plots, season),
        *forecast_found(diary.get("forecast", []), season),
        *pins_found(diary.get("pins", []), plots, season),
        *established_found(diary.get("established_turf", []), definition, season),
        *costs_found(diary.get("costs"), definition),
    ]
    # Whether covers lay can be told only where the spells could be read.
    if "covers" in diary:
        found += _cover_events(diary.get("cover_events", []), diary["covers"])
    if diary.get("weather") is not None:
        found += _weather(diary["weather"])
    for name in _ONCE:
        found += _repeated(name, diary.get(name, []))
    return [source.problem(*one) for one in found]


def deviation_problems(
    source: Source, deviations: list[Deviation], known: list[str]
) -> list[Problem]:
    """Check that every ``field`` of a deviation names a line of the definition.

    Parameters
    ----------
    source : Source
        Where the diary was read.
    deviations : list of Deviation
        Those of the diary.
    known : list of str
        Dotted paths that may be named, and plots as ``plan/plots.csv:101``.

    Returns
    -------
    list of Problem
        Each with line and column.
    """
    problems = []
    for i, deviation in enumerate(deviations):
        field = deviation.field
        if field is None or field in known:
            continue
        hint = closest(field, known) or "copy the names from the file, the outermost first"
        rule = "a line of trial.yaml as names joined by dots, such as dates.visits"
        problems.append(source.problem(("deviations", i, "field"), f"'{field}'", rule, hint))
    return problems


def _covers(covers: Sequence[CoverSpell], definition: Definition) -> Found:
    planned = dates_meant(definition.dates, "covers_on")[0]
    for i, spell in enumerate(covers):
        if spell.off is not None and spell.off <= spell.on:
            rule = f"a date after these covers went on ({spell.on})"
            yield ("covers", i, "off"), f"'{spell.off}'", rule, "correct one of the two dates"
            continue
        if abs(spell.on - planned) > _HALF_A_YEAR:
            rule = f"a day within half a year of the planned one ({planned})"
            yield ("covers", i, "on"), f"'{spell.on}'", rule, "look at the year"
        for j, other in enumerate(covers[:i]):
            if _at_once(spell, other):
                lay = _spell_words(other)
                rule = f"a day on which entry {j + 1} does not cover these plots ({lay})"
                hint = "correct the dates; when covers were off in between, tell under cover_events"
                yield ("covers", i, "on"), f"'{spell.on}'", rule, hint
                break


def _at_once(spell: CoverSpell, other: CoverSpell) -> bool:
    """Tell two times under covers that overlap on plots that both name alike.

    A list beside "all covered" may name plots that lie open by the plan.
    """
    if isinstance(spell.plots, str) or isinstance(other.plots, str):
        alike = spell.plots == other.plots
    else:
        alike = not set(spell.plots).isdisjoint(other.plots)
    ends = other.off is None or spell.on < other.off, spell.off is None or other.on < spell.off
    return alike and all(ends)


def _places(diary: dict[str, Any], plots: list[str] | None) -> Found:
    """Check the plots that are listed wherever a list of plots may stand."""
    for name in ("covers", "cover_events", "management", "mishaps", "missing"):
        for i, entry in enumerate(diary.get(name, [])):
            yield from listed_plots((name, i, "plots"), entry.plots, plots)


def _season(definition: Definition) -> tuple[dt.date, dt.date]:
    """Give the first and last day that are within half a year of the dates of the trial."""
    days = dates_meant(definition.dates, definition.dates)
    return days[0] - _HALF_A_YEAR, days[-1] + _HALF_A_YEAR


def _out_of_season(diary: dict[str, Any], definition: Definition) -> Found:
    """Find what happened so long before or after the dates of the trial that the year is wrong."""
    days = dates_meant(definition.dates, definition.dates)
    first, last = _season(definition)
    rule = f"a day of the season, within half a year of its dates ({days[0]} to {days[-1]})"
    for name in ("cover_events", "management", "mishaps"):
        for i, entry in enumerate(diary.get(name, [])):
            if not first <= entry.date <= last:
                yield (name, i, "date"), f"'{entry.date}'", rule, "look at the year"


def _cover_events(events: Sequence[CoverEvent], covers: Sequence[CoverSpell]) -> Found:
    """Check that covers lay where something befell them."""
    for i, event in enumerate(events):
        if not event.on_covers:
            continue  # snow, ice and water lie on open ground as well
        if event.plots == ALL_PLOTS:
            rule = f"{ALL_COVERED}, or a list of plots: open plots have no cover"
            yield ("cover_events", i, "plots"), f"'{ALL_PLOTS}'", rule, ""
        around = [s for s in covers if s.on <= event.date and (not s.off or event.date <= s.off)]
        if not around:
            spells = listed(_spell_words(s) for s in covers) or "the diary tells of no covers"
            rule = f"a day on which covers lay ({spells})"
            hint = "correct the date, or tell under 'covers' when they went on"
            yield ("cover_events", i, "date"), f"'{event.date}'", rule, hint
            continue
        yield from _bare_plots(i, event, around, covers)
        if event.closes and not _opened_before(event, events, around):
            rule = "covers that were lifted or blown off before, in the same time under cover"
            hint = "tell first, under cover_events, when they came off"
            yield ("cover_events", i, "what"), f"'{event.what}'", rule, hint


def _spell_words(spell: CoverSpell) -> str:
    return f"{spell.on} to {spell.off}" if spell.off else f"from {spell.on} on"


def _bare_plots(
    i: int, event: CoverEvent, around: Sequence[CoverSpell], covers: Sequence[CoverSpell]
) -> Found:
    """Find plots that the diary covers at some time by name, but not on this day."""
    if isinstance(event.plots, str) or any(isinstance(s.plots, str) for s in around):
        return
    named = {plot for spell in covers if not isinstance(spell.plots, str) for plot in spell.plots}
    lain = {plot for spell in around for plot in spell.plots}
    for j, plot in enumerate(event.plots):
        # A plot that no spell names may lie in a whole plot that one does.
        if plot in named and plot not in lain:
            rule = f"a plot that was covered on {event.date} ({listed(sorted(lain))})"
            yield ("cover_events", i, "plots", j), f"'{plot}'", rule, "name it as 'covers' does"


def _opened_before(
    event: CoverEvent, events: Iterable[CoverEvent], around: Sequence[CoverSpell]
) -> bool:
    first = min(spell.on for spell in around)
    return any((one.opens or one.loosens) and first <= one.date <= event.date for one in events)


def _left_out(diary: dict[str, Any], definition: Definition, plots: list[str] | None) -> Found:
    for name in ("exclusions", "missing"):
        for i, entry in enumerate(diary.get(name, [])):
            if entry.plot is not None:
                yield from known_plot((name, i, "plot"), entry.plot, plots)
            yield from _excluded((name, i), entry, definition)


def _excluded(place: Place, exclusion: Any, definition: Definition) -> Found:
    measures = definition.measures
    if exclusion.measure is not None and exclusion.measure not in measures:
        near = closest(exclusion.measure, measures)
        yield (*place, "measure"), f"'{exclusion.measure}'", listed(measures), near
        return
    chosen = [measures[exclusion.measure]] if exclusion.measure else list(measures.values())
    days = {day for measure in chosen for day in dates_meant(definition.dates, measure.dates)}
    # Loggers give a value of every day; whether there is one of that day is told once it is read.
    every_day = place[0] == "exclusions" and any(one.from_ == "logger" for one in chosen)
    if exclusion.date is not None and exclusion.date not in days and not every_day:
        rule = f"a date on which it is observed ({listed(sorted(days))})"
        yield (*place, "date"), f"'{exclusion.date}'", rule, ""
    most = max(measure.per_plot for measure in chosen)
    if exclusion.sample is not None and exclusion.sample > most:
        rule = "1" if most == 1 else f"a whole number from 1 to {most}"
        yield (*place, "sample"), f"'{exclusion.sample}'", rule, "see per_plot in trial.yaml"
    initials = [person.initials for person in definition.people]
    if exclusion.rater is not None and exclusion.rater not in initials:
        near = closest(exclusion.rater, initials)
        yield (*place, "rater"), f"'{exclusion.rater}'", listed(initials), near


def _repeated(name: str, entries: Sequence[Any]) -> Found:
    """Find entries that differ at most in what is told about them."""
    seen: dict[object, int] = {}
    for i, entry in enumerate(entries):
        told = "reason" if "reason" in type(entry).model_fields else "note"
        if told not in type(entry).model_fields:
            told = "effect"
        key = repr(entry.model_copy(update={told: ""}))
        if key in seen and not _two_alike(entry):
            both = {"reason": "reasons", "note": "notes", "effect": "effects"}[told]
            hint = f"make them one entry, with both {both}"
            yield (name, i), f"the same as entry {seen[key] + 1}", "", hint
        seen.setdefault(key, i)


def _two_alike(entry: Any) -> bool:
    """Tell an entry that may stand twice: only its note says what it was."""
    return getattr(entry, "what", "") == "other"


def _sheets(sheets: Sequence[Any], definition: Definition) -> Found:
    known = [*_SHEET_COLUMNS, *definition.measures]
    for i, sheet in enumerate(sheets):
        yield from _column_names(("sheets", i, "columns"), sheet.columns, known)


def _column_names(place: Place, columns: Iterable[str], known: Sequence[str]) -> Found:
    for name in columns:
        if name not in known:
            yield (*place, name), f"'{name}'", listed(known), closest(name, known)


def _weather(weather: Weather) -> Found:
    yield from _column_names(("weather", "columns"), weather.columns, WEATHER_COLUMNS)
    if "rain" in weather.columns and weather.units.rain is None:
        hint = "add 'rain: in' or 'rain: mm', or leave the column out"
        yield ("weather", "units"), "no unit of rain", "a unit for every column that is read", hint
    if weather.normals is None:
        return
    for month, normal in weather.normals.months.items():
        place: Place = ("weather", "normals", "months", month)
        days, longest = normal.days_below_zero, _LONGEST_MONTH[month]
        if days is not None and days > longest:
            rule = f"no more days than {month} has ({longest})"
            yield (*place, "days_below_zero"), f"'{days:g}'", rule, ""
        if all(value is None for value in (normal.low, normal.high, normal.rain, days)):
            rule = "at least one of low, high, rain, days_below_zero"
            yield place, "no average", rule, "add one, or remove the month"
