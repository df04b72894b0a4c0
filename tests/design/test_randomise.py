import hashlib
from collections import Counter
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from wintersward.design.randomise import draw
from wintersward.trial import read_definition

SEEDS = 600
EXAMPLE = Path(__file__).resolve().parents[2] / "example_study"
TWO = {"upper": "Upper field", "lower": "Lower field"}
# The beginning of the hash of each plan as it was drawn before there were grounds.
DRAWN = {
    "completely random": "4e512066c30c1db8",
    "randomised blocks": "955f0ec3a2fd1ced",
    "latin square": "10ebab52409b8014",
    "split plot": "e41484ee77d345e3",
    "strip plot": "78ce8f1bf6d57a75",
}


def _limits(cells):
    """Bounds that a count of one of equally likely cells leaves once in a million times."""
    low, high = stats.binom.ppf([5e-7, 1 - 5e-7], SEEDS, 1 / cells)
    return low, high


def _evenly(counts, cells):
    low, high = _limits(cells)
    assert len(counts) == cells
    assert min(counts.values()) >= low
    assert max(counts.values()) <= high


@pytest.fixture(scope="module")
def plans(make):
    return [draw(make(seed=seed)) for seed in range(SEEDS)]


def test_a_plan_worked_by_hand_from_the_published_words(make_blocks):
    """The first words of the same source, of which only the remainders matter here.

    Sixteen is 1 more than a multiple of 3, so a word's remainder is that of the sum of its
    hexadecimal digits: 89 gives 2 and 122 gives 2. The last digits of the second and fourth
    word, 0xd5e79d89856e4f12 and 0xf1e3072a53c72571, say even and odd.
    Levels by name: fleece, open, woven. Block 1: woven stays last; 0 exchanges the first two.
    Block 2: woven stays last; 1 exchanges nothing.
    """
    plan = draw(make_blocks(seed=0xDEADBEAF))
    assert plan["cover"].tolist() == ["open", "fleece", "woven", "fleece", "open", "woven"]


def test_every_order_of_covers_is_equally_likely(plans):
    orders = Counter(tuple(plan["cover"].iloc[:6:2]) for plan in plans)
    _evenly(orders, 6)


def test_blocks_are_drawn_independently(plans):
    pairs = Counter(
        (tuple(plan["cover"].iloc[:6:2]), tuple(plan["cover"].iloc[6::2])) for plan in plans
    )
    _evenly(pairs, 36)


def test_whole_plots_are_drawn_independently_of_one_another_and_of_their_cover(plans):
    first = Counter(tuple(plan["aeration"].iloc[[0, 2, 4]]) for plan in plans)
    _evenly(first, 8)
    with_cover = Counter((plan["cover"].iloc[0], plan["aeration"].iloc[0]) for plan in plans)
    _evenly(with_cover, 6)


def test_combinations_of_factors_fall_evenly_on_plots(make_blocks):
    factors = {"cover": ["open", "fleece"], "feed": ["none", "some"]}
    plans = [draw(make_blocks(factors, seed=seed)) for seed in range(SEEDS)]
    orders = Counter(
        tuple(plan[["cover", "feed"]].iloc[:4].itertuples(index=False, name=None)) for plan in plans
    )
    _evenly(orders, 24)


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 2**63),
    blocks=st.integers(2, 6),
    levels=st.tuples(st.integers(2, 4), st.integers(2, 3)),
)
def test_each_level_stands_where_the_layout_asks(make, make_blocks, seed, blocks, levels):
    factors = {
        "cover": [f"c{i}" for i in range(levels[0])],
        "aeration": [f"a{i}" for i in range(levels[1])],
    }
    for build in (make, make_blocks):
        plan = draw(build(factors, seed=seed, blocks=blocks))
        assert (plan.groupby(["block", "cover", "aeration"], observed=False).size() == 1).all()
    split = draw(make(factors, seed=seed, blocks=blocks))
    assert (split.groupby("whole_plot")["cover"].nunique() == 1).all()
    assert (split.groupby("whole_plot")["aeration"].nunique() == levels[1]).all()


def test_same_seed_same_plan_and_another_seed_another(make):
    pd.testing.assert_frame_equal(draw(make(blocks=6)), draw(make(blocks=6)))
    arrangements = {tuple(draw(make(blocks=6, seed=seed))["cover"]) for seed in range(50)}
    assert len(arrangements) == 50


def test_order_of_factors_and_levels_in_the_file_does_not_matter(make):
    one = draw(make({"cover": ["open", "fleece", "woven"], "aeration": ["solid", "hollow"]}))
    other = draw(make({"aeration": ["hollow", "solid"], "cover": ["woven", "open", "fleece"]}))
    for factor in ("cover", "aeration"):
        assert one[factor].tolist() == other[factor].tolist()
    assert one["cover"].cat.categories.tolist() == ["open", "fleece", "woven"]
    assert other["cover"].cat.categories.tolist() == ["woven", "open", "fleece"]


def test_more_blocks_leave_the_first_as_they_were(make):
    few, many = draw(make(blocks=2)), draw(make(blocks=5))
    assert many["cover"].iloc[: len(few)].tolist() == few["cover"].tolist()


def test_columns_are_those_of_the_plots_table(make):
    plan = draw(make())
    assert ",".join(plan.columns) == (
        "plot,whole_plot,block,row,column,x_m,y_m,width_m,length_m,cover,aeration,walk"
    )
    assert plan["cover"].cat.ordered


def test_a_latin_square_worked_by_hand_from_the_published_words(make_kind):
    """Words and remainders as in the plan above.

    The first word chooses from the one reduced square of order 3, whose rows go on by one. The
    digits of the second, 0xd5e79d89856e4f12, sum to 133 and give 1 by 3: of the columns 0, 1, 2
    the last takes column 1. The third is even: the first two, 0 and 2, are exchanged. The fourth
    is odd: rows 1 and 2 stay. Levels by name: fleece, open, woven.
    """
    definition = make_kind("latin square", {"cover": ["open", "fleece", "woven"]}, seed=0xDEADBEAF)
    plan = draw(definition)
    assert plan["cover"].tolist() == [
        *["woven", "fleece", "open"],
        *["fleece", "open", "woven"],
        *["open", "woven", "fleece"],
    ]


def test_every_order_of_a_completely_random_plan_is_equally_likely(make_kind):
    factors = {"cover": ["open", "fleece"]}
    plans = [
        tuple(draw(make_kind("completely random", factors, replicates=2, seed=seed))["cover"])
        for seed in range(SEEDS)
    ]
    # 4! / (2! 2!) orders of two treatments on two plots each
    _evenly(Counter(plans), 6)


def test_strips_of_both_kinds_and_of_every_block_are_drawn_independently(make_kind):
    plans = [draw(make_kind("strip plot", seed=seed)) for seed in range(SEEDS)]
    rows = Counter(tuple(plan["cover"].iloc[:6:2]) for plan in plans)
    _evenly(rows, 6)
    both = Counter((tuple(p["cover"].iloc[:6:2]), p["aeration"].iloc[0]) for p in plans)
    _evenly(both, 12)
    blocks = Counter((p["aeration"].iloc[0], p["aeration"].iloc[6]) for p in plans)
    _evenly(blocks, 4)


def test_latin_squares_of_order_three_are_equally_likely(make_kind):
    factors = {"cover": ["open", "fleece", "woven"]}
    plans = [draw(make_kind("latin square", factors, seed=seed)) for seed in range(SEEDS)]
    _evenly(Counter(tuple(plan["cover"]) for plan in plans), 12)


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 2**63), levels=st.tuples(st.integers(3, 6), st.integers(2, 3)))
def test_each_level_stands_where_the_newer_kinds_ask(make_kind, seed, levels):
    one = {"cover": [f"c{i}" for i in range(levels[0])]}
    both = {**one, "aeration": [f"a{i}" for i in range(levels[1])]}
    square = draw(make_kind("latin square", one, seed=seed))
    for side in ("row", "column"):
        assert (square.groupby([side, "cover"], observed=False).size() == 1).all()
    random = draw(make_kind("completely random", both, replicates=4, seed=seed))
    assert (random.groupby(["cover", "aeration"], observed=False).size() == 4).all()
    strips = draw(make_kind("strip plot", both, blocks=3, seed=seed))
    assert (strips.groupby(["block", "cover", "aeration"], observed=False).size() == 1).all()
    assert (strips.groupby(["block", "row"])["cover"].nunique() == 1).all()
    assert (strips.groupby(["block", "column"])["aeration"].nunique() == 1).all()


def _bytes(plan):
    return plan.to_csv(index=False, lineterminator="\n", float_format="%.10g").encode()


def test_plans_without_grounds_stay_as_they_were_drawn(make_kind):
    for kind, known in DRAWN.items():
        assert hashlib.sha256(_bytes(draw(make_kind(kind)))).hexdigest()[:16] == known
    definition, _ = read_definition(EXAMPLE)
    assert _bytes(draw(definition)) == (EXAMPLE / "plan" / "plots.csv").read_bytes()


class TestGrounds:
    def test_one_ground_after_another_from_the_same_words(self, make):
        """Two blocks on each of two grounds take the words that four blocks take on one."""
        two, one = draw(make(grounds=TWO)), draw(make(blocks=4))
        assert two["ground"].tolist() == ["upper"] * 12 + ["lower"] * 12
        assert two["block"].tolist() == one["block"].tolist()
        assert two["plot"].tolist() == one["plot"].tolist()
        for factor in ("cover", "aeration"):
            assert two[factor].tolist() == one[factor].tolist()

    def test_columns(self, make):
        assert list(draw(make(grounds=TWO)).columns)[:3] == ["plot", "ground", "whole_plot"]

    def test_the_order_of_the_grounds_decides(self, make):
        there = draw(make(grounds=TWO))
        back = draw(make(grounds=dict(reversed(TWO.items()))))
        assert there["cover"].tolist() == back["cover"].tolist()
        assert back["ground"].tolist() == ["lower"] * 12 + ["upper"] * 12

    def test_grounds_are_drawn_independently(self, make_blocks):
        definition = {"cover": ["open", "fleece", "woven"]}
        pairs = Counter()
        for seed in range(SEEDS):
            plan = draw(make_blocks(definition, seed=seed, grounds=TWO))
            first = plan.groupby("ground", sort=False)["cover"].apply(lambda c: tuple(c[:3]))
            pairs[first["upper"], first["lower"]] += 1
        table = pd.Series(pairs).unstack(fill_value=0)
        assert table.shape == (6, 6)
        # One test for the 36 pairs being equally likely; the seeds are fixed.
        assert stats.chisquare(table.to_numpy().ravel()).pvalue > 1e-3
        assert stats.chi2_contingency(table.to_numpy()).pvalue > 1e-3

    @settings(max_examples=20, deadline=None)
    @given(
        seed=st.integers(0, 2**63), kind=st.sampled_from(["randomised blocks", "strip plot"]),
        many=st.integers(2, 4),
    )  # fmt: skip
    def test_every_ground_is_complete(self, make_kind, seed, kind, many):
        grounds = {f"g{i}": f"Ground {i}" for i in range(many)}
        plan = draw(make_kind(kind, seed=seed, blocks=3, grounds=grounds))
        counts = plan.groupby(["ground", "cover", "aeration"], observed=False).size()
        assert (counts == 3).all()
        assert plan["block"].nunique() == 3 * many


class TestDemonstration:
    def test_every_combination_once_in_any_order(self, make_kind):
        factors = {"cover": ["open", "fleece"], "feed": ["none", "some"]}
        orders = Counter(
            tuple(
                draw(make_kind("demonstration", factors, seed=seed))[["cover", "feed"]].itertuples(
                    index=False, name=None
                )
            )
            for seed in range(SEEDS)
        )
        _evenly(orders, 24)


def test_latin_squares_of_order_four_are_valid_and_evenly_spread(make_kind):
    """Of all 576 squares of order 4 each first row is that of 24, and 192 repeat their corner
    on the next place of the diagonal (counted from the four reduced squares).
    """
    factors = {"cover": ["a", "b", "c", "d"]}
    rows, same = Counter(), 0
    for seed in range(SEEDS):
        cells = draw(make_kind("latin square", factors, seed=seed))["cover"].to_numpy()
        square = cells.reshape(4, 4)
        for line in [*square, *square.T]:
            assert sorted(line) == ["a", "b", "c", "d"]
        rows[tuple(square[0])] += 1
        same += square[0, 0] == square[1, 1]
    _evenly(rows, 24)
    low, high = _limits(3)
    assert low <= same <= high
