"""How much of the surface aeration holes take, where green cover is compared between tines."""

from __future__ import annotations

import math
from collections.abc import Iterable

import pandas as pd

from wintersward.report.numbers import day_text, listed_words
from wintersward.report.views import begins, in_sentence, level_label, measure_view, quantity
from wintersward.trial.schema import Definition, PhotoMeasure, Tine

__all__ = ["hole_share", "holes_beside", "holes_limit", "holes_words"]


def hole_share(tine: Tine | None) -> float:
    """Compute the share of the surface that the holes of a tine take when they are open.

    Parameters
    ----------
    tine : Tine or None
        With its outside diameter and its spacing [m]; None takes no surface.

    Returns
    -------
    float
        Share [%].

    Notes
    -----
    Circles of diameter d in a grid of s1 by s2 take π d² / 4 / (s1 s2) of it; no source is
    needed beyond geometry. A hole is taken to be as wide as the tine.

    Examples
    --------
    >>> tine = Tine.model_validate({"kind": "solid", "outside": "0.75 in", "depth": "4 in",
    ...                             "spacing": ["2 in", "2 in"]})
    >>> round(hole_share(tine), 1)
    11.0
    """
    if tine is None:
        return 0.0
    return 100 * math.pi * tine.outside**2 / 4 / (tine.spacing[0] * tine.spacing[1])


def holes_words(means: pd.DataFrame, definition: Definition, measure: str) -> list[str]:
    """Say how much of a difference in green cover between tines may be holes.

    Parameters
    ----------
    means : DataFrame
        Table of a run.
    definition : Definition
        The trial, which names the tines.
    measure : str
        What was observed.

    Returns
    -------
    list of str
        One a factor with tines that take unlike shares, where means of it are shown since it
        began; empty for any other measure than one from photos.
    """
    if not isinstance(definition.measures[measure], PhotoMeasure):
        return []
    rows = means[means["measure"] == measure]
    return [
        _words(definition, factor, measure)
        for factor in definition.treatments
        if _unlike(definition, factor) and _seen(rows, definition, factor)
    ]


def holes_limit(means: pd.DataFrame, definition: Definition) -> list[str]:
    """Say among the limits that green cover takes open holes for bare ground; or nothing."""
    told = [
        factor
        for factor in definition.treatments
        if _unlike(definition, factor)
        and any(
            isinstance(one, PhotoMeasure)
            and _seen(means[means["measure"] == name], definition, factor)
            for name, one in definition.measures.items()
        )
    ]
    return [
        f"Open holes are not green. {_shares(definition, factor)}, so part of a difference in "
        "green cover between tines is the area of their holes, not turf that was lost or that "
        "recovers; photos cannot tell the two apart."
        for factor in told
    ]


def holes_beside(
    definition: Definition, measure: str, compared: Iterable[tuple[str, str]]
) -> list[str]:
    """Say below differences between tines how much of them may be holes.

    Parameters
    ----------
    definition : Definition
        The trial, which names the tines.
    measure : str
        What was observed.
    compared : iterable of (str, str)
        The treatments of each difference that stands above.

    Returns
    -------
    list of str
        One sentence; empty where no tines with unlike holes are compared, or for any other measure
        than one from photos.
    """
    if not isinstance(definition.measures[measure], PhotoMeasure):
        return []
    apart = 0.0
    for pair in compared:
        one, other = (
            hole_share(definition.treatments[definition.factor_of(name)].levels[name].tine)
            for name in pair
        )
        apart = max(apart, abs(one - other))
    if math.isclose(apart, 0, abs_tol=1e-9):
        return []
    return [
        f"Up to about {_digits(apart)} points of these differences may be open holes, which are "
        "not green, and no turf that was lost."
    ]


def _unlike(definition: Definition, factor: str) -> bool:
    """Tell whether treatments of a factor open unlike shares of the surface."""
    shares = [hole_share(level.tine) for level in definition.treatments[factor].levels.values()]
    return max(shares) > 0 and not math.isclose(min(shares), max(shares))


def _seen(rows: pd.DataFrame, definition: Definition, factor: str) -> bool:
    """Tell whether means of a factor are shown from its first day on."""
    if rows.empty:
        return False
    own = rows[[factor in str(effect).split(":") for effect in rows["effect"]]]
    return bool((pd.to_datetime(own["date"]) >= pd.Timestamp(begins(definition, factor))).any())


def _words(definition: Definition, factor: str, measure: str) -> str:
    noun, unit = measure_view(definition, measure).noun, "points"
    shares = [hole_share(level.tine) for level in definition.treatments[factor].levels.values()]
    most = max(shares) - min(shares)
    return (
        f"Open holes are not green. {_shares(definition, factor)} (π d²/4 over the spacing). So up "
        f"to about {_digits(most)} {unit} of a difference in {noun} between them, on dates from "
        f"{day_text(begins(definition, factor))} on, may be the area of holes that are still open, "
        "and not turf that was lost."
    )


def _shares(definition: Definition, factor: str) -> str:
    """Write what each tine of a factor takes: ``Of the surface, holes of ... take about 11 %``."""
    said = []
    for name, level in definition.treatments[factor].levels.items():
        label = in_sentence(level_label(definition, name))
        if level.tine is None:
            said.append(f"those of ‘{label}’ none")
            continue
        by = " by ".join(quantity(side, "depth", definition.units) for side in level.tine.spacing)
        wide = quantity(level.tine.outside, "depth", definition.units)
        share = _digits(hole_share(level.tine))
        said.append(f"those of ‘{label}’ ({wide} wide, {by} apart) about {share} %")
    return f"Of the surface, holes as wide as their tine take: {listed_words(said)}"


def _digits(share: float) -> str:
    return f"{share:.0f}" if share >= 5 else f"{share:.1f}"
