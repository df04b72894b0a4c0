"""Agreement of raters and of methods, against published answers."""

from __future__ import annotations

import warnings

import numpy as np
import pandas as pd
import pytest

from wintersward.analysis.raters import FORMS, MeanSquares, all_dates, within_dates
from wintersward.analysis.two_methods import correlation_within, limits_of_agreement

# Shrout and Fleiss (1979), Psychological Bulletin 86, 420-428, table 2: six targets, four judges
# (data and answers from memory; all six forms are reproduced).
JUDGED = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
# Bland and Altman (1986), Lancet 327, 307-310, table 1: peak expiratory flow [l/min] of 17 people,
# first reading with the large and with the mini meter.
LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
# Bland and Altman (1999, 2007): cardiac output of 12 subjects by two methods, several pairs each;
# here the first four subjects.
OUTPUT = """
1 7.83 6.57  1 7.42 5.62  1 7.89 6.90  1 7.12 6.57  1 7.88 6.35  2 6.16 4.06  2 7.26 4.29
2 6.71 4.26  2 6.54 4.09  3 4.75 4.71  3 5.24 5.50  3 4.86 5.08  3 4.78 5.02  3 6.05 6.01
3 5.42 5.67  4 4.21 4.14  4 3.61 4.20  4 3.72 4.61  4 3.87 4.68  4 3.92 5.04
"""


def wide(values: list[list[int]], dates: int = 1) -> pd.DataFrame:
    names = ["date", "plot"]
    days = pd.date_range("2026-03-01", periods=dates)
    index = pd.MultiIndex.from_product([days, range(len(values) // dates)], names=names)
    return pd.DataFrame(values, index=index, columns=list("abcd")[: len(values[0])], dtype=float)


def test_shrout_and_fleiss_mean_squares() -> None:
    found = MeanSquares.of(wide(JUDGED), np.zeros(6, dtype=int))
    assert found.targets == pytest.approx(11.242, abs=5e-4)
    assert found.raters == pytest.approx(32.486, abs=5e-4)
    assert found.error == pytest.approx(1.019, abs=5e-4)
    # One-way, the form that no table here uses: ICC(1,1) 0.17, ICC(1,4) 0.44.
    one_way = (3 * found.raters + 15 * found.error) / 18
    assert (found.targets - one_way) / (found.targets + 3 * one_way) == pytest.approx(
        0.17, abs=5e-3
    )
    assert (found.targets - one_way) / found.targets == pytest.approx(0.44, abs=5e-3)


@pytest.mark.parametrize("forms", [all_dates, within_dates])
def test_shrout_and_fleiss_two_way_forms(forms: object) -> None:
    found = forms(wide(JUDGED))  # type: ignore[operator]
    assert [one.form for one in found] == list(FORMS)
    # ICC(2,1), ICC(3,1), ICC(2,4), ICC(3,4).
    assert [one.value for one in found] == pytest.approx([0.29, 0.71, 0.62, 0.91], abs=5e-3)
    # Intervals of the example as McGraw and Wong (1996) have it, two digits: ICC(A,1) 0.02 to
    # 0.76, ICC(C,1) 0.34 to 0.95, ICC(A,4) 0.07 to 0.93, ICC(C,4) 0.68 to 0.99 (from memory).
    ends = [(one.lower, one.upper) for one in found]
    wanted = [(0.02, 0.76), (0.34, 0.95), (0.07, 0.93), (0.68, 0.99)]
    assert np.array(ends) == pytest.approx(np.array(wanted), abs=5e-3)


def test_one_date_within_dates_is_what_pingouin_gives() -> None:
    """Two independent ways to one set of intervals, on ratings that are not a textbook's."""
    rng = np.random.default_rng(3)
    rated = rng.normal(0, 1, (24, 1)) + rng.normal(0, 0.5, 3) + rng.normal(0, 0.7, (24, 3))
    table = wide((10 * rated).round().astype(int).tolist())
    for one, other in zip(all_dates(table), within_dates(table), strict=True):
        assert (one.value, one.lower, one.upper) == pytest.approx(
            (other.value, other.lower, other.upper), rel=1e-10
        )


def test_a_rater_who_is_two_higher_throughout() -> None:
    # A statistics manual: pairs (2, 4), (4, 6), (6, 8): consistency 1, absolute agreement 0.6667.
    found = {one.form: one.value for one in all_dates(wide([[2, 4], [4, 6], [6, 8]]))}
    assert found["single rating, consistency"] == 1.0
    assert found["single rating, absolute agreement"] == pytest.approx(0.6667, abs=5e-5)


def test_bland_and_altman_1995_within_subjects() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of another library's making
        import pingouin

        data = pingouin.read_dataset("rm_corr")
        theirs = pingouin.rm_corr(data, x="pH", y="PacO2", subject="Subject").iloc[0]
    found = correlation_within(
        data["pH"].to_numpy(), data["PacO2"].to_numpy(), data["Subject"].to_numpy()
    )
    assert found is not None
    # BMJ 310, 446: r = -0.51, P = 0.0008, 38 degrees of freedom.
    assert found.value == pytest.approx(-0.51, abs=5e-3)
    assert (found.df, found.n) == (38, 47)
    assert found.value == pytest.approx(theirs["r"], rel=1e-9)
    interval = next(name for name in theirs.index if name.startswith("CI95"))
    assert [found.lower, found.upper] == pytest.approx(list(theirs[interval]), abs=5e-3)


def test_bland_and_altman_1986_peak_flow() -> None:
    found = limits_of_agreement(np.subtract(LARGE, MINI), np.arange(17))
    assert found is not None
    sd = (found.upper.value - found.lower.value) / (2 * 1.96)
    assert found.bias.value == pytest.approx(-2.1, abs=0.05)
    assert sd == pytest.approx(38.8, abs=0.05)
    # The paper takes 2 for 1.96, and the rounded bias and SD: limits -79.7 and 75.5.
    assert found.bias.value - 2 * sd == pytest.approx(-79.7, abs=0.1)
    assert found.bias.value + 2 * sd == pytest.approx(75.5, abs=0.1)
    # Its interval of the bias, with t on 16 degrees of freedom: -22.0 to 17.8.
    assert [found.bias.lower, found.bias.upper] == pytest.approx([-22.0, 17.8], abs=0.06)
    # Its intervals of the limits take 3 s^2 / n for their variance (1999: 2.92 s^2 / n and a
    # little more in small samples): half-width 34.6 l/min.
    assert found.upper.upper - found.upper.value == pytest.approx(34.6, rel=0.01)


def test_subjects_that_come_back() -> None:
    numbers = np.array(OUTPUT.split(), dtype=float).reshape(-1, 3)
    found = limits_of_agreement(numbers[:, 1] - numbers[:, 2], numbers[:, 0])
    assert found is not None
    assert (found.n, found.plots) == (20, 4)
    # R package SimplyAgree, its own test of agree_nest ("examples from Zou"), method of Zou
    # (2013): 0.7255, limits -2.14 and 3.59, 95 % intervals -9.83 to -0.33 and 1.77 to 11.27
    # (its tolerance 0.01, relative).
    values = [found.bias.value, found.lower.value, found.upper.value]
    assert values == pytest.approx([0.7255, -2.14, 3.59], abs=2e-3)
    assert [found.lower.lower, found.lower.upper] == pytest.approx([-9.83, -0.33], rel=0.01)
    assert [found.upper.lower, found.upper.upper] == pytest.approx([1.77, 11.27], rel=0.01)


def test_equal_numbers_give_the_limits_of_bland_and_altman_2007() -> None:
    """The variance of a single difference is between subjects plus within, from a one-way table."""
    numbers = np.array(OUTPUT.split(), dtype=float).reshape(-1, 3)
    first = pd.DataFrame(numbers).groupby(0).head(4)
    apart, subject = (first[1] - first[2]).to_numpy(), first[0].to_numpy()
    table = apart.reshape(4, 4)
    within = table.var(axis=1, ddof=1).mean()
    between = (4 * table.mean(axis=1).var(ddof=1) - within) / 4
    found = limits_of_agreement(apart, subject)
    assert found is not None
    reach = 1.96 * np.sqrt(between + within)
    assert found.upper.value == pytest.approx(apart.mean() + reach)
    assert found.lower.value == pytest.approx(apart.mean() - reach)
