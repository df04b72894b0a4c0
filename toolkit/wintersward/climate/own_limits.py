"""The limits of risks that a definition sets in the place of the usual ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from wintersward.climate.risk import RISKS, Risk
from wintersward.errors import Problem, WinterswardError
from wintersward.trial.climate import Climate

__all__ = ["OWN_LIMITS", "limit_problems", "own_risks"]

OWN_LIMITS = "limits of this trial, no source named"


def own_risks(asked: Climate | None, measures: Sequence[str]) -> dict[str, Risk]:
    """Give the risks with the limits of a definition.

    Parameters
    ----------
    asked : Climate or None
        The part of the definition that may set limits.
    measures : sequence of str
        Measures whose readings are counted.

    Returns
    -------
    dict of str to Risk
        By name, in the order of `RISKS`.

    Raises
    ------
    WinterswardError
        Limits that do not go together with those that are left as they are.
    """
    own = asked.risks if asked else {}
    found = {}
    for name, risk in RISKS.items():
        if name in own:
            risk = risk.replaced(own[name].source or OWN_LIMITS, **own[name].told)
        found[name] = replace(risk, measures=tuple(measures))
    return found


def limit_problems(asked: Climate | None) -> list[Problem]:
    """Tell the limits of a definition that do not go together with those it leaves as they are.

    Returns
    -------
    list of Problem
        Of ``trial.yaml``, without line and column.
    """
    problems = []
    for name, limits in (asked.risks if asked else {}).items():
        usual = RISKS[name]
        try:
            usual.replaced(OWN_LIMITS, **limits.told)
        except WinterswardError:
            low, high = (limits.told.get(end, getattr(usual, end)) for end in ("above", "below"))
            found, rule = f"from {low:g} to {high:g} degC", "the lower limit first"
            hint = "set 'above' and 'below' together"
            problems.append(Problem("trial.yaml", 0, 0, f"climate.risks.{name}", found, rule, hint))
    return problems
