"""Orders that a hand laid alike everywhere, and those that chance or a hand mixed."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from analysis.planned import one_factor, planned
from wintersward import design
from wintersward.analysis.hand_orders import same_orders
from wintersward.trial import Definition
from wintersward.trial.schema import LaidByHand

HAND = LaidByHand.model_validate({"how": "as they came", "signed": "rx", "date": "2026-01-10"})


def by_hand(definition: Definition) -> Definition:
    layout = definition.layout.model_copy(update={"laid_by_hand": HAND})
    return definition.model_copy(update={"layout": layout})


def laid(plots: pd.DataFrame, factor: str, levels: list[str]) -> pd.DataFrame:
    return plots.assign(**{factor: pd.Categorical(levels, plots[factor].cat.categories)})


def test_one_order_in_every_block(tmp_path: Path) -> None:
    drawn = one_factor(tmp_path)
    plots = laid(design.draw(drawn), "cover", ["woven", "open", "fleece"] * 4)
    assert same_orders(drawn, plots) == []
    (found,) = same_orders(by_hand(drawn), plots)
    assert (found.factors, found.within) == (["cover"], "block")
    assert found.order == ["woven", "open", "fleece"]
    assert found.ways == 6**3


def test_one_block_in_another_order_is_enough(tmp_path: Path) -> None:
    hand = by_hand(one_factor(tmp_path))
    mixed = ["woven", "open", "fleece"] * 3 + ["fleece", "open", "woven"]
    assert same_orders(hand, laid(design.draw(hand), "cover", mixed)) == []


def test_an_order_along_the_walk_counts_too(tmp_path: Path) -> None:
    hand = by_hand(one_factor(tmp_path))
    plots = design.draw(hand)
    order = ["woven", "open", "fleece"]
    walked = {walk: order[i % 3] for i, walk in enumerate(sorted(plots["walk"]))}
    (found,) = same_orders(hand, laid(plots, "cover", [walked[w] for w in plots["walk"]]))
    assert found.order == order


@pytest.mark.parametrize("factor", ["cover", "aeration"])
def test_a_split_plot_is_looked_at_factor_by_factor(tmp_path: Path, factor: str) -> None:
    hand = by_hand(planned(tmp_path))
    plots = design.draw(hand)
    pattern = {
        "cover": ["open", "open", "fleece", "fleece", "woven", "woven"] * 6,
        "aeration": ["solid", "hollow"] * 18,
    }[factor]
    (found,) = same_orders(hand, laid(plots, factor, pattern))
    assert found.factors == [factor]
    assert found.within == {"cover": "block", "aeration": "whole plot"}[factor]
    assert found.ways == {"cover": 6**5, "aeration": 2**17}[factor]


def test_combinations_are_one_order(tmp_path: Path) -> None:
    layout = "  kind: split plot\n  whole_plot: cover\n  subplot: aeration\n"
    hand = by_hand(
        planned(
            tmp_path,
            (layout, "  kind: randomised blocks\n"),
            ("    applied: aeration\n", ""),
        )
    )
    plots = design.draw(hand)
    plots = laid(plots, "cover", ["open", "open", "fleece", "fleece", "woven", "woven"] * 6)
    # Covers lie alike everywhere, tines do not: the combinations differ.
    swapped = ["solid", "hollow"] * 15 + ["hollow", "solid"] * 3
    assert same_orders(hand, laid(plots, "aeration", swapped)) == []
    (found,) = same_orders(hand, laid(plots, "aeration", ["solid", "hollow"] * 18))
    assert found.factors == ["cover", "aeration"]
    assert found.order[:2] == ["open:solid", "open:hollow"]


def test_a_layout_without_blocks_has_no_order_to_compare(tmp_path: Path) -> None:
    layout = "  kind: completely random\n  replicates: 4\n"
    hand = by_hand(one_factor(tmp_path, layout=layout))
    assert same_orders(hand, design.draw(hand)) == []
