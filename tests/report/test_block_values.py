from __future__ import annotations

import pandas as pd
import pytest

from wintersward.report.block_values import (
    block_differences,
    block_means,
    blocks_without,
    complete_units,
)

Tables = dict[str, pd.DataFrame]
DAY, LATE = "2026-03-24", "2026-04-17"


def test_block_differences_are_those_of_the_plots(tables: Tables) -> None:
    found = block_differences(tables["plot_means"], "green_cover", DAY, "cover", "fleece", "open")
    held = tables["plot_means"]
    here = held[(held["measure"] == "green_cover") & (held["date"] == pd.Timestamp(DAY))]
    block = here[here["block"] == "4"].set_index("cover")["value"]
    assert len(found) == 6
    assert found["4"] == pytest.approx(block["fleece"] - block["open"])
    assert found.mean() == pytest.approx(tables["primary"].loc[0, "difference"])


def test_a_block_without_both_treatments_is_left_out(tables: Tables) -> None:
    held = tables["plot_means"]
    gone = (held["block"] == "2") & (held["cover"] == "open")
    found = block_differences(held[~gone], "green_cover", DAY, "cover", "fleece", "open")
    assert sorted(found.index) == ["1", "3", "4", "5", "6"]
    assert block_differences(held, "green_cover", DAY, "mulch", "a", "b").empty


def without(tables: Tables, block: str, cover: str, tine: str) -> pd.DataFrame:
    held = tables["plot_means"]
    gone = (held["block"] == block) & (held["cover"] == cover) & (held["aeration"] == tine)
    return held[~(gone & (held["date"] == pd.Timestamp(LATE)))]


def test_different_tines_are_not_compared(tables: Tables) -> None:
    kept = without(tables, "3", "fleece", "solid")
    found = block_differences(kept, "green_cover", LATE, "cover", "fleece", "open")
    assert sorted(found.index) == ["1", "2", "4", "5", "6"]
    assert blocks_without(kept, "green_cover", LATE, "cover", "fleece", "open") == ["3"]
    # The pair that does not need the missing plot still has all blocks.
    assert blocks_without(kept, "green_cover", LATE, "cover", "woven", "open") == []
    tines = block_differences(kept, "green_cover", LATE, "aeration", "hollow", "solid")
    assert "3" not in tines.index


def test_means_are_over_all_other_treatments(tables: Tables) -> None:
    held = tables["plot_means"]
    here = held[(held["measure"] == "green_cover") & (held["date"] == pd.Timestamp(LATE))]
    wide = block_means(held, "green_cover", LATE, "cover", ["open", "fleece"])
    wanted = here[(here["block"] == "2") & (here["cover"] == "open")]["value"].mean()
    assert wide.loc["2", "open"] == pytest.approx(wanted)
    assert list(wide.columns) == ["open", "fleece"]


def test_a_whole_plot_without_a_subplot_is_not_complete(tables: Tables) -> None:
    kept = without(tables, "3", "fleece", "solid")
    kept = kept[kept["measure"] == "green_cover"]
    whole = complete_units(kept, kept["whole_plot"], "cover")
    assert (~whole).sum() == 1
    assert kept.loc[~whole, ["block", "cover", "aeration"]].to_numpy().tolist() == [
        ["3", "fleece", "hollow"]
    ]


def test_without_blocks_there_is_nothing_within_them(tables: Tables) -> None:
    loose = tables["plot_means"].assign(block="")
    asked = (loose, "green_cover", DAY, "cover", "fleece", "open")
    assert block_differences(*asked).empty
    assert blocks_without(*asked) == []
