"""The primary question by ranks, in every layout."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.dated import COVER, SPLIT, TINE, dated_trial
from wintersward.analysis import model_for
from wintersward.analysis.rank_answers import by_ranks
from wintersward.analysis.ranks import Ranked, rank_sum
from wintersward.analysis.strata import Stratum, stratum
from wintersward.study import Trial

PAIR = ("fleece", "open")


def noisy(plot: Any, day: int) -> float:
    rng = np.random.default_rng([int(plot.plot), day])
    return float(round(50 + 4 * (plot.cover == "fleece") + rng.normal(0, 3)))


def made_of(trial: Trial) -> Stratum:
    return stratum(model_for(trial, "cover_share", trial.primary_date), "cover")


def answered(trial: Trial) -> tuple[Ranked, str, str]:
    return by_ranks(trial, made_of(trial), PAIR, 0.95)


def sides(data: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    carried = data["cover"].astype(str)
    return tuple(data.loc[carried == name, "value"].to_numpy() for name in PAIR)  # type: ignore[return-value]


def test_blocks_set_the_two_against_each_other(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", noisy)
    data = made_of(trial).data
    wide = data.pivot(index="block", columns="cover", values="value")
    differences = wide["fleece"] - wide["open"]
    found, text, scale = answered(trial)
    theirs = stats.permutation_test(
        (differences[differences != 0].to_numpy(),),
        lambda d: abs((np.sign(d) * stats.rankdata(np.abs(d))).sum()),
        permutation_type="samples",
        n_resamples=np.inf,
        alternative="greater",
    )
    assert (differences == 0).sum() == 1
    assert found.p == pytest.approx(theirs.pvalue)
    assert text == "signed ranks of 6 differences, each within a block"
    assert scale == "measure"


def test_free_plots_by_the_rank_sum(tmp_path: Path) -> None:
    trial = dated_trial(
        tmp_path / "study", noisy, layout="kind: completely random\n  replicates: 5"
    )
    found, text, _ = answered(trial)
    assert found == rank_sum(*sides(made_of(trial).data))
    assert text == "rank sum of 10 plots (Mann and Whitney)"


def test_free_plots_with_a_second_factor_are_freed_of_it(tmp_path: Path) -> None:
    def tilted(plot: Any, day: int) -> float:
        return noisy(plot, day) + 30 * (plot.tine == "hollow")

    two = {"treatments": COVER + TINE.replace("    applied: aeration\n", "")}
    layout = "kind: completely random\n  replicates: 3"
    plain = answered(dated_trial(tmp_path / "plain", noisy, layout=layout, **two))
    moved = answered(dated_trial(tmp_path / "moved", tilted, layout=layout, **two))
    assert plain[0].p == pytest.approx(moved[0].p)
    assert plain[0].estimate == pytest.approx(moved[0].estimate)


def test_whole_plots_and_a_lost_block(tmp_path: Path) -> None:
    def lossy(plot: Any, day: int) -> float | None:
        return None if plot.cover == "open" and plot.block == "2" else noisy(plot, day)

    trial = dated_trial(tmp_path / "study", lossy, layout=SPLIT, treatments=COVER + TINE)
    found, text, _ = answered(trial)
    assert found.units == 5
    assert text == "signed ranks of 5 differences, each within a block"


def test_a_square_is_ranked_whole_and_drawn_anew(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", noisy, layout="kind: latin square")
    found, text, scale = answered(trial)
    assert scale == "ranks"
    assert "drawing the square anew" in text
    assert found.units == 9
    assert (found.p * 12) % 1 == pytest.approx(0, abs=1e-9)
    assert found.smallest_p == 2 / 12
    data = made_of(trial).data
    left = data["value"].astype(float)
    for name in ("row", "column"):
        left = left - left.groupby(data[name]).transform("mean")
    ranks = pd.Series(stats.rankdata(left.round(9))).groupby(data["cover"].astype(str)).mean()
    assert found.estimate == pytest.approx(ranks["fleece"] - ranks["open"])
