"""What was decided beforehand, in words: the limits of readiness, and when covers come off."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from wintersward.report.aerating import aerating_context
from wintersward.report.budgeting import budget_context
from wintersward.report.next_trial import next_trial_context
from wintersward.report.numbers import day_text
from wintersward.report.readiness import readiness_context
from wintersward.report.recovering import recovering_context
from wintersward.report.timing import timing_context
from wintersward.report.views import measure_view, quantity
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.decided import CoversOff, Limit

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["NO_LIMITS", "WHO_DECIDES", "decided_words", "decisions_context"]

WHO_DECIDES = (
    "A limit that is met does not mean that no injury can occur: whoever answers for the field "
    "decides, by the local and the league's rules."
)
_PARTS: tuple[Callable[[Page], dict[str, Any]], ...] = (
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
    limits = decided_words(page.definition)
    context: dict[str, Any] = {
        "limits": [] if len(page.table("readiness")) else limits,
        "who_decides": WHO_DECIDES if limits else NO_LIMITS,
    }
    for part in _PARTS:
        context |= part(page)
    return context


def decided_words(definition: Definition) -> list[str]:
    """Say each limit that the definition holds in one sentence.

    Parameters
    ----------
    definition : Definition
        Its ``decisions``; empty without them.
    """
    decisions = definition.decisions
    if decisions is None:
        return []
    said = [_ready(definition, name, one) for name, one in (decisions.ready_when or {}).items()]
    if decisions.covers_off_when is not None:
        said.append(_covers_off(definition, decisions.covers_off_when))
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
    return f"{label} on {day}: {asked}, with {limit.sure:.4g} % confidence."


def _covers_off(definition: Definition, rule: CoversOff) -> str:
    held = quantity(rule.soil_temperature.value, "temperature", definition.units)
    last = day_text(dates_meant(definition.dates, rule.not_after)[0])
    days = "a day" if rule.days_in_a_row == 1 else f"{rule.days_in_a_row} days in a row"
    return f"Covers come off once the soil is at {held} or more on {days}, and not after {last}."
