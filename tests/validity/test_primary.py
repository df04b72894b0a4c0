"""The primary question over simulated trials: how often its interval misses the truth.

Run by ``make validity``. A test at level alpha rejects a difference that is not there exactly when
the interval at 1 - alpha misses zero; as nothing in the model depends on the size of a difference,
the share of misses is the error rate at any difference, and one less it is the coverage.
"""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest

from validity.simulated import ALPHA, Case, model_of, over, rejected, told
from wintersward.analysis.strata import compare

TRIALS = 10_000
TRUTH = 8.0
SPREADS = {
    "blocks, whole plots, plots vary": (4.0, 2.5, 2.0),
    "blocks alike": (0.0, 2.5, 2.0),
    "whole plots alike": (4.0, 0.0, 2.0),
}
VARY, BLOCKS_ALIKE, WHOLES_ALIKE = SPREADS
QUESTIONS = [
    ("randomised blocks", "before", ("fleece", "open"), (VARY, BLOCKS_ALIKE)),
    ("split plot", "before", ("fleece", "open"), (VARY, BLOCKS_ALIKE)),
    ("split plot", "after", ("fleece", "open"), (VARY, BLOCKS_ALIKE, WHOLES_ALIKE)),
    ("split plot", "after", ("hollow", "solid"), (VARY, WHOLES_ALIKE)),
]
CELLS = [
    (kind, on, pair, spread, missing)
    for kind, on, pair, spreads in QUESTIONS
    for spread in spreads
    for missing in (0, 3)
]


def missed(case: Case, rng: np.random.Generator) -> bool:
    """Tell whether the interval of one trial misses the true difference."""
    model = model_of(case, rng, TRUTH)
    row = compare(model, [case.pair], 1 - ALPHA).iloc[0]
    return not row["lower"] < TRUTH < row["upper"]


@pytest.mark.parametrize(("kind", "on", "pair", "spread", "missing"), CELLS)
def test_the_interval_misses_as_often_as_it_says(
    kind: str, on: str, pair: tuple[str, str], spread: str, missing: int
) -> None:
    case = Case(kind, on, pair, SPREADS[spread], missing)
    share, error = rejected(over(TRIALS, partial(missed, case)))
    told(f"{kind}, {on}, {pair[0]} minus {pair[1]}; {spread}; {missing} lost", share, error, TRIALS)
    assert 0.043 <= share <= 0.057
