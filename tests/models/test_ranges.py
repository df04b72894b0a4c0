from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, stats

from wintersward.models import ranges
from wintersward.models.ranges import (
    control_critical,
    control_sf,
    loadings,
    range_critical,
    range_sf,
    uneven_critical,
    uneven_sf,
)


@pytest.mark.parametrize("df", [1.0, 2.5, 7.0, 45.0, 900.0, 1e5])
@pytest.mark.parametrize("q", [0.05, 1.0, 3.7, 12.0])
def test_two_means_are_students_t(q: float, df: float) -> None:
    expected = 2 * stats.t.sf(q / np.sqrt(2), df)
    assert range_sf(q, 2, df) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("q", "means", "df"),
    [(0.4, 3, 2.0), (3.5, 3, 10.0), (3.8, 4, 45.3), (6.0, 8, 42.0), (9, 13, 5)],
)
def test_agrees_with_scipy(q: float, means: int, df: float) -> None:
    expected = stats.studentized_range.sf(q, means, df)
    assert range_sf(q, means, df) == pytest.approx(expected, abs=1e-10)


def test_many_degrees_of_freedom_reach_the_normal_range() -> None:
    assert range_sf(3.31, 3, 1e7) == pytest.approx(range_sf(3.31, 3, np.inf), abs=1e-7)
    # Upper 5 % of the range of three normal deviates, common tables: 3.314.
    assert range_critical(0.95, 3, np.inf) == pytest.approx(3.314, abs=5e-4)


def test_far_tails_keep_their_digits() -> None:
    assert range_sf(40.0, 2, 60.0) == pytest.approx(2 * stats.t.sf(40 / 2**0.5, 60.0), rel=1e-6)
    assert range_sf(-1.0, 3, 10.0) == 1.0
    assert range_sf(0.0, 3, 10.0) == 1.0


@pytest.mark.parametrize(("level", "means", "df"), [(0.95, 4, 45.0), (0.9, 3, 1.2), (0.999, 6, 8)])
def test_critical_ranges_invert(level: float, means: int, df: float) -> None:
    q = range_critical(level, means, df)
    assert range_sf(q, means, df) == pytest.approx(1 - level, rel=1e-10)


class TestControl:
    def test_one_comparison_is_students_t(self) -> None:
        assert control_sf(2.1, np.zeros(1), 9.5) == pytest.approx(
            2 * stats.t.sf(2.1, 9.5), rel=1e-10
        )
        assert control_sf(0.0, np.zeros(1), 9.5) == 1.0

    @pytest.mark.parametrize("correlation", [0.5, 0.2, -0.6])
    def test_two_comparisons_by_integration(self, correlation: float) -> None:
        """The bivariate t density over the square, by an adaptive rule."""
        df, c = 7.0, 2.3
        shape = np.array([[1.0, correlation], [correlation, 1.0]])
        density = stats.multivariate_t(shape=shape, df=df).pdf
        inside, _ = integrate.dblquad(
            lambda a, b: float(density([a, b])), -c, c, -c, c, epsabs=1e-9
        )
        loads = loadings(shape)
        assert loads is not None
        assert control_sf(c, loads, df) == pytest.approx(1 - inside, abs=1e-7)

    @pytest.mark.parametrize(
        ("comparisons", "df", "critical"),
        [(2, 10, 2.57), (3, 10, 2.76), (4, 20, 2.65), (9, 20, 2.95), (4, 60, 2.51)],
    )
    def test_tables(self, comparisons: int, df: int, critical: float) -> None:
        # Dunnett (1964), Biometrics 20, 482-491, two-sided 5 %, equal replication: from memory,
        # but for (4, 20), quoted on the help page of qDunnett in the R package PMCMRplus.
        loads = loadings(np.full((comparisons,) * 2, 0.5) + 0.5 * np.eye(comparisons))
        assert loads is not None
        assert control_critical(0.95, loads, df) == pytest.approx(critical, abs=6e-3)

    def test_critical_inverts(self) -> None:
        loads = np.array([0.3, 0.6, 0.9])
        c = control_critical(0.9, loads, 4.5)
        assert control_sf(c, loads, 4.5) == pytest.approx(0.1, rel=1e-10)


def unequal(sizes: list[int]) -> tuple[np.ndarray, np.ndarray]:
    """Correlations of the comparisons with the first of independent means, and their loadings."""
    n = np.array(sizes, dtype=float)
    loads = np.sqrt(n[1:] / (n[1:] + n[0]))
    correlation = np.outer(loads, loads)
    np.fill_diagonal(correlation, 1.0)
    return correlation, loads


class TestUneven:
    CHAINED = 0.5 ** np.abs(np.subtract.outer(range(4), range(4)))

    @pytest.mark.parametrize("sizes", [[4, 3, 6], [3, 4, 5, 6, 2], [5, 2, 3, 4, 6, 7, 3, 2, 9]])
    @pytest.mark.parametrize("df", [2.2, 9.5, 60.0, np.inf])
    @pytest.mark.parametrize("c", [0.7, 2.4, 4.0, 7.0])
    def test_keeps_the_stated_accuracy(self, sizes: list[int], df: float, c: float) -> None:
        """Against the exact integral, which needs correlations that are products."""
        correlation, loads = unequal(sizes)
        exact = control_sf(c, loads, df)
        assert uneven_sf(c, correlation, df) == pytest.approx(exact, rel=1e-4)

    def test_fourteen_comparisons(self) -> None:
        correlation, loads = unequal([3, *range(2, 16)])
        exact = control_sf(3.1, loads, 30.0)
        assert uneven_sf(3.1, correlation, 30.0) == pytest.approx(exact, rel=1e-4)

    @pytest.mark.parametrize("df", [5.0, 30.0])
    def test_agrees_with_scipy(self, df: float) -> None:
        """The multivariate t over the cube, by randomised quasi-Monte Carlo to 1e-5."""
        assert loadings(self.CHAINED) is None
        law = stats.multivariate_t(shape=self.CHAINED, df=df, seed=5)
        upper = np.full(4, 2.5)
        inside = law.cdf(upper, lower_limit=-upper, maxpts=400_000)
        assert uneven_sf(2.5, self.CHAINED, df) == pytest.approx(1 - inside, abs=2e-5)

    def test_published_quantile(self) -> None:
        # Five contrasts of five groups (Edwards and Berry 1987), 130 df, 95 %: 2.561, printed on
        # the help page of pmvt in the R package mvtnorm. One contrast follows from the others.
        contrasts = [[1, -1, 0, 0, 0], [1, 0, -1, 0, 0], [1, 0, 0, 0, -1]]
        rows = np.array([*contrasts, [0, 1, 0, -1, 0], [0, 0, 1, -1, 0]], dtype=float)
        covariance = rows / np.array([26, 24, 20, 33, 32]) @ rows.T
        size = np.sqrt(np.diag(covariance))
        correlation = covariance / np.outer(size, size)
        assert loadings(correlation) is None
        assert np.linalg.matrix_rank(correlation) == 4
        assert uneven_critical(0.95, correlation, 130.0) == pytest.approx(2.561, abs=5e-4)

    def test_the_same_every_time(self) -> None:
        first = uneven_sf(2.3, self.CHAINED, 8.0)
        ranges._points.cache_clear()
        assert uneven_sf(2.3, self.CHAINED, 8.0) == first

    def test_one_comparison_is_students_t(self) -> None:
        expected = 2 * stats.t.sf(2.1, 9.5)
        assert uneven_sf(2.1, np.ones((1, 1)), 9.5) == pytest.approx(expected, rel=1e-12)
        assert uneven_sf(0.0, self.CHAINED, 9.5) == 1.0

    def test_comparisons_that_are_the_same_count_once(self) -> None:
        expected = 2 * stats.t.sf(2.1, 9.5)
        assert uneven_sf(2.1, np.ones((3, 3)), 9.5) == pytest.approx(expected, rel=1e-6)

    def test_between_a_single_comparison_and_bonferroni(self) -> None:
        for c in (0.5, 2.0, 3.5, 9.0):
            alone = 2 * stats.t.sf(c, 11.0)
            assert alone < uneven_sf(c, self.CHAINED, 11.0) <= min(1.0, 4 * alone)

    def test_critical_inverts(self) -> None:
        c = uneven_critical(0.9, self.CHAINED, 4.5)
        assert uneven_sf(c, self.CHAINED, 4.5) == pytest.approx(0.1, rel=1e-10)


class TestLoadings:
    @pytest.mark.parametrize("size", [2, 3, 4, 6])
    def test_products_are_recognised(self, size: int) -> None:
        b = np.linspace(-0.4, 0.9, size)
        correlation = np.outer(b, b)
        np.fill_diagonal(correlation, 1.0)
        found = loadings(correlation)
        assert found is not None
        off = ~np.eye(size, dtype=bool)
        np.testing.assert_allclose(np.outer(found, found)[off], correlation[off], atol=1e-12)

    def test_independent_comparisons(self) -> None:
        found = loadings(np.eye(4))
        assert found is not None
        np.testing.assert_array_equal(found, np.zeros(4))

    def test_others_are_not(self) -> None:
        chained = 0.5 ** np.abs(np.subtract.outer(range(4), range(4)))
        assert loadings(chained) is None
        assert loadings(np.array([[1.0, 0.99], [0.99, 1.0]])) is None
