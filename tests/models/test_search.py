from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from scipy import optimize

from wintersward.models.blocks import Stacks, stack_blocks
from wintersward.models.grouping import Grouping
from wintersward.models.reml import evaluate
from wintersward.models.search import maximise

Floats = np.ndarray


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
        (rival,) = top.rivals
        np.testing.assert_allclose(rival.parameters, lower.parameters, atol=1e-6)
