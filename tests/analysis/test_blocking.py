"""Which blocks are worth what, by what is known of the plots before any treatment."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analysis.planned import one_factor, planned, shown_only
from wintersward import design
from wintersward.analysis import blocking_advice, blocking_words
from wintersward.analysis.blocking import (
    NEIGHBOURS,
    NONE,
    PLANNED,
    ROWS,
    SORTED,
    df_correction,
    relative_efficiency,
)
from wintersward.errors import WinterswardError
from wintersward.trial import Definition

SIDE_BY_SIDE = "  kind: randomised blocks\n  blocks: 4\n  blocks_side_by_side: 2\n"


@pytest.fixture
def blocks(tmp_path: Path) -> Definition:
    return one_factor(tmp_path, layout=SIDE_BY_SIDE)


def frame(plots: pd.DataFrame, **values: object) -> pd.DataFrame:
    return pd.DataFrame(values).set_axis(plots["plot"])


def row(table: pd.DataFrame, blocking: str) -> pd.Series:
    (found,) = (one for _, one in table.iterrows() if one["blocking"] == blocking)
    return found


def test_worth_is_the_textbook_ratio_of_expected_mean_squares(blocks: Definition) -> None:
    plots = design.draw(blocks)
    rng = np.random.default_rng(2)
    sun = rng.normal(size=12) + plots["block"].astype(int).to_numpy()
    found = row(blocking_advice(blocks, plots, frame(plots, sun=sun), 0.8), PLANNED)
    by = pd.Series(sun).groupby(plots["block"].to_numpy())
    inside = float(((by.size() - 1) * by.var()).sum()) / (12 - 4)
    across = float((by.size() * (by.mean() - sun.mean()) ** 2).sum()) / (4 - 1)
    whole = float(np.var(sun, ddof=1))
    between, within = (0.36 + 0.64 * square / whole for square in (across, inside))
    plain, corrected = relative_efficiency(between, within, 3, 2, 6)
    assert found["within"] == pytest.approx(inside / whole)
    assert found["efficiency"] == pytest.approx(plain)
    assert found["corrected"] == pytest.approx(corrected)
    assert found["df"] == 6
    assert found["plots_saved"] == round((corrected - 1) * 12)


def test_worth_is_what_simulated_trials_show(blocks: Definition) -> None:
    plots = design.draw(blocks)
    sun = plots["x_m"].to_numpy() / 5
    found = row(blocking_advice(blocks, plots, frame(plots, sun=sun)), PLANNED)
    rng = np.random.default_rng(3)
    scaled = (sun - sun.mean()) / np.std(sun, ddof=1)
    # Treatments make no difference to an error, so none is added.
    seen = 0.7 * scaled + np.sqrt(1 - 0.49) * rng.normal(size=(40_000, 12))
    centred = seen - seen.mean(axis=1, keepdims=True)
    whole = (centred**2).sum(axis=1).mean() / 11
    inside = 0.0
    for block in plots["block"].unique():
        own = seen[:, (plots["block"] == block).to_numpy()]
        inside += ((own - own.mean(axis=1, keepdims=True)) ** 2).sum(axis=1).mean()
    assert found["efficiency"] == pytest.approx(whole / (inside / 8), rel=0.01)


def test_candidates_are_compared_and_the_best_stands_first(blocks: Definition) -> None:
    plots = design.draw(blocks)
    rng = np.random.default_rng(4)
    table = blocking_advice(blocks, plots, frame(plots, sun=rng.normal(size=12)))
    # Rows hold six plots, every treatment twice; columns two, which is not all of them; the walk
    # meets the plots of row 1 and then those of row 2, three at a time, as they were planned.
    assert set(table["blocking"]) == {PLANNED, NONE, ROWS, SORTED}
    assert table["blocking"].iloc[0] == SORTED
    assert table["corrected"].is_monotonic_decreasing
    none = row(table, NONE)
    assert (none["blocks"], none["df"]) == (0, 9)
    assert (none["efficiency"], none["corrected"], none["plots_saved"]) == (1, 1, 0)
    assert row(table, ROWS)["df"] == 12 - 2 - 2


def test_blocks_of_what_is_alike_lose_their_degrees_of_freedom_only(blocks: Definition) -> None:
    plots = design.draw(blocks)
    sun = frame(plots, sun=plots["x_m"].to_numpy())
    table = blocking_advice(blocks, plots, sun, correlation=0)
    assert (table["efficiency"] == 1).all()
    assert row(table, SORTED)["corrected"] == pytest.approx(df_correction(6, 9))


def test_sorted_blocks_hold_the_plots_with_the_nearest_values(tmp_path: Path) -> None:
    layout = "  kind: completely random\n  replicates: 4\n  plots_in_a_row: 4\n"
    anywhere = one_factor(tmp_path, layout=layout)
    plots = design.draw(anywhere)
    sun = np.random.default_rng(5).permutation(np.repeat([1.0, 2.0, 5.0, 9.0], 3))
    table = blocking_advice(anywhere, plots, frame(plots, sun=sun))
    assert row(table, SORTED)["within"] == pytest.approx(0, abs=1e-12)
    assert row(table, SORTED)["efficiency"] == pytest.approx(1 / 0.51)
    along = pd.Series(sun).groupby((plots["walk"].to_numpy() - 1) // 3)
    inside = float((2 * along.var()).sum()) / 8
    assert row(table, NEIGHBOURS)["within"] == pytest.approx(inside / np.var(sun, ddof=1))


def test_words_are_blocked_by_as_well(blocks: Definition) -> None:
    plots = design.draw(blocks)
    sod = np.random.default_rng(6).permutation(["new"] * 6 + ["old"] * 6)
    table = blocking_advice(blocks, plots, frame(plots, sod=sod))
    assert row(table, SORTED)["within"] == pytest.approx(0, abs=1e-12)


def test_large_plots_are_blocked_whole(tmp_path: Path) -> None:
    split = planned(tmp_path)
    plots = design.draw(split)
    sun = np.random.default_rng(7).normal(size=36)
    table = blocking_advice(split, plots, frame(plots, sun=sun))
    means = pd.Series(sun).groupby(plots["whole_plot"].to_numpy(), sort=False).mean()
    by = means.groupby(plots.drop_duplicates("whole_plot")["block"].to_numpy())
    found = row(table, PLANNED)
    assert found["df"] == 10
    assert found["within"] == pytest.approx(float(2 * by.var().sum()) / 12 / means.var())
    # Eighteen whole plots, of two plots each.
    assert found["plots_saved"] == round((found["corrected"] - 1) * 36)


def test_strips_stay_in_their_blocks(tmp_path: Path) -> None:
    strips = planned(
        tmp_path,
        (
            "  kind: split plot\n  whole_plot: cover\n  subplot: aeration\n",
            "  kind: strip plot\n  row_strips: cover\n  column_strips: aeration\n",
        ),
    )
    plots = design.draw(strips)
    table = blocking_advice(strips, plots, frame(plots, sun=plots["y_m"].to_numpy()))
    assert set(table["blocking"]) == {PLANNED, NONE}
    assert row(table, PLANNED)["df"] == 10


def test_a_square_takes_out_rows_and_columns(tmp_path: Path) -> None:
    square = one_factor(tmp_path, layout="  kind: latin square\n")
    plots = design.draw(square)
    both = frame(plots, sun=plots["row"].to_numpy() + 2.0 * plots["column"].to_numpy())
    found = row(blocking_advice(square, plots, both), PLANNED)
    assert found["within"] == pytest.approx(0, abs=1e-12)
    assert found["df"] == 2


def test_no_block_reaches_over_two_grounds(tmp_path: Path) -> None:
    grounds = "  kind: randomised blocks\n  blocks: 2\n  grounds: {up: Upper, low: Lower}\n"
    two = one_factor(tmp_path / "two", layout=grounds)
    plots = design.draw(one_factor(tmp_path / "one"))
    plots.insert(1, "ground", ["up"] * 6 + ["low"] * 6)
    # The same values on both: blocks formed over both would hold equal ones.
    sun = np.tile([0.0, 2.0, 4.0, 1.0, 3.0, 5.0], 2)
    table = blocking_advice(two, plots, frame(plots, sun=sun))
    assert row(table, NONE)["df"] == 12 - 2 * 3
    found = row(table, SORTED)
    assert found["blocks"] == 4
    # Three neighbours on the line, variance 1, of six, variance 3.5.
    assert found["within"] == pytest.approx(1 / 3.5)
    shifted = sun + 100 * (plots["ground"] == "up").to_numpy()
    again = row(blocking_advice(two, plots, frame(plots, sun=shifted)), SORTED)
    assert again["within"] == pytest.approx(1 / 3.5)


def test_values_that_say_nothing(blocks: Definition) -> None:
    plots = design.draw(blocks)
    some = np.arange(12.0)
    some[4] = np.nan
    values = frame(plots, same=np.full(12, 3.3), some=some)
    assert blocking_advice(blocks, plots, values).empty
    assert blocking_words(blocks, plots, values) == [
        "same does not differ from plot to plot: it says nothing of blocks.",
        "some is not known of every plot: it says nothing of blocks.",
    ]


def test_nothing_is_said_of_a_demonstration(blocks: Definition) -> None:
    plots = design.draw(blocks)
    shown = shown_only(blocks)
    values = frame(plots, sun=np.arange(12.0))
    assert blocking_advice(shown, plots, values).empty
    assert blocking_words(shown, plots, values) == []


def test_sentences(blocks: Definition) -> None:
    plots = design.draw(blocks)
    values = frame(plots, sun_hours=np.tile([1.0, 5.0, 9.0], 4), shade=plots["block"].astype(int))
    said = blocking_words(blocks, plots, values)
    # Every block holds the same three values: w is 11 / 8, so 1 / (0.51 + 0.49 w) = 0.845, and
    # 0.845 x 7 x 12 / (9 x 10) = 0.788.
    assert said[0].startswith(
        "By sun_hours: the blocks as planned take out nothing of it; if it goes with green cover "
        "(r = 0.7), they are worth 0.79 times the plots of a trial without blocks (3 plots lost)."
    )
    # Sorted by it: 1 1 1, 1 5 5, 5 5 9, 9 9 9 leave 64 / 3 on 8 of 128 on 11.
    worth = (7 * 12 / 90) / (0.51 + 0.49 * (64 / 3 / 8) / (128 / 11))
    assert f"with about the same sun_hours would be worth {worth:.2f} times" in said[0]
    assert said[1] == (
        "By shade: the blocks as planned take out 100 % of its variance; if it goes with green "
        "cover (r = 0.7), they are worth 1.83 times the plots of a trial without blocks (10 plots "
        "saved). No other way to form blocks is clearly better."
    )
    assert said[2].startswith("What blocks are worth is reckoned from how much of a value")
    assert len(said) == 3


@pytest.mark.parametrize("correlation", [-0.1, 1.0])
def test_a_correlation_out_of_its_range(blocks: Definition, correlation: float) -> None:
    plots = design.draw(blocks)
    with pytest.raises(WinterswardError, match="allowed: 0 to below 1"):
        blocking_advice(blocks, plots, frame(plots, sun=np.arange(12.0)), correlation)
