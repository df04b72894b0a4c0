"""Power: worked examples, published sample sizes, other libraries, and plain simulation."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.stats.power import FTestAnovaPower, TTestIndPower

from wintersward.analysis.power import blocks_needed, power
from wintersward.analysis.power_formulas import (
    detectable,
    equivalence_power,
    half_width,
    overall_power,
    pair_power,
    units_for_mean,
)
from wintersward.analysis.power_plan import Plan
from wintersward.analysis.power_simulated import TRIALS, contrast_spread, planned_units
from wintersward.errors import WinterswardError
from wintersward.models import fit_mixed

# Blocks of four treatments for power 0.8 at alpha 0.05, one pair, noncentral t with 3 (r - 1)
# degrees of freedom; the power beside it. Computed with another program before this one was
# written; differences in % of the mean. That table has 0.804 at 64 blocks; SciPy's and
# statsmodels' noncentral t, and 20 million drawn t values, have 0.8035, as here.
NEEDED = {
    (5, 5): (17, 0.815), (5, 10): (5, 0.827), (5, 15): (3, 0.862), (5, 20): (3, 0.981),
    (5, 30): (2, 0.967),
    (8, 5): (41, 0.802), (8, 10): (11, 0.810), (8, 15): (6, 0.859), (8, 20): (4, 0.881),
    (8, 30): (3, 0.966),
    (10, 5): (64, 0.803), (10, 10): (17, 0.815), (10, 15): (8, 0.816), (10, 20): (5, 0.827),
    (10, 30): (3, 0.862),
    (15, 5): (142, 0.800), (15, 10): (36, 0.800), (15, 15): (17, 0.815), (15, 20): (10, 0.820),
    (15, 30): (5, 0.827),
    (20, 10): (64, 0.803), (20, 15): (29, 0.806), (20, 20): (17, 0.815), (20, 30): (8, 0.816),
    (25, 10): (99, 0.801), (25, 15): (45, 0.807), (25, 20): (26, 0.813), (25, 30): (12, 0.814),
}  # fmt: skip


@pytest.mark.parametrize(("cv", "difference"), NEEDED)
def test_blocks_of_four_treatments(cv: float, difference: float) -> None:
    blocks, chance = NEEDED[cv, difference]
    assert blocks_needed(treatments=4, difference=difference, cv=cv) == blocks
    table = power(treatments=4, blocks=blocks, difference=difference, cv=cv)
    assert table["power"].iloc[0] == pytest.approx(chance, abs=5.1e-4)


@pytest.mark.parametrize("cv", [20, 25])
def test_a_small_difference_in_a_rough_field_needs_more_than_199_blocks(cv: float) -> None:
    assert blocks_needed(treatments=4, difference=5, cv=cv) > 199


def by_normal(difference: float, sd: float) -> float:
    """Replicates for power 0.8 at alpha 0.05, two-sided, the standard deviation as if known."""
    z = stats.norm.isf(0.025) + stats.norm.isf(0.2)
    return float(2 * (z * sd / difference) ** 2)


def test_the_normal_approximation_falls_one_block_short() -> None:
    # 6.98, so 7 by the normal approximation; 8 by the exact power.
    assert by_normal(15, 10) == pytest.approx(6.98, abs=5e-3)
    assert blocks_needed(treatments=4, difference=15, cv=10) == 8


def test_power_at_four_blocks_and_what_is_detectable() -> None:
    chances = [pair_power(d, 10 * math.sqrt(2 / 4), 9) for d in (10, 15, 20, 25)]
    assert chances == pytest.approx([0.2445, 0.4739, 0.7119, 0.8811], abs=5e-5)
    seen = [detectable(10 * math.sqrt(2 / r), 3 * (r - 1)) for r in (3, 4, 5, 6)]
    assert seen == pytest.approx([27.49, 22.27, 19.31, 17.31], abs=5e-3)


def test_replicates_of_a_handout_on_barley() -> None:
    # Variance 50, difference 10, z 1.96 and 0.84: 7.84, so 8 (a course handout).
    assert by_normal(10, math.sqrt(50)) == pytest.approx(7.84, abs=0.02)
    assert math.ceil(by_normal(10, math.sqrt(50))) == 8


def test_units_to_know_a_mean() -> None:
    # s = 3.4, half-width 2, 95 %: 14 (a course handout, t found by iteration; 13.49 at r = 14).
    assert units_for_mean(2, 3.4) == 14
    assert (stats.t.isf(0.025, 13) * 3.4 / 2) ** 2 == pytest.approx(13.49, abs=5e-3)


@pytest.mark.parametrize(("replicates", "effect"), [(2, 1.0), (5, 1.5), (20, 0.5), (64, 0.5)])
def test_pair_power_against_statsmodels(replicates: int, effect: float) -> None:
    theirs = TTestIndPower().power(effect, replicates, 0.05, df=2 * replicates - 2)
    ours = pair_power(effect, math.sqrt(2 / replicates), 2 * replicates - 2)
    assert ours == pytest.approx(theirs, abs=1e-6)
    table = power("completely random", 2, replicates, difference=effect, sd=1)
    assert table["power"].iloc[0] == pytest.approx(theirs, abs=1e-6)


def test_overall_power_against_statsmodels() -> None:
    means = [3.0, 5.0, 4.0, 4.5]
    size = float(np.std(means)) / 2.0
    theirs = FTestAnovaPower().power(size, 4 * 6, 0.05, k_groups=4)
    assert overall_power(means, 2.0, 6, 20) == pytest.approx(theirs, abs=1e-8)


def test_overall_power_of_two_treatments_is_that_of_the_pair() -> None:
    asked: dict[str, Any] = {"blocks": [4, 8], "difference": 7.0, "sd": 4.0}
    pair, overall = power(**asked), power(**asked, test="overall")
    assert overall["power"].to_numpy() == pytest.approx(pair["power"].to_numpy(), abs=1e-8)


# Two-period crossover, limits 80 and 125 % of the ratio, power 0.8, alpha 0.05: total number of
# subjects. Diletti E., Hauschke D., Steinijans V. W. (1991) Sample size determination for
# bioequivalence assessment by means of confidence intervals. International Journal of Clinical
# Pharmacology, Therapy and Toxicology 29(1), 1-8: table for the ratio 0.95 (from memory).
@pytest.mark.parametrize(("cv", "subjects"), [(0.20, 20), (0.30, 40)])
def test_equivalence_against_published_numbers_of_subjects(cv: float, subjects: int) -> None:
    sd = math.sqrt(math.log(1 + cv**2))

    def chance(n: int) -> float:
        return equivalence_power(math.log(1.25), sd * math.sqrt(2 / n), n - 2, math.log(0.95))

    assert chance(subjects) >= 0.8 > chance(subjects - 2)


def test_equivalence_against_simulation() -> None:
    rng = np.random.default_rng(3)
    margin, se, df, difference = 4.0, 1.6, 10, 1.0
    estimate = rng.normal(difference, se, 400_000)
    reach = stats.t.isf(0.05, df) * se * np.sqrt(rng.chisquare(df, 400_000) / df)
    share = ((estimate - reach > -margin) & (estimate + reach < margin)).mean()
    exact = equivalence_power(margin, se, df, difference)
    assert exact == pytest.approx(share, abs=4 * math.sqrt(0.25 / 400_000))


def test_equivalence_of_a_margin_that_the_error_drowns() -> None:
    # Two one-sided powers added up would be negative here; the exact power is small, not that.
    assert 0 < equivalence_power(1.0, 1.0, 8) < 0.05
    assert equivalence_power(1e-9, 1.0, 200) == 0


def test_two_one_sided_tests_of_a_constructed_case() -> None:
    # Means 5.75 and 5.60, pooled SD 0.60, n = 8 each, margin 1: t 3.8333 and -2.8333 on 14.
    low, high = (0.15 + 1) / 0.3, (0.15 - 1) / 0.3
    assert stats.t.sf(low, 14) == pytest.approx(0.000913, abs=5e-7)
    assert stats.t.cdf(high, 14) == pytest.approx(0.006640, abs=5e-7)
    chance = power("completely random", 2, 8, sd=0.6, purpose="equivalence", margin=1.0)
    assert chance["df"].iloc[0] == 14
    assert chance["se"].iloc[0] == pytest.approx(0.3)
    assert chance["power"].iloc[0] == pytest.approx(equivalence_power(1.0, 0.3, 14))


def test_expected_half_width_against_simulation() -> None:
    rng = np.random.default_rng(4)
    spread = np.sqrt(rng.chisquare(5, 400_000) / 5)
    expected = stats.t.isf(0.025, 5) * spread.mean() * 3.0
    assert half_width(3.0, 5, 0.95) == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize(
    ("layout", "treatments", "compare", "blocks"),
    [
        ("completely random", (3, 1), "first", 5),
        ("completely random", (3, 2), "first", 4),
        ("randomised blocks", (4, 1), "first", 6),
        ("randomised blocks", (3, 2), "second", 4),
        ("randomised blocks", (3, 2), "first within second", 4),
        ("latin square", (4, 1), "first", 4),
        ("latin square", (3, 1), "first", 6),
        ("split plot", (3, 2), "first", 6),
        ("split plot", (3, 4), "second", 6),
        ("split plot", (3, 4), "second within first", 6),
        ("strip plot", (3, 4), "first", 5),
        ("strip plot", (3, 4), "second", 5),
    ],
)
def test_degrees_of_freedom_and_standard_errors_are_those_of_the_columns(
    layout: str, treatments: tuple[int, int], compare: str, blocks: int
) -> None:
    table = power(layout, treatments, blocks, difference=3, sd=2, compare=compare)  # type: ignore[arg-type]
    nan = float("nan")
    plan = Plan(layout, treatments, compare, "pair", 2, nan, 3, 0.05, "difference", nan, 0, 1, 0, 1)
    size, df = contrast_spread(*planned_units(plan, blocks))
    assert table["df"].iloc[0] == df
    assert table["se"].iloc[0] == pytest.approx(2 * size)


def test_the_smallest_p_stands_beside_each_number_of_blocks() -> None:
    blocks = power(treatments=3, blocks=[5, 6], difference=1, sd=1)["smallest_p"]
    assert blocks.tolist() == [2 / 32, 2 / 64]
    free = power("completely random", 2, [3, 4], difference=1, sd=1)["smallest_p"]
    assert free.tolist() == pytest.approx([2 / 20, 2 / 70])
    subplots = power("split plot", (3, 2), 4, difference=1, sd=1, compare="second")
    assert subplots["smallest_p"].iloc[0] == pytest.approx(2 / 2**12)


# Variances of Yates's oats (1935) as two mixed-model programs print them, six blocks, three
# varieties on whole plots, four rates of nitrogen on subplots.
OATS = {"block": 214.48, "whole_plot": 106.06, "residual": 177.08}


@pytest.mark.parametrize(
    ("compare", "se", "df"),
    [
        ("first", 7.0789, 10),
        ("second", 4.4358, 45),
        ("second within first", 7.6830, 45),
        ("first within second", 9.7150, 30.23),
    ],
)
def test_variances_of_an_earlier_run(compare: Any, se: float, df: float) -> None:
    # Standard errors of differences: classical analysis of variance of the same trial; 30.23 by
    # Satterthwaite.
    for variances in (OATS, pd.DataFrame({"term": list(OATS), "variance": list(OATS.values())})):
        table = power("split plot", (3, 4), 6, difference=9, variances=variances, compare=compare)
        assert table["se"].iloc[0] == pytest.approx(se, abs=6e-4)
        assert table["df"].iloc[0] == pytest.approx(df, abs=6e-3)


def test_strips_take_the_term_that_is_named() -> None:
    variances = {"block": 9.0, "block:row": 3.0, "block:column": 1.0, "residual": 4.0}
    asked: dict[str, Any] = {"difference": 1.0, "variances": variances}
    table = power("strip plot", (3, 2), 6, unit="block:row", **asked)
    assert table["se"].iloc[0] == pytest.approx(math.sqrt((3.0 + 4.0 / 2) * 2 / 6))
    with pytest.raises(WinterswardError, match="unit: found none"):
        power("strip plot", (3, 2), 6, **asked)


def in_split_plots(y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Analyse (m, b, w, s) split plots: error mean squares of whole plots and subplots.

    Sums of squares of the classical analysis of variance of blocks, first and second factor.
    """
    _, b, w, s = y.shape
    wholes = y.mean(axis=3)
    around = wholes - wholes.mean(axis=2, keepdims=True) - wholes.mean(axis=1, keepdims=True)
    around = around + wholes.mean(axis=(1, 2), keepdims=True)
    first = s * (around**2).sum(axis=(1, 2)) / ((b - 1) * (w - 1))
    inside = y - y.mean(axis=3, keepdims=True) - y.mean(axis=1, keepdims=True)
    inside = inside + y.mean(axis=(1, 3), keepdims=True)
    return first, (inside**2).sum(axis=(1, 2, 3)) / (w * (b - 1) * (s - 1))


def test_whole_plots_within_a_subplot_treatment_against_whole_simulated_trials() -> None:
    rng = np.random.default_rng(5)
    blocks, wholes, subs, trials = 4, 2, 2, 20_000
    y = 6 * rng.normal(size=(trials, blocks, 1, 1)) + 3 * rng.normal(
        size=(trials, blocks, wholes, 1)
    )
    y = y + rng.normal(0, 2, (trials, blocks, wholes, subs))
    y[:, :, 0, 0] += 6.0
    first, second = in_split_plots(y)
    df = np.array([(blocks - 1) * (wholes - 1), wholes * (blocks - 1) * (subs - 1)])
    pooled = (first * df[0] + second * df[1]) / df.sum()
    under = first < second
    first, second = np.where(under, pooled, first), np.where(under, pooled, second)
    made = first + (subs - 1) * second
    own_df = made**2 / (first**2 / df[0] + ((subs - 1) * second) ** 2 / df[1])
    difference = y[:, :, 0, 0].mean(axis=1) - y[:, :, 1, 0].mean(axis=1)
    p = 2 * stats.t.sf(np.abs(difference) / np.sqrt(2 * made / (blocks * subs)), own_df)
    # The planned analysis of the first few trials is this one.
    cells = [
        (f"b{b}", f"b{b}c{c}", f"c{c}", f"a{a}") for b in range(4) for c in range(2) for a in "xy"
    ]
    frame = pd.DataFrame(cells, columns=["block", "whole_plot", "cover", "aeration"])
    for i in range(6):
        fit = fit_mixed(
            frame.assign(y=y[i].ravel()), "y", "cover * aeration", ["block", "whole_plot"]
        )
        row = fit.pairs(["cover"], by=["aeration"], adjust="none").iloc[0]
        assert row["difference"] == pytest.approx(difference[i])
        assert row["p"] == pytest.approx(p[i], rel=1e-4)
    table = power(
        "split plot",
        (2, 2),
        4,
        difference=6,
        variances={"whole_plot": 9, "residual": 4},
        compare="first within second",
    )
    # Both numbers are drawn, each from 20,000 trials.
    error = math.sqrt(0.25 / trials + 0.25 / TRIALS)
    assert table["power"].iloc[0] == pytest.approx((p < 0.05).mean(), abs=3 * error)
    assert table["method"].iloc[0] == "drawn: 20000 trials, seed 1"


def test_lost_plots_cost_what_simulated_trials_say() -> None:
    rng = np.random.default_rng(6)
    cells = [(f"b{b}", f"c{c}") for b in range(4) for c in range(3)]
    frame = pd.DataFrame(cells, columns=["block", "cover"])
    shift = (frame["cover"] == "c0").to_numpy() * 3.0
    columns = pd.get_dummies(frame, drop_first=True).assign(one=1.0).to_numpy(dtype=float)
    covers = [i for i, name in enumerate(pd.get_dummies(frame, drop_first=True)) if "cover" in name]
    seen, trials = 0, 4_000
    for trial in range(trials):
        y = shift + rng.normal(0, 1.2, 12)
        kept = np.delete(np.arange(12), rng.choice(12, 2, replace=False))
        x = columns[kept]
        found = np.linalg.lstsq(x, y[kept], rcond=None)[0]
        left = y[kept] - x @ found
        df = 10 - np.linalg.matrix_rank(x)
        weights = np.zeros(columns.shape[1])
        weights[covers[0]] = -1.0  # c0 is the first, so that its gap to c1 is minus c1's column
        se = math.sqrt(left @ left / df * (weights @ np.linalg.pinv(x.T @ x) @ weights))
        p = 2 * stats.t.sf(abs(weights @ found) / se, df)
        seen += p < 0.05
        if trial < 3:
            fit = fit_mixed(frame.iloc[kept].assign(y=y[kept]), "y", "block + cover")
            assert fit.pairs(["cover"], adjust="none")["p"].iloc[0] == pytest.approx(p)
    asked: dict[str, Any] = {"treatments": 3, "blocks": 4, "difference": 3.0, "sd": 1.2}
    lost = power(**asked, lost=2)
    assert lost["power"].iloc[0] == pytest.approx(seen / trials, abs=3 * math.sqrt(0.25 / trials))
    assert lost["power"].iloc[0] < power(**asked)["power"].iloc[0]
    assert lost["df"].iloc[0] == 4


def test_a_family_is_tested_at_its_share_of_alpha() -> None:
    asked: dict[str, Any] = {"treatments": 4, "blocks": [4, 8], "difference": 15.0, "cv": 10.0}
    family = power(**asked, comparisons=3)
    alone = power(**asked, alpha=0.05 / 3)
    for name in ("power", "half_width", "df", "se"):
        assert family[name].tolist() == pytest.approx(alone[name].tolist())
    assert family["method"].iloc[0] == "noncentral t; each of 3 comparisons at alpha / 3"
    # All four treatments change places: 4! ways in each block, 3! of them with like distances.
    assert family["smallest_p"].tolist() == pytest.approx([6 / 24**4, 6 / 24**8])
    # Dunnett's limit, which answers a family, lies a little nearer than Bonferroni's. For three
    # treatments and a control, 20 df, two-sided 5 %: 2.54 (Dunnett C. W. (1964) New tables for
    # multiple comparisons with a control, Biometrics 20(3), 482-491, from memory).
    assert 2.54 < stats.t.isf(0.025 / 3, 20) < 2.54 * 1.03
    free = power("completely random", 3, 2, difference=1, sd=1, comparisons=2)
    assert free["smallest_p"].iloc[0] == pytest.approx(2 / 90)


def test_no_lost_plot_is_the_plain_formula() -> None:
    asked: dict[str, Any] = {"treatments": 3, "blocks": 4, "difference": 3.0, "sd": 1.2}
    one = power(**asked, lost=1)
    # Lost from the pair or from the third treatment: 8 and 4 of 12 patterns.
    hit, spared = 1.2 * math.sqrt(2 / 4 + 3 / (4 * 3 * 2)), 1.2 * math.sqrt(2 / 4)
    by_hand = (8 * pair_power(3, hit, 5) + 4 * pair_power(3, spared, 5)) / 12
    # Standard error with one missing plot: Yates's formula, any textbook of field trials.
    assert one["power"].iloc[0] == pytest.approx(by_hand, abs=1e-9)


def test_a_coefficient_of_variation_with_a_mean_is_a_standard_deviation() -> None:
    asked: dict[str, Any] = {"blocks": 5, "difference": 8.0}
    one, other = power(cv=12, mean=60, **asked), power(sd=7.2, **asked)
    pd.testing.assert_frame_equal(one, other)


def test_equivalence_by_blocks() -> None:
    asked: dict[str, Any] = {"sd": 4.0, "purpose": "equivalence", "margin": 8.0}
    blocks = blocks_needed(treatments=3, wanted=0.9, **asked)
    chances = power(treatments=3, blocks=[blocks - 1, blocks], **asked)["power"]
    assert chances.iloc[0] < 0.9 <= chances.iloc[1]


def test_squares_come_whole() -> None:
    table = power("latin square", 4, range(2, 13), difference=3, sd=2)
    assert table["blocks"].tolist() == [4, 8, 12]
    assert blocks_needed("latin square", 4, difference=3, sd=2) % 4 == 0
    with pytest.raises(WinterswardError, match="a multiple of 4"):
        power("latin square", 4, 6, difference=3, sd=2)


@pytest.mark.parametrize(
    ("question", "said"),
    [
        ({"difference": 1.0}, "one of sd, cv and variances"),
        ({"difference": 1.0, "sd": 1.0, "cv": 1.0}, "found sd, cv"),
        ({"sd": 1.0}, "difference: found none"),
        ({"sd": 1.0, "purpose": "equivalence"}, "margin: found"),
        ({"difference": 1.0, "sd": -1.0}, "sd: found -1"),
        ({"difference": 1.0, "sd": 1.0, "alpha": 0.7}, "alpha: found 0.7"),
        ({"difference": 1.0, "sd": 1.0, "layout": "lattice"}, "layout: found 'lattice'"),
        ({"difference": 1.0, "sd": 1.0, "layout": "split plot"}, "two for a split plot"),
        ({"difference": 1.0, "sd": 1.0, "compare": "second"}, "two numbers"),
        ({"difference": 1.0, "sd": 1.0, "blocks": 1}, "blocks: found 1"),
        ({"difference": 1.0, "variances": {"block": 1.0}}, "residual is needed too"),
        ({"difference": 1.0, "sd": 1.0, "lost": -1}, "lost: found -1"),
        ({"difference": 1.0, "sd": 1.0, "comparisons": 2}, "comparisons: found 2"),
        ({"difference": 1.0, "sd": 1.0, "comparisons": 0}, "comparisons: found 0"),
    ],
)
def test_a_question_that_cannot_be_answered_says_why(question: Any, said: str) -> None:
    with pytest.raises(WinterswardError, match=said):
        power(**question)


def test_a_difference_too_small_for_any_trial_says_so() -> None:
    with pytest.raises(WinterswardError, match="100 blocks do not have a power of 0.8"):
        blocks_needed(difference=0.01, sd=5, most=100)
