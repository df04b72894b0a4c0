"""Second derivatives of the criterion, its information, and what Kenward-Roger needs.

Notes
-----
In the words of `elimination`, for parts V_i within blocks and A = [X Z],

    A'V^-1 V_i V^-1 A        = U' S_i U,                       S_i  = w'V_i w
    A'V^-1 V_i V^-1 V_j V^-1 A = U' (N_ij - S_i J S_j) U,      N_ij = w'V_i B^-1 V_j w
    tr(V^-1 V_i V^-1 V_j)    = tr(B^-1 V_i B^-1 V_j) - 2 tr(J N_ij) + tr(J S_i J S_j),

where J meets the columns of Z. A wide term has V_i = Z_i Z_i', so that its products are rows and
columns of the others.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintersward.models.blocks import Stacks
from wintersward.models.elimination import firsts, gathered, times
from wintersward.models.reml import Curvature, Point, Solution

__all__ = ["curvature", "outward"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class _Within:
    """Products of the derivatives within blocks, by parameter, one entry a stack."""

    spread: dict[int, list[Floats]]
    pushed: dict[int, list[Floats]]
    solved: dict[int, list[Floats]]
    moved: dict[int, list[Floats]]
    back: dict[int, list[Floats]]


@dataclass(frozen=True)
class _Reach:
    """S_i and w'V_i P y as summed over blocks, and the same for V in place of B."""

    raw: Floats
    raw_push: Floats
    turned: Floats
    push: Floats


@dataclass(frozen=True)
class _Second:
    """Sums over pairs of parameters, the fixed part not yet taken out."""

    traces: Floats
    squares: Floats
    products: Floats
    bends: Floats
    bent: Floats


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
    p, solution = data.columns, _solution(point)
    sums, reach = _sums(data, point, None)
    _add_seconds(data, point.parameters, solution, sums)
    _mirror(sums)
    expected = _expected(sums, point.slopes, point.phi)
    pulls = reach.push[:, :, :p].sum(axis=1)
    quadratic = sums.squares - pulls @ point.phi @ pulls.T
    bending = 0.5 * (sums.bent - np.einsum("ijpq,qp->ij", sums.bends, point.phi))
    return Curvature(expected, quadratic - expected + bending, sums.products, sums.bends)


def outward(data: Stacks, point: Point, spread: Floats) -> Floats:
    """Average the second derivatives of V, less what the first derivatives make up of them.

    Parameters
    ----------
    data : Stacks
        From `stack_blocks`.
    point : Point
        From `evaluate`, of the same data.
    spread : (k, k) float
        Weights W_ij, the covariance of the parameters.

    Returns
    -------
    (p, p) float
        X'V^-1 N V^-1 X with N = M - sum_i c_i V_i, where M = sum_ij W_ij V_ij and c solves
        sum_j tr(P V_i P V_j) c_j = tr(P V_i P M).

    Notes
    -----
    N does not depend on how the parameters are chosen, and is zero where V is linear in some.
    """
    k, p = data.parameters, data.columns
    mixed = []
    for stack, own in zip(data.stacks, _solution(point).inside, strict=True):
        total = np.zeros_like(own.inverse)
        for piece, share in zip(stack.pieces, stack.shares, strict=True):
            for (a, b), matrix in piece.second(point.parameters[share]).items():
                weight = spread[share.start + a, share.start + b]
                total += (weight if a == b else 2.0 * weight) * matrix
        mixed.append(total)
    sums, reach = _sums(data, point, mixed)
    _mirror(sums)
    slopes = reach.turned[:, :, :p, :p].sum(axis=1)
    whole = _expected(sums, slopes, point.phi)
    made_up = np.linalg.lstsq(whole[:k, :k], whole[:k, k], rcond=1e-12)[0]
    return np.asarray(slopes[k] - np.einsum("i,ipq->pq", made_up, slopes[:k]))


def _solution(point: Point) -> Solution:
    if point.solution is None:
        raise ValueError("the point was not made by evaluate")
    return point.solution


def _sums(data: Stacks, point: Point, extra: list[Floats] | None) -> tuple[_Second, _Reach]:
    """Sum over pairs of derivatives; an extra matrix in each stack counts as one more."""
    p, k = data.columns, data.parameters + (extra is not None)
    solution, theta = _solution(point), point.parameters
    parts = [firsts(stack, theta) for stack in data.stacks]
    if extra is not None:
        parts = [[*own, (k - 1, mixed)] for own, mixed in zip(parts, extra, strict=True)]
    within = _within(parts, solution)
    reach = _reach(data, k, within, solution)
    pairs, products = np.zeros((3, k, k)), np.zeros((2, k, k, p, p))
    sums = _Second(pairs[0], pairs[1], products[0], products[1], pairs[2])
    _add_rests(data, theta, sums)
    _add_within(data, within, reach, solution, sums)
    _add_wide(data, reach, solution, sums)
    return sums, reach


def _mirror(sums: _Second) -> None:
    """Fill the lower triangles."""
    for i in range(len(sums.traces)):
        for j in range(i):
            for square in (sums.traces, sums.squares, sums.bent):
                square[i, j] = square[j, i]
            sums.products[i, j], sums.bends[i, j] = sums.products[j, i].T, sums.bends[j, i]


def _expected(sums: _Second, slopes: Floats, phi: Floats) -> Floats:
    """Give tr(P V_i P V_j) / 2."""
    scaled = slopes @ phi
    crossed = np.einsum("ijpq,qp->ij", sums.products, phi)
    both = np.einsum("ipq,jqp->ij", scaled, scaled)
    return np.asarray(0.5 * (sums.traces - 2.0 * crossed + both))


def _within(parts: list[list[tuple[int, Floats]]], solution: Solution) -> _Within:
    found = _Within({}, {}, {}, {}, {})
    for part, own, reduced in zip(parts, solution.inside, solution.reduced, strict=True):
        for i, matrix in part:
            pushed, moved = matrix @ own.weighted, times(matrix, reduced)
            found.spread.setdefault(i, []).append(own.inverse @ matrix)
            found.pushed.setdefault(i, []).append(pushed)
            found.solved.setdefault(i, []).append(own.inverse @ pushed)
            found.moved.setdefault(i, []).append(moved)
            found.back.setdefault(i, []).append(times(own.inverse, moved))
    return found


def _reach(data: Stacks, k: int, within: _Within, solution: Solution) -> _Reach:
    p, groups = data.columns, data.groups
    c, across = p + len(data.wide), solution.across
    raw, push = np.zeros((k, groups, c, c)), np.zeros((k, groups, c))
    for i in within.pushed:
        for s, (stack, own) in enumerate(zip(data.stacks, solution.inside, strict=True)):
            raw[i] += gathered(data, stack, own.weighted, within.pushed[i][s])
            push[i] += gathered(data, stack, own.weighted, within.moved[i][s])
    if c == p:
        return _Reach(raw, push, raw, push)
    back = across.turn.transpose(0, 2, 1)
    turned, turned_push = back @ raw @ across.turn, (back @ push[..., None])[..., 0]
    for i in np.unique(data.wide):
        columns = np.flatnonzero(data.wide == i)
        side = across.solved[:, :, p + columns]
        turned[i] = side @ side.transpose(0, 2, 1)
        turned_push[i] = times(side, solution.pull[:, columns])
    return _Reach(raw, push, turned, turned_push)


def _add_rests(data: Stacks, theta: Floats, sums: _Second) -> None:
    for rest in data.rests:
        e = rest.parameter
        sums.traces[e, e] += rest.count / theta[e] ** 2
        sums.squares[e, e] += rest.squares / theta[e] ** 3


def _add_within(
    data: Stacks, within: _Within, reach: _Reach, solution: Solution, sums: _Second
) -> None:
    """Add the pairs of parameters that both lie within blocks."""
    p, across = data.columns, solution.across
    indices = sorted(within.pushed)
    twice = {i: (across.spread @ reach.raw[i][:, p:, p:]) for i in indices}
    for place, i in enumerate(indices):
        spread = [matrix.transpose(0, 2, 1) for matrix in within.spread[i]]
        for j in indices[place:]:
            inner = np.zeros_like(reach.raw[i])
            for s, stack in enumerate(data.stacks):
                trace = float((spread[s] * within.spread[j][s]).sum())
                sums.traces[i, j] += trace * stack.weight(spread[s])
                sums.squares[i, j] += float((within.moved[i][s] * within.back[j][s]).sum())
                inner += gathered(data, stack, within.pushed[i][s], within.solved[j][s])
            if len(data.wide):
                crossed = float((across.spread * inner[:, p:, p:]).sum())
                both = float((twice[i] * twice[j].transpose(0, 2, 1)).sum())
                sums.traces[i, j] += both - 2.0 * crossed
                pulled = times(across.spread, reach.raw_push[j][:, p:])
                sums.squares[i, j] -= float((reach.raw_push[i][:, p:] * pulled).sum())
                inner -= reach.raw[i][:, :, p:] @ across.spread @ reach.raw[j][:, p:]
            turn = across.turn[:, :, :p]
            sums.products[i, j] += (turn.transpose(0, 2, 1) @ inner @ turn).sum(axis=0)


def _add_wide(data: Stacks, reach: _Reach, solution: Solution, sums: _Second) -> None:
    """Add the pairs of which at least one is a wide term, smaller index first."""
    p = data.columns
    for i in np.unique(data.wide):
        own = np.flatnonzero(data.wide == i)
        columns, pull = p + own, solution.pull[:, own]
        for j in range(len(sums.traces)):
            if j in data.wide and j < i:
                continue
            low, high = min(i, j), max(i, j)
            sums.traces[low, high] = np.einsum("gll->", reach.turned[j][:, columns][:, :, columns])
            sums.squares[low, high] = float((pull * reach.push[j][:, columns]).sum())
            side = solution.across.solved[:, :p, columns]
            product = (side @ reach.turned[j][:, columns, :p]).sum(axis=0)
            sums.products[low, high] = product if i <= j else product.T


def _add_seconds(data: Stacks, theta: Floats, solution: Solution, sums: _Second) -> None:
    """Add the terms of the second derivatives: tr(V^-1 V_ij) - y'P V_ij P y and X'..X."""
    p, across = data.columns, solution.across
    for stack, own, reduced in zip(data.stacks, solution.inside, solution.reduced, strict=True):
        for piece, share in zip(stack.pieces, stack.shares, strict=True):
            for (a, b), matrix in piece.second(theta[share]).items():
                i, j = share.start + a, share.start + b
                bend = gathered(data, stack, own.weighted, matrix @ own.weighted)
                turn = across.turn[:, :, :p]
                sums.bends[i, j] += (turn.transpose(0, 2, 1) @ bend @ turn).sum(axis=0)
                sums.bent[i, j] += float((own.inverse * matrix).sum()) * stack.weight(matrix)
                sums.bent[i, j] -= float((across.spread * bend[:, p:, p:]).sum())
                sums.bent[i, j] -= float((reduced * times(matrix, reduced)).sum())
