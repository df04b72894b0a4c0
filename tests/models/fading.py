"""A small model of plots seen on unequal days, whole and in stacks, that tests share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.linalg import block_diag

from wintersward.models.blocks import Stack, Stacks
from wintersward.models.pieces import Linear
from wintersward.models.space import Space

Floats = np.ndarray


@dataclass(frozen=True)
class Fading:
    """A covariance t0 exp(-t1 gap): two parameters, one of them not linear."""

    gaps: Floats

    @property
    def count(self) -> int:
        return 2

    def covariance(self, parameters: Floats) -> Floats:
        return parameters[0] * np.exp(-parameters[1] * self.gaps)

    def first(self, parameters: Floats) -> list[Floats]:
        fade = np.exp(-parameters[1] * self.gaps)
        return [fade, -parameters[0] * self.gaps * fade]

    def second(self, parameters: Floats) -> dict[tuple[int, int], Floats]:
        fade = np.exp(-parameters[1] * self.gaps)
        return {(0, 1): -self.gaps * fade, (1, 1): parameters[0] * self.gaps**2 * fade}


def fading_stacks() -> Stacks:
    """Two stacks of plots seen on unequal days, with a shared plot term and a residual."""
    rng = np.random.default_rng(5)
    stacks = []
    for blocks, days in [(3, np.array([0.0, 2.0, 7.0, 9.0])), (2, np.array([0.0, 5.0, 6.0]))]:
        gaps = np.abs(days[:, None] - days[None, :])
        many = (blocks, len(days), len(days))
        x = np.stack([np.column_stack([np.ones(len(days)), days])] * blocks)
        pieces = (
            Linear(np.ones(many)),
            Fading(np.broadcast_to(gaps, many)),
            Linear(np.broadcast_to(np.eye(len(days)), many)),
        )
        y, none = rng.normal(size=many[:2]) * 2, np.zeros((*many[:2], 0))
        group = np.zeros(blocks, dtype=np.intp)
        stacks.append(Stack(x, y, none, group, pieces, SHARES))
    return Stacks(tuple(stacks), (), 18, 2, Space(1, 3), np.zeros(0, dtype=np.intp), 1)


def dense(data: Stacks, theta: Floats) -> tuple[Floats, list[Floats], Floats, Floats]:
    """The same model as whole matrices: V, its derivatives, X, y."""
    v: list[Floats] = []
    firsts: list[list[Floats]] = [[] for _ in theta]
    xs, ys = [], []
    for stack in data.stacks:
        own = [
            piece.covariance(theta[part]) for piece, part in zip(stack.pieces, SHARES, strict=True)
        ]
        shapes = [
            d
            for piece, part in zip(stack.pieces, SHARES, strict=True)
            for d in piece.first(theta[part])
        ]
        for b in range(len(stack.x)):
            v.append(sum(o[b] for o in own))
            xs.append(stack.x[b])
            ys.append(stack.y[b])
            for i, d in enumerate(shapes):
                firsts[i].append(d[b])
    return block_diag(*v), [block_diag(*f) for f in firsts], np.vstack(xs), np.concatenate(ys)


SHARES = (slice(0, 1), slice(1, 3), slice(3, 4))
THETA = np.array([0.4, 1.3, 0.2, 0.6])


def slope(function: Callable[[Floats], Floats | float], theta: Floats) -> Floats:
    """Derivative by central differences, one row a parameter."""
    steps = 1e-5 * np.eye(len(theta))
    rows = [
        (np.asarray(function(theta + s)) - np.asarray(function(theta - s))) / 2e-5 for s in steps
    ]
    return np.array(rows)
