"""Planning against worked examples: how many blocks, what can be seen, what blocks are worth."""

from __future__ import annotations

from dataclasses import replace
from math import ceil
from pathlib import Path

import pytest
from scipy import stats

from analysis.planned import one_factor
from wintersward.analysis import expectation_words, expected
from wintersward.analysis.blocking import df_correction, relative_efficiency
from wintersward.analysis.prospect import Prospect, prospect
from wintersward.trial import Definition

MEAN = 60.0
# Blocks of four treatments for a power of 0.8 at alpha 0.05, one pair, noncentral t on 3 (r - 1)
# degrees of freedom, and the power with them; coefficient of variation and difference in % of the
# mean. Computed with SciPy before this package was written; those that a definition can ask for.
NEEDED = {
    (5, 5): (17, 0.815), (5, 10): (5, 0.827), (5, 15): (3, 0.862), (5, 20): (3, 0.981),
    (5, 30): (2, 0.967),
    (8, 5): (41, 0.802), (8, 10): (11, 0.810), (8, 15): (6, 0.859), (8, 20): (4, 0.881),
    (8, 30): (3, 0.966),
    (10, 10): (17, 0.815), (10, 15): (8, 0.816), (10, 20): (5, 0.827), (10, 30): (3, 0.862),
    (15, 10): (36, 0.800), (15, 15): (17, 0.815), (15, 20): (10, 0.820), (15, 30): (5, 0.827),
    (20, 15): (29, 0.806), (20, 20): (17, 0.815), (20, 30): (8, 0.816),
    (25, 15): (45, 0.807), (25, 20): (26, 0.813), (25, 30): (12, 0.814),
}  # fmt: skip


def four(folder: Path, cv: float, difference: float, blocks: int = 4) -> Prospect:
    """Plan four treatments in blocks; the difference in % of the mean."""
    return prospect(definition(folder, cv, difference, blocks))


def definition(folder: Path, cv: float, difference: float, blocks: int) -> Definition:
    fourth = "      woven: {label: Woven permeable cover, mass: 3.5 oz/yd2, light: 60 %}\n"
    return one_factor(
        folder,
        (fourth, f"{fourth}      straw: {{label: Straw}}\n"),
        ("8 points", f"{difference * MEAN / 100:g} points"),
        ("  alpha: 0.05\n", f"  alpha: 0.05\nplanning: {{cv: {cv} %, mean: {MEAN:g} %}}\n"),
        ("  blocks: 4", f"  blocks: {blocks}"),
    )


@pytest.mark.parametrize(("cv", "difference"), NEEDED)
def test_blocks_that_a_definition_needs(tmp_path: Path, cv: float, difference: float) -> None:
    blocks, chance = NEEDED[cv, difference]
    ahead = four(tmp_path, cv, difference)
    assert ahead.needed() == blocks
    assert ahead.power(blocks) == pytest.approx(chance, abs=5.1e-4)


def test_the_exact_eight_and_not_the_seven_of_the_normal_approximation(tmp_path: Path) -> None:
    # Coefficient of variation 10 %, difference 15 % of the mean: 2 (1.96 + 0.84)^2 (10 / 15)^2 is
    # 6.98, so 7 blocks; the exact power reaches 0.8 with 8.
    z = stats.norm.isf(0.025) + stats.norm.isf(0.2)
    assert ceil(2 * (z * 10 / 15) ** 2) == 7
    seven, eight = (definition(tmp_path / str(b), 10, 15, b) for b in (7, 8))
    assert "see it 8 times in 10 you need 8 blocks." in expectation_words(seven)[1]
    assert expectation_words(eight)[1].endswith("would be seen 82 times in 100.")
    table = expected(seven).set_index("blocks")
    assert table.loc[7, "power"] < 0.8 <= table.loc[8, "power"]


def test_power_with_four_blocks(tmp_path: Path) -> None:
    # Computed with SciPy, coefficient of variation 10 %.
    for difference, chance in ((10, 0.2445), (15, 0.4739), (20, 0.7119), (25, 0.8811)):
        ahead = four(tmp_path / str(difference), 10, difference)
        assert ahead.power(4) == pytest.approx(chance, abs=5e-5)


def test_what_can_be_seen_with_three_to_six_blocks(tmp_path: Path) -> None:
    # In % of the mean, computed with SciPy, coefficient of variation 10 %.
    ahead = four(tmp_path, 10, 15)
    for blocks, seen in ((3, 27.49), (4, 22.27), (5, 19.31), (6, 17.31)):
        assert 100 * ahead.detectable(blocks) / MEAN == pytest.approx(seen, abs=5e-3)
    said = expectation_words(definition(tmp_path / "six", 10, 15, 6))
    # 17.31 % of 60 are 10.39 points.
    assert "a difference of 11 points or more" in said[0]


def test_ways_to_deal_two_treatments(tmp_path: Path) -> None:
    # 2 / 2^5 = 1/16 and 2 / 2^6 = 1/32: arithmetic.
    ahead = four(tmp_path, 10, 15)
    assert (ahead.smallest_p(5), ahead.smallest_p(6)) == (1 / 16, 1 / 32)
    on_two = replace(ahead, plan=replace(ahead.plan, grounds=2))
    assert on_two.smallest_p(3) == 1 / 32


def test_efficiency_of_the_blocks_of_a_published_trial() -> None:
    # Montgomery, Design and Analysis of Experiments, vascular graft: four pressures in six
    # batches; sums of squares 192.25 and 109.89 as printed at Penn State STAT 503, lesson 4.2.
    # 1.9236, 0.9735 and 1.8727 computed from the values with more digits.
    plain, corrected = relative_efficiency(192.25 / 5, 109.89 / 15, 5, 3, 15)
    assert plain == pytest.approx(1.9236, abs=1e-4)
    assert df_correction(15, 20) == pytest.approx(0.9735, abs=5e-5)
    assert corrected == pytest.approx(1.8727, abs=1e-4)


def test_efficiency_of_the_blocks_of_a_rice_trial() -> None:
    # Gomez K. A., Gomez A. A. (1984), chapter 2, six seeding rates in four replicates (sums of
    # squares from memory): 1.634 and 1.606.
    plain, corrected = relative_efficiency(1_944_361 / 3, 1_658_376 / 15, 3, 5, 15)
    assert plain == pytest.approx(1.634, abs=5e-4)
    assert corrected == pytest.approx(1.606, abs=5e-4)
