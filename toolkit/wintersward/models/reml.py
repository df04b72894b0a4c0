"""Residual (restricted) maximum likelihood for a covariance that is a sum of parts.

Notes
-----
For y ~ N(X b, V) with V depending on parameters t, the criterion of Patterson and Thompson is

    -2 l = (n - p) log 2 pi + log|V| + log|X'V^-1 X| + y'P y,
    P = V^-1 - V^-1 X (X'V^-1 X)^-1 X'V^-1.

With V_i the derivative of V by t_i and V_ij the second derivative,

    d(-2 l)/dt_i          = tr(P V_i) - y'P V_i P y
    d2(-2 l)/dt_i dt_j    = -tr(P V_i P V_j) + 2 y'P V_i P V_j P y + tr(P V_ij) - y'P V_ij P y
    expected information  = tr(P V_i P V_j) / 2.

Everything is summed over the blocks of V; random terms that reach across blocks are taken out as
`elimination` tells. With no wide terms the sums below are the plain ones.

References
----------
Patterson, H. D. and Thompson, R. (1971). Recovery of inter-block information when block sizes
are unequal. Biometrika 58, 545-554. doi:10.1093/biomet/58.3.545
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintersward.models.blocks import Stacks
from wintersward.models.elimination import (
    Elimination,
    Inside,
    eliminate,
    firsts,
    gathered,
    invert,
    times,
)

__all__ = ["Curvature", "Maximum", "Point", "Solution", "evaluate"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Solution:
    """What the second-order terms need again.

    Parameters
    ----------
    inside : tuple of Inside
        Each stack, solved.
    across : Elimination
        The wide terms.
    reduced : tuple of (B, r) float
        P y of each stack.
    pull : (G, q) float
        Z'P y.
    """

    inside: tuple[Inside, ...]
    across: Elimination
    reduced: tuple[Floats, ...]
    pull: Floats


@dataclass(frozen=True)
class Point:
    """The criterion at one set of parameters.

    Parameters
    ----------
    parameters : (k,) float
        Where.
    deviance : float
        -2 l without its constant (n - p) log 2 pi.
    gradient : (k,) float
        Derivative of the deviance.
    coefficients : (p,) float
        Generalised least squares estimate b.
    phi : (p, p) float
        Its covariance (X'V^-1 X)^-1.
    slopes : (k, p, p) float
        X'V^-1 V_i V^-1 X.
    solution : Solution or None
        For `curvature`.
    """

    parameters: Floats
    deviance: float
    gradient: Floats
    coefficients: Floats
    phi: Floats
    slopes: Floats
    solution: Solution | None = None


@dataclass(frozen=True)
class Curvature:
    """Second-order terms at one set of parameters.

    Parameters
    ----------
    expected : (k, k) float
        Expected information.
    observed : (k, k) float
        Observed information, the second derivative of -l.
    products : (k, k, p, p) float
        X'V^-1 V_i V^-1 V_j V^-1 X.
    bends : (k, k, p, p) float
        X'V^-1 V_ij V^-1 X; zero where variances enter linearly.
    """

    expected: Floats
    observed: Floats
    products: Floats
    bends: Floats


@dataclass(frozen=True)
class Maximum:
    """Where the search ended.

    Parameters
    ----------
    point : Point
        The criterion there.
    curvature : Curvature
        Second-order terms there.
    converged : bool
        Whether the last Newton step was negligible.
    rivals : tuple of Point
        Lower tops at which other searches ended, the highest first.
    """

    point: Point
    curvature: Curvature
    converged: bool
    rivals: tuple[Point, ...] = ()


def evaluate(data: Stacks, parameters: Floats) -> Point:
    """Compute the criterion and its gradient.

    Parameters
    ----------
    data : Stacks
        From `stack_blocks`.
    parameters : (k,) float
        Parameters of the covariance.

    Returns
    -------
    Point

    Raises
    ------
    numpy.linalg.LinAlgError
        If the covariance is not positive definite there.
    """
    p, c = data.columns, data.columns + len(data.wide)
    inside = tuple(invert(stack, parameters) for stack in data.stacks)
    crossed, moment = np.zeros((data.groups, c, c)), np.zeros((data.groups, c))
    for stack, own in zip(data.stacks, inside, strict=True):
        crossed[:, :p] += gathered(data, stack, stack.x, own.weighted)
        if c > p:
            crossed[:, p:] += gathered(data, stack, stack.z, own.weighted)
        moment += gathered(data, stack, own.weighted, stack.y)
    across = eliminate(data, crossed, parameters)
    lower = np.linalg.cholesky(across.solved[:, :p, :p].sum(axis=0))
    half = np.linalg.inv(lower)
    phi = half.T @ half
    coefficients = phi @ np.einsum("gcp,gc->p", across.turn[:, :, :p], moment)
    reduced, pull, square = _reduced(data, inside, across, coefficients)
    logdet = sum(own.logdet for own in inside) + across.logdet
    trace, quadratic, slopes = _slopes(data, parameters, Solution(inside, across, reduced, pull))
    for rest in data.rests:
        variance = parameters[rest.parameter]
        logdet += rest.count * float(np.log(variance))
        square += rest.squares / variance
        trace[rest.parameter] += rest.count / variance
        quadratic[rest.parameter] += rest.squares / variance**2
    deviance = logdet + 2.0 * float(np.log(np.diag(lower)).sum()) + square
    gradient = trace - (slopes * phi).sum(axis=(1, 2)) - quadratic
    solution = Solution(inside, across, reduced, pull)
    return Point(parameters, float(deviance), gradient, coefficients, phi, slopes, solution)


def _reduced(
    data: Stacks, inside: tuple[Inside, ...], across: Elimination, coefficients: Floats
) -> tuple[tuple[Floats, ...], Floats, float]:
    """Give P y of each stack, Z'P y of each group, and y'P y.

    The wide terms' predictions are taken from the rows first, so that no large numbers cancel.
    """
    p = data.columns
    lefts = [stack.y - stack.x @ coefficients for stack in data.stacks]
    pull = np.zeros((data.groups, len(data.wide)))
    if not len(data.wide):
        reduced = tuple(times(own.inverse, y) for own, y in zip(inside, lefts, strict=True))
        square = sum(float((y * r).sum()) for y, r in zip(lefts, reduced, strict=True))
        return reduced, pull, square
    for stack, own, left in zip(data.stacks, inside, lefts, strict=True):
        pull += gathered(data, stack, own.weighted[:, :, p:], left)
    predicted = times(across.spread, pull)
    found, pull, square = [], np.zeros_like(pull), 0.0
    for stack, own, left in zip(data.stacks, inside, lefts, strict=True):
        left = left - times(stack.z, predicted[stack.group])
        found.append(times(own.inverse, left))
        pull += gathered(data, stack, stack.z, found[-1])
        square += float((left * found[-1]).sum())
    return tuple(found), pull, square + float((predicted * pull).sum())


def _slopes(data: Stacks, parameters: Floats, solution: Solution) -> tuple[Floats, Floats, Floats]:
    """Give tr(V^-1 V_i), y'P V_i P y and X'V^-1 V_i V^-1 X."""
    p, k, across = data.columns, data.parameters, solution.across
    trace, quadratic, slopes = np.zeros(k), np.zeros(k), np.zeros((k, p, p))
    for stack, own, reduced in zip(data.stacks, solution.inside, solution.reduced, strict=True):
        for i, matrix in firsts(stack, parameters):
            trace[i] += float((own.inverse * matrix).sum()) * stack.weight(matrix)
            quadratic[i] += float((reduced * times(matrix, reduced)).sum())
            reach = gathered(data, stack, own.weighted, matrix @ own.weighted)
            if len(data.wide):
                trace[i] -= float((across.spread * reach[:, p:, p:]).sum())
                reach = across.turn.transpose(0, 2, 1) @ reach @ across.turn
            slopes[i] += reach[:, :p, :p].sum(axis=0)
    for i in np.unique(data.wide):
        own_columns = np.flatnonzero(data.wide == i)
        side = across.solved[:, :p, p + own_columns]
        trace[i] = float(across.solved[:, p + own_columns, p + own_columns].sum())
        quadratic[i] = float((solution.pull[:, own_columns] ** 2).sum())
        slopes[i] = np.einsum("gpc,gqc->pq", side, side)
    return trace, quadratic, slopes
