"""Randomisation: which plot gets which treatment, drawn by chance from a stated seed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import product
from typing import TypeVar

import numpy as np
import pandas as pd

from wintersward.design.layouts import columns, is_split, units
from wintersward.trial import Definition

__all__ = ["draw", "shuffled"]

Below = Callable[[int], int]
Item = TypeVar("Item")
_WORDS = 2**64


def draw(definition: Definition) -> pd.DataFrame:
    """Draw the plan: every plot with the treatment that chance gave it.

    Parameters
    ----------
    definition : Definition
        ``layout.kind`` says what is drawn: in randomised blocks all combinations of the factors
        once in each block; in a split plot the whole-plot levels over the whole plots of each
        block, then the subplot levels over the subplots of each whole plot.

    Returns
    -------
    DataFrame
        The plots table, one row a plot in the order of the plot numbers; plot, whole_plot and
        block are text, factors are ordered by the definition's levels.

    Notes
    -----
    Every arrangement of the layout is equally likely, and blocks (and the whole plots within
    them) are drawn independently, by the shuffle of `shuffled`. The random numbers are the raw
    64-bit output of PCG64 (NumPy's ``numpy.random.PCG64``), started from ``layout.seed`` by
    NumPy's ``SeedSequence``. Factors and levels enter the shuffle in the order of their names,
    so their order in the definition does not matter; the same seed draws the same plan on every
    computer. Raw output is used, not ``Generator.permutation``, because NumPy may change the
    latter between versions and a plan must be drawn again years later.

    References
    ----------
    O'Neill M. E. (2014) PCG: a family of simple fast space-efficient statistically good
    algorithms for random number generation. Harvey Mudd College, HMC-CS-2014-0905.

    NumPy, Random sampling, Compatibility policy: bit generators "have stronger guarantees of
    version-to-version stream compatibility" than ``Generator`` and ``default_rng``.
    """
    below = _below(np.random.PCG64(definition.layout.seed))
    one_block = _split_block if is_split(definition) else _full_block
    drawn = [one for _ in range(definition.layout.blocks) for one in one_block(definition, below)]
    frame = units(definition)
    for name, factor in definition.treatments.items():
        given = [one[name] for one in drawn]
        frame[name] = pd.Categorical(given, categories=list(factor.levels), ordered=True)
    return frame[columns(definition)]


def shuffled(items: Sequence[Item], below: Below) -> list[Item]:
    """Put items into a random order, each order equally likely.

    Parameters
    ----------
    items : sequence
        What is ordered.
    below : callable
        ``below(n)`` returns one of 0 ... n - 1, each equally likely.

    Returns
    -------
    list
        The items in their new order.

    Notes
    -----
    From the last place to the second: each place takes one of the items not yet placed. The
    choices are n, n - 1, ..., 2 in number, and each sequence of choices gives another order,
    so the n! orders are equally likely exactly when the choices are.

    References
    ----------
    Durstenfeld R. (1964) Algorithm 235: Random permutation. Communications of the ACM 7(7),
    420. doi:10.1145/364520.364540

    Examples
    --------
    >>> shuffled(["a", "b", "c"], lambda n: 0)
    ['b', 'c', 'a']
    """
    order = list(items)
    for last in range(len(order) - 1, 0, -1):
        chosen = below(last + 1)
        order[last], order[chosen] = order[chosen], order[last]
    return order


def _below(source: np.random.PCG64) -> Below:
    """Make ``below(n)`` from 64-bit words; words beyond a multiple of n are passed over."""

    def below(n: int) -> int:
        while True:
            word = int(source.random_raw())
            # The remainder alone would favour small numbers, since n need not divide 2**64.
            if word < _WORDS - _WORDS % n:
                return word % n

    return below


def _full_block(definition: Definition, below: Below) -> list[dict[str, str]]:
    names = sorted(definition.treatments)
    levels = [sorted(definition.treatments[name].levels) for name in names]
    every = [dict(zip(names, combination, strict=True)) for combination in product(*levels)]
    return shuffled(every, below)


def _split_block(definition: Definition, below: Below) -> list[dict[str, str]]:
    whole, sub = str(definition.layout.whole_plot), str(definition.layout.subplot)
    drawn = []
    for covering in shuffled(sorted(definition.treatments[whole].levels), below):
        for within in shuffled(sorted(definition.treatments[sub].levels), below):
            drawn.append({whole: covering, sub: within})
    return drawn
