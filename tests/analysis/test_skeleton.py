"""What the layout says about the analysis of a date."""

from __future__ import annotations

import datetime as dt

import pytest

from e2e.example import EXAMPLE
from wintersward.analysis import skeleton_for
from wintersward.trial import Definition, read_definition


@pytest.fixture(scope="module")
def definition() -> Definition:
    found, problems = read_definition(EXAMPLE)
    assert found is not None, problems
    return found


def test_before_the_aeration_whole_plots_are_the_units(definition: Definition) -> None:
    skeleton = skeleton_for(definition, dt.date(2026, 3, 24))
    assert (skeleton.fixed, skeleton.random) == ("cover", ("block",))
    assert (skeleton.unit_column, skeleton.unit_kind) == ("whole_plot", "whole plot")
    assert skeleton.unit_of("cover") == "whole plot"
    assert skeleton.table().set_index("term")["df_design"].to_dict()["cover"] == 10


def test_after_the_day_of_the_aeration_subplots_are_units(definition: Definition) -> None:
    assert skeleton_for(definition, dt.date(2026, 3, 25)).unit_kind == "whole plot"
    skeleton = skeleton_for(definition, dt.date(2026, 3, 26))
    assert (skeleton.fixed, skeleton.random) == ("cover * aeration", ("block", "whole_plot"))
    table = skeleton.table().set_index("term")
    # (6 - 1)(3 - 1) and 3 (6 - 1)(2 - 1): Gomez and Gomez (1984), chapter 3, from memory
    assert table["df_design"].dropna().to_dict() == {
        "cover": 10,
        "aeration": 15,
        "cover:aeration": 15,
    }
    assert table["unit_kind"].to_dict()["cover"] == "whole plot"
    assert table["unit_kind"].to_dict()["aeration"] == "subplot"
    assert table["role"].tolist()[-3:] == ["random", "random", "residual"]


def test_before_the_covers_nothing_is_compared(definition: Definition) -> None:
    assert not skeleton_for(definition, dt.date(2026, 1, 15)).treated
    assert not skeleton_for(definition, dt.date(2026, 1, 19)).treated
    assert skeleton_for(definition, dt.date(2026, 1, 20)).treated


def test_in_randomised_blocks_plots_are_the_units(definition: Definition) -> None:
    layout = definition.layout.model_copy(
        update={"kind": "randomised blocks", "whole_plot": None, "subplot": None}
    )
    blocks = definition.model_copy(update={"layout": layout})
    skeleton = skeleton_for(blocks, dt.date(2026, 3, 24))
    assert (skeleton.fixed, skeleton.random) == ("cover * aeration", ("block",))
    table = skeleton.table().set_index("term")
    assert list(table.index) == ["cover", "aeration", "cover:aeration", "block", "residual"]
    assert table["df_design"].dropna().unique().tolist() == [25]  # (6 - 1)(6 - 1)
