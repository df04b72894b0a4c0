"""What no single field can tell: names that nothing defines, dates out of order, controls."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from wintersward.errors import Problem, closest, listed
from wintersward.trial.dates import dates_meant
from wintersward.trial.layout_checks import LAYOUT_CHECKS
from wintersward.trial.names import RESERVED
from wintersward.trial.question_checks import QUESTION_CHECKS, Found, one_date
from wintersward.trial.reading import Place, Source
from wintersward.trial.schema import (
    Definition,
    Deviation,
    Exclusion,
    Factor,
    Lost,
)

__all__ = ["definition_problems", "diary_problems"]

# Dates that the toolkit itself reads, in the order that they must have.
_ORDER = ("baseline", "covers_on", "covers_off", "first_event")


def definition_problems(source: Source, parts: dict[str, Any]) -> list[Problem]:
    """Check how the parts of a definition fit together.

    Parameters
    ----------
    source : Source
        Where they were read, for line and column.
    parts : dict
        The fields that are sound in themselves; those that are not are absent, and what
        depends on them is passed over.

    Returns
    -------
    list of Problem
    """
    checks: list[tuple[Callable[..., Found], tuple[str, ...]]] = [
        (_people, ("people",)),
        (_dates, ("dates",)),
        (_treatments, ("treatments",)),
        (_applied, ("treatments", "dates")),
        *LAYOUT_CHECKS,
        (_measures, ("measures", "treatments")),
        (_measure_dates, ("measures", "dates")),
        (_raters, ("measures", "people")),
        (_raters_once, ("measures",)),
        *QUESTION_CHECKS,
    ]
    problems = []
    for check, needs in checks:
        if all(need in parts for need in needs):
            problems += [
                source.problem(*found) for found in check(*(parts[need] for need in needs))
            ]
    return problems


def _people(people: list[Any]) -> Found:
    seen: dict[str, int] = {}
    for i, person in enumerate(people):
        if person.initials in seen:
            other = people[seen[person.initials]].name
            rule = f"other initials than those of {other}"
            yield ("people", i, "initials"), f"'{person.initials}'", rule, ""
        seen.setdefault(person.initials, i)


def _dates(dates: dict[str, dt.date | list[dt.date]]) -> Found:
    for name in ("covers_on", "covers_off"):
        if name not in dates:
            near = closest(name, [d for d in dates if d not in _ORDER])
            hint = near or f"add a line '{name}: ' with your date, such as 2026-01-19"
            yield ("dates",), f"no {name}", "", hint
    known = [name for name in _ORDER if isinstance(dates.get(name), dt.date)]
    for earlier, later in zip(known, known[1:], strict=False):
        first, second = dates[earlier], dates[later]
        if isinstance(first, dt.date) and isinstance(second, dt.date) and second <= first:
            rule = f"a date after {earlier} ({first})"
            yield ("dates", later), f"'{second}'", rule, "put the dates in order"
    for name in _ORDER:
        if isinstance(dates.get(name), list):
            yield ("dates", name), "a list", "one date", "remove the brackets"
    for name, days in dates.items():
        if isinstance(days, list):
            for i in range(1, len(days)):
                if days[i] <= days[i - 1]:
                    rule = f"a date after {days[i - 1]}"
                    yield ("dates", name, i), f"'{days[i]}'", rule, "put the dates in order"


def _treatments(treatments: dict[str, Factor]) -> Found:
    owner: dict[str, str] = {}
    for name, factor in treatments.items():
        if name in RESERVED:
            rule = "a name that no table or formula uses"
            yield ("treatments", name), f"'{name}'", rule, f"such as {name}_used"
        if factor.control not in factor.levels:
            place = ("treatments", name, "control")
            near = closest(factor.control, factor.levels)
            hint = near or "name one of the levels, or add the level"
            yield place, f"'{factor.control}'", listed(factor.levels), hint
        for level in factor.levels:
            if level in owner:
                rule = f"a name that is not a level of {owner[level]} as well"
                at: Place = ("treatments", name, "levels", level)
                yield at, f"'{level}'", rule, "choose another name"
            owner.setdefault(level, name)


def _applied(treatments: dict[str, Factor], dates: dict[str, Any]) -> Found:
    for name, factor in treatments.items():
        if factor.applied is not None:
            place = ("treatments", name, "applied")
            yield from one_date(dates, factor.applied, place)


def _measures(measures: dict[str, Any], treatments: dict[str, Factor]) -> Found:
    for name in measures:
        if name in RESERVED or name in treatments:
            rule = "a name that is neither a factor nor a column of the tables"
            yield ("measures", name), f"'{name}'", rule, "choose another name"


def _measure_dates(measures: dict[str, Any], dates: dict[str, Any]) -> Found:
    for name, measure in measures.items():
        for i, word in enumerate(measure.dates):
            try:
                dates_meant(dates, word)
            except ValueError as error:
                allowed, _, hint = str(error).partition("; ")
                yield ("measures", name, "dates", i), f"'{word}'", allowed, hint


def _raters(measures: dict[str, Any], people: list[Any]) -> Found:
    initials = [person.initials for person in people]
    for name, measure in measures.items():
        for i, rater in enumerate(getattr(measure, "raters", [])):
            if rater not in initials:
                hint = closest(rater, initials) or "add the person to 'people'"
                place = ("measures", name, "raters", i)
                yield place, f"'{rater}'", f"initials of people ({listed(initials)})", hint


def _raters_once(measures: dict[str, Any]) -> Found:
    for name, measure in measures.items():
        raters = getattr(measure, "raters", [])
        for i, rater in enumerate(raters):
            if rater in raters[:i]:
                place = ("measures", name, "raters", i)
                yield place, f"'{rater}' a second time", "", "name each rater once"


def diary_problems(
    source: Source, diary: dict[str, Any], definition: Definition, plots: list[str] | None
) -> list[Problem]:
    """Check what a diary names against the definition and the plots.

    Parameters
    ----------
    source : Source
        Where it was read.
    diary : dict
        The sound fields of the diary.
    definition : Definition
        The trial as decided.
    plots : list of str or None
        Names of plots and whole plots; None before they are drawn.
    """
    found: list[tuple[Place, str, str, str]] = []
    for i, spell in enumerate(diary.get("covers", [])):
        if spell.off is not None and spell.off <= spell.on:
            rule = f"a date after these covers went on ({spell.on})"
            found.append((("covers", i, "off"), f"'{spell.off}'", rule, ""))
        if spell.plots != "all covered":
            for j, plot in enumerate(spell.plots):
                found += _plot(("covers", i, "plots", j), plot, plots)
    for name in ("exclusions", "missing"):
        for i, entry in enumerate(diary.get(name, [])):
            found += _plot((name, i, "plot"), entry.plot, plots)
            found += _excluded((name, i), entry, definition)
    for name in ("exclusions", "missing", "deviations"):
        found += _repeated(name, diary.get(name, []))
    for i, sheet in enumerate(diary.get("sheets", [])):
        known = ["date", "plot", "rater", "sample", *definition.measures]
        for name in sheet.columns:
            if name not in known:
                near = closest(name, known)
                found.append((("sheets", i, "columns", name), f"'{name}'", listed(known), near))
    return [source.problem(*one) for one in found]


def _repeated(name: str, entries: list[Exclusion] | list[Lost] | list[Deviation]) -> Found:
    """Find entries that differ at most in their reason."""
    seen: dict[object, int] = {}
    for i, entry in enumerate(entries):
        key = entry.model_copy(update={"reason": ""})
        if key in seen:
            hint = "make them one entry, with both reasons"
            yield (name, i), f"the same as entry {seen[key] + 1}", "", hint
        seen.setdefault(key, i)


def _plot(place: Place, plot: str, plots: list[str] | None) -> Found:
    if plots is not None and plot not in plots:
        shown = listed(plots[:6]) + (" ..." if len(plots) > 6 else "")
        yield place, f"'{plot}'", f"a plot of plan/plots.csv ({shown})", ""


def _excluded(place: Place, exclusion: Any, definition: Definition) -> Found:
    measures = definition.measures
    if exclusion.measure is not None and exclusion.measure not in measures:
        near = closest(exclusion.measure, measures)
        yield (*place, "measure"), f"'{exclusion.measure}'", listed(measures), near
        return
    chosen = [measures[exclusion.measure]] if exclusion.measure else list(measures.values())
    days = {day for measure in chosen for day in dates_meant(definition.dates, measure.dates)}
    if exclusion.date is not None and exclusion.date not in days:
        rule = f"a date on which it is observed ({listed(sorted(days))})"
        yield (*place, "date"), f"'{exclusion.date}'", rule, ""
    initials = [person.initials for person in definition.people]
    if exclusion.rater is not None and exclusion.rater not in initials:
        near = closest(exclusion.rater, initials)
        yield (*place, "rater"), f"'{exclusion.rater}'", listed(initials), near
