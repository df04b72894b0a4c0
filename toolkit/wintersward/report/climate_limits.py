"""Temperatures that pictures mark: those the definition decides by, and where growth stops."""

from __future__ import annotations

from dataclasses import dataclass

from wintersward.report.climate_views import Degrees
from wintersward.trial.schema import Definition, LoggerMeasure

__all__ = ["GROWTH_SOURCE", "LimitLine", "growth_words", "limit_lines", "rule_measure", "sum_lines"]

GROWTH_SOURCE = (
    "North Carolina State University 2005, quoted by Kent County extension 2007, for soil at 4 in"
)
# Below it shoots of cool-season grasses cease to grow, in soil at 4 in [degC]: 40 degF.
_SHOOTS_CEASE = 40 / 9
# How far from 4 in a sensor may lie for it to hold [m] (common practice, no source).
_NEAR_FOUR_INCHES = (0.08, 0.12)
# Genera of cool-season grasses of sports turf (from memory).
_COOL_SEASON = ("agrostis", "festuca", "lolium", "poa")


@dataclass(frozen=True)
class LimitLine:
    """A value that a picture marks.

    Parameters
    ----------
    value : float [degC, degC d]
        Where the line lies.
    words : str
        What it stands for.
    """

    value: float
    words: str


def rule_measure(definition: Definition) -> str:
    """Name the measure by which the rule for taking covers off is held; empty without a rule."""
    decided = definition.decisions
    if decided is None or decided.covers_off_when is None:
        return ""
    measures = definition.measures.items()
    soil = [name for name, one in measures if getattr(one, "what", "") == "soil temperature"]
    return soil[0] if soil else ""


def limit_lines(definition: Definition, measure: str) -> list[LimitLine]:
    """List what is marked in the picture of a temperature, equal values joined, ascending.

    Parameters
    ----------
    definition : Definition
        The trial.
    measure : str
        A measure from loggers.
    """
    found: dict[float, list[str]] = {}
    decided = definition.decisions
    if decided is not None and decided.covers_off_when is not None:
        rule = decided.covers_off_when
        if measure == rule_measure(definition):
            days = f"{rule.days_in_a_row} days in a row" if rule.days_in_a_row > 1 else "a day"
            _add(found, rule.soil_temperature.value, f"rule for covers off ({days})")
    for one in definition.climate.thermometer if definition.climate else []:
        if one.temperature is not None and one.measure == measure:
            _add(found, one.temperature, f"{one.days}-day mean" if one.days > 1 else "day's mean")
    if growth_words(definition, measure):
        _add(found, _SHOOTS_CEASE, "shoots stop")
    degrees = Degrees(definition.units)
    return [
        LimitLine(value, f"{_shown(degrees.value(value))} {degrees.unit}: {'; '.join(words)}")
        for value, words in sorted(found.items())
    ]


def sum_lines(definition: Definition) -> list[LimitLine]:
    """List the sums of degree days that the definition looks for."""
    degrees = Degrees(definition.units)
    asked = definition.climate.thermometer if definition.climate else []
    sums = sorted({one.degree_days for one in asked if one.degree_days is not None})
    return [LimitLine(one, f"{degrees.difference(one):.4g} {degrees.days}") for one in sums]


def growth_words(definition: Definition, measure: str) -> str:
    """Say where growth stops and who says so; empty where that is not known to hold.

    Notes
    -----
    It is said of cool-season grasses, and of soil about 4 in deep.
    """
    one = definition.measures[measure]
    species = definition.site.turf.species
    cool = all(name.split()[0].casefold() in _COOL_SEASON for name in species)
    if not isinstance(one, LoggerMeasure) or one.depth is None or not cool:
        return ""
    low, high = _NEAR_FOUR_INCHES
    if not low <= one.depth <= high:
        return ""
    degrees = Degrees(definition.units)
    limit = f"{_shown(degrees.value(_SHOOTS_CEASE))} {degrees.unit}"
    return f"Below {limit} shoots of cool-season grasses cease to grow ({GROWTH_SOURCE})."


def _shown(value: float) -> str:
    """Write a limit with one decimal, or as a whole number."""
    return f"{round(value, 1):g}"


def _add(found: dict[float, list[str]], value: float, words: str) -> None:
    """Join what is asked of one temperature; values that differ by rounding are one."""
    same = next((one for one in found if abs(one - value) < 1e-6), value)
    found.setdefault(same, []).append(words)
