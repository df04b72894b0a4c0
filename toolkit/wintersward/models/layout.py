"""Which rows make a block of the covariance, and which random terms reach across blocks.

Notes
-----
A term that joins many blocks, such as trial blocks of a hundred plots, would make one block of
them all, at a cost that grows with the cube of its size. Such a term is better kept aside as a few
columns that reach across blocks. Which terms are kept aside is decided by counting the work; one
block is preferred where it costs little more, since its sums lose fewer digits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintersward.models.grouping import Grouping, independent_blocks

__all__ = ["Layout", "lay_out"]

Integers = NDArray[np.intp]
_PREFERRED = 4


@dataclass(frozen=True)
class Layout:
    """Blocks, and groups of blocks that wide terms tie together.

    Parameters
    ----------
    inner, wide : tuple of int
        Positions of the random terms within blocks, and of those that reach across.
    blocks : tuple of (r,) int
        Rows of each block, blocks of one group together.
    groups : (blocks,) int
        Group of each block, from 0.
    columns : tuple of int
        For each wide term the most levels that it has in a group.
    """

    inner: tuple[int, ...]
    wide: tuple[int, ...]
    blocks: tuple[Integers, ...]
    groups: Integers
    columns: tuple[int, ...]


def lay_out(
    groupings: Sequence[Grouping],
    subject: Grouping | None,
    rows: int,
    columns: int,
    levels: int,
) -> Layout:
    """Choose the blocks that cost least.

    Parameters
    ----------
    groupings : sequence of Grouping
        Random terms.
    subject : Grouping or None
        Rows whose residuals are correlated; without it blocks shrink to the columns they hold.
    rows, columns, levels : int
        Rows of data, columns of the fixed part, residual variances.

    Returns
    -------
    Layout
    """
    tied = [subject] if subject else []
    order = sorted(range(len(groupings)), key=lambda i: -groupings[i].count)
    tops = independent_blocks([*groupings, *tied], rows)
    least = 0 if subject or not groupings else 1
    found: list[tuple[float, Layout]] = []
    for inside in range(least, len(order) + 1):
        inner, wide = tuple(sorted(order[:inside])), tuple(sorted(order[inside:]))
        layout = _layout(groupings, tied, inner, wide, tops)
        found.append((_work(layout, groupings, not tied, columns, levels), layout))
    return min(found, key=lambda pair: pair[0])[1]


def _layout(
    groupings: Sequence[Grouping],
    tied: Sequence[Grouping],
    inner: tuple[int, ...],
    wide: tuple[int, ...],
    tops: Sequence[Integers],
) -> Layout:
    rows = sum(len(top) for top in tops)
    if not wide:
        return Layout(inner, (), tuple(tops), np.zeros(len(tops), dtype=np.intp), ())
    place = np.empty(rows, dtype=np.intp)
    for i, top in enumerate(tops):
        place[top] = i
    blocks = independent_blocks([*(groupings[i] for i in inner), *tied], rows)
    blocks.sort(key=lambda block: int(place[block[0]]))
    groups = np.array([place[block[0]] for block in blocks], dtype=np.intp)
    columns = tuple(max(len(np.unique(groupings[i].codes[top])) for top in tops) for i in wide)
    return Layout(inner, wide, tuple(blocks), groups, columns)


def _work(
    layout: Layout, groupings: Sequence[Grouping], shrinks: bool, columns: int, levels: int
) -> float:
    """Count the multiplications of one look at the criterion, roughly."""
    across = columns + sum(layout.columns)
    total = (len(np.unique(layout.groups)) if layout.wide else 1) * across**3
    for rows in layout.blocks:
        size = len(rows)
        if shrinks:
            own = sum(len(np.unique(groupings[i].codes[rows])) for i in layout.inner)
            size = min(size, levels * (across + own))
        total += size**3 + size**2 * across + size * across**2
    return float(total * (_PREFERRED if layout.wide else 1))
