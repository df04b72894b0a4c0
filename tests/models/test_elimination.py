from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import block_diag

from wintersward.models.blocks import Stack, Stacks
from wintersward.models.elimination import eliminate, firsts, gathered, invert
from wintersward.models.pieces import Linear
from wintersward.models.space import Space

THETA = np.array([0.7, 0.0, 1.3])


def model() -> Stacks:
    """Five blocks of two rows in two groups; two wide terms, of two and of one column."""
    rng = np.random.default_rng(1)
    z = np.zeros((5, 2, 3))
    z[:, 0, 0] = z[:, 1, 1] = z[:, :, 2] = 1.0
    group = np.array([0, 0, 0, 1, 1])
    # One matrix stands for all blocks.
    pieces = (Linear(np.eye(2)[None]),)
    stack = Stack(
        rng.normal(size=(5, 2, 2)), rng.normal(size=(5, 2)), z, group, pieces, (slice(2, 3),)
    )
    return Stacks((stack,), (), 10, 2, Space(2, 1), np.array([0, 0, 1]), 2)


def whole(data: Stacks, theta: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Give V and A = [X Z] of each group, one below the other."""
    (stack,) = data.stacks
    parts = []
    for rows in (slice(0, 3), slice(3, 5)):
        z = stack.z[rows].reshape(-1, 3)
        parts.append(theta[2] * np.eye(len(z)) + z @ np.diag(theta[data.wide]) @ z.T)
    return block_diag(*parts), np.concatenate([stack.x, stack.z], axis=2)


@pytest.mark.parametrize("theta", [THETA, THETA + 0.4])
def test_products_are_those_of_whole_matrices(theta: np.ndarray) -> None:
    data = model()
    (stack,) = data.stacks
    own = invert(stack, theta)
    v, a = whole(data, theta)
    crossed = gathered(data, stack, a, own.weighted)
    found = eliminate(data, crossed, theta)
    inverse = np.linalg.inv(v)
    for group, blocks in enumerate([slice(0, 3), slice(3, 5)]):
        rows = slice(2 * blocks.start, 2 * blocks.stop)
        columns, inside = a[blocks].reshape(-1, 5), inverse[rows, rows]
        np.testing.assert_allclose(found.solved[group], columns.T @ inside @ columns, atol=1e-12)
        weighted = own.weighted[blocks].reshape(-1, 5)
        np.testing.assert_allclose(weighted @ found.turn[group], inside @ columns, atol=1e-12)
        shrunk = np.eye(len(columns)) / theta[2]
        shrunk -= weighted[:, 2:] @ found.spread[group] @ weighted[:, 2:].T
        np.testing.assert_allclose(shrunk, inside, atol=1e-12)
    logdet = own.logdet + found.logdet
    assert logdet == pytest.approx(np.linalg.slogdet(v)[1], rel=1e-12)


def test_vectors_are_gathered_as_columns_are() -> None:
    data = model()
    (stack,) = data.stacks
    found = gathered(data, stack, stack.x, stack.y)
    assert found.shape == (2, 2)
    np.testing.assert_allclose(found[1], np.einsum("brp,br->p", stack.x[3:], stack.y[3:]))


def test_one_group_is_one_sum() -> None:
    data = model()
    (stack,) = data.stacks
    alone = Stacks(data.stacks, (), 10, 2, data.space, data.wide, 1)
    np.testing.assert_allclose(
        gathered(alone, stack, stack.x, stack.x)[0], gathered(data, stack, stack.x, stack.x).sum(0)
    )


def test_derivatives_carry_the_index_of_their_parameter() -> None:
    ((index, matrix),) = firsts(model().stacks[0], THETA)
    assert (index, matrix.shape) == (2, (1, 2, 2))


def test_a_shared_matrix_counts_for_every_block() -> None:
    data = model()
    assert data.stacks[0].weight(np.zeros((1, 2, 2))) == 5.0
    assert invert(data.stacks[0], THETA).logdet == pytest.approx(10 * np.log(1.3))
