"""Whether treatments fell together with what was known of their plots."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from statsmodels.formula.api import ols

from analysis.planned import one_factor, planned
from wintersward import design
from wintersward.analysis.aliasing import aliases
from wintersward.trial import Definition
from wintersward.trial.schema import LaidByHand


def frame(plots: pd.DataFrame, **values: object) -> pd.DataFrame:
    return pd.DataFrame(values).set_axis(plots["plot"])


@pytest.fixture
def blocks(tmp_path: Path) -> Definition:
    return one_factor(tmp_path, ("  blocks: 4", "  blocks: 6"))


def test_a_number_that_a_treatment_explains(blocks: Definition) -> None:
    plots = design.draw(blocks)
    rng = np.random.default_rng(5)
    sun = 5 + 2.0 * (plots["cover"] == "open") + rng.normal(0, 0.4, len(plots))
    sun += plots["block"].astype(int) * 3
    (found,) = aliases(blocks, plots, frame(plots, sun_hours=sun.to_numpy()))
    data = pd.DataFrame({"sun": sun, "block": plots["block"], "cover": plots["cover"].astype(str)})
    without, fitted = (ols(f, data).fit() for f in ("sun ~ block", "sun ~ block + cover"))
    assert found.share == pytest.approx(1 - fitted.ssr / without.ssr)
    assert (found.value, found.factor, found.within) == ("sun_hours", "cover", "blocks")
    means = sun.groupby(plots["cover"].astype(str)).mean()
    assert f"No cover {means['open']:.3g}" in found.shown


def test_differences_between_blocks_are_what_blocks_are_for(blocks: Definition) -> None:
    plots = design.draw(blocks)
    values = frame(plots, drainage=plots["block"].to_numpy(), sun=plots["block"].astype(int) * 2.0)
    assert aliases(blocks, plots, values) == []


def test_chance_alone_is_rarely_called_an_alias(blocks: Definition) -> None:
    plots = design.draw(blocks)
    rng = np.random.default_rng(6)
    noise = {f"v{i}": rng.normal(size=len(plots)) for i in range(400)}
    # Adjusted R2 of 0.5 with 2 and 10 degrees of freedom is F = 7.0, p = 0.0126.
    called = len(aliases(blocks, plots, pd.DataFrame(noise).set_axis(plots["plot"])))
    assert called / 400 == pytest.approx(0.0126, abs=4 * np.sqrt(0.0126 / 400))


def test_a_word_that_falls_together_with_a_treatment(blocks: Definition) -> None:
    plots = design.draw(blocks)
    words = ["new" if cover == "open" else "old" for cover in plots["cover"]]
    (found,) = aliases(blocks, plots, frame(plots, sod_source=words))
    assert found.share == pytest.approx(1)
    assert found.shown == ""


def test_whole_plots_are_judged_by_their_means(tmp_path: Path) -> None:
    split = planned(tmp_path)
    plots = design.draw(split)
    # Within every whole plot the solid subplot is brighter: cover has no part in it.
    sun = (plots["aeration"] == "solid").to_numpy() * 1.0
    (found,) = aliases(split, plots, frame(plots, sun=sun))
    assert (found.factor, found.within) == ("aeration", "whole plots")
    covers = (plots["cover"] == "open").to_numpy() * 1.0
    (found,) = aliases(split, plots, frame(plots, sun=covers))
    assert (found.factor, found.within) == ("cover", "blocks")


def test_plots_of_which_nothing_is_known_are_left_out(blocks: Definition) -> None:
    plots = design.draw(blocks)
    sun = (plots["cover"] == "open").to_numpy() * 1.0
    sun[:3] = np.nan
    (found,) = aliases(blocks, plots, frame(plots, sun=sun))
    assert found.share == pytest.approx(1)
    assert aliases(blocks, plots, frame(plots, sun=np.full(len(plots), np.nan))) == []


def test_places_are_looked_at_where_plots_were_laid_by_hand(blocks: Definition) -> None:
    plots = design.draw(blocks)
    # In every block the covers lie in the same order, from left to right.
    plots["cover"] = pd.Categorical(["open", "fleece", "woven"] * 6, plots["cover"].cat.categories)
    nothing = pd.DataFrame(index=plots["plot"])
    assert aliases(blocks, plots, nothing) == []
    hand = LaidByHand.model_validate({"how": "as they came", "signed": "rx", "date": "2026-01-10"})
    layout = blocks.layout.model_copy(update={"laid_by_hand": hand})
    found = aliases(blocks.model_copy(update={"layout": layout}), plots, nothing)
    assert [(one.value, one.place) for one in found] == [("place along the width", True)]
    # Plots are 10 ft wide, 2 ft apart.
    assert found[0].shown == "No cover 0 ft, Spun-bond fleece 12 ft, Woven permeable cover 24 ft"
