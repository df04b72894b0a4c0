from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from wintersward.errors import WinterswardError
from wintersward.models.adjust import ADJUSTMENTS, adjusted, checked_adjustment

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


def test_unevenly_correlated_comparisons_are_refused_by_dunnett() -> None:
    chained = 0.5 ** np.abs(np.subtract.outer(range(4), range(4)))
    with pytest.raises(WinterswardError, match="dunnett cannot be computed exactly.*use holm"):
        adjusted("dunnett", np.ones(4), np.full(4, 9.0), 0.95, 5, chained)


def test_other_names_are_refused() -> None:
    assert checked_adjustment("holm") == "holm"
    with pytest.raises(WinterswardError, match="did you mean tukey"):
        checked_adjustment("turkey")
