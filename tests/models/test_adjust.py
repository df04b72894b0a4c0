from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from wintersward.errors import WinterswardError
from wintersward.models.adjust import ADJUSTMENTS, adjusted, checked_adjustment
from wintersward.models.ranges import uneven_sf

T = np.array([2.4, -3.1, 0.7])
DF = np.array([10.0, 11.0, 10.0])
HALF = np.full((3, 3), 0.5) + 0.5 * np.eye(3)
PLAIN = 2 * stats.t.sf(np.abs(T), DF)


def test_each_by_itself() -> None:
    p, critical = adjusted("none", T, DF, 0.95, 3, HALF)
    np.testing.assert_allclose(p, PLAIN)
    np.testing.assert_allclose(critical, stats.t.ppf(0.975, DF))


def test_bonferroni() -> None:
    p, critical = adjusted("bonferroni", T, DF, 0.95, 3, HALF)
    np.testing.assert_allclose(p, np.minimum(3 * PLAIN, 1))
    np.testing.assert_allclose(critical, stats.t.ppf(1 - 0.025 / 3, DF))


def test_holm_steps_down_and_never_goes_back() -> None:
    p, critical = adjusted("holm", T, DF, 0.95, 3, HALF)
    np.testing.assert_allclose(p, [2 * PLAIN[0], 3 * PLAIN[1], PLAIN[2]])
    np.testing.assert_allclose(critical, stats.t.ppf(1 - 0.025 / 3, DF))
    close, _ = adjusted("holm", np.array([2.4, 2.41]), DF[:2], 0.95, 3, HALF[:2, :2])
    assert close[0] == close[1]


def test_tukey_uses_each_difference_own_degrees_of_freedom() -> None:
    p, critical = adjusted("tukey", T, DF, 0.95, 3, HALF)
    expected = stats.studentized_range.sf(np.sqrt(2) * np.abs(T), 3, DF)
    np.testing.assert_allclose(p, expected, atol=1e-10)
    np.testing.assert_allclose(
        critical, stats.studentized_range.ppf(0.95, 3, DF) / np.sqrt(2), rtol=1e-8
    )


@pytest.mark.parametrize("adjust", ["holm", "bonferroni", "tukey", "dunnett"])
def test_a_family_asks_for_more_than_a_single_comparison(adjust: str) -> None:
    p, critical = adjusted(adjust, T, DF, 0.9, 3, HALF)
    assert (p[:2] > PLAIN[:2]).all()
    assert (critical > stats.t.ppf(0.95, DF)).all()


@pytest.mark.parametrize("adjust", [name for name in ADJUSTMENTS if name != "holm"])
def test_probability_and_interval_agree(adjust: str) -> None:
    """p is 1 - level just where the interval ends at zero; Holm's steps have no such interval."""
    _, critical = adjusted(adjust, T, DF, 0.95, 3, HALF)
    p, _ = adjusted(adjust, critical, DF, 0.95, 3, HALF)
    np.testing.assert_allclose(p, 0.05, rtol=1e-9)


class TestUnevenDunnett:
    CHAINED = 0.5 ** np.abs(np.subtract.outer(range(4), range(4)))
    T = np.array([2.4, -3.1, 0.7, 1.9])

    def test_each_comparison_has_its_own_degrees_of_freedom(self) -> None:
        df = np.array([9.0, 9.0, 12.0, 9.0])
        p, critical = adjusted("dunnett", self.T, df, 0.95, 5, self.CHAINED)
        expected = [uneven_sf(t, self.CHAINED, v) for t, v in zip(abs(self.T), df, strict=True)]
        assert p.tolist() == expected
        assert critical[0] == critical[1] == critical[3] > critical[2]

    def test_the_largest_is_stricter_than_alone_and_milder_than_bonferroni(self) -> None:
        df = np.full(4, 9.0)
        p, critical = adjusted("dunnett", self.T, df, 0.95, 5, self.CHAINED)
        plain, narrow = adjusted("none", self.T, df, 0.95, 5, self.CHAINED)
        bound, wide = adjusted("bonferroni", self.T, df, 0.95, 5, self.CHAINED)
        assert (p > plain).all()
        assert (p <= bound).all()
        assert (narrow < critical).all()
        assert (critical < wide).all()

    def test_probability_and_interval_agree(self) -> None:
        df = np.full(4, 9.0)
        _, critical = adjusted("dunnett", self.T, df, 0.95, 5, self.CHAINED)
        p, _ = adjusted("dunnett", critical, df, 0.95, 5, self.CHAINED)
        np.testing.assert_allclose(p, 0.05, rtol=1e-9)


families = st.lists(st.floats(-8.0, 8.0), min_size=1, max_size=6)


class TestOrder:
    """What holds for any family: adjusting never makes a comparison look surer."""

    @settings(deadline=None)
    @given(families, st.floats(2.0, 80.0))
    def test_holm(self, t: list[float], df: float) -> None:
        size = len(t)
        given_t, every = np.array(t), np.full(size, df)
        p = {
            name: adjusted(name, given_t, every, 0.95, size + 1, np.eye(size))[0]
            for name in ("none", "holm", "bonferroni")
        }
        assert (p["none"] <= p["holm"]).all()
        assert (p["holm"] <= p["bonferroni"] + 1e-15).all()
        order = np.argsort(p["none"], kind="stable")
        assert (np.diff(p["holm"][order]) >= 0).all()
        assert p["holm"][order[0]] == p["bonferroni"][order[0]]

    @settings(max_examples=60, deadline=None)
    @given(st.integers(2, 6), st.floats(-8.0, 8.0), st.floats(2.0, 80.0))
    def test_tukey(self, means: int, t: float, df: float) -> None:
        pairs = means * (means - 1) // 2
        one, own = np.array([t]), np.array([df])
        plain, narrow = adjusted("none", one, own, 0.95, means, np.eye(1))
        joint, between = adjusted("tukey", one, own, 0.95, means, np.eye(1))
        assert plain[0] * (1 - 1e-7) <= joint[0] <= min(1.0, pairs * plain[0]) * (1 + 1e-7)
        wide = stats.t.isf(0.025 / pairs, df)
        assert narrow[0] * (1 - 1e-9) <= between[0] <= wide * (1 + 1e-9)

    @settings(max_examples=60, deadline=None)
    @given(families, st.floats(2.0, 80.0))
    def test_dunnett(self, t: list[float], df: float) -> None:
        size = len(t)
        half = np.full((size, size), 0.5) + 0.5 * np.eye(size)
        given_t, every = np.array(t), np.full(size, df)
        plain, joint, bound = (
            adjusted(name, given_t, every, 0.95, size + 1, half)[0]
            for name in ("none", "dunnett", "bonferroni")
        )
        assert (plain * (1 - 1e-7) <= joint).all()
        assert (joint <= bound * (1 + 1e-7)).all()


def test_other_names_are_refused() -> None:
    assert checked_adjustment("holm") == "holm"
    with pytest.raises(WinterswardError, match="did you mean tukey"):
        checked_adjustment("turkey")
