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

Everything is summed over the blocks of V. Variances are bounded at zero in their natural scale:
a bounded quasi-Newton search comes near, a Newton search over the variances that are not held
at zero finishes.

References
----------
Patterson, H. D. and Thompson, R. (1971). Recovery of inter-block information when block sizes
are unequal. Biometrika 58, 545-554. doi:10.1093/biomet/58.3.545
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from wintersward.models.blocks import Stack, Stacks

__all__ = ["Curvature", "Maximum", "Point", "curvature", "evaluate", "maximise"]

Floats = NDArray[np.float64]
_FLOOR = 1e-9
_STEP = 1e-9
_ROUNDS = 100
_ROUGH = 0.02


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
    inverses : tuple of (B, r, r) float
        V^-1 of each stack.
    """

    parameters: Floats
    deviance: float
    gradient: Floats
    coefficients: Floats
    phi: Floats
    slopes: Floats
    inverses: tuple[Floats, ...]


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
    """

    point: Point
    curvature: Curvature
    converged: bool


def _slices(stack: Stack) -> list[slice]:
    edges = np.cumsum([0, *(piece.count for piece in stack.pieces)])
    return [slice(a, b) for a, b in zip(edges[:-1], edges[1:], strict=True)]


def _firsts(stack: Stack, parameters: Floats) -> list[Floats]:
    own = zip(stack.pieces, _slices(stack), strict=True)
    return [matrix for piece, part in own for matrix in piece.first(parameters[part])]


def _inverse(stack: Stack, parameters: Floats) -> tuple[Floats, float]:
    own = zip(stack.pieces, _slices(stack), strict=True)
    total = sum(piece.covariance(parameters[part]) for piece, part in own)
    lower = np.linalg.cholesky(np.asarray(total))
    logdet = 2.0 * float(np.log(np.diagonal(lower, axis1=1, axis2=2)).sum())
    half = np.linalg.inv(lower)
    return half.transpose(0, 2, 1) @ half, logdet


def _crossed(left: Floats, right: Floats) -> Floats:
    """Sum left'right over the blocks of a stack."""
    columns = left.shape[2]
    return np.asarray(left.reshape(-1, columns).T @ right.reshape(-1, right.shape[2]))


def _times(matrix: Floats, vector: Floats) -> Floats:
    """Multiply each block's matrix and vector."""
    return np.asarray((matrix @ vector[..., None])[..., 0])


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
    p, k = data.columns, data.parameters
    inverses, information, moment, square = [], np.zeros((p, p)), np.zeros(p), 0.0
    logdet, trace, quadratic = 0.0, np.zeros(k), np.zeros(k)
    for rest in data.rests:
        variance = parameters[rest.parameter]
        logdet += rest.count * float(np.log(variance))
        square += rest.squares / variance
        trace[rest.parameter] += rest.count / variance
        quadratic[rest.parameter] += rest.squares / variance**2
    for stack in data.stacks:
        inverse, part = _inverse(stack, parameters)
        weighted = inverse @ stack.x
        inverses.append(inverse)
        logdet += part
        information += _crossed(stack.x, weighted)
        moment += _crossed(weighted, stack.y[..., None])[:, 0]
    lower = np.linalg.cholesky(information)
    half = np.linalg.inv(lower)
    phi = half.T @ half
    coefficients = phi @ moment
    slopes = np.zeros((k, p, p))
    for stack, inverse in zip(data.stacks, inverses, strict=True):
        weighted = inverse @ stack.x
        left = stack.y - stack.x @ coefficients
        reduced = _times(inverse, left)
        square += float((left * reduced).sum())
        for i, matrix in enumerate(_firsts(stack, parameters)):
            trace[i] += float((inverse * matrix).sum())
            quadratic[i] += float((reduced * _times(matrix, reduced)).sum())
            slopes[i] += _crossed(weighted, matrix @ weighted)
    deviance = logdet + 2.0 * float(np.log(np.diag(lower)).sum()) + square
    gradient = trace - (slopes * phi).sum(axis=(1, 2)) - quadratic
    return Point(parameters, float(deviance), gradient, coefficients, phi, slopes, tuple(inverses))


def curvature(data: Stacks, point: Point) -> Curvature:
    """Compute expected and observed information and the pieces of the Kenward-Roger formulas.

    Parameters
    ----------
    data : Stacks
        From `stack_blocks`.
    point : Point
        From `evaluate`, of the same data.

    Returns
    -------
    Curvature
    """
    p, k, theta = data.columns, data.parameters, point.parameters
    traces, squares, bent = np.zeros((k, k)), np.zeros((k, k)), np.zeros((k, k))
    products, bends, pulls = np.zeros((k, k, p, p)), np.zeros((k, k, p, p)), np.zeros((k, p))
    for rest in data.rests:
        e = rest.parameter
        traces[e, e] += rest.count / theta[e] ** 2
        squares[e, e] += rest.squares / theta[e] ** 3
    for stack, inverse in zip(data.stacks, point.inverses, strict=True):
        weighted = inverse @ stack.x
        reduced = _times(inverse, stack.y - stack.x @ point.coefficients)
        firsts = _firsts(stack, theta)
        spread = [inverse @ matrix for matrix in firsts]
        pushed = [matrix @ weighted for matrix in firsts]
        moved = [_times(matrix, reduced) for matrix in firsts]
        for i in range(k):
            pulls[i] += _crossed(weighted, moved[i][..., None])[:, 0]
            turned = spread[i].transpose(0, 2, 1)
            for j in range(i, k):
                traces[i, j] += float((turned * spread[j]).sum())
                squares[i, j] += float((moved[i] * _times(inverse, moved[j])).sum())
                products[i, j] += _crossed(pushed[i], inverse @ pushed[j])
        _add_seconds(stack, theta, inverse, weighted, reduced, bends, bent)
    for i in range(k):
        for j in range(i):
            traces[i, j], squares[i, j], bent[i, j] = traces[j, i], squares[j, i], bent[j, i]
            products[i, j], bends[i, j] = products[j, i].T, bends[j, i]
    scaled = np.array([slope @ point.phi for slope in point.slopes])
    expected = 0.5 * (
        traces
        - 2.0 * np.einsum("ijpq,qp->ij", products, point.phi)
        + np.einsum("ipq,jqp->ij", scaled, scaled)
    )
    quadratic = squares - pulls @ point.phi @ pulls.T
    bending = 0.5 * (bent - np.einsum("ijpq,qp->ij", bends, point.phi))
    return Curvature(expected, quadratic - expected + bending, products, bends)


def _add_seconds(
    stack: Stack,
    theta: Floats,
    inverse: Floats,
    weighted: Floats,
    reduced: Floats,
    bends: Floats,
    bent: Floats,
) -> None:
    """Add the terms of the second derivatives: tr(V^-1 V_ij) - y'P V_ij P y and X'..X."""
    for piece, part in zip(stack.pieces, _slices(stack), strict=True):
        for (a, b), matrix in piece.second(theta[part]).items():
            i, j = part.start + a, part.start + b
            bends[i, j] += _crossed(weighted, matrix @ weighted)
            bent[i, j] += float((inverse * matrix).sum())
            bent[i, j] -= float((reduced * _times(matrix, reduced)).sum())


def maximise(data: Stacks) -> Maximum:
    """Find the variances at which the criterion is largest.

    Parameters
    ----------
    data : Stacks
        Data scaled so that the ordinary least squares residual variance is 1; the last parameter
        is the residual variance, the others are variances of at least 0.

    Returns
    -------
    Maximum
        The best of the searches from every start; with unbalanced data the criterion can have
        more than one top, most often one of them at a variance of zero.
    """
    lowest = np.zeros(data.parameters)
    lowest[-1] = _FLOOR

    def criterion(parameters: Floats) -> tuple[float, Floats]:
        point = evaluate(data, parameters)
        return point.deviance, point.gradient

    found = []
    for start in _starts(data):
        near = start
        if len(start) > 1:
            search = optimize.minimize(
                criterion,
                start,
                method="L-BFGS-B",
                jac=True,
                bounds=[(low, None) for low in lowest],
                options={"maxiter": 200, "ftol": 1e-6, "gtol": 1e-3},
            )
            near = search.x
        found.append((criterion(near)[0], near))
    found.sort(key=lambda pair: pair[0])
    tops = [_newton(data, found[0][1], lowest)]
    for height, near in found[1:]:
        hopeless = height > tops[0].point.deviance + _ROUGH
        known = any(np.abs(near - top.point.parameters).max() < _ROUGH for top in tops)
        if not (hopeless or known):
            tops.append(_newton(data, near, lowest))
    return min(tops, key=lambda top: top.point.deviance)


def _starts(data: Stacks) -> list[Floats]:
    """Give starts: equal shares; then the residual, each random term, or all of them large."""
    k = data.parameters
    if k == 1:
        return [np.ones(1)]
    large = [{k - 1}, *({i} for i in range(k - 1))]
    if k > 2:
        large.append(set(range(k - 1)))
    starts = [np.full(k, 1.0 / k)]
    for chosen in large:
        start = np.array([1.0 if i in chosen else 0.02 for i in range(k)])
        start[-1] = max(start[-1], 0.1)
        starts.append(start)
    return starts


def _newton(data: Stacks, start: Floats, lowest: Floats) -> Maximum:
    point = evaluate(data, np.maximum(start, lowest))
    for _ in range(_ROUNDS):
        second = curvature(data, point)
        held = (point.parameters <= lowest) & (point.gradient > 0)
        free = np.flatnonzero(~held)
        if not free.size:
            return Maximum(point, second, True)
        step = _direction(second, point.gradient / 2.0, free)
        nearer, moved = _backtrack(data, point, step, lowest)
        small = moved <= _STEP * np.maximum(point.parameters, lowest[-1])
        point = nearer
        if small.all():
            return Maximum(point, curvature(data, point), True)
    return Maximum(point, curvature(data, point), False)


def _direction(second: Curvature, gradient: Floats, free: NDArray[np.intp]) -> Floats:
    """Newton's step where the observed information is positive definite, else the scoring step.

    Variances may differ by many orders, so the system is solved in units of each one's own
    information.
    """
    step = np.zeros(len(gradient))
    size = np.sqrt(np.abs(np.diag(second.expected)[free])) + 1e-300
    matrix = second.observed[np.ix_(free, free)] / np.outer(size, size)
    if np.linalg.eigvalsh(matrix)[0] < 1e-8:
        matrix = second.expected[np.ix_(free, free)] / np.outer(size, size)
    step[free] = -np.linalg.lstsq(matrix, gradient[free] / size, rcond=1e-12)[0] / size
    return step


def _backtrack(data: Stacks, point: Point, step: Floats, lowest: Floats) -> tuple[Point, Floats]:
    """Shorten the step until the criterion does not get worse by more than its rounding."""
    slack = 1e-9 * (1.0 + abs(point.deviance))
    for halvings in range(40):
        theta = np.maximum(point.parameters + step * 0.5**halvings, lowest)
        nearer = evaluate(data, theta)
        if nearer.deviance <= point.deviance + slack:
            return nearer, np.abs(theta - point.parameters)
    return point, np.zeros(len(step))
