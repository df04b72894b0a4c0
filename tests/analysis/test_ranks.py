"""Comparisons by ranks: SciPy, tables of textbooks, ties counted out by hand."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest
from scipy import stats

from wintersward.analysis.ranks import rank_sum, signed_rank

# Hamilton depression scale before and after, 9 patients: Hollander and Wolfe (1973), table 3.1
# (from memory, as the example of R's wilcox.test): V = 40, one-sided p 0.01953.
BEFORE = np.array([1.83, 0.50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30])
AFTER = np.array([0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29])
# Permeability of membranes, 10 and 5: Hollander and Wolfe (1973), table 4.1 (from memory, as the
# example of R's wilcox.test): W = 35, one-sided p 0.1272.
AT_TERM = np.array([0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46])
EARLIER = np.array([1.15, 0.88, 0.90, 0.74, 1.21])


def test_signed_ranks_of_a_textbook() -> None:
    found = signed_rank(BEFORE - AFTER)
    assert found.p == pytest.approx(2 * 0.01953, abs=1e-5)
    assert found.p == pytest.approx(stats.wilcoxon(BEFORE, AFTER, method="exact").pvalue)
    assert found.smallest_p == 2 / 2**9
    averages = sorted(
        (a + b) / 2 for i, a in enumerate(BEFORE - AFTER) for b in (BEFORE - AFTER)[: i + 1]
    )
    # 45 averages; 10 of 512 sums of ranks are at most 5 (0.0195), 6 or less 0.0273: R's interval
    # of this example runs from the sixth to the fortieth.
    assert found.estimate == pytest.approx(averages[22])
    assert (found.lower, found.upper) == pytest.approx((averages[5], averages[39]))


def test_rank_sum_of_a_textbook() -> None:
    found = rank_sum(AT_TERM, EARLIER)
    theirs = stats.mannwhitneyu(AT_TERM, EARLIER, method="exact")
    assert theirs.statistic == 35
    assert found.p == pytest.approx(theirs.pvalue)
    assert found.p == pytest.approx(2 * 0.1272, abs=1e-4)
    apart = np.sort(np.subtract.outer(AT_TERM, EARLIER).ravel())
    assert found.estimate == pytest.approx(np.median(apart))
    # Ten and five: at most 8 pairs with probability 0.0200 one-sided, table of Hollander and
    # Wolfe; the interval runs from the ninth to the forty-second difference.
    plain = np.cumsum(np.bincount([sum(c) - 15 for c in combinations(range(1, 16), 5)])) / 3003
    last = int(np.flatnonzero(plain <= 0.025)[-1])
    assert (found.lower, found.upper) == pytest.approx((apart[last], apart[-1 - last]))
    assert last == 8


def test_tied_differences_are_counted_out() -> None:
    differences = np.array([1.0, 0.5, 0.5, -0.5, 1.0, 0.0, 2.0])
    ranks = stats.rankdata(np.abs(differences[differences != 0]))
    seen = ranks[differences[differences != 0] > 0].sum()
    middle = ranks.sum() / 2
    sums = [np.dot(signs, ranks) for signs in product([0, 1], repeat=6)]
    share = np.mean(np.abs(np.array(sums) - middle) >= abs(seen - middle) - 1e-9)
    assert signed_rank(differences).p == pytest.approx(share)
    assert signed_rank(differences).smallest_p == 2 / 2**6


def test_tied_values_are_counted_out() -> None:
    left, right = np.array([6.0, 6.5, 6.5, 7.0]), np.array([6.0, 5.5, 6.5])
    ranks = stats.rankdata([*left, *right])
    middle = 4 * ranks.mean()
    sums = [ranks[list(chosen)].sum() for chosen in combinations(range(7), 4)]
    share = np.mean(np.abs(np.array(sums) - middle) >= abs(ranks[:4].sum() - middle) - 1e-9)
    assert rank_sum(left, right).p == pytest.approx(share)


def test_digits_that_differ_by_rounding_tie() -> None:
    differences = np.array([0.1 + 0.2, -0.3, 0.3, 0.3])
    assert signed_rank(differences).p == signed_rank(np.array([0.3, -0.3, 0.3, 0.3])).p


def test_so_few_units_have_no_interval() -> None:
    found = signed_rank(np.array([1.0, 2.0, 3.0, 4.0, 5.0]))
    assert found.p == found.smallest_p == 0.0625
    assert np.isnan([found.lower, found.upper]).all()
    six = signed_rank(np.array([1.0, 2.0, 3.0, 4.0, 5.0, 6.0]))
    assert (six.lower, six.upper) == (1.0, 6.0)


def test_no_difference_at_all() -> None:
    found = signed_rank(np.zeros(6))
    assert (found.estimate, found.p, found.smallest_p) == (0.0, 1.0, 1.0)
    assert rank_sum(np.ones(3), np.ones(4)).p == 1.0


def test_the_other_way_round() -> None:
    one, other = signed_rank(BEFORE - AFTER), signed_rank(AFTER - BEFORE)
    assert (one.estimate, one.lower, one.p) == pytest.approx(
        (-other.estimate, -other.upper, other.p)
    )
