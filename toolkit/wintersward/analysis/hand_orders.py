"""Plots laid by hand in the same order everywhere, which looks like choice and not chance."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from math import factorial

import pandas as pd

from wintersward.analysis.aliasing import columns_of
from wintersward.analysis.skeleton import skeleton_for
from wintersward.analysis.units import unit_names
from wintersward.trial.schema import Definition

__all__ = ["SameOrder", "same_orders"]

# Ways to walk through the units of a block: along one side, along the other, and as numbered.
_WALKS = (["x_m", "y_m"], ["y_m", "x_m"], ["walk"])


@dataclass(frozen=True)
class SameOrder:
    """Treatments that lie in one order in every block.

    Parameters
    ----------
    factors : list of str
        The treatments.
    within : str
        What each holds the order: ``block``, ``whole plot``.
    order : list of str
        The treatments as they lie; those of several factors are joined by a colon.
    ways : int
        Ways in which chance could deal them, of which so many as there are orders are alike
        everywhere, so that chance does it once in this number.
    """

    factors: list[str]
    within: str
    order: list[str]
    ways: int


def same_orders(definition: Definition, plots: pd.DataFrame) -> list[SameOrder]:
    """Find treatments that a hand laid in one order in every block.

    Parameters
    ----------
    definition : Definition
        Its layout says what the treatments are dealt to, and within what.
    plots : DataFrame
        ``plan/plots.csv``.

    Returns
    -------
    list of SameOrder
        In the order of the factors. Empty where a seed dealt the treatments, since the order is
        then that of chance whatever it is, and where nothing or more than one thing surrounds the
        units.

    Notes
    -----
    With t units in each of b blocks chance gives one order everywhere once in (t!)^(b - 1).
    """
    if definition.layout.laid_by_hand is None or not definition.layout.tested:
        return []
    skeleton = skeleton_for(definition, dt.date.max)
    dealt: dict[tuple[str, str], list[str]] = {}
    for factor in definition.treatments:
        around = skeleton.around(factor)
        if len(around) == 1:
            dealt.setdefault((skeleton.unit(factor), around[0]), []).append(factor)
    found = []
    for (unit, around_one), factors in dealt.items():
        units = plots.drop_duplicates(columns_of(unit))
        blocks = unit_names(units, ":".join(columns_of(around_one)))
        same = _one_order(units.assign(said=unit_names(units, ":".join(factors))), blocks)
        if same:
            ways = factorial(len(same)) ** (blocks.nunique() - 1)
            found.append(SameOrder(factors, around_one.replace("_", " "), same, ways))
    return found


def _one_order(units: pd.DataFrame, blocks: pd.Series) -> list[str]:
    """Give the order in which treatments lie in every block, empty where it differs."""
    for walk in _WALKS:
        ordered = units.sort_values(walk, kind="stable")
        orders = ordered.groupby(blocks, sort=False)["said"].agg(tuple)
        if len(orders) > 1 and orders.nunique() == 1:
            return list(orders.iloc[0])
    return []
