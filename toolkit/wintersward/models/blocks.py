"""The data cut into the blocks of a block-diagonal covariance, equal sizes stacked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from wintersward.models.grouping import Grouping
from wintersward.models.layout import Layout, lay_out
from wintersward.models.pieces import Linear, Piece
from wintersward.models.residual import Residual, plain_pieces, plain_residual
from wintersward.models.space import Space

__all__ = ["Rest", "Stack", "Stacks", "stack_blocks"]

Floats = NDArray[np.float64]
Integers = NDArray[np.intp]
_SPANNED = 1e-12
_SHARED = 4


@dataclass(frozen=True)
class Stack:
    """B blocks of r rows each; their pieces hold one matrix a block, or one for all of them.

    Parameters
    ----------
    x : (B, r, p) float
        Fixed part.
    y : (B, r) float
        Response.
    z : (B, r, q) float
        Columns of the random terms that reach across blocks.
    group : (B,) int
        Which group of blocks, tied by those terms, a block belongs to; ascending.
    pieces : tuple of Piece
        Parts of the covariance within blocks.
    shares : tuple of slice
        Which parameters each piece owns.
    """

    x: Floats
    y: Floats
    z: Floats
    group: Integers
    pieces: tuple[Piece, ...]
    shares: tuple[slice, ...]

    def weight(self, matrices: Floats) -> float:
        """Tell how many blocks each of some matrices stands for."""
        return len(self.y) / len(matrices)


@dataclass(frozen=True)
class Rest:
    """Directions of the data that only one residual variance reaches.

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
    rows, columns : int
        Rows of data, columns of the fixed part.
    space : Space
        Parameters of the covariance.
    wide : (q,) int
        Parameter of each column of `Stack.z`.
    groups : int
        Number of groups of blocks.
    """

    stacks: tuple[Stack, ...]
    rests: tuple[Rest, ...]
    rows: int
    columns: int
    space: Space
    wide: Integers
    groups: int

    @property
    def parameters(self) -> int:
        """Number of parameters of the covariance."""
        return self.space.count


@dataclass(frozen=True)
class _Block:
    """One block, shrunk where its residual is plain."""

    rows: Integers
    x: Floats
    y: Floats
    z: Floats
    parts: list[Floats]
    codes: Integers
    group: int
    turned: bool = False


def stack_blocks(
    x: Floats, y: Floats, groupings: Sequence[Grouping], residual: Residual | None = None
) -> Stacks:
    """Cut the data into independent blocks, shrink each, and stack those of equal size.

    Parameters
    ----------
    x : (n, p) float
        Fixed part.
    y : (n,) float
        Response.
    groupings : sequence of Grouping
        Random terms; their variances are the first parameters, in this order.
    residual : Residual, optional
        Its parameters follow. One variance, rows uncorrelated, unless given.

    Returns
    -------
    Stacks

    Notes
    -----
    Where rows are uncorrelated, those of a block that share a residual variance are rotated so
    that the first directions span the fixed and random columns. Along the others the covariance is
    the residual variance alone, so they enter the likelihood as one count and one sum of squares;
    a block of a thousand rows with forty columns costs no more than one of forty.
    """
    residual = residual or plain_residual(len(y))
    space = Space(len(groupings), len(residual.names), residual.serial)
    subject = residual.serial.subject if residual.serial else None
    layout = lay_out(groupings, subject, len(y), x.shape[1], space.levels)
    across = _across(layout, groupings, len(y))
    blocks: list[_Block] = []
    spare, squares = np.zeros(space.levels, dtype=int), np.zeros(space.levels)
    for given, group in zip(layout.blocks, layout.groups.tolist(), strict=True):
        rows = _ordered(given, layout, groupings, residual)
        parts = [_columns(groupings[i].codes[rows]) for i in layout.inner]
        codes = residual.codes[rows]
        block = _Block(rows, x[rows], y[rows], across[rows], parts, codes, group)
        if subject is None:
            block, left = _shrunk(block)
            spare += np.bincount(codes, minlength=space.levels)
            spare -= np.bincount(block.codes, minlength=space.levels)
            squares[: len(left)] += left
        blocks.append(block)
    alike = _alike(blocks, residual)
    stacks = tuple(_stacked(same, shared, layout, residual, space) for same, shared in alike)
    rests = tuple(
        Rest(space.terms + level, int(spare[level]), float(squares[level]))
        for level in np.flatnonzero(spare).tolist()
    )
    wide = np.repeat(np.array(layout.wide, dtype=np.intp), layout.columns)
    groups = int(layout.groups.max()) + 1
    return Stacks(stacks, rests, len(y), x.shape[1], space, wide, groups)


def _ordered(
    rows: Integers, layout: Layout, groupings: Sequence[Grouping], residual: Residual
) -> Integers:
    """Order the rows of a block by what its covariance depends on, so that like blocks look it."""
    keys: list[NDArray] = [residual.codes[rows]]
    if residual.serial is not None:
        keys += [residual.serial.times[rows], residual.serial.subject.codes[rows]]
    inner = sorted(layout.inner, key=lambda i: -groupings[i].count)
    keys += [groupings[i].codes[rows] for i in inner]
    return rows[np.lexsort(keys)]


def _alike(blocks: Sequence[_Block], residual: Residual) -> list[tuple[list[_Block], bool]]:
    """Put together blocks with one covariance, and of the others those of equal size."""
    by_pattern: dict[tuple[bytes, ...], list[_Block]] = defaultdict(list)
    by_size: dict[int, list[_Block]] = defaultdict(list)
    for block in blocks:
        if block.turned:
            by_size[len(block.y)].append(block)
            continue
        lags = b"" if residual.serial is None else residual.serial.lags(block.rows).tobytes()
        pattern = (lags, block.codes.tobytes(), *(part.tobytes() for part in block.parts))
        by_pattern[pattern].append(block)
    found = []
    for same in by_pattern.values():
        if len(same) >= _SHARED:
            found.append((same, True))
        else:
            by_size[len(same[0].y)] += same
    for equal in by_size.values():
        found.append((sorted(equal, key=lambda block: block.group), False))
    return sorted(found, key=lambda pair: len(pair[0][0].y))


def _columns(codes: Integers) -> Floats:
    """Give the indicator of the levels that occur."""
    _, places = np.unique(codes, return_inverse=True)
    return np.asarray(np.eye(int(places.max()) + 1)[places.reshape(-1)])


def _across(layout: Layout, groupings: Sequence[Grouping], rows: int) -> Floats:
    """Give the columns of the wide terms, numbered anew within each group of blocks."""
    matrix = np.zeros((rows, sum(layout.columns)))
    edges = np.flatnonzero(np.diff(layout.groups)) + 1
    for blocks in np.split(np.arange(len(layout.blocks)), edges):
        own = np.concatenate([layout.blocks[i] for i in blocks])
        start = 0
        for term, width in zip(layout.wide, layout.columns, strict=True):
            local = _columns(groupings[term].codes[own])
            matrix[own, start : start + local.shape[1]] = local
            start += width
    return matrix


def _shrunk(block: _Block) -> tuple[_Block, Floats]:
    """Rotate the rows of each residual variance; give what is left over of the response."""
    levels = np.unique(block.codes)
    squares = np.zeros(int(levels.max()) + 1)
    pieces, turned_any = [], False
    for level in levels:
        own = block.codes == level
        parts = [block.x, block.z, *block.parts]
        columns = np.column_stack([part[own] for part in parts])
        y = block.y[own]
        rotation, triangle, _ = linalg.qr(columns, mode="economic", pivoting=True)
        sizes = np.abs(np.diag(triangle))
        rotation = rotation[:, sizes > _SPANNED * sizes[0]] if sizes[0] > 0 else rotation[:, :0]
        if rotation.shape[1] == len(y):
            rotation = np.eye(len(y))
        inside = rotation.T @ y
        outside = y - rotation @ inside
        if rotation.shape[1] < len(y):
            squares[level] = outside @ outside
            turned_any = True
        turned = [rotation.T @ part[own] for part in parts]
        pieces.append((inside, turned, np.full(len(inside), level, dtype=np.intp)))
    joined = [
        np.concatenate([piece[1][i] for piece in pieces]) for i in range(2 + len(block.parts))
    ]
    y = np.concatenate([piece[0] for piece in pieces])
    codes = np.concatenate([piece[2] for piece in pieces])
    x, z, *own_parts = joined
    return _Block(block.rows, x, y, z, own_parts, codes, block.group, turned_any), squares


def _stacked(
    blocks: Sequence[_Block], shared: bool, layout: Layout, residual: Residual, space: Space
) -> Stack:
    shown = blocks[:1] if shared else blocks
    pieces: list[Piece] = [
        Linear(np.stack([block.parts[i] @ block.parts[i].T for block in shown]))
        for i in range(len(layout.inner))
    ]
    shares = [slice(term, term + 1) for term in layout.inner]
    if residual.serial is None:
        codes = np.stack([block.codes for block in shown])
        pieces += plain_pieces(codes, space.levels)
        shares += [slice(i, i + 1) for i in range(space.terms, space.variances)]
    else:
        pieces += residual.pieces([block.rows for block in shown])
        shares.append(slice(space.terms, space.count))
    return Stack(
        np.stack([block.x for block in blocks]),
        np.stack([block.y for block in blocks]),
        np.stack([block.z for block in blocks]),
        np.array([block.group for block in blocks], dtype=np.intp),
        tuple(pieces),
        tuple(shares),
    )
