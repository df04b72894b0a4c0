"""All dates in one model, structure chosen by AICc: how often it takes nothing for something.

Run by ``make validity``. Trials of six blocks and three covers on five unequal dates, without any
difference between covers. The structure is chosen as in a run, and the cover is tested in what
was chosen. Fewer rejections than 5 % are allowed where plots do not truly differ: the term of the
plots stays all the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, partial

import numpy as np
import pandas as pd
import pytest

from validity.simulated import ALPHA, definition, over, rejected, told
from wintersward.analysis import Skeleton, skeleton_for
from wintersward.analysis.structures import candidates

TRIALS = 1_000
DAYS = (1.0, 7.0, 15.0, 26.0, 40.0)


@dataclass(frozen=True)
class Season:
    """How the values of one season hang together.

    Parameters
    ----------
    blocks, block_dates, plots, rest : float
        Standard deviations of blocks, blocks on a date, plots, and what is left.
    fading : float
        Correlation of what is left, over one day; 0 where it does not last.
    rising : bool
        Whether what is left is three times as large on the last date as on the first.
    """

    blocks: float
    block_dates: float
    plots: float
    rest: float
    fading: float = 0.0
    rising: bool = False


SEASONS = {
    "plots vary": Season(4.0, 1.0, 2.5, 2.0),
    "plots vary, the rest fades": Season(4.0, 1.0, 2.5, 2.0, 0.9),
    "plots alike, the rest fades": Season(4.0, 1.0, 0.0, 2.0, 0.95),
    "plots alike": Season(4.0, 1.0, 0.0, 2.0),
    "plots and blocks alike": Season(0.0, 0.0, 0.0, 2.0),
    "plots vary, the rest grows": Season(4.0, 1.0, 2.5, 2.0, 0.0, True),
}


@cache
def layout() -> tuple[Skeleton, pd.DataFrame]:
    made = definition("randomised blocks")
    skeleton = skeleton_for(made, made.dates["after"])  # type: ignore[arg-type]
    levels = list(made.treatments["cover"].levels)
    rows = [
        (f"{b}{cover}", str(b), cover, f"d{number}", day)
        for b in range(6)
        for cover in levels
        for number, day in enumerate(DAYS)
    ]
    frame = pd.DataFrame(rows, columns=["plot", "block", "cover", "date", "day"])
    frame["unit_name"] = frame["plot"]
    for name, order in (("cover", levels), ("date", sorted(set(frame["date"])))):
        frame[name] = pd.Categorical(frame[name], order)
    return skeleton, frame


def drawn(season: Season, rng: np.random.Generator) -> pd.DataFrame:
    """Draw the values of one trial; rows are sorted by plot, then date."""
    _, frame = layout()
    count = len(DAYS)
    gaps = np.abs(np.subtract.outer(DAYS, DAYS))
    tied = season.fading**gaps if season.fading else np.eye(count)
    size = np.linspace(1.0, 3.0, count) if season.rising else np.ones(count)
    half = np.linalg.cholesky(tied * np.outer(size, size)) * season.rest
    rest = rng.normal(size=(len(frame) // count, count)) @ half.T
    value = 60 + rest.ravel() + season.plots * np.repeat(rng.normal(size=18), count)
    value += season.blocks * np.repeat(rng.normal(size=6), 3 * count)
    on_date = rng.normal(size=(6, count))[:, None, :].repeat(3, axis=1)
    return frame.assign(value=value + season.block_dates * on_date.ravel())


def finds_a_difference(season: Season, rng: np.random.Generator) -> bool:
    """Tell whether the test of the covers rejects, in the structure that was chosen."""
    skeleton, _ = layout()
    tried = candidates(drawn(season, rng), skeleton)
    fit = next(one.fit for one in tried if one.verdict == "chosen")
    assert fit is not None
    table = fit.anova().set_index("term")
    return bool(table.loc["cover", "p"] < ALPHA)


@pytest.mark.parametrize("name", SEASONS)
def test_covers_are_not_found_to_differ_more_often_than_allowed(name: str) -> None:
    share, error = rejected(over(TRIALS, partial(finds_a_difference, SEASONS[name])))
    told(f"all dates together, test of the covers; {name}", share, error, TRIALS)
    assert share - 2 * error <= 0.065
    if SEASONS[name].plots:
        assert share + 2 * error >= 0.04
