"""How often flags for odd values err in clean fields, and how many planted faults they find.

Run by ``make validity``. Fields have shade along the blocks, plots of their own, treatments and
growth; what a plot reads varies by 2 lbf from one date to the next.

Of 200 fields a case: clean fields with a flag, 1.5, 0 and 1 % with six, four and three blocks, 0 %
with three dates; with heavy tails (t with 5 df) 26 %. Where plots under one level of a factor vary
twice as much as the others, 3.5 and 4 % (cover, aeration) with six blocks, 1.5 and 1 % with four;
four times as much, 3.5 and 3 % with six, 3.5 and 4.5 % with four, 8.5 and 8 % with three. A jump of
ten standard deviations in a plot beside such: 93 and 92 %, and 91 and 75 % found; where all vary
alike, 92 %, and of swaps of plots six to twelve standard deviations apart 86 %. The Monte Carlo
errors are at most 3.1 points.
"""

from __future__ import annotations

from functools import partial

import numpy as np
import pandas as pd
import pytest

from records.flag_fields import DATES, definition, field, plots, pulls
from validity.simulated import over, rejected, told
from wintersward.records.flag_history import course
from wintersward.records.flag_parts import Flag, Wording
from wintersward.records.flag_values import value_flags

TRIALS = 200
SD = 2.0
NEAR, FAR = 12.0, 24.0
# Readings of plots that differ more must not be cut off at zero.
LIFTED = 40.0
LOUD = {"cover": "open", "aeration": "hollow"}
SWAP = "two plots swapped"
# Three dates are the fewest by which a swap can be told.
_FEW = (DATES[0], DATES[3], DATES[5])


def looked(read: pd.DataFrame, blocks: int = 6) -> list[Flag]:
    """Look at the readings of a field, (days, plots)."""
    name, made = "pull_force", definition(blocks)
    words = Wording(made.measures[name])
    seen = pulls(read.clip(lower=0))
    return list(value_flags(course(seen, name, made, plots(blocks), words), name))


def flagged(
    rng: np.random.Generator, blocks: int, days: tuple[str, ...], heavy: bool = False
) -> bool:
    """Tell whether a clean field has a flag for a value."""
    true = field(rng, blocks, days=days)
    drawn = rng.standard_t(5, true.shape) * np.sqrt(3 / 5) if heavy else rng.normal(size=true.shape)
    return bool(looked(true + SD * drawn, blocks))


def uneven_flagged(rng: np.random.Generator, blocks: int, factor: str, times: float) -> bool:
    """Tell whether a clean field has a flag, the plots of one treatment differing more."""
    true = field(rng, blocks) + LIFTED
    sd = SD * _times(blocks, factor, times)
    return bool(looked(true + sd * rng.normal(size=true.shape), blocks))


def quiet_jump_found(rng: np.random.Generator, factor: str, times: float) -> bool:
    """Move one value by ten of its own sd, the plots of another treatment differing more."""
    true = field(rng) + LIFTED
    loud = _times(6, factor, times)
    read = true + SD * loud * rng.normal(size=true.shape)
    day, plot = str(rng.choice(list(DATES))), str(rng.choice(true.columns[loud == 1]))
    read.loc[day, plot] += 10 * SD
    return any(flag.kind == "jump" and flag.plot == plot for flag in looked(read))


def _times(blocks: int, factor: str, times: float) -> np.ndarray:
    return np.where(plots(blocks)[factor] == LOUD[factor], times, 1.0)


def swap_found(rng: np.random.Generator, low: float, high: float) -> bool:
    """Swap two plots on one date that differ by so much, and tell whether they are found."""
    true = field(rng, shade=24.0)
    day = str(rng.choice(list(DATES)))
    at = true.loc[day].to_numpy()
    apart = np.triu(np.abs(at[:, None] - at[None, :]), 1)
    first, second = rng.permutation(np.argwhere((apart > low) & (apart < high)))[0]
    read = true + rng.normal(0, SD, true.shape)
    pair = sorted([plots()["plot"][first], plots()["plot"][second]])
    read.loc[day, pair] = read.loc[day, pair[::-1]].to_numpy()
    return any(flag.kind == SWAP and flag.plot == ", ".join(pair) for flag in looked(read))


def jump_found(rng: np.random.Generator, size: float) -> bool:
    """Move one value, and tell whether it is found."""
    true = field(rng)
    read = true + rng.normal(0, SD, true.shape)
    day, plot = str(rng.choice(list(DATES))), str(rng.choice(list(true.columns)))
    read.loc[day, plot] += size
    return any(flag.kind == "jump" and flag.plot == plot for flag in looked(read))


@pytest.mark.parametrize(
    ("blocks", "days", "heavy", "most"),
    [
        (6, DATES, False, 0.05),
        (4, DATES, False, 0.05),
        (3, DATES, False, 0.08),
        (6, _FEW, False, 0.05),
        (6, DATES, True, 0.6),
    ],
)
def test_clean_fields_rarely_have_a_flag(
    blocks: int, days: tuple[str, ...], heavy: bool, most: float
) -> None:
    found = over(TRIALS, partial(flagged, blocks=blocks, days=days, heavy=heavy))
    share, error = rejected(found)
    tails = "t with 5 df" if heavy else "normal"
    told(f"clean field flagged; {blocks} blocks, {len(days)} dates, {tails}", share, error, TRIALS)
    assert share <= most


@pytest.mark.parametrize("factor", list(LOUD))
@pytest.mark.parametrize(
    ("blocks", "times", "most"),
    [(6, 2.0, 0.08), (6, 4.0, 0.08), (4, 2.0, 0.08), (4, 4.0, 0.1), (3, 4.0, 0.14)],
)
def test_a_treatment_that_differs_more_brings_few_flags(
    blocks: int, factor: str, times: float, most: float
) -> None:
    one = partial(uneven_flagged, blocks=blocks, factor=factor, times=times)
    share, error = rejected(over(TRIALS, one))
    words = f"clean field flagged; {blocks} blocks, sd of one level of {factor} {times:g} times"
    told(words, share, error, TRIALS)
    assert share <= most


@pytest.mark.parametrize("factor", list(LOUD))
@pytest.mark.parametrize("times", [2.0, 4.0])
def test_jumps_of_quiet_plots_are_found_beside_others_that_differ_more(
    factor: str, times: float
) -> None:
    found = over(TRIALS, partial(quiet_jump_found, factor=factor, times=times))
    share, error = rejected(found)
    told(f"jump of 10 sd found; another level of {factor} {times:g} times", share, error, TRIALS)
    assert share >= 0.6


@pytest.mark.parametrize(
    ("low", "high", "least", "most"),
    [(0.0, 3 * SD, 0.0, 0.02), (NEAR, FAR, 0.8, 1.0), (FAR, 80.0, 0.9, 1.0)],
)
def test_swaps_of_unlike_plots_are_found_and_of_like_plots_are_not(
    low: float, high: float, least: float, most: float
) -> None:
    found = over(TRIALS, partial(swap_found, low=low, high=high))
    share, error = rejected(found)
    words = f"swap found; plots {low / SD:g} to {high / SD:g} sd of a reading apart"
    told(words, share, error, TRIALS)
    assert least <= share <= most


@pytest.mark.parametrize(
    ("times", "least", "most"), [(4, 0.0, 0.2), (7, 0.5, 1.0), (10, 0.88, 1.0)]
)
def test_large_jumps_are_found(times: int, least: float, most: float) -> None:
    found = over(TRIALS, partial(jump_found, size=times * SD))
    share, error = rejected(found)
    told(f"jump found; {times} sd of a reading", share, error, TRIALS)
    assert least <= share <= most
