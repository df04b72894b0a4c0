"""No analysis takes for a replicate what is none."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import pytest

from wintersward.analysis.skeleton import Skeleton, Term
from wintersward.analysis.unit_checks import check_units
from wintersward.errors import WinterswardError

SPLIT = Skeleton(
    ("cover", "tine"),
    "plot",
    "subplot",
    ("block", "whole_plot"),
    (
        Term("cover", "treatment", "whole plot", 1, "whole_plot", ("block",)),
        Term("tine", "treatment", "subplot", 2, "plot", ("whole_plot",)),
        Term("cover:tine", "treatment", "subplot", 2, "plot", ("whole_plot",)),
        Term("block", "random", "block"),
        Term("whole_plot", "random", "whole plot"),
        Term("residual", "residual", "subplot"),
    ),
    True,
)


@pytest.fixture
def plots() -> pd.DataFrame:
    """Two blocks of two covers, each with both tines."""
    return pd.DataFrame(
        {
            "plot": [f"{block}0{i}" for block in "12" for i in range(1, 5)],
            "whole_plot": [f"{block}{letter}" for block in "12" for letter in "AABB"],
            "block": list("11112222"),
            "cover": ["open", "open", "fleece", "fleece"] * 2,
            "tine": ["solid", "hollow"] * 4,
            "value": range(8),
        }
    )


def refusal(data: pd.DataFrame, skeleton: Skeleton) -> str:
    with pytest.raises(WinterswardError) as caught:
        check_units(data, skeleton)
    return str(caught.value)


def test_a_sound_split_plot_passes_whatever_its_order(plots: pd.DataFrame) -> None:
    check_units(plots, SPLIT)
    check_units(plots.iloc[::-1].drop(index=[3]), SPLIT)


def test_several_rows_of_one_plot_are_refused(plots: pd.DataFrame) -> None:
    photos = pd.concat([plots, plots.iloc[[0, 0, 5]]])
    assert refusal(photos, SPLIT) == (
        "11 rows on 8 subplots (3 of 101, 2 of 202): several rows of one subplot are subsamples, "
        "not replicates, and treatments were drawn for subplots; average them onto the subplots"
    )
    many = refusal(pd.concat([plots] * 3), SPLIT)
    assert many.startswith("24 rows on 8 subplots (3 of 101, 3 of 102, 3 of 103 ...): ")


def test_a_treatment_without_a_term_for_its_unit_is_refused(plots: pd.DataFrame) -> None:
    flat = replace(SPLIT, random=("block",))
    assert refusal(plots, flat) == (
        "cover was drawn for whole plots, and the model has no random term for them (random: "
        "block; rows: plot): its rows would count as replicates that they are not; add the term "
        "whole_plot, or average onto whole plots"
    )
    bare = replace(SPLIT, random=())
    assert "(random: none; rows: plot)" in refusal(plots, bare)


def test_a_treatment_that_changes_within_its_unit_is_refused(plots: pd.DataFrame) -> None:
    plots.loc[1, "cover"] = "fleece"
    assert refusal(plots, SPLIT) == (
        "cover changes within whole plot 1A (open and fleece): then whole plots are not what it "
        "was drawn for"
    )


def test_strips_are_told_by_block_and_row(plots: pd.DataFrame) -> None:
    row = Term("cover", "treatment", "row strip", 1, "block:row", ("block",))
    strips = Skeleton(("cover",), "block:row", "row strip", ("block",), (row,), True)
    rows = plots.iloc[::2].assign(row=[1, 2, 1, 2])
    check_units(rows, strips)
    said = refusal(pd.concat([rows, rows.iloc[:1]]), strips)
    assert said.startswith("5 rows on 4 row strips (2 of 1:1): ")


def test_a_column_that_is_not_there_or_empty_is_told(plots: pd.DataFrame) -> None:
    said = refusal(plots.drop(columns="whole_plot"), SPLIT)
    assert said == "the data have no column whole_plot, which the model needs"
    plots.loc[[2, 3], "whole_plot"] = ["", None]
    assert refusal(plots, SPLIT) == "2 of 8 rows do not say which whole_plot they are of"
