"""What is left of each row beside the fixed part and the predicted random levels.

Notes
-----
With R the covariance of the residuals, Z G Z' that of the random terms and M = Z'R^-1 Z + G^-1,
the residuals are e = y - X b - Z u = R P y, with u = M^-1 Z'R^-1 (y - X b). Their own covariance is

    R P R = R - Z M^-1 Z' - H phi H',    H = X - Z M^-1 Z'R^-1 X,  phi = (X'V^-1 X)^-1.

Without random terms and with one variance its diagonal is the variance times one less leverage.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from wintersward.models.grouping import Grouping, independent_blocks
from wintersward.models.residual import Residual

__all__ = ["Conditional", "conditional"]

Floats = NDArray[np.float64]
Integers = NDArray[np.intp]
_FIXED = 1e-10


@dataclass(frozen=True)
class Conditional:
    """Residuals and how far each may be expected to stray.

    Parameters
    ----------
    residual : (n,) float
        e.
    spread : (n,) float
        Estimated standard deviation of each e; NaN for a row that the model reproduces.
    """

    residual: Floats
    spread: Floats


def conditional(
    basis: Floats,
    left: Floats,
    phi: Floats,
    groupings: Sequence[Grouping],
    residual: Residual,
    parameters: Floats,
) -> Conditional:
    """Compute residuals and their standard deviations, one independent block after another.

    Parameters
    ----------
    basis : (n, p) float
        Fixed part X.
    left : (n,) float
        y - X b.
    phi : (p, p) float
        Covariance of b as if the variances were known.
    groupings : sequence of Grouping
        Random terms.
    residual : Residual
        Of the model.
    parameters : (k,) float
        Variances of the random terms, then the residual's parameters.

    Returns
    -------
    Conditional
    """
    terms = len(groupings)
    active = [(g, v) for g, v in zip(groupings, parameters, strict=False) if v > 0]
    tied = [residual.serial.subject] if residual.serial else []
    found, spread = np.empty(len(left)), np.empty(len(left))
    for rows in independent_blocks([*(g for g, _ in active), *tied], len(left)):
        columns = np.column_stack(
            [basis[rows], left[rows], *(_columns(g, v, rows) for g, v in active)]
        )
        weighted, own = _weighted(columns, rows, residual, parameters[terms:])
        p = basis.shape[1]
        x, z = columns[:, :p], columns[:, p + 1 :]
        system = np.eye(z.shape[1]) + z.T @ weighted[:, p + 1 :]
        half = linalg.solve_triangular(np.linalg.cholesky(system), z.T, lower=True)
        predicted = half.T @ (half @ weighted[:, : p + 1])
        found[rows] = left[rows] - predicted[:, p]
        beside = x - predicted[:, :p]
        variance = own - (half**2).sum(axis=0) - ((beside @ phi) * beside).sum(axis=1)
        spread[rows] = np.sqrt(np.where(variance > _FIXED * own, variance, np.nan))
    return Conditional(found, spread)


def _columns(grouping: Grouping, variance: float, rows: Integers) -> Floats:
    _, places = np.unique(grouping.codes[rows], return_inverse=True)
    return np.asarray(np.sqrt(variance) * np.eye(int(places.max()) + 1)[places.reshape(-1)])


def _weighted(
    columns: Floats, rows: Integers, residual: Residual, parameters: Floats
) -> tuple[Floats, Floats]:
    """Give R^-1 times columns, and the diagonal of R, within one block."""
    own = parameters[residual.codes[rows]]
    if residual.serial is None:
        return columns / own[:, None], own
    weighted = np.empty_like(columns)
    subjects = residual.serial.subject.codes[rows]
    order = np.argsort(subjects, kind="stable")
    for place in np.split(order, np.flatnonzero(np.diff(subjects[order])) + 1):
        matrix = residual.covariance(parameters, [rows[place]])[0]
        weighted[place] = linalg.solve(matrix, columns[place], assume_a="pos")
    return weighted, own
