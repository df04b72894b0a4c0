"""Whether the costs of a diary fit its definition: treatments, and what a gain is counted in."""

from __future__ import annotations

from collections.abc import Sequence

from wintersward.errors import closest, listed
from wintersward.trial.diary_costs import CostItem, Costs, Worth
from wintersward.trial.parts import Amount
from wintersward.trial.question_checks import Found, unit_of
from wintersward.trial.reading import Place
from wintersward.trial.schema import Definition
from wintersward.units import reader_unit

__all__ = ["costs_found", "worth_step"]


def costs_found(costs: Costs | None, definition: Definition) -> Found:
    """Yield what is wrong with the costs of a diary.

    Parameters
    ----------
    costs : Costs or None
        None where the diary tells of none.
    definition : Definition
        The trial as decided.
    """
    if costs is None:
        return
    for i, item in enumerate(costs.items):
        yield from _treatment(item, ("costs", "items", i, "treatment"), definition)
    yield from _twice(costs.items)
    for i, worth in enumerate(costs.worth):
        yield from _worth(worth, ("costs", "worth", i), definition)
    yield from _worth_twice(costs.worth)


def worth_step(worth: Worth, definition: Definition) -> float | None:
    """Give how much of what the trial found its ``each`` pays for.

    Parameters
    ----------
    worth : Worth
        Of a diary that was found sound.
    definition : Definition
        The trial.

    Returns
    -------
    float or None
        In days, or in the SI unit of the primary measure; 1 where nothing is written and one day,
        one point or one of a rating is meant. None where the measure needs a step with its unit.
    """
    if worth.step is not None:
        return worth.step.value
    if worth.of == "days gained":
        return 1.0
    measure = definition.measures[definition.analysis.primary.measure]
    return 1.0 if measure.difference_kind in ("points", "bare") else None


def _treatment(item: CostItem, place: Place, definition: Definition) -> Found:
    """Check that a cost is that of a treatment beside its control."""
    factors = definition.treatments.values()
    controls = [factor.control for factor in factors]
    allowed = [level for factor in factors for level in factor.levels if level not in controls]
    if item.treatment in controls:
        rule = f"a treatment that is set against it ({listed(allowed)})"
        hint = "what the control costs and the treatment does not is its 'part: reduced cost'"
        yield place, f"'{item.treatment}', which is the control", rule, hint
    elif item.treatment not in allowed:
        yield place, f"'{item.treatment}'", listed(allowed), closest(item.treatment, allowed)


def _twice(items: Sequence[CostItem]) -> Found:
    """Find an entry that would be counted twice."""
    for i, item in enumerate(items):
        if item in items[:i]:
            first = items.index(item) + 1
            hint = "remove one; where it is paid twice, write 'quantity: 2'"
            yield ("costs", "items", i), f"the same as entry {first}", "each entry once", hint


def _worth_twice(worths: Sequence[Worth]) -> Found:
    """Find a worth that would be paid twice, and one that wants more and less of one thing."""
    for i, worth in enumerate(worths):
        place: Place = ("costs", "worth", i)
        same = [n for n, other in enumerate(worths[:i], 1) if other.of == worth.of]
        if worth in worths[:i]:
            hint = "remove one; where each step is worth more, raise 'each'"
            yield place, f"the same as entry {worths.index(worth) + 1}", "each entry once", hint
        elif any(worths[n - 1].gain != worth.gain for n in same):
            n = next(n for n in same if worths[n - 1].gain != worth.gain)
            rule = f"that of entry {n}, '{worths[n - 1].gain}'"
            hint = "of one thing either more or less is a gain"
            yield (*place, "gain"), f"'{worth.gain}'", rule, hint


def _worth(worth: Worth, place: Place, definition: Definition) -> Found:
    step = (*place, "step")
    if worth.of == "days gained":
        if definition.analysis.days_gained is None:
            rule = "primary; the definition asks for no days gained"
            yield (*place, "of"), "'days gained'", rule, ""
        if worth.step is not None and worth.step.kind != "bare":
            yield step, f"a unit of {worth.step.kind}", "a number of days, such as '1'", ""
    else:
        name = definition.analysis.primary.measure
        if worth.step is not None:
            yield from unit_of(worth.step, name, definition.measures, step)
        elif worth_step(worth, definition) is None:
            unit = reader_unit(definition.measures[name].difference_kind, definition.units)
            hint = f"add 'step: 1 {unit}', or another amount that 'each' pays for"
            yield place, "no step", f"a number and a unit, as {name} is measured", hint
    yield from _above_zero(worth.step, step)


def _above_zero(step: Amount | None, place: Place) -> Found:
    if step is not None and step.value <= 0:
        yield place, f"'{step.value:g}'", "more than 0", ""
