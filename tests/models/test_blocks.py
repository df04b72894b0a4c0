from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from wintersward.models.blocks import stack_blocks
from wintersward.models.grouping import Grouping
from wintersward.models.reml import evaluate


def groupings(data: pd.DataFrame, *terms: list[str]) -> list[Grouping]:
    codes = [data.groupby(term).ngroup().to_numpy() for term in terms]
    return [
        Grouping(":".join(term), code, int(code.max()) + 1)
        for term, code in zip(terms, codes, strict=True)
    ]


def test_equal_blocks_are_stacked(trial: pd.DataFrame) -> None:
    x = np.column_stack([np.ones(24), trial["tine"] == "solid"])
    made = stack_blocks(x, trial["green"].to_numpy(), groupings(trial, ["block"]))
    (stack,) = made.stacks
    assert stack.x.shape == (4, 2, 2)
    assert made.parameters == 2
    (rest,) = made.rests
    assert (rest.parameter, rest.count) == (1, 24 - 8)


def test_unequal_blocks_are_kept_apart(trial: pd.DataFrame) -> None:
    x = np.column_stack([np.ones(23), trial["sun"][1:], trial["green"][1:] ** 2])
    made = stack_blocks(x, trial["green"].to_numpy()[1:], groupings(trial[1:], ["block", "cover"]))
    sizes = [(stack.x.shape[0], stack.x.shape[1]) for stack in made.stacks]
    assert sizes == [(1, 1), (11, 2)]
    assert made.rests == ()


@pytest.mark.parametrize(
    "terms", [[], [["block"]], [["block"], ["block", "cover"]], [["block"], ["tine"]]]
)
def test_shrinking_changes_nothing(trial: pd.DataFrame, terms: list[list[str]]) -> None:
    """The criterion of the shrunk blocks is that of the whole matrices."""
    x = np.column_stack([np.ones(24), trial["sun"], trial["tine"] == "solid"])
    y = trial["green"].to_numpy() - 60
    groups = groupings(trial, *terms)
    theta = np.array([0.7, 1.9, 2.3])[-len(terms) - 1 :]
    indicators = [group.indicator() for group in groups]
    v = theta[-1] * np.eye(24)
    for variance, z in zip(theta, indicators, strict=False):
        v += variance * z @ z.T
    inverse = np.linalg.inv(v)
    information = x.T @ inverse @ x
    p = inverse - inverse @ x @ np.linalg.solve(information, x.T @ inverse)
    deviance = np.linalg.slogdet(v)[1] + np.linalg.slogdet(information)[1] + y @ p @ y
    made = stack_blocks(x, y, groups)
    point = evaluate(made, theta)
    assert point.deviance == pytest.approx(deviance, rel=1e-12)
    matrices = [*(z @ z.T for z in indicators), np.eye(24)]
    expected = [np.trace(p @ part) - y @ p @ part @ p @ y for part in matrices]
    np.testing.assert_allclose(point.gradient, expected, rtol=1e-9, atol=1e-12)
    used = sum(stack.x.shape[0] * stack.x.shape[1] for stack in made.stacks)
    assert used + sum(rest.count for rest in made.rests) == 24
