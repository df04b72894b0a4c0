"""What chance has dealt to the units of a trial, and how else the layout could have dealt it."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import product
from math import factorial

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis.arrangements import Arrangements, Codes, Exchange, Square
from wintersward.analysis.model import TrialModel
from wintersward.analysis.strata import Stratum
from wintersward.errors import WinterswardError, listed
from wintersward.study import Trial

__all__ = ["Dealt", "dealt", "names_of", "others_of", "pairs_there", "surrounding"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Dealt:
    """The treatments of the units as numbers, and how else they could have fallen.

    Parameters
    ----------
    observed : (n,) int
        Treatment, or combination of treatments, of each unit.
    contrasts : (k, t) float
        The comparisons that are tested together.
    arrangements : Arrangements
        What the layout could have drawn.
    alike : int
        How many arrangements are as far from zero as any one.
    """

    observed: Codes
    contrasts: Floats
    arrangements: Arrangements
    alike: int


def others_of(made: Stratum) -> list[str]:
    """Name the other factors that were drawn for the same units or lie around them, and ground."""
    known = {"unit", "value", made.factor, *made.around}
    return [name for name in made.data.columns if name not in known]


def surrounding(made: Stratum) -> Floats:
    """Give a column of ones and the indicators of what surrounds the units."""
    parts = [np.ones((len(made.data), 1))]
    parts += [pd.get_dummies(made.data[name]).to_numpy(dtype=float) for name in made.around]
    return np.column_stack(parts)


def dealt(trial: Trial, made: Stratum, pairs: Sequence[tuple[str, str]]) -> Dealt:
    """Say how else the treatments of some comparisons could have fallen on the units.

    Parameters
    ----------
    trial : Trial
        Its layout says how treatments are dealt.
    made : Stratum
        The units.
    pairs : sequence of (str, str)
        Comparisons, left and right, that are tested together.

    Notes
    -----
    A comparison averages over the treatments of another factor that are there, as the primary
    analysis does, and over all grounds. Treatments keep an effect of their own on each ground,
    so that the error is the one of the primary analysis too; blocks lie on one ground each, so
    that an exchange within blocks never carries a treatment to another ground.
    """
    kind, family = trial.definition.layout.kind, names_of(pairs)
    others = others_of(made)
    levels = list(trial.factors[made.factor].levels)
    held = {name: list(factor.levels) for name, factor in trial.factors.items()}
    held["ground"] = trial.definition.layout.ground_names
    cells = list(product(levels, *(held[name] for name in others)))
    place = {cell: code for code, cell in enumerate(cells)}

    def codes(frame: pd.DataFrame) -> Codes:
        columns = [frame[name].astype(str) for name in (made.factor, *others)]
        return np.array([place[cell] for cell in zip(*columns, strict=True)], dtype=np.intp)

    seen = list(product(*(set(made.data[name].astype(str)) for name in others)))
    contrasts = np.zeros((len(pairs), len(cells)))
    for row, (left, right) in zip(contrasts, pairs, strict=True):
        for rest in seen:
            row[place[left, *rest]] = 1 / len(seen)
            row[place[right, *rest]] = -1 / len(seen)
    observed = codes(made.data)
    if kind == "latin square":
        square = _square(trial.plots, codes(trial.plots), made.data["unit"])
        alike = _alike(family, len(cells), len(cells) // len(levels), square.full)
        return Dealt(observed, contrasts, square, alike)
    exchanged = levels if kind == "strip plot" else family
    rows = made.data[[made.factor, *made.around, *others]].astype(str)
    groups: list[Hashable | None] = [
        tuple(row[1:]) if row[0] in exchanged else None for row in rows.itertuples(index=False)
    ]
    exchange = Exchange(observed, groups)
    alike = _alike(family, len(exchanged), 1, exchange.full(len(exchanged)))
    return Dealt(observed, contrasts, exchange, alike)


def names_of(pairs: Sequence[tuple[str, str]]) -> list[str]:
    """List the treatments that take part in comparisons, each once."""
    return list(dict.fromkeys(name for pair in pairs for name in pair))


def _square(plots: pd.DataFrame, codes: Codes, units: pd.Series) -> Square:
    """Set the treatments of all plots out in rows and columns, with the plots that are there."""
    order = np.lexsort((plots["column"], plots["row"]))
    size = int(np.sqrt(len(plots)))
    place = {str(name): i for i, name in enumerate(plots["plot"].to_numpy()[order])}
    seen = np.array([place[name] for name in units], dtype=np.intp)
    return Square(codes[order].reshape(size, size), seen)


def _alike(family: Sequence[str], exchanged: int, each: int, full: bool) -> int:
    """Count arrangements that are as far from zero as any one: other names for the same thing."""
    if not full:
        return 1
    many = len(family)
    swaps = 2 if many == 2 else factorial(many - 1)
    return swaps * factorial(each) ** many * factorial(exchanged - each * many)


def pairs_there(trial: Trial, model: TrialModel) -> list[tuple[str, str]]:
    """List the comparisons of the primary question whose treatments both have a unit.

    Parameters
    ----------
    trial : Trial
        Its definition names the comparisons.
    model : TrialModel
        The primary measure on the primary date.

    Returns
    -------
    list of (str, str)
        In the definition's order.

    Raises
    ------
    WinterswardError
        Where there is none.
    """
    asked = trial.definition.analysis.primary.pairs
    there = set(model.data[trial.definition.factor_of(asked[0][0])].astype(str))
    found = [pair for pair in asked if there.issuperset(pair)]
    if not found:
        gone = dict.fromkeys(name for pair in asked for name in pair if name not in there)
        raise WinterswardError(f"no observation of {listed(gone)} can be used")
    return found
