from __future__ import annotations

import numpy as np
import pytest

from models.fading import THETA, Floats, dense, fading_stacks, slope
from wintersward.models.blocks import Stacks
from wintersward.models.curvature import curvature, outward
from wintersward.models.reml import Point, evaluate


def test_observed_information() -> None:
    fading = fading_stacks()
    found = curvature(fading, evaluate(fading, THETA)).observed
    expected = slope(lambda theta: evaluate(fading, theta).gradient / 2, THETA)
    np.testing.assert_allclose(found, expected, rtol=1e-6, atol=1e-7)


def test_expected_information_and_the_pieces() -> None:
    fading = fading_stacks()
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


def test_second_derivatives_of_the_covariance() -> None:
    fading = fading_stacks()

    def firsts(theta: Floats) -> Floats:
        return np.array(dense(fading, theta)[1])

    v, _, x, _ = dense(fading, THETA)
    weighted = np.linalg.solve(v, x)
    bends = slope(firsts, THETA)
    expected = np.einsum("np,ijnm,mq->ijpq", weighted, bends, weighted)
    found = curvature(fading, evaluate(fading, THETA)).bends
    np.testing.assert_allclose(found, expected, atol=1e-7)
    assert np.abs(found[1, 2]).max() > 0.01


class TestOutward:
    """What the first derivatives do not make up of an average of the second ones."""

    WEIGHTS = np.array(
        [[0.5, 0.1, 0, 0.2], [0.1, 0.9, 0.3, 0], [0, 0.3, 0.7, 0.1], [0.2, 0, 0.1, 0.4]]
    )

    def seconds(self, fading: Stacks) -> Floats:
        return slope(lambda theta: np.array(dense(fading, theta)[1]), THETA)

    def test_by_whole_matrices(self) -> None:
        fading = fading_stacks()
        v, firsts, x, _ = dense(fading, THETA)
        inverse = np.linalg.inv(v)
        p = inverse - inverse @ x @ np.linalg.solve(x.T @ inverse @ x, x.T @ inverse)
        mixed = np.einsum("ij,ijnm->nm", self.WEIGHTS, self.seconds(fading))
        gram = np.array([[np.trace(p @ a @ p @ b) for b in firsts] for a in firsts])
        shares = np.linalg.solve(gram, [np.trace(p @ a @ p @ mixed) for a in firsts])
        beside = mixed - sum(c * a for c, a in zip(shares, firsts, strict=True))
        found = outward(fading, evaluate(fading, THETA), self.WEIGHTS)
        np.testing.assert_allclose(found, x.T @ inverse @ beside @ inverse @ x, atol=1e-6)
        assert np.abs(found).max() > 0.01

    def test_nothing_is_left_of_a_linear_covariance(self) -> None:
        fading = fading_stacks()
        only = self.WEIGHTS * 0
        only[0, 0] = only[3, 3] = only[0, 3] = only[3, 0] = 1.0
        found = outward(fading, evaluate(fading, THETA), only)
        np.testing.assert_allclose(found, 0, atol=1e-12)


def test_a_point_of_another_make_is_refused() -> None:
    made = evaluate(fading_stacks(), THETA)
    bare = Point(*(getattr(made, name) for name in list(Point.__dataclass_fields__)[:6]))
    with pytest.raises(ValueError, match="not made by evaluate"):
        curvature(fading_stacks(), bare)
