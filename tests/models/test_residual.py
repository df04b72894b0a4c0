from __future__ import annotations

import numpy as np
import pytest

from wintersward.models.grouping import Grouping
from wintersward.models.residual import Residual, Serial, plain_residual

SUBJECT = Grouping("plot", np.array([0, 0, 0, 1, 1]), 2)
TIMES = np.array([3.0, 10.0, 31.0, 3.0, 10.0])


def serial(kind: str) -> Serial:
    return Serial(kind, SUBJECT, TIMES, 7.0, 7.0, 3)


def residual(kind: str | None, levels: int = 1) -> Residual:
    names = tuple(f"residual[{i}]" for i in range(levels)) if levels > 1 else ("residual",)
    codes = np.array([0, 1, 0, 1, 0]) if levels > 1 else np.zeros(5, dtype=np.intp)
    return Residual(names, codes, serial(kind) if kind else None)


class TestSerial:
    def test_lags_are_in_shortest_gaps(self) -> None:
        lags = serial("car1").lags(np.arange(5))
        np.testing.assert_allclose(lags[0], [0, 1, 4, 0, 0])
        np.testing.assert_allclose(lags[1], [1, 0, 3, 0, 0])
        np.testing.assert_allclose(lags[4], [0, 0, 0, 1, 0])

    def test_lags_of_compound_symmetry_are_one(self) -> None:
        lags = serial("cs").lags(np.array([0, 2, 3]))
        np.testing.assert_array_equal(lags, [[0, 1, 0], [1, 0, 0], [0, 0, 0]])

    def test_rounding_never_makes_a_lag_below_one(self) -> None:
        times = np.array([0.0, 0.1, 0.1 + 0.2])
        own = Grouping("plot", np.zeros(3, dtype=np.intp), 1)
        lags = Serial("car1", own, times, 0.2, 0.2, 3).lags(np.arange(3))
        assert lags[lags > 0].min() == 1.0

    def test_per_unit_of_time(self) -> None:
        found = serial("car1")
        assert found.natural(0.5) == pytest.approx(0.5 ** (1 / 7))
        assert found.natural(found.lowest) == 0.0
        assert serial("cs").natural(-0.2) == -0.2

    def test_starts_are_at_the_median_gap(self) -> None:
        uneven = Serial("car1", SUBJECT, TIMES, 7.0, 14.0, 3)
        np.testing.assert_allclose([start**2 for start in uneven.starts], [0.5, 0.1, 0.9])

    @pytest.mark.parametrize("kind", ["car1", "cs"])
    def test_positive_definite_between_its_bounds(self, kind: str) -> None:
        found = residual(kind)
        ends = found.serial.lowest, found.serial.highest
        for rho in [*ends, *found.serial.starts]:
            covariance = found.covariance(np.array([2.0, rho]), [np.arange(5)])[0]
            assert np.linalg.eigvalsh(covariance)[0] > 0
        assert [found.serial.bound(end) for end in ends] == ["lower", "upper"]
        assert {found.serial.bound(start) for start in found.serial.starts} == {""}

    def test_compound_symmetry_may_be_negative_but_no_more(self) -> None:
        found = residual("cs")
        assert found.serial.lowest == pytest.approx(-0.5, abs=1e-5)
        beyond = found.covariance(np.array([2.0, -0.51]), [np.arange(5)])[0]
        assert np.linalg.eigvalsh(beyond)[0] < 0


class TestResidual:
    def test_plain(self) -> None:
        found = plain_residual(3)
        assert (found.names, found.count, found.linear) == (("residual",), 1, True)
        covariance = found.covariance(np.array([2.5]), [np.arange(3)])
        np.testing.assert_array_equal(covariance, [2.5 * np.eye(3)])

    def test_a_variance_for_each_level(self) -> None:
        found = residual(None, levels=2)
        covariance = found.covariance(np.array([2.0, 3.0]), [np.array([0, 1, 4])])
        np.testing.assert_array_equal(covariance[0], np.diag([2.0, 3.0, 2.0]))
        total = sum(
            value * piece.first(np.array([value]))[0]
            for value, piece in zip([2.0, 3.0], found.pieces([np.array([0, 1, 4])]), strict=True)
        )
        np.testing.assert_array_equal(total, covariance)

    def test_levels_and_correlation_together(self) -> None:
        found = residual("car1", levels=2)
        assert found.count == 3
        covariance = found.covariance(np.array([4.0, 9.0, 0.5]), [np.arange(5)])[0]
        assert covariance[0, 1] == pytest.approx(6 * 0.5)
        assert covariance[1, 2] == pytest.approx(6 * 0.5**3)
        assert covariance[2, 3] == 0.0

    @pytest.mark.parametrize(
        ("kind", "levels", "linear"),
        [(None, 1, True), (None, 2, True), ("cs", 1, True), ("cs", 2, False), ("car1", 1, False)],
    )
    def test_what_is_linear(self, kind: str | None, levels: int, linear: bool) -> None:
        assert residual(kind, levels).linear is linear
