"""What no single field can tell: names that nothing defines, dates out of order, controls."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from wintersward.errors import Problem, closest, listed
from wintersward.trial.catalogue import contradictions
from wintersward.trial.climate_checks import CLIMATE_CHECKS
from wintersward.trial.dates import dates_meant
from wintersward.trial.decided import DECIDED_CHECKS
from wintersward.trial.layout_checks import LAYOUT_CHECKS
from wintersward.trial.names import RESERVED
from wintersward.trial.question_checks import QUESTION_CHECKS, Found, one_date
from wintersward.trial.reading import Place, Source
from wintersward.trial.schema import Factor
from wintersward.trial.shade import SHADE_CHECKS

__all__ = ["definition_problems"]

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
        (_tines, ("treatments",)),
        (_applied, ("treatments", "dates")),
        (_aerated_under_covers, ("treatments", "dates")),
        *LAYOUT_CHECKS,
        (_measures, ("measures", "treatments")),
        (_measure_kinds, ("measures",)),
        (_measure_dates, ("measures", "dates")),
        (_raters, ("measures", "people")),
        (_raters_once, ("measures",)),
        *QUESTION_CHECKS,
        *SHADE_CHECKS,
        *CLIMATE_CHECKS,
        *DECIDED_CHECKS,
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


def _tines(treatments: dict[str, Factor]) -> Found:
    for name, factor in treatments.items():
        for key, level in factor.levels.items():
            if level.tine is not None and min(level.tine.spacing) < level.tine.outside:
                place: Place = ("treatments", name, "levels", key, "tine", "spacing")
                found = "a spacing smaller than the outside diameter, so that holes overlap"
                hint = "measure from the middle of one hole to the middle of the next"
                yield place, found, "the outside diameter or more", hint


def _aerated_under_covers(treatments: dict[str, Factor], dates: dict[str, Any]) -> Found:
    """No aerator can drive while covers lie; the day on which they come off will do."""
    on, off = dates.get("covers_on"), dates.get("covers_off")
    if not isinstance(on, dt.date) or not isinstance(off, dt.date):
        return  # told where the dates are
    tined = [
        name
        for name, factor in treatments.items()
        if any(level.tine is not None for level in factor.levels.values())
    ]
    for name in tined:
        word = treatments[name].applied
        # Where nothing but tines is compared, the two dates are not of covers.
        if word is None or len(tined) == len(treatments):
            continue
        try:
            meant = dates_meant(dates, word)
        except ValueError:
            continue  # told where the factor names its date
        if len(meant) == 1 and on < meant[0] < off:
            found = f"'{word}'" + (f" ({meant[0]})" if str(word) != str(meant[0]) else "")
            rule = f"a day on which no covers lie (they lie from {on} to {off})"
            place = ("treatments", name, "applied")
            hint = "nothing can be aerated under covers; look at both dates"
            yield place, found, rule, hint


def _measures(measures: dict[str, Any], treatments: dict[str, Factor]) -> Found:
    for name in measures:
        if name in RESERVED or name in treatments:
            rule = "a name that is neither a factor nor a column of the tables"
            yield ("measures", name), f"'{name}'", rule, "choose another name"


def _measure_kinds(measures: dict[str, Any]) -> Found:
    for name, measure in measures.items():
        if measure.from_ == "sheet":
            for told in contradictions(measure):
                yield ("measures", name, told.field), told.found, told.allowed, told.hint


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
