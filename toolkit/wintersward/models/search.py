"""The search for the parameters at which the criterion is largest.

Notes
-----
Variances are bounded at zero in their natural scale, a correlation at both ends. A Newton search
over the parameters that are not held at a bound, by the scoring step where the criterion is not
concave, climbs from each start. Where that comes to rest on a slope, and always with a correlation
or several residual variances, whose criterion is rugged, a bounded quasi-Newton search comes near
first. With unbalanced data, and with correlated residuals, there can be more than one top; so
searches begin at several places, and one that comes near a top that is known already stops there.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from wintersward.models.blocks import Stacks
from wintersward.models.curvature import curvature
from wintersward.models.reml import Curvature, Maximum, Point, evaluate
from wintersward.models.space import Space

__all__ = ["maximise"]

Floats = NDArray[np.float64]
_STEP = 1e-9
_ROUNDS = 100
_ROUGH = 0.02


def maximise(data: Stacks) -> Maximum:
    """Find the parameters at which the criterion is largest.

    Parameters
    ----------
    data : Stacks
        Data scaled so that the ordinary least squares residual variance is 1.

    Returns
    -------
    Maximum
        The best of the searches from every start, and the other tops at which some ended.
    """
    tops: list[Maximum] = []
    rugged = data.space.serial is not None or data.space.levels > 1
    for start in data.space.starts():
        found = None if rugged else _newton(data, start, tops)
        if rugged or (found is not None and not _at_rest(data.space, found)):
            near = _near(data, start, tops)
            found = _newton(data, near, tops)
        if found is not None:
            tops.append(found)
    tops.sort(key=lambda top: top.point.deviance)
    best = tops[0]
    lower = [top.point for top in tops[1:] if _is_top(data.space, top)]
    rivals = [point for point in lower if point.deviance > best.point.deviance + _ROUGH]
    return replace(best, rivals=tuple(rivals))


def _near(data: Stacks, start: Floats, tops: list[Maximum]) -> Floats:
    """Come near the top that a start leads to; stop early where that is known already."""
    if len(start) == 1:
        return start
    worst = evaluate(data, start).deviance

    def criterion(parameters: Floats) -> tuple[float, Floats]:
        try:
            point = evaluate(data, parameters)
        except np.linalg.LinAlgError:
            # So near a singular covariance that rounding decides; the search turns back.
            return abs(worst) * 10.0 + 1e6, np.zeros(len(start))
        return point.deviance, point.gradient

    def arrived(parameters: Floats) -> None:
        if _known(data.space, parameters, tops):
            raise StopIteration

    search = optimize.minimize(
        criterion,
        start,
        method="L-BFGS-B",
        jac=True,
        bounds=list(zip(data.space.lowest, data.space.highest, strict=True)),
        callback=arrived,
        options={"maxiter": 200, "ftol": 1e-6, "gtol": 1e-3},
    )
    return np.asarray(search.x)


def _known(space: Space, near: Floats, tops: list[Maximum]) -> bool:
    """Tell whether a place is next to a top."""
    for top in tops:
        there = top.point.parameters
        size = np.append(1.0 + there[: space.variances], 1.0 - there[space.variances :])
        if (np.abs(near - there) < _ROUGH * size).all():
            return True
    return False


def _is_top(space: Space, found: Maximum) -> bool:
    """Tell a top from a place where a search merely stopped."""
    if not found.converged:
        return False
    free = ~_held(space, found.point)
    matrix = found.curvature.observed[np.ix_(free, free)]
    size = _sizes(np.diag(matrix))
    return bool(np.linalg.eigvalsh(matrix / np.outer(size, size)).min(initial=1.0) > 0)


def _held(space: Space, point: Point) -> NDArray[np.bool_]:
    """Tell which parameters stay at a bound because the criterion falls on this side of it."""
    low = (point.parameters <= space.lowest) & (point.gradient > 0)
    return low | ((point.parameters >= space.highest) & (point.gradient < 0))


def _at_rest(space: Space, found: Maximum) -> bool:
    """Tell whether the criterion is level in every direction that is not against a bound."""
    free = ~_held(space, found.point)
    size = _sizes(np.diag(found.curvature.expected))
    return found.converged and bool(
        (np.abs(found.point.gradient) / size)[free].max(initial=0) < 1e-3
    )


def _newton(data: Stacks, start: Floats, tops: list[Maximum]) -> Maximum | None:
    """Climb from a start; None where that leads to a top that is known."""
    space = data.space
    point = evaluate(data, np.clip(start, space.lowest, space.highest))
    for _ in range(_ROUNDS):
        if _known(space, point.parameters, tops):
            return None
        second = curvature(data, point)
        free = np.flatnonzero(~_held(space, point))
        if not free.size:
            return Maximum(point, second, True)
        step = _direction(second, point.gradient / 2.0, free)
        nearer, moved = _backtrack(data, point, step)
        small = moved <= _STEP * np.maximum(np.abs(point.parameters), space.steps)
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
    size = _sizes(np.diag(second.expected)[free])
    matrix = second.observed[np.ix_(free, free)] / np.outer(size, size)
    if np.linalg.eigvalsh(matrix)[0] < 1e-8:
        matrix = second.expected[np.ix_(free, free)] / np.outer(size, size)
    step[free] = -np.linalg.lstsq(matrix, gradient[free] / size, rcond=1e-12)[0] / size
    return step


def _sizes(information: Floats) -> Floats:
    """Give the root of each parameter's own information; 1 where the data hold none."""
    return np.sqrt(np.where(information == 0, 1.0, np.abs(information)))


def _backtrack(data: Stacks, point: Point, step: Floats) -> tuple[Point, Floats]:
    """Shorten the step until the criterion does not get worse by more than its rounding."""
    slack = 1e-9 * (1.0 + abs(point.deviance))
    lowest, highest = data.space.lowest, data.space.highest
    for halvings in range(40):
        theta = np.clip(point.parameters + step * 0.5**halvings, lowest, highest)
        try:
            nearer = evaluate(data, theta)
        except np.linalg.LinAlgError:
            continue
        if nearer.deviance <= point.deviance + slack:
            return nearer, np.abs(theta - point.parameters)
    return point, np.zeros(len(step))
