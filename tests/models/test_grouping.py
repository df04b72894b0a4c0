from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from wintersward.errors import WinterswardError
from wintersward.models.columns import take_columns
from wintersward.models.grouping import (
    Grouping,
    build_groupings,
    group_rows,
    independent_blocks,
)


def grouped(data: pd.DataFrame, *random: str) -> tuple[Grouping, ...]:
    columns = [part for term in random for part in term.split(":")]
    return build_groupings(random, take_columns(data, "green", [], (), columns).groups)


def test_levels_are_combinations_that_occur(trial: pd.DataFrame) -> None:
    block, whole = grouped(trial, "block", "block:cover")
    assert (block.count, whole.count) == (4, 12)
    assert whole.indicator().sum(axis=0).tolist() == [2.0] * 12
    np.testing.assert_array_equal(block.indicator().argmax(axis=1), block.codes)


def test_nested_terms_give_one_block_each(trial: pd.DataFrame) -> None:
    rows = independent_blocks(grouped(trial, "block", "block:cover"), len(trial))
    assert [trial["block"].iloc[part].unique().tolist() for part in rows] == [
        ["b1"],
        ["b2"],
        ["b3"],
        ["b4"],
    ]


def test_crossed_terms_join_everything(trial: pd.DataFrame) -> None:
    assert len(independent_blocks(grouped(trial, "block", "cover"), len(trial))) == 1
    assert [len(part) for part in independent_blocks((), 24)] == [24]


@pytest.mark.parametrize(
    ("random", "said"),
    [
        (("block:cover:tine",), "every row has its own level"),
        (("plot", "block:cover"), "plot and block:cover: group the rows alike"),
        (("block", "block"), "group the rows alike"),
    ],
)
def test_terms_a_model_cannot_have(trial: pd.DataFrame, random: tuple[str, ...], said: str) -> None:
    with pytest.raises(WinterswardError, match=said):
        grouped(trial, *random)


def test_one_level_is_refused_by_name(trial: pd.DataFrame) -> None:
    one = trial[trial["block"] == "b2"]
    with pytest.raises(WinterswardError, match=r"random term block: .* \(block=b2\)"):
        grouped(one, "block")


def test_groups_are_called_by_their_levels(trial: pd.DataFrame) -> None:
    groups = take_columns(trial, "green", [], (), ["block", "cover"]).groups
    whole, said = group_rows("block:cover", groups)
    assert (whole.name, whole.count) == ("block:cover", 12)
    assert said[whole.codes[0]] == "b1:fleece"
    assert said[whole.codes[5]] == "b1:woven"
    _, said = group_rows("block", groups)
    assert said == ("b1", "b2", "b3", "b4")


def test_a_term_of_single_rows_where_it_may_stand(trial: pd.DataFrame) -> None:
    groups = take_columns(trial, "green", [], (), ["block", "cover", "tine"]).groups
    (rows,) = build_groupings(["block:cover:tine"], groups, rows_apart=True)
    assert rows.count == 24
