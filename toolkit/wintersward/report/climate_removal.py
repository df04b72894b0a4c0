"""The rule for taking covers off in words: when it was met, and what was done."""

from __future__ import annotations

import pandas as pd

from wintersward.climate.removal import AIR_IS_NOT_SOIL, HELD, LAST_DAY
from wintersward.report.climate_limits import rule_measure
from wintersward.report.climate_views import Degrees, climate_factor, ends_of, held_levels
from wintersward.report.numbers import counted, day_text, listed_words, text
from wintersward.report.said import Sentence, number, value_at
from wintersward.report.views import in_sentence, level_label
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["removal_words", "rule_words"]

_NAME = "removal"
_OF = {
    "record": "By the record of the soil under the covers",
    "forecast": "By the forecast of the air that the diary holds",
}


def rule_words(definition: Definition) -> str:
    """Say the definition's rule for taking covers off; empty without one."""
    rule = definition.decisions.covers_off_when if definition.decisions else None
    if rule is None:
        return ""
    degrees = Degrees(definition.units)
    limit = f"{round(degrees.value(rule.soil_temperature.value), 1):g} {degrees.unit}"
    days = counted(rule.days_in_a_row, "day")
    held = f"on {days} in a row" if rule.days_in_a_row > 1 else "on a day"
    last = day_text(dates_meant(definition.dates, rule.not_after)[0])
    return (
        f"The definition asks for covers off when the soil has had a mean of {limit} or more "
        f"{held}, and on {last} at the latest ({rule.told_source})."
    )


def removal_words(
    days: pd.DataFrame, definition: Definition, daily: pd.DataFrame | None = None
) -> list[Sentence]:
    """Say on which days the rule was met, from the record and from a forecast, and what was done.

    Parameters
    ----------
    days : DataFrame
        The table ``removal`` of a run, in SI.
    definition : Definition
        The trial.
    daily : DataFrame, optional
        The table ``under_cover`` of a run, for what each cover had on the warmest day.

    Returns
    -------
    list of Sentence
        Empty without rows.
    """
    degrees, said = Degrees(definition.units), []
    for source, words in _OF.items():
        own = days[days["source"] == source]
        if own["value"].notna().any():
            said.append(_met(days, own, words, degrees))
            if source == "record" and daily is not None:
                said += _each_cover(own, definition, daily)
            if source == "forecast":
                said.append(Sentence("{words}", {"words": AIR_IS_NOT_SOIL}))
    off = days["came_off"].dropna()
    if len(off):
        said.append(Sentence("The covers came off on {day}.", {"day": day_text(off.iloc[0])}))
    elif len(days):
        said.append(Sentence("The diary does not tell yet that the covers came off."))
    return said


def _each_cover(own: pd.DataFrame, definition: Definition, daily: pd.DataFrame) -> list[Sentence]:
    """Say what the soil under each cover had on the warmest day; the rule takes their mean."""
    day = pd.Timestamp(own["date"].loc[ends_of(own["value"])[1]])
    control = definition.treatments[climate_factor(definition)].control
    here = daily[(daily["measure"] == rule_measure(definition)) & (daily["level"] != control)]
    here = here[pd.to_datetime(here["date"]) == day]
    levels = held_levels(definition, here["level"])
    if len(levels) < 2:
        return []
    degrees, parts, listed = Degrees(definition.units), dict[str, object](), []
    for i, level in enumerate(levels):
        at = int(here.index[here["level"] == level][0])
        value = text(degrees.value(value_at(daily, at, "mean")), 1)
        parts |= {f"v{i}": number("under_cover", daily, at, "mean", value)}
        parts |= {f"n{i}": in_sentence(level_label(definition, level))}
        listed.append(f"{{v{i}}} {{unit}} under {{n{i}}}")
    parts |= {"unit": degrees.unit, "day": day_text(day)}
    form = f"Its means are over all covers; on {{day}} the soil had {listed_words(listed)}."
    return [Sentence(form, parts)]


def _met(days: pd.DataFrame, own: pd.DataFrame, words: str, degrees: Degrees) -> Sentence:
    """Say of one source whether, and when, the rule was met."""
    _, warmest = ends_of(own["value"])
    value = degrees.value(value_at(days, warmest, "value"))
    parts: dict[str, object] = {
        "words": words,
        "unit": degrees.unit,
        "warmest": number(_NAME, days, warmest, "value", text(value, 1)),
        "warm_day": day_text(days["date"].loc[warmest]),
    }
    held = own[own["why"] == HELD]
    if not held.empty:
        first = int(held.index[0])
        parts["first"] = day_text(held["date"].iloc[0])
        mean = degrees.value(value_at(days, first, "value"))
        parts["mean"] = number(_NAME, days, first, "value", text(mean, 1))
        return Sentence("{words} the rule was first met on {first} (mean {mean} {unit}).", parts)
    _, longest = ends_of(own["in_a_row"])
    in_a_row, needed = (int(value_at(days, longest, n)) for n in ("in_a_row", "days_needed"))
    parts["row"] = number(_NAME, days, longest, "in_a_row", str(in_a_row))
    parts["needed"] = number(_NAME, days, longest, "days_needed", str(needed))
    form = "{words} it was not met by warmth: "
    form += (
        "{row} of {needed} days in a row were warm enough" if in_a_row else "no day was warm enough"
    )
    form += " (the warmest, {warm_day}, had a mean of {warmest} {unit})"
    last = own[own["why"] == LAST_DAY]
    if not last.empty:
        parts["last"] = day_text(last["date"].iloc[-1])
        form += ", so that its last day, {last}, called for it"
    return Sentence(form + ".", parts)
