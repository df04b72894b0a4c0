"""Chance: equally likely choices and orders from the raw words of a generator."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

import numpy as np

__all__ = ["Below", "chooser", "shuffled"]

Below = Callable[[int], int]
Item = TypeVar("Item")
_WORDS = 2**64


def chooser(source: np.random.PCG64) -> Below:
    """Make ``below(n)``, which returns one of 0 ... n - 1, each equally likely.

    Parameters
    ----------
    source : PCG64
        Gives the same 64-bit words on every computer when it is started from the same seed.

    Notes
    -----
    Raw words are used, not ``Generator.permutation``, because NumPy may change the latter
    between versions and a plan must be drawn again years later. Words beyond a multiple of n
    are passed over.

    References
    ----------
    O'Neill M. E. (2014) PCG: a family of simple fast space-efficient statistically good
    algorithms for random number generation. Harvey Mudd College, HMC-CS-2014-0905.

    NumPy, Random sampling, Compatibility policy: bit generators "have stronger guarantees of
    version-to-version stream compatibility" than ``Generator`` and ``default_rng``.
    """

    def below(n: int) -> int:
        while True:
            word = int(source.random_raw())
            # The remainder alone would favour small numbers, since n need not divide 2**64.
            if word < _WORDS - _WORDS % n:
                return word % n

    return below


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
