"""Published figures of surface hardness and shear, and why they may not hold for a trial.

They are shown beside a measure for which the definition holds no limit, and nothing is judged by
them: whoever wants one judged writes it into the definition, with its source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from wintersward.trial.schema import Definition, SheetMeasure

__all__ = ["FIGURES", "NO_PULL_LIMIT", "PublishedFigure", "figures_for", "why_apart"]


@dataclass(frozen=True)
class PublishedFigure:
    """A figure that somebody has published.

    Parameters
    ----------
    quantity : str
        One of `wintersward.units.KINDS`.
    words : str
        What it stands for.
    low, high : float or None [SI unit of the quantity]
        From and to; None where it is open.
    instrument : str
        What it was read with, as far as the source tells.
    source : str
        Who published it, and how it is known here.
    missile : float or None [kg]
        Mass of the missile of an impact test.
    """

    quantity: str
    words: str
    low: float | None
    high: float | None
    instrument: str
    source: str
    missile: float | None = None


_IMPACT = (
    "impact tester; the abstract names neither missile nor height, and 2.25 kg from 455 mm is "
    "usual (from memory)"
)
_IMPACT_SOURCE = (
    "Kilby et al. 2024, Engineering of Sport 15 (ISEA 2024), abstract, which quotes the bodies "
    "themselves"
)
_VANE = "a vane of the manual's own make; its blades and load are not noted here"
_VANE_SOURCE = "Stier, quoted in an instrument's manual without a year"
_USUAL_MISSILE = 2.25

FIGURES = (
    PublishedFigure(
        "deceleration",
        "asked of every surface in American football",
        None,
        100.0,
        _IMPACT,
        _IMPACT_SOURCE,
        _USUAL_MISSILE,
    ),
    PublishedFigure(
        "deceleration",
        "asked of natural pitches by FIFA",
        70.0,
        85.0,
        _IMPACT,
        _IMPACT_SOURCE,
        _USUAL_MISSILE,
    ),
    PublishedFigure("torque", "turf tears easily", None, 10.0, _VANE, _VANE_SOURCE),
    PublishedFigure("torque", "fair", 10.0, 15.0, _VANE, _VANE_SOURCE),
    PublishedFigure("torque", "good", 15.0, 20.0, _VANE, _VANE_SOURCE),
    PublishedFigure("torque", "exceptional", 20.0, None, _VANE, _VANE_SOURCE),
)

NO_PULL_LIMIT = (
    "No published limit was found for how firmly laid sod must hold against an upward pull. What "
    "is published of sod is the force that tears it sideways at harvest, which is another thing. "
    "Readings of established turf on the same ground give something to hold it against."
)


def figures_for(definition: Definition) -> dict[str, tuple[PublishedFigure, ...]]:
    """List the published figures of each measure for which the definition holds no limit.

    Parameters
    ----------
    definition : Definition
        The trial.

    Returns
    -------
    dict of str to tuple of PublishedFigure
        By measure, in the definition's order; those without a figure are absent.
    """
    held = (definition.decisions.ready_when if definition.decisions else None) or {}
    found = {}
    for name, measure in definition.measures.items():
        if name in held or not isinstance(measure, SheetMeasure):
            continue
        own = tuple(one for one in FIGURES if one.quantity == measure.difference_kind)
        if own:
            found[name] = own
    return found


def why_apart(measure: SheetMeasure, figure: PublishedFigure) -> str:
    """Say why readings of a measure do not compare with a figure.

    Parameters
    ----------
    measure : SheetMeasure
        With its instrument, where it has one.
    figure : PublishedFigure
        Of the same quantity.

    Returns
    -------
    str
        Empty where the missile is the same within one percent: then the height may still differ.

    References
    ----------
    ASTM F1702, scope: values from another missile mass, drop height or method do not compare.
    """
    if figure.missile is None:
        return "only where the vane is the same one: values of different vanes do not compare"
    if measure.instrument is None:
        return "the definition does not tell the missile"
    if not math.isclose(measure.instrument.missile, figure.missile, rel_tol=0.01):
        return (
            f"read with a missile of {measure.instrument.missile:.3g} kg, not "
            f"{figure.missile:.3g} kg: hardness by different missiles does not compare"
        )
    return ""
