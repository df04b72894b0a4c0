"""Sums over blocks, and the random terms that reach across blocks taken out of them.

Notes
-----
Within a group of blocks V = B + Z G Z', with B block diagonal, Z the columns of the wide terms and
G their variances. With A = [X Z], w = B^-1 A, T = A'B^-1 A and J = (I + G T_zz)^-1 G,

    V^-1   = B^-1 - B^-1 Z J Z'B^-1
    V^-1 A = w U,    U = [ I, 0; -J T_zx, I - J T_zz ]
    log|V| = log|B| + log|I + G T_zz|,

so that every product of the restricted likelihood is a product of small matrices in the columns
of A, whatever the number of rows. Without wide terms U is the identity.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintersward.models.blocks import Stack, Stacks

__all__ = ["Elimination", "Inside", "eliminate", "firsts", "gathered", "invert", "times"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Inside:
    """One stack of blocks, solved without the wide terms.

    Parameters
    ----------
    inverse : (B or 1, r, r) float
        B^-1; one matrix where it is the same in all blocks.
    weighted : (B, r, p + q) float
        B^-1 [X Z].
    logdet : float
        Logarithm of the determinant, of all blocks.
    """

    inverse: Floats
    weighted: Floats
    logdet: float


@dataclass(frozen=True)
class Elimination:
    """The wide terms, taken out of every group of blocks.

    Parameters
    ----------
    spread : (G, q, q) float
        J.
    turn : (G, c, c) float
        U, for c = p + q columns.
    solved : (G, c, c) float
        A'V^-1 A.
    logdet : float
        What the wide terms add to log|V|.
    """

    spread: Floats
    turn: Floats
    solved: Floats
    logdet: float


def times(matrix: Floats, vector: Floats) -> Floats:
    """Multiply each block's matrix and vector."""
    return np.asarray((matrix @ vector[..., None])[..., 0])


def firsts(stack: Stack, parameters: Floats) -> list[tuple[int, Floats]]:
    """Give the index of each parameter within the blocks, and the derivative by it."""
    return [
        (share.start + i, matrix)
        for piece, share in zip(stack.pieces, stack.shares, strict=True)
        for i, matrix in enumerate(piece.first(parameters[share]))
    ]


def invert(stack: Stack, parameters: Floats) -> Inside:
    """Invert the covariance within the blocks of a stack.

    Raises
    ------
    numpy.linalg.LinAlgError
        If it is not positive definite.
    """
    own = zip(stack.pieces, stack.shares, strict=True)
    total = sum(piece.covariance(parameters[share]) for piece, share in own)
    lower = np.linalg.cholesky(np.asarray(total))
    half_logdet = float(np.log(np.diagonal(lower, axis1=1, axis2=2)).sum())
    logdet = 2.0 * half_logdet * stack.weight(lower)
    half = np.linalg.inv(lower)
    inverse = half.transpose(0, 2, 1) @ half
    columns = stack.x if not stack.z.shape[2] else np.concatenate([stack.x, stack.z], axis=2)
    return Inside(inverse, inverse @ columns, logdet)


def gathered(data: Stacks, stack: Stack, left: Floats, right: Floats) -> Floats:
    """Sum left'right over the blocks of each group.

    Parameters
    ----------
    left : (B, r, a) float
    right : (B, r, b) or (B, r) float

    Returns
    -------
    (G, a, b) or (G, a) float
    """
    flat = right.ndim == 2
    right = right[..., None] if flat else right
    if data.groups == 1:
        rows = left.shape[0] * left.shape[1]
        summed = (left.reshape(rows, -1).T @ right.reshape(rows, -1))[None]
    else:
        starts = np.flatnonzero(np.diff(stack.group, prepend=-1))
        summed = np.zeros((data.groups, left.shape[2], right.shape[2]))
        each = left.transpose(0, 2, 1) @ right
        summed[stack.group[starts]] = np.add.reduceat(each, starts)
    return summed[..., 0] if flat else summed


def eliminate(data: Stacks, crossed: Floats, parameters: Floats) -> Elimination:
    """Take the wide terms out.

    Parameters
    ----------
    data : Stacks
        All data.
    crossed : (G, c, c) float
        T, of every group.
    parameters : (k,) float
        Parameters of the covariance.
    """
    p, c = data.columns, crossed.shape[1]
    turn = np.broadcast_to(np.eye(c), crossed.shape)
    if c == p:
        return Elimination(np.zeros((1, 0, 0)), turn, crossed, 0.0)
    variances = parameters[data.wide]
    inner = np.eye(c - p) + variances[:, None] * crossed[:, p:, p:]
    inverse = np.linalg.inv(inner)
    spread = inverse * variances
    turn = turn.copy()
    turn[:, p:, :p] = -spread @ crossed[:, p:, :p]
    turn[:, p:, p:] = inverse
    logdet = float(np.linalg.slogdet(inner)[1].sum())
    return Elimination(spread, turn, crossed @ turn, logdet)
