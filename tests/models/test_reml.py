from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest
from scipy import optimize
from scipy.linalg import block_diag

from wintersward.models.blocks import Linear, Stack, Stacks, stack_blocks
from wintersward.models.grouping import Grouping
from wintersward.models.reml import curvature, evaluate, maximise

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


@pytest.fixture
def fading() -> Stacks:
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
        stacks.append(Stack(x, rng.normal(size=many[:2]) * 2, pieces))
    return Stacks(tuple(stacks), (), 18, 2, 4)


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


def test_gradient(fading: Stacks) -> None:
    expected = slope(lambda theta: evaluate(fading, theta).deviance, THETA)
    np.testing.assert_allclose(evaluate(fading, THETA).gradient, expected, rtol=1e-7, atol=1e-8)


def test_observed_information(fading: Stacks) -> None:
    found = curvature(fading, evaluate(fading, THETA)).observed
    expected = slope(lambda theta: evaluate(fading, theta).gradient / 2, THETA)
    np.testing.assert_allclose(found, expected, rtol=1e-6, atol=1e-7)


def test_expected_information_and_the_pieces(fading: Stacks) -> None:
    v, firsts, x, _ = dense(fading, THETA)
    inverse = np.linalg.inv(v)
    phi = np.linalg.inv(x.T @ inverse @ x)
    p = inverse - inverse @ x @ phi @ x.T @ inverse
    point = evaluate(fading, THETA)
    found = curvature(fading, point)
    expected = [[np.trace(p @ a @ p @ b) / 2 for b in firsts] for a in firsts]
    np.testing.assert_allclose(found.expected, expected, rtol=1e-9)
    np.testing.assert_allclose(point.phi, phi, rtol=1e-10)
    for i, a in enumerate(firsts):
        np.testing.assert_allclose(point.slopes[i], x.T @ inverse @ a @ inverse @ x, rtol=1e-9)
        for j, b in enumerate(firsts):
            product = x.T @ inverse @ a @ inverse @ b @ inverse @ x
            np.testing.assert_allclose(found.products[i, j], product, rtol=1e-9)


def test_second_derivatives_of_the_covariance(fading: Stacks) -> None:
    def firsts(theta: Floats) -> Floats:
        return np.array(dense(fading, theta)[1])

    v, _, x, _ = dense(fading, THETA)
    weighted = np.linalg.solve(v, x)
    bends = slope(firsts, THETA)
    expected = np.einsum("np,ijnm,mq->ijpq", weighted, bends, weighted)
    found = curvature(fading, evaluate(fading, THETA)).bends
    np.testing.assert_allclose(found, expected, atol=1e-7)
    assert np.abs(found[1, 2]).max() > 0.01


def nested(data: pd.DataFrame) -> Stacks:
    x = np.column_stack([np.ones(len(data)), data["tine"] == "solid", data["cover"] == "woven"])
    y = data["green"].to_numpy()
    x = np.linalg.qr(x.astype(float))[0]
    left = y - x @ (x.T @ y)
    left /= np.sqrt(left @ left / (len(y) - 3))
    codes = [data.groupby(term).ngroup().to_numpy() for term in (["block"], ["block", "cover"])]
    return stack_blocks(x, left, [Grouping("g", c, int(c.max()) + 1) for c in codes])


class TestMaximise:
    @pytest.mark.parametrize("seed", range(12))
    def test_no_start_finds_better(
        self, seed: int, make_trial: Callable[..., pd.DataFrame]
    ) -> None:
        rng = np.random.default_rng(seed)
        whole = make_trial(seed)
        data = nested(whole.sample(frac=0.8, random_state=seed).reset_index(drop=True))
        top = maximise(data)
        assert top.converged
        point = top.point
        inside = point.parameters > 0
        np.testing.assert_allclose(point.gradient[inside] * point.parameters[inside], 0, atol=1e-7)
        assert (point.gradient[~inside] >= 0).all()

        def criterion(theta: Floats) -> tuple[float, Floats]:
            there = evaluate(data, theta)
            return there.deviance, there.gradient

        for _ in range(4):
            start = rng.uniform(0.01, 1.5, 3)
            other = optimize.minimize(
                criterion, start, jac=True, bounds=[(0, None), (0, None), (1e-8, None)]
            )
            assert point.deviance <= other.fun + 1e-9

    def test_a_variance_of_zero_is_zero(self, make_trial: Callable[..., pd.DataFrame]) -> None:
        data = make_trial(3)
        # Blocks made equal: less variation among them than chance would leave.
        data["green"] -= data.groupby("block")["green"].transform("mean")
        point = maximise(nested(data)).point
        assert point.parameters[0] == 0.0
        assert point.gradient[0] > 0

    def test_variances_orders_apart(self, trial: pd.DataFrame) -> None:
        jump = trial.groupby("block").ngroup() * 1e4
        top = maximise(nested(trial.assign(green=trial["green"] + jump)))
        assert top.converged
        assert top.point.parameters[0] / top.point.parameters[2] > 1e6
        np.testing.assert_allclose(top.point.gradient * top.point.parameters, 0, atol=1e-6)

    def test_of_two_tops_the_higher_is_taken(self) -> None:
        """Eight rows, two crossed terms: one top has no variance of the first, one has plenty."""
        first, second = np.array([0, 2, 2, 1, 0, 2, 0, 1]), np.array([2, 1, 3, 0, 1, 1, 2, 1])
        y = np.array([-5.6, -6.2, -5.8, -11.0, -3.8, -6.9, -4.5, 0.7])
        left = (y - y.mean()) / y.std(ddof=1)
        groups = [Grouping("first", first, 3), Grouping("second", second, 4)]
        data = stack_blocks(np.full((8, 1), 8**-0.5), left, groups)
        lower = evaluate(data, np.array([0.0, 0.10459318, 0.92377822]))
        np.testing.assert_allclose(lower.gradient[1:], 0, atol=1e-6)
        assert lower.gradient[0] > 0
        top = maximise(data)
        assert top.point.deviance < lower.deviance - 0.8
        assert (top.point.parameters > 0.01).all()
