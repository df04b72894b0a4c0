"""Whether temperatures can be read and summed as a definition asks for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from wintersward.errors import closest, listed
from wintersward.trial.climate import RISK_LIMITS, Climate
from wintersward.trial.question_checks import Found, one_date
from wintersward.trial.reading import Place

__all__ = ["CLIMATE_CHECKS", "logger_measure"]

_FROM = {"photos": "photos", "sheet": "sheets"}
_ADD = "add a measure with 'from: logger'"


def logger_measure(name: str, measures: dict[str, Any], place: Place) -> Found:
    """Yield what is wrong with the name of a measure that loggers should take.

    Parameters
    ----------
    name : str
        As it is named.
    measures : dict
        Those of the definition.
    place : tuple
        Where it is named.
    """
    logged = [one for one, measure in measures.items() if measure.from_ == "logger"]
    if name in logged:
        return
    rule = f"a measure of loggers ({listed(logged)})" if logged else "a measure of loggers"
    found, hint = f"'{name}'", closest(name, logged) or ("" if logged else _ADD)
    if name in measures:
        found += f", which is taken from {_FROM[measures[name].from_]}"
    yield place, found, rule, hint


def _time_zone(site: Any, measures: dict[str, Any]) -> Found:
    """Days begin, and the sun rises, by the clock of the place."""
    if site.time_zone is not None:
        return
    logged = next((name for name, one in measures.items() if one.from_ == "logger"), None)
    if logged is None and not site.shade:
        return
    needs = f"measure {logged}" if logged else "shade"
    rule = "the IANA name of the time zone of the ground"
    hint = "add 'time_zone: ...', such as 'time_zone: America/New_York'"
    yield ("site",), f"no time_zone beside {needs}", rule, hint


def _degree_days(climate: Climate | None, measures: dict[str, Any], dates: dict[str, Any]) -> Found:
    asked = climate.degree_days if climate else None
    if asked is None:
        return
    place: Place = ("climate", "degree_days")
    if asked.measure is not None:
        for where, found, rule, hint in logger_measure(
            asked.measure, measures, (*place, "measure")
        ):
            yield where, found, f"{rule}, or no 'measure' for the air of the weather file", hint
    yield from one_date(dates, asked.from_, (*place, "from"))


def _thermometer(climate: Climate | None, measures: dict[str, Any]) -> Found:
    asked = climate.degree_days if climate else None
    for i, one in enumerate(climate.thermometer if climate else []):
        place: Place = ("climate", "thermometer", i)
        if one.measure is not None:
            yield from logger_measure(one.measure, measures, (*place, "measure"))
        elif asked is None or asked.measure is None:
            rule = "degree days of each plot"
            hint = "tell under degree_days how they are counted, and name its measure"
            found = "degree days that are the same for all" if asked else "degree days"
            yield (*place, "reaches"), found, rule, hint


def _thermometer_once(climate: Climate | None) -> Found:
    seen: list[tuple[object, ...]] = []
    for i, one in enumerate(climate.thermometer if climate else []):
        key = (one.reaches, one.days, one.measure)
        if key in seen:
            place: Place = ("climate", "thermometer", i)
            yield place, f"the same as entry {seen.index(key) + 1}", "", "remove one of the two"
        seen.append(key)


def _risks(climate: Climate | None) -> Found:
    for name, limits in (climate.risks if climate else {}).items():
        for field in limits.told:
            if field not in RISK_LIMITS[name]:
                place: Place = ("climate", "risks", name, field)
                yield place, f"'{field}'", listed((*RISK_LIMITS[name], "source")), "remove it"


CLIMATE_CHECKS: list[tuple[Callable[..., Found], tuple[str, ...]]] = [
    (_time_zone, ("site", "measures")),
    (_degree_days, ("climate", "measures", "dates")),
    (_thermometer, ("climate", "measures")),
    (_thermometer_once, ("climate",)),
    (_risks, ("climate",)),
]
