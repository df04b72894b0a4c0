"""Whether what a definition asks can be answered by what it observes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from wintersward.errors import closest, listed
from wintersward.trial.dates import dates_meant
from wintersward.trial.parts import Amount
from wintersward.trial.questions import Analysis, Covariate, Family, Planning
from wintersward.trial.reading import Place
from wintersward.units import KINDS

__all__ = [
    "QUESTION_CHECKS",
    "Found",
    "known_measure",
    "level_of",
    "observed_on",
    "one_date",
    "reading_of",
    "unit_of",
]

Found = Iterator[tuple[Place, str, str, str]]
_PRIMARY: Place = ("analysis", "primary")


def one_date(dates: dict[str, Any], word: dt.date | str, place: Place) -> Found:
    """Yield what is wrong with a word that should mean one date."""
    try:
        meant = dates_meant(dates, word)
    except ValueError as error:
        allowed, _, hint = str(error).partition("; ")
        yield place, f"'{word}'", allowed, hint
        return
    if len(meant) != 1:
        yield place, f"'{word}', which is {len(meant)} dates", "one date", ""


def known_measure(name: str, measures: dict[str, Any], place: Place) -> Found:
    """Yield what is wrong with the name of a measure."""
    if name not in measures:
        yield place, f"'{name}'", listed(measures), closest(name, measures)


def unit_of(amount: Amount, name: str, measures: dict[str, Any], place: Place) -> Found:
    """Yield what is wrong with the unit of an amount of a measure."""
    if name not in measures:
        return  # told where the measure is named
    kind = measures[name].difference_kind
    if _dimension(kind) != _dimension(amount.kind):
        found = "no unit" if amount.kind == "bare" else f"a unit of {amount.kind}"
        example = "1" if kind == "bare" else KINDS[kind].example
        rule = "a number without unit" if kind == "bare" else f"a number and a unit of {kind}"
        hint = f"that is how {name} is measured"
        yield place, found, f"{rule}, such as '{example}'", hint


def level_of(amount: Amount, name: str, measures: dict[str, Any], place: Place) -> Found:
    """Yield what is wrong with a value that a measure should reach, or has on average.

    Where values are themselves differences a level in degF could not be told from a temperature.
    """
    if getattr(measures.get(name), "is_difference", False):
        rule = "a measure with values that have a zero point, such as 'daily: maximum'"
        yield place, f"a level of {name}, which is an amplitude", rule, ""
        return
    yield from unit_of(amount, name, measures, place)


def reading_of(amount: Amount, name: str, measures: dict[str, Any], place: Place) -> Found:
    """Yield what is wrong with a value as a measure may have it: its unit, and how far it goes."""
    wrong = list(level_of(amount, name, measures, place))
    yield from wrong
    if name not in measures or wrong:
        return
    measure = measures[name]
    low, high = getattr(measure, "readings", measure.limits)
    if (low is not None and amount.value < low) or (high is not None and amount.value > high):
        kind = measure.difference_kind
        unit = "" if kind == "bare" else f" {'%' if kind == 'points' else KINDS[kind].si}"
        rule = f"a value from {low:g} to {high:g}{unit}" if high is not None else ""
        rule = rule or f"{low:g}{unit} or more"
        yield place, f"'{amount.value:.4g}{unit}'", rule, f"that is how {name} is read"


def _dimension(kind: str) -> str:
    return kind if kind == "bare" else KINDS[kind].dimension


def _primary_measure(analysis: Analysis, measures: dict[str, Any]) -> Found:
    primary = analysis.primary
    yield from known_measure(primary.measure, measures, (*_PRIMARY, "measure"))
    for place, amount in (
        ((*_PRIMARY, "matters_from"), primary.matters_from),
        (("analysis", "caught_up_within"), analysis.caught_up_within),
    ):
        if amount is None:
            continue
        wrong = list(unit_of(amount, primary.measure, measures, place))
        yield from wrong
        if not wrong and amount.value <= 0:
            yield place, f"'{amount.value:g}'", "more than 0", ""


def _primary_levels(analysis: Analysis, treatments: dict[str, Any]) -> Found:
    owner = {level: name for name, factor in treatments.items() for level in factor.levels}
    compare, place = analysis.primary.compare, (*_PRIMARY, "compare")
    if isinstance(compare, Family):
        named = [(("each", i), level) for i, level in enumerate(compare.each)]
        placed: list[tuple[Place, str]] = [*named, (("with",), compare.with_)]
    else:
        placed = [((i,), level) for i, level in enumerate(compare)]
    for where, level in placed:
        if level not in owner:
            yield (*place, *where), f"'{level}'", listed(owner), closest(level, owner)
    levels = [level for _, level in placed]
    yield from _different(levels, place)
    homes = list(dict.fromkeys(owner[level] for level in levels if level in owner))
    if len(homes) == 2:
        found = f"a level of {homes[0]} against one of {homes[1]}"
        yield place, found, "levels of one factor", ""


def _different(levels: Sequence[str], place: Place) -> Found:
    for i, level in enumerate(levels):
        if level in levels[:i]:
            found = f"{level} against itself" if len(levels) == 2 else f"'{level}' twice"
            yield place, found, "different levels", ""


def _primary_date(analysis: Analysis, measures: dict[str, Any], dates: dict[str, Any]) -> Found:
    primary = analysis.primary
    yield from observed_on(primary.measure, primary.on, measures, dates, (*_PRIMARY, "on"))


def observed_on(
    name: str, word: dt.date | str, measures: dict[str, Any], dates: dict[str, Any], place: Place
) -> Found:
    """Yield what is wrong with a date on which a measure should be observed."""
    wrong = list(one_date(dates, word, place))
    yield from wrong
    if name not in measures or wrong:
        return
    try:
        planned = dates_meant(dates, measures[name].dates)
    except ValueError:
        return  # told where the measure names its dates
    if dates_meant(dates, word)[0] not in planned:
        rule = f"a date on which {name} is observed ({listed(planned)})"
        yield place, f"'{word}'", rule, ""


def _primary_applied(
    analysis: Analysis, treatments: dict[str, Any], dates: dict[str, Any]
) -> Found:
    """A factor that is not yet on the ground cannot be compared."""
    for name, factor in treatments.items():
        if analysis.primary.levels[0] not in factor.levels:
            continue
        try:
            begins, asked = (
                dates_meant(dates, word)
                for word in (factor.applied or "covers_on", analysis.primary.on)
            )
        except ValueError:
            return  # told where the dates are named
        if asked and begins and asked[0] <= begins[0]:
            what = f"{name} was applied" if factor.applied else "the covers went on"
            rule = f"a date after {what} ({begins[0]})"
            yield (*_PRIMARY, "on"), f"'{analysis.primary.on}'", rule, ""


def _days_gained(analysis: Analysis, measures: dict[str, Any], dates: dict[str, Any]) -> Found:
    asked = analysis.days_gained
    if asked is None:
        return
    place: Place = ("analysis", "days_gained")
    wrong = list(known_measure(asked.measure, measures, (*place, "measure")))
    wrong += level_of(asked.level, asked.measure, measures, (*place, "level"))
    yield from wrong
    if wrong:
        return
    low, high = measures[asked.measure].limits
    if (low is not None and asked.level.value <= low) or (
        high is not None and asked.level.value >= high
    ):
        rule = "a level between the lowest and the highest value of the measure"
        yield (*place, "level"), f"'{asked.level.value:g}'", rule, ""
    try:
        off = dates_meant(dates, "covers_off")[0]
        after = [d for d in dates_meant(dates, measures[asked.measure].dates) if d >= off]
    except ValueError:
        return  # told where the dates are named
    if len(after) < 2:
        found = f"{asked.measure}, observed on {listed(after) or 'no date'} from covers_off on"
        hint = "days gained needs at least two visits after the covers came off"
        yield (*place, "measure"), found, "a measure with two such dates", hint


def _covariate(analysis: Analysis, measures: dict[str, Any], dates: dict[str, Any]) -> Found:
    asked, place = analysis.covariate, ("analysis", "covariate")
    if not isinstance(asked, Covariate):  # hours of sun: _covariate_of_the_sun
        if asked == "baseline" and analysis.primary.measure in measures:
            yield from observed_on(analysis.primary.measure, "baseline", measures, dates, place)
        return
    yield from known_measure(asked.measure, measures, (*place, "measure"))
    wrong = list(observed_on(asked.measure, asked.on, measures, dates, (*place, "on")))
    yield from wrong
    if wrong or not isinstance(dates.get("covers_on"), dt.date):
        return
    if dates_meant(dates, asked.on)[0] > dates["covers_on"]:
        rule = f"a date not after the covers went on ({dates['covers_on']})"
        hint = "what the covers can have changed may not correct for them"
        yield (*place, "on"), f"'{asked.on}'", rule, hint


def _covariate_of_the_sun(analysis: Analysis, site: Any) -> Found:
    """Hours of sun follow from the shade; what is missing beside a shade is told there."""
    if analysis.covariate != "sun_hours" or site.shade:
        return
    needed = ("shade", "latitude", "longitude", "time_zone")
    missing = [name for name in needed if not getattr(site, name) and getattr(site, name) != 0]
    found = f"'sun_hours' without {listed(missing)} under site"
    rule = f"hours of sun where they can be worked out from {listed(needed)}"
    yield ("analysis", "covariate"), found, rule, "add what is missing, or take 'baseline'"


def _planning(planning: Planning | None, analysis: Analysis, measures: dict[str, Any]) -> Found:
    if planning is None:
        return
    name = analysis.primary.measure
    if planning.sd is not None:
        yield from unit_of(planning.sd, name, measures, ("planning", "sd"))
    if planning.cv is not None and planning.mean is None:
        hint = f"add 'mean: ...', what you expect of {name}"
        yield ("planning", "cv"), f"'{planning.cv:g} %' without its mean", "both", hint
    if planning.mean is None:
        return
    place: Place = ("planning", "mean")
    if planning.cv is None:
        hint = "add 'cv: ...', such as 'cv: 10 %'"
        yield place, "a mean without its cv", "both", hint
    wrong = list(level_of(planning.mean, name, measures, place))
    yield from wrong
    if wrong or name not in measures:
        return
    high = measures[name].limits[1]
    if planning.mean.value <= 0 or (high is not None and planning.mean.value > high):
        most = f", and at most {high:g}" if high is not None else ""
        yield place, f"'{planning.mean.value:g}'", f"more than 0{most}", ""


QUESTION_CHECKS: list[tuple[Callable[..., Found], tuple[str, ...]]] = [
    (_primary_measure, ("analysis", "measures")),
    (_primary_levels, ("analysis", "treatments")),
    (_primary_date, ("analysis", "measures", "dates")),
    (_primary_applied, ("analysis", "treatments", "dates")),
    (_days_gained, ("analysis", "measures", "dates")),
    (_covariate, ("analysis", "measures", "dates")),
    (_covariate_of_the_sun, ("analysis", "site")),
    (_planning, ("planning", "analysis", "measures")),
]
