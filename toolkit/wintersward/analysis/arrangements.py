"""Arrangements of treatments that a layout could have drawn: counted, listed, sampled."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Hashable, Iterator, Sequence
from itertools import permutations
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from wintersward.design.latin_squares import reduced_squares

__all__ = [
    "EXACT_UP_TO",
    "Arrangements",
    "Codes",
    "Exchange",
    "Square",
    "deal_count",
    "redraw_count",
    "smallest_share",
    "square_count",
]

Codes = NDArray[np.intp]
# Up to here every arrangement is looked at; beyond, some are drawn.
EXACT_UP_TO = 50_000
# Up to here the layout knows all Latin squares.
_LISTED_UP_TO = 6


class Arrangements(Protocol):
    """The arrangements that a test looks at."""

    @property
    def count(self) -> int:
        """Number of arrangements, the observed one among them."""

    @property
    def listable(self) -> bool:
        """Whether they are few enough to look at each."""

    def every(self) -> Iterator[Codes]:
        """List all arrangements, (m, n) labels at a time."""

    def drawn(self, draws: int, rng: np.random.Generator) -> Iterator[Codes]:
        """Draw arrangements, each as likely as any other, (m, n) labels at a time."""


class Exchange:
    """Every way to give the labels of some units to one another within their groups.

    Parameters
    ----------
    labels : (n,) int
        Label of each unit.
    groups : (n,) sequence of hashable or None
        Units of one group may exchange labels; None for a unit that keeps its own.
    """

    def __init__(self, labels: Codes, groups: Sequence[Hashable | None]) -> None:
        self.labels = np.asarray(labels, dtype=np.intp)
        members: dict[Hashable, list[int]] = {}
        for unit, group in enumerate(groups):
            if group is not None:
                members.setdefault(group, []).append(unit)
        self.groups = [np.array(units) for units in members.values()]
        self.sizes = [_orders(Counter(self.labels[units].tolist())) for units in self.groups]

    @property
    def count(self) -> int:
        """Number of arrangements, the observed one among them."""
        return math.prod(self.sizes)

    @property
    def listable(self) -> bool:
        """Whether they are few enough to look at each."""
        return self.count <= EXACT_UP_TO

    def full(self, labels: int) -> bool:
        """Tell whether each of a number of labels stands equally often in every group."""
        counted = [Counter(self.labels[units].tolist()) for units in self.groups]
        return all(len(one) == labels and len(set(one.values())) == 1 for one in counted)

    def every(self, chunk: int = 4096) -> Iterator[Codes]:
        """List all arrangements, (m, n) labels at a time."""
        listed = [_permutations(self.labels[units]) for units in self.groups]
        for start in range(0, self.count, chunk):
            wanted = np.arange(start, min(start + chunk, self.count))
            given = np.tile(self.labels, (len(wanted), 1))
            for units, size, orders in zip(self.groups, self.sizes, listed, strict=True):
                wanted, which = np.divmod(wanted, size)
                given[:, units] = orders[which]
            yield given

    def drawn(self, draws: int, rng: np.random.Generator, chunk: int = 4096) -> Iterator[Codes]:
        """Draw arrangements at random, each as likely as any other, (m, n) labels at a time."""
        for start in range(0, draws, chunk):
            given = np.tile(self.labels, (min(chunk, draws - start), 1))
            for units in self.groups:
                given[:, units] = rng.permuted(given[:, units], axis=1)
            yield given


def _orders(counted: Counter[int]) -> int:
    """Count the distinct orders of labels that may repeat."""
    total, found = 0, 1
    for many in counted.values():
        total += many
        found *= math.comb(total, many)
    return found


def _permutations(labels: Codes) -> Codes:
    """List the distinct orders of labels that may repeat, one a row."""
    remaining = Counter(labels.tolist())

    def place(left: int) -> Iterator[list[int]]:
        if left == 0:
            yield []
        for label in sorted(remaining):
            if remaining[label]:
                remaining[label] -= 1
                yield from ([label, *rest] for rest in place(left - 1))
                remaining[label] += 1

    return np.array(list(place(len(labels))), dtype=np.intp)


class Square:
    """Every way to draw a Latin square anew.

    Up to size 6 all Latin squares are equally likely, as the layout draws them. Larger ones are
    those that come from the drawn one by permuting rows, columns and treatments: none of these
    is more likely than another, whatever square was drawn.

    Parameters
    ----------
    square : (t, t) int
        Treatment in each row and column, counted from 0.
    observed : (n,) int, optional
        Places of the units that are there, counted along the rows; all unless given.
    """

    def __init__(self, square: Codes, observed: Codes | None = None) -> None:
        self.square = np.asarray(square, dtype=np.intp)
        self.size = len(self.square)
        self.observed = np.arange(self.size**2) if observed is None else observed

    @property
    def count(self) -> int:
        """Number of squares, the observed one among them; beyond size 6 not more than it."""
        return square_count(self.size)

    @property
    def listable(self) -> bool:
        """Whether they are few enough to look at each."""
        return self.count <= EXACT_UP_TO

    @property
    def full(self) -> bool:
        """Whether every unit is there."""
        return len(self.observed) == self.size**2

    def every(self) -> Iterator[Codes]:
        """List all arrangements, (m, n) labels at a time."""
        columns = np.array(list(permutations(range(self.size))))
        rows = np.array([(0, *rest) for rest in permutations(range(1, self.size))])
        for reduced in reduced_squares(self.size):
            for order in rows:
                made = np.array(reduced)[order][:, columns].transpose(1, 0, 2)
                yield made.reshape(len(columns), -1)[:, self.observed]

    def drawn(self, draws: int, rng: np.random.Generator, chunk: int = 4096) -> Iterator[Codes]:
        """Draw arrangements, each as likely as any other, (m, n) labels at a time."""
        known = self.size <= _LISTED_UP_TO
        squares = np.array(reduced_squares(self.size) if known else [self.square])
        for start in range(0, draws, chunk):
            many = min(chunk, draws - start)
            plain = np.tile(np.arange(self.size), (many, 1))
            rows, columns, names = (rng.permuted(plain, axis=1) for _ in range(3))
            chosen = rng.integers(len(squares), size=many)[:, None, None]
            turned = squares[chosen, rows[:, :, None], columns[:, None, :]].reshape(many, -1)
            yield np.take_along_axis(names, turned, axis=1)[:, self.observed]


def deal_count(treatments: int, replicates: Sequence[int]) -> int:
    """Count the ways to deal treatments out in groups where each stands as often as stated.

    Examples
    --------
    >>> deal_count(2, [1] * 6), deal_count(2, [4]), deal_count(3, [2])
    (64, 70, 90)
    """
    dealt = (math.factorial(treatments * r) // math.factorial(r) ** treatments for r in replicates)
    return math.prod(dealt)


def redraw_count(treatments: int, blocks: int) -> int:
    """Count the ways to draw all treatments anew in complete blocks.

    Examples
    --------
    >>> redraw_count(3, 4)
    1296
    """
    return math.factorial(treatments) ** blocks


def smallest_share(count: int, alike: int = 2) -> float:
    """Give the smallest two-sided p of a test over arrangements.

    Parameters
    ----------
    count : int
        Number of arrangements.
    alike : int
        How many of them give the same distance from zero, whatever the values: with each
        arrangement also the one with the two labels exchanged throughout.

    Examples
    --------
    >>> smallest_share(2**5), smallest_share(2**6)
    (0.0625, 0.03125)
    """
    return min(1.0, float(alike / count))


def square_count(size: int) -> int:
    """Count the Latin squares of a size; beyond 6 a number that is certainly not too large.

    Examples
    --------
    >>> square_count(3), square_count(4), square_count(5)
    (12, 576, 161280)
    """
    reduced = len(reduced_squares(size)) if size <= _LISTED_UP_TO else 1
    return reduced * math.factorial(size) * math.factorial(size - 1)
