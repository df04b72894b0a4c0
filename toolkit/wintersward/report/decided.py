"""What was decided beforehand, in words: the limits of readiness, and when covers come off."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from wintersward.report.aerating import aerating_context
from wintersward.report.budgeting import budget_context
from wintersward.report.methods import material_words
from wintersward.report.next_trial import next_trial_context
from wintersward.report.numbers import counted, day_text
from wintersward.report.pin_words import pins_context
from wintersward.report.readiness import readiness_context
from wintersward.report.recovering import recovering_context
from wintersward.report.timing import timing_context
from wintersward.report.views import measure_view, quantity
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.decided import OWN_LIMIT, CoversOff, Limit
from wintersward.trial.schema import Aerating, Level

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["NO_LIMITS", "WHO_DECIDES", "decided_words", "decisions_context"]

WHO_DECIDES = (
    "A limit that is met does not mean that no injury can occur: whoever answers for the field "
    "decides, by the local and the league's rules."
)
_PARTS: tuple[Callable[[Page], dict[str, Any]], ...] = (
    pins_context,
    readiness_context,
    timing_context,
    recovering_context,
    aerating_context,
    budget_context,
    next_trial_context,
)
NO_LIMITS = (
    "The definition holds no limits, so nothing here says whether the turf was ready or when "
    "covers come off. Whoever answers for the field decides, by the local and the league's rules."
)


def decisions_context(page: Page) -> dict[str, Any]:
    """Fill the section on decisions; without limits it says who decides all the same.

    Limits are listed until they are judged: then each stands over its verdicts.
    """
    limits = _limits(page.definition)
    context: dict[str, Any] = {
        "limits": [] if len(page.table("readiness")) else limits,
        "who_decides": WHO_DECIDES if limits else NO_LIMITS,
    }
    for part in _PARTS:
        context |= part(page)
    return context


def decided_words(definition: Definition) -> list[str]:
    """Say each limit that the definition holds, and each planned way to aerate, in one sentence.

    Parameters
    ----------
    definition : Definition
        Its ``decisions``; empty without them.
    """
    decided = definition.decisions
    planned = decided.aeration if decided else None
    return _limits(definition) + (_aerating(definition, planned) if planned else [])


def _limits(definition: Definition) -> list[str]:
    decisions = definition.decisions
    if decisions is None:
        return []
    said = [_ready(definition, name, one) for name, one in (decisions.ready_when or {}).items()]
    if decisions.covers_off_when is not None:
        said.append(_covers_off(definition, decisions.covers_off_when))
    return said


def _aerating(definition: Definition, planned: Aerating) -> list[str]:
    """Say which aerations are thought about beside those that are compared."""
    system, said = definition.units, []
    for option in planned.options.values():
        tine = material_words(Level(label=option.label, tine=option.tine), system)
        said.append(
            f"Thought about for the aeration, and not compared by this trial: {option.label} "
            f"({tine}; {counted(option.passes, 'pass', 'passes')})."
        )
    yearly = []
    if planned.area_each_year is not None:
        yearly.append(f"{planned.area_each_year:.4g} % of the ground by aeration")
    if planned.sand_each_year is not None:
        yearly.append(f"{quantity(planned.sand_each_year, 'depth', system)} of sand")
    if yearly:
        said.append(f"Wanted in a year: {' and '.join(yearly)} ({OWN_LIMIT}).")
    return said


def _ready(definition: Definition, name: str, limit: Limit) -> str:
    view = measure_view(definition, name)
    side = "at least" if limit.at_least is not None else "at most"
    if limit.of is not None:
        asked = f"{side} {limit.end.value:.4g} % of that of the {limit.of} beside it"
    else:
        unit = "" if view.kind == "bare" else view.unit
        asked = f"{side} {view.value(limit.end.value):.4g} {unit}".rstrip()
    day = day_text(dates_meant(definition.dates, limit.on)[0])
    label = f"{view.noun[0].upper()}{view.noun[1:]}"
    sure = f"with {limit.sure:.4g} % confidence"
    return f"{label} on {day}: {asked}, {sure} ({limit.told_source})."


def _covers_off(definition: Definition, rule: CoversOff) -> str:
    held = quantity(rule.soil_temperature.value, "temperature", definition.units)
    last = day_text(dates_meant(definition.dates, rule.not_after)[0])
    days = "a day" if rule.days_in_a_row == 1 else f"{rule.days_in_a_row} days in a row"
    said = f"Covers come off once the soil is at {held} or more on {days}, and not after {last}"
    return f"{said} ({rule.told_source})."
