"""Which answers a changed line of the definition touches; mere wording touches none."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from wintersward.trial.dates import dates_meant
from wintersward.trial.questions import Covariate
from wintersward.trial.schema import Definition, LoggerMeasure, SheetMeasure
from wintersward.trial.shade import sun_span

__all__ = ["EVERYTHING", "PRIMARY", "measure_tag", "touched_by"]

EVERYTHING, PRIMARY = "everything", "primary"
_DAYS, _CAUGHT, _COVARIATE, _LOGIT = "days_gained", "caught_up", "covariate", "logit"
# What is made of temperatures, and the light that each plot gets; what is held against limits, and
# against the rule for taking covers off.
_CLIMATE, _LIGHT, _DECISIONS, _REMOVAL = "climate", "light", "decisions", "removal"

# Fields whose words a reader sees and no number depends on, planning among them: it chose the
# size of the trial, which the layout tells by itself.
_WORDING = ("title", "question", "units", "people", "report_to", "notice", "planning")
_WORDS_OF_LAYOUT = ("blocks_follow",)
# Where the sun stands above the plots.
_OF_THE_SUN = ("latitude", "longitude", "elevation", "shade")
_WORDS_OF_LEVELS = ("label", "description")
_ANALYSIS = {
    "primary": frozenset({PRIMARY}),
    "days_gained": frozenset({_DAYS}),
    "caught_up_within": frozenset({_CAUGHT}),
    "covariate": frozenset({_COVARIATE}),
    "logit_offset": frozenset({_LOGIT}),
}
_NOTHING: frozenset[str] = frozenset()
_ALL = frozenset({EVERYTHING})

Place = tuple[str | int, ...]


def measure_tag(name: str) -> str:
    """Name a measure among what a change touches."""
    return f"measure:{name}"


def touched_by(place: Place, old: Definition, new: Definition) -> frozenset[str]:
    """Tell what a changed line touches.

    Parameters
    ----------
    place : tuple
        Path of the line, list entries counted from 0.
    old, new : Definition
        As frozen, and as it is now.

    Returns
    -------
    frozenset of str
        See `wintersward.trial.changes.Changed`. What cannot be told touches everything.
    """
    top = str(place[0])
    if top in _WORDING:
        return _NOTHING
    rule: Callable[[Place, Definition, Definition], frozenset[str]] | None = {
        "analysis": _analysis,
        "measures": _measures,
        "dates": _dates,
        "treatments": _treatments,
        "layout": _layout,
        "site": _site,
        "climate": _climate,
        "decisions": _decisions,
    }.get(top)
    return _ALL if rule is None else rule(place, old, new)


def _analysis(place: Place, old: Definition, new: Definition) -> frozenset[str]:
    if len(place) == 1:
        return _ALL
    found = _ANALYSIS.get(str(place[1]), _ALL)
    if place[1] == "primary" and _covariate(old) != _covariate(new):
        found |= {_COVARIATE}
    if place[1] == "primary" and (len(place) == 2 or place[2] in ("measure", "compare")):
        # The leads at the last visit, and the days gained, are those of the question's factor.
        return found | _asked(old, _CAUGHT, _DAYS) | _asked(new, _CAUGHT, _DAYS)
    return found


def _asked(definition: Definition, *tags: str) -> frozenset[str]:
    """Keep of some tags those whose question the definition asks."""
    analysis = definition.analysis
    asks = {
        _DAYS: analysis.days_gained is not None,
        _CAUGHT: analysis.caught_up_within is not None,
        _COVARIATE: analysis.covariate != "none",
    }
    return frozenset(tag for tag in tags if asks[tag])


def _measures(place: Place, old: Definition, new: Definition) -> frozenset[str]:
    if len(place) == 1:
        return _ALL
    name, field = str(place[1]), str(place[2]) if len(place) > 2 else ""
    if field == "label":
        return _NOTHING
    if field == "dates":
        return _moved(old, new, only=name)
    found = frozenset().union(*(_uses(definition, name) for definition in (old, new)))
    return found | _logged(old, new, only=name)


def _logged(old: Definition, new: Definition, only: str = "") -> frozenset[str]:
    """Tell that what is made of temperatures rests on a measure, since loggers take it."""
    asked = any(definition.climate is not None for definition in (old, new))
    return frozenset({_CLIMATE}) if asked and _of_loggers(old, new, only) else _NOTHING


def _of_loggers(old: Definition, new: Definition, only: str = "") -> list[str]:
    """List the measures that loggers take, or the one that is named if they take it."""
    measures = {**old.measures, **new.measures}
    names = [name for name, measure in measures.items() if isinstance(measure, LoggerMeasure)]
    return [name for name in names if only in ("", name)]


def _site(place: Place, old: Definition, new: Definition) -> frozenset[str]:
    """Tell whether days begin at other times, or the sun stands elsewhere."""
    if len(place) == 1:
        return _ALL
    if place[1] == "shade" and place[-1] == "name":
        return _NOTHING
    found: set[str] = set()
    if place[1] == "time_zone":
        for name in _of_loggers(old, new):
            found |= _uses(old, name) | _uses(new, name)
        found |= _logged(old, new)
    if place[1] in (*_OF_THE_SUN, "time_zone") and _shaded(old, new):
        found |= _sunlit(old, new)
    return frozenset(found)


def _shaded(old: Definition, new: Definition) -> bool:
    return any(definition.site.shade for definition in (old, new))


def _sunlit(old: Definition, new: Definition) -> frozenset[str]:
    """Tell what rests on the sun of each plot."""
    asked = (definition.analysis.covariate for definition in (old, new))
    return frozenset({_LIGHT, _COVARIATE} if "sun_hours" in asked else {_LIGHT})


def _climate(place: Place, old: Definition, new: Definition) -> frozenset[str]:
    return _NOTHING if place[-1] == "source" else frozenset({_CLIMATE})


def _decisions(place: Place, old: Definition, new: Definition) -> frozenset[str]:
    """Tell whether a limit, or the rule for covers, was changed; other plans judge nothing."""
    part = str(place[1]) if len(place) > 1 else ""
    found: set[str] = set(_closing(old, new)) if part in ("", "aeration") else set()
    # Limits are named after measures, and one of these may be called source.
    words = place[-1] == "source" and len(place) > (3 if part == "ready_when" else 2)
    if part in ("", "ready_when") and not words:
        found.add(_DECISIONS)
    if part in ("", "covers_off_when") and not words:
        found.add(_REMOVAL)
    return frozenset(found)


def _closing(old: Definition, new: Definition) -> frozenset[str]:
    """Name measures of closing holes whose days count from another day of aeration now."""
    if _aerated(old) == _aerated(new):
        return _NOTHING
    return frozenset(
        measure_tag(name)
        for name, measure in {**old.measures, **new.measures}.items()
        if isinstance(measure, SheetMeasure) and measure.kind == "hole_closure"
    )


def _aerated(definition: Definition) -> list[dt.date]:
    """Give the planned day from which holes close; none where treatments tell it themselves."""
    for factor in definition.treatments.values():
        if factor.applied is not None and any(one.tine for one in factor.levels.values()):
            return []
    planned = definition.decisions.aeration if definition.decisions else None
    word = str(planned.on) if planned is not None else "aeration"
    named = word in definition.dates or word[:1].isdigit()
    return _days(definition, word) if named else []


def _limit_days(definition: Definition) -> tuple[object, ...]:
    """List the days for which a limit was decided, whatever they are called."""
    decided = definition.decisions
    limits = (decided.ready_when if decided else None) or {}
    return tuple((name, _days(definition, str(one.on))) for name, one in limits.items())


def _last_day(definition: Definition) -> list[dt.date]:
    """Give the last day of the rule for taking covers off; none without it."""
    rule = definition.decisions.covers_off_when if definition.decisions else None
    return _days(definition, str(rule.not_after)) if rule is not None else []


def _uses(definition: Definition, measure: str) -> frozenset[str]:
    """List the answers that rest on a measure."""
    analysis = definition.analysis
    found = {measure_tag(measure)}
    if analysis.primary.measure == measure:
        found |= {PRIMARY} | _asked(definition, _CAUGHT)
    if analysis.days_gained is not None and analysis.days_gained.measure == measure:
        found.add(_DAYS)
    asked = _covariate(definition)
    if asked is not None and asked[0] == measure:
        found.add(_COVARIATE)
    return frozenset(found)


def _dates(place: Place, old: Definition, new: Definition) -> frozenset[str]:
    """Tell whether a named day began or ended a treatment, or else which visits moved."""
    began = (_treated(definition) for definition in (old, new))
    if len({*began}) > 1:
        return _ALL
    summed = {_summed_from(definition) for definition in (old, new)}
    found = set(_moved(old, new))
    if len(summed) > 1:
        found.add(_CLIMATE)
    if _limit_days(old) != _limit_days(new):
        found.add(_DECISIONS)
    if _last_day(old) != _last_day(new):
        found.add(_REMOVAL)
    return frozenset(found | _closing(old, new))


def _summed_from(definition: Definition) -> dt.date | None:
    """Give the day from which degree days are summed; None where they are not."""
    asked = definition.climate.degree_days if definition.climate else None
    return None if asked is None else dates_meant(definition.dates, asked.from_)[0]


def _treated(definition: Definition) -> tuple[dt.date, ...]:
    """List the days that say what the plots were given: covers on and off, what came later."""
    words = ["covers_on", "covers_off"]
    words += [str(f.applied) for f in definition.treatments.values() if f.applied is not None]
    return tuple(_days(definition, word)[0] for word in words)


def _moved(old: Definition, new: Definition, only: str = "") -> frozenset[str]:
    """Tell which answers rest on days that are other days now."""
    found: set[str] = set()
    for name in [only] if only else dict.fromkeys([*old.measures, *new.measures]):
        was, now = (_visits(definition, name) for definition in (old, new))
        if was != now:
            found |= _uses(old, name) | _uses(new, name)
            # Other visits than that of the question leave its analysis as it was.
            if _question_stays(old, new, was, now):
                found.discard(PRIMARY)
            if _covariate(old) == _covariate(new):
                found.discard(_COVARIATE)
    if not only and _primary_day(old) != _primary_day(new):
        found.add(PRIMARY)
    if not only and _covariate(old) != _covariate(new):
        found.add(_COVARIATE)
    return frozenset(found)


def _question_stays(
    old: Definition, new: Definition, was: list[dt.date], now: list[dt.date]
) -> bool:
    day = _primary_day(old)
    return day == _primary_day(new) and (day in was) == (day in now)


def _visits(definition: Definition, measure: str) -> list[dt.date]:
    held = definition.measures.get(measure)
    return [] if held is None else dates_meant(definition.dates, held.dates)


def _primary_day(definition: Definition) -> dt.date:
    return dates_meant(definition.dates, definition.analysis.primary.on)[0]


def _covariate(definition: Definition) -> tuple[str, dt.date, dt.date] | None:
    """Give measure and days of the covariate, no measure for the sun; None where there is none."""
    analysis = definition.analysis
    asked = analysis.covariate
    if isinstance(asked, Covariate):
        day = dates_meant(definition.dates, asked.on)[0]
        return asked.measure, day, day
    if asked == "none":
        return None
    if asked == "sun_hours":
        return "", *sun_span(definition.dates, analysis.primary.on)
    day = _days(definition, "baseline")[0]
    return analysis.primary.measure, day, day


def _days(definition: Definition, word: str) -> list[dt.date]:
    """Resolve a name or a date that is written out."""
    if word in definition.dates:
        return dates_meant(definition.dates, word)
    return [dt.date.fromisoformat(word)]


def _treatments(place: Place, old: Definition, new: Definition) -> frozenset[str]:
    factor_label = len(place) == 3 and place[2] == "label"
    level_words = len(place) == 5 and place[2] == "levels" and place[4] in _WORDS_OF_LEVELS
    return _NOTHING if factor_label or level_words else _ALL


def _layout(place: Place, old: Definition, new: Definition) -> frozenset[str]:
    if len(place) > 1 and place[1] == "north":
        return _sunlit(old, new) if _shaded(old, new) else _NOTHING
    return _NOTHING if len(place) > 1 and place[1] in _WORDS_OF_LAYOUT else _ALL
