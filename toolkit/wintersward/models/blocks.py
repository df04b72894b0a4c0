"""The data cut into the blocks of a block-diagonal covariance, equal sizes stacked.

The covariance of a model is a sum of parts. Each part shows itself in a stack of blocks as a
`Piece`, which gives its share of the covariance and the first and second derivatives by its own
parameters; the algebra of `reml` asks for nothing else.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from wintersward.models.grouping import Grouping, independent_blocks

__all__ = ["Linear", "Piece", "Rest", "Stack", "Stacks", "stack_blocks"]

Floats = NDArray[np.float64]
_SPANNED = 1e-12


class Piece(Protocol):
    """The share of one part of the covariance in a stack of B blocks of r rows."""

    @property
    def count(self) -> int:
        """Number of parameters that the part owns."""
        ...

    def covariance(self, parameters: Floats) -> Floats:
        """Give the part's (B, r, r) share of the covariance."""
        ...

    def first(self, parameters: Floats) -> list[Floats]:
        """Give the (B, r, r) derivative by each parameter."""
        ...

    def second(self, parameters: Floats) -> dict[tuple[int, int], Floats]:
        """Give the (B, r, r) second derivatives that are not zero, first index <= second."""
        ...


@dataclass(frozen=True)
class Linear:
    """A variance times a known matrix.

    Parameters
    ----------
    matrix : (B, r, r) float
        The known matrix in each block.
    """

    matrix: Floats

    @property
    def count(self) -> int:
        """One variance."""
        return 1

    def covariance(self, parameters: Floats) -> Floats:
        """Give the variance times the matrix."""
        return parameters[0] * self.matrix

    def first(self, parameters: Floats) -> list[Floats]:
        """Give the matrix itself."""
        return [self.matrix]

    def second(self, parameters: Floats) -> dict[tuple[int, int], Floats]:
        """Give nothing: a variance enters linearly."""
        return {}


@dataclass(frozen=True)
class Stack:
    """B blocks of r rows each.

    Parameters
    ----------
    x : (B, r, p) float
        Fixed part.
    y : (B, r) float
        Response.
    pieces : tuple of Piece
        One a part, the parts in the model's order.
    """

    x: Floats
    y: Floats
    pieces: tuple[Piece, ...]


@dataclass(frozen=True)
class Rest:
    """Directions of the data that only the residual reaches.

    Parameters
    ----------
    parameter : int
        Which parameter is their variance.
    count : int
        Number of directions.
    squares : float
        Sum of squares of the response along them.
    """

    parameter: int
    count: int
    squares: float


@dataclass(frozen=True)
class Stacks:
    """All data of a model, ready for the algebra.

    Parameters
    ----------
    stacks : tuple of Stack
        One a size of block.
    rests : tuple of Rest
        What was set aside as pure residual.
    rows, columns, parameters : int
        Rows of data, columns of the fixed part, parameters of the covariance.
    """

    stacks: tuple[Stack, ...]
    rests: tuple[Rest, ...]
    rows: int
    columns: int
    parameters: int


def stack_blocks(x: Floats, y: Floats, groupings: Sequence[Grouping]) -> Stacks:
    """Cut the data into independent blocks, shrink each, and stack those of equal size.

    Parameters
    ----------
    x : (n, p) float
        Fixed part.
    y : (n,) float
        Response.
    groupings : sequence of Grouping
        Random terms; the residual follows them as the last parameter.

    Returns
    -------
    Stacks

    Notes
    -----
    Within a block the rows are rotated so that the first r directions span the fixed and random
    columns. Along the others the covariance is the residual variance alone, so they enter the
    likelihood as one count and one sum of squares; a block of a thousand rows with forty columns
    costs no more than one of forty.
    """
    indicators = [grouping.indicator() for grouping in groupings]
    by_size: dict[int, list[tuple[Floats, Floats, list[Floats]]]] = defaultdict(list)
    spare, squares = 0, 0.0
    for rows in independent_blocks(groupings, len(y)):
        parts = [z[rows][:, z[rows].any(axis=0)] for z in indicators]
        block_x, block_y, parts, left = _shrunk(x[rows], y[rows], parts)
        spare += len(rows) - len(block_y)
        squares += left
        by_size[len(block_y)].append((block_x, block_y, parts))
    stacks = tuple(_stacked(size, blocks) for size, blocks in sorted(by_size.items()))
    residual = len(groupings)
    rests = (Rest(residual, spare, squares),) if spare else ()
    return Stacks(stacks, rests, len(y), x.shape[1], residual + 1)


def _shrunk(
    x: Floats, y: Floats, parts: list[Floats]
) -> tuple[Floats, Floats, list[Floats], float]:
    columns = np.column_stack([x, *parts])
    rotation, triangle, _ = linalg.qr(columns, mode="economic", pivoting=True)
    sizes = np.abs(np.diag(triangle))
    rotation = rotation[:, sizes > _SPANNED * sizes[0]]
    if rotation.shape[1] == len(y):
        return x, y, parts, 0.0
    inside = rotation.T @ y
    outside = y - rotation @ inside
    return rotation.T @ x, inside, [rotation.T @ z for z in parts], float(outside @ outside)


def _stacked(size: int, blocks: Sequence[tuple[Floats, Floats, list[Floats]]]) -> Stack:
    x = np.stack([block[0] for block in blocks])
    y = np.stack([block[1] for block in blocks])
    terms = len(blocks[0][2])
    pieces = [Linear(np.stack([b[2][i] @ b[2][i].T for b in blocks])) for i in range(terms)]
    pieces.append(Linear(np.broadcast_to(np.eye(size), (len(blocks), size, size))))
    return Stack(x, y, tuple(pieces))
