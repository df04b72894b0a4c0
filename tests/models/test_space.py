from __future__ import annotations

import numpy as np
import pytest

from wintersward.models.grouping import Grouping
from wintersward.models.residual import Serial
from wintersward.models.space import Space

SERIAL = Serial("car1", Grouping("plot", np.array([0, 0]), 1), np.array([0.0, 5.0]), 5.0, 5.0, 2)


def test_counts() -> None:
    assert (Space(2, 1).count, Space(2, 1).variances) == (3, 3)
    assert (Space(2, 3, SERIAL).count, Space(2, 3, SERIAL).variances) == (6, 5)


def test_bounds() -> None:
    space = Space(1, 2, SERIAL)
    assert space.lowest[0] == 0.0 < space.lowest[1] == space.lowest[2] < 1e-6
    assert 0 < space.lowest[3] < 1e-6
    assert np.isinf(space.highest[:3]).all()
    assert 0.99 < space.highest[3] < 1
    assert len(space.steps) == 4


@pytest.mark.parametrize("terms", [0, 1, 3])
@pytest.mark.parametrize("levels", [1, 4])
@pytest.mark.parametrize("serial", [None, SERIAL])
def test_starts_lie_within_the_bounds(terms: int, levels: int, serial: Serial | None) -> None:
    space = Space(terms, levels, serial)
    starts = space.starts()
    assert len({tuple(start) for start in starts}) == len(starts)
    for start in [*starts, space.reference() + 1e-12]:
        assert start.shape == (space.count,)
        assert ((start > space.lowest) & (start < space.highest)).all()
        assert len(set(start[terms : terms + levels])) == 1


def test_one_variance_needs_one_start() -> None:
    (start,) = Space(0, 1).starts()
    assert start.tolist() == [1.0]


def test_correlations_are_tried_weak_and_strong() -> None:
    tried = {round(start[-1], 3) for start in Space(2, 1, SERIAL).starts()}
    assert tried == {0.1, 0.5, 0.9}
