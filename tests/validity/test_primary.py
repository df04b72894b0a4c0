"""The primary question over simulated trials: how often its interval misses the truth.

Run by ``make validity``. A test at level alpha rejects a difference that is not there exactly when
the interval at 1 - alpha misses zero; as nothing in the model depends on the size of a difference,
the share of misses is the error rate at any difference, and one less it is the coverage.

For one pattern of lost units the analysis is arithmetic that is linear in the values up to the
error sum of squares. It is taken from the analysis itself, once for each pattern, and applied to
many trials; for some trials both ways are compared. Where whole plots lack a subplot the plots are
fitted, those of one whole plot correlated: there every trial is analysed by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np
import pytest
from scipy import stats

from validity.simulated import ALPHA, SEED, Case, Floats, draw, model_of, over, rejected, told
from wintersward.analysis.strata import compare, stratum
from wintersward.models.means import cells_of

TRIALS = 10_000
PATTERNS = 200
TRUTH = 8.0
SPREADS = {
    "all vary": (4.0, 2.5, 2.0),
    "blocks alike": (0.0, 2.5, 2.0),
    "whole plots alike": (4.0, 0.0, 2.0),
    "blocks and whole plots alike": (0.0, 0.0, 2.0),
}
QUESTIONS = [
    ("randomised blocks", "before", ("fleece", "open"), ("all vary", "blocks alike")),
    ("split plot", "before", ("fleece", "open"), ("all vary", "blocks alike")),
    ("split plot", "after", ("fleece", "open"), tuple(SPREADS)),
    ("split plot", "after", ("hollow", "solid"), tuple(SPREADS)),
]
CELLS = [
    (kind, on, pair, spread, missing)
    for kind, on, pair, spreads in QUESTIONS
    for spread in spreads
    for missing in (0, 3)
    if not (missing and on == "after" and "open" in pair)
]
PARTED = [
    (spread, where)
    for spread in ("all vary", "whole plots alike")
    for where in ("anywhere", "under one cover")
]


def intervals(case: Case, values: Floats, lost: Sequence[int]) -> tuple[Floats, Floats]:
    """Give the ends of the intervals of many trials that lack the same plots."""
    plots = values.shape[1]
    factor = next(f for f in ("cover", "aeration") if case.pair[0] in _levels(case, f))
    # What each plot lends to the value of each unit, taken from the averaging itself.
    base = stratum(model_of(case, np.zeros(plots), lost), factor)
    eye = np.eye(plots)
    lent = np.stack(
        [
            stratum(model_of(case, row, lost), factor).data["value"] - base.data["value"]
            for row in eye
        ],
        axis=1,
    )
    noise = np.random.default_rng(0).normal(size=len(base.data))
    fit = base.fit(noise)
    cells = cells_of(fit.fixed_part, [factor])
    at = {levels[0]: i for i, levels in enumerate(cells.levels)}
    weights = cells.weights[at[case.pair[0]]] - cells.weights[at[case.pair[1]]]
    basis = fit.fixed_part.basis
    toward = basis @ fit.fixed_part.reduced(weights[None])[0]
    units = values @ lent.T
    left = units - units @ basis @ basis.T
    df = len(basis) - basis.shape[1]
    se = np.sqrt((left**2).sum(axis=1) / df * (toward @ toward))
    reach = stats.t.isf(ALPHA / 2, df) * se
    return units @ toward - reach, units @ toward + reach


def missed(case: Case, where: str, rng: np.random.Generator) -> bool:
    """Tell whether the interval of one trial misses, three subplots lost."""
    values = draw(case, rng, 1, TRUTH)[0]
    data = model_of(case, values).data
    open_ = data.index[data["cover"] == "open"].to_numpy()
    lost = rng.choice(len(data) if where == "anywhere" else open_, 3, replace=False)
    row = compare(model_of(case, values, lost.tolist()), [case.pair], 1 - ALPHA).iloc[0]
    return not row["lower"] < TRUTH < row["upper"]


def _levels(case: Case, factor: str) -> list[str]:
    data = model_of(case, draw(case, np.random.default_rng(0), 1)[0]).data
    return list(data[factor].cat.categories) if factor in data else []


@pytest.mark.parametrize(("kind", "on", "pair", "spread", "missing"), CELLS)
def test_the_interval_misses_as_often_as_it_says(
    kind: str, on: str, pair: tuple[str, str], spread: str, missing: int
) -> None:
    case = Case(kind, on, pair, SPREADS[spread], missing)
    rng = np.random.default_rng([SEED, CELLS.index((kind, on, pair, spread, missing))])
    patterns = PATTERNS if missing else 1
    found = []
    for number in range(patterns):
        values = draw(case, rng, TRIALS // patterns, TRUTH)
        lost = rng.choice(values.shape[1], missing, replace=False).tolist()
        lower, upper = intervals(case, values, lost)
        found.append((lower >= TRUTH) | (upper <= TRUTH))
        if number < 5:
            row = compare(model_of(case, values[0], lost), [pair], 1 - ALPHA).iloc[0]
            assert (lower[0], upper[0]) == pytest.approx((row["lower"], row["upper"]), rel=1e-9)
    share, error = rejected(np.concatenate(found))
    told(f"{kind}, {on}: {pair[0]} - {pair[1]}; {spread}; {missing} lost", share, error, TRIALS)
    assert 0.043 <= share <= 0.057


@pytest.mark.parametrize(("spread", "where"), PARTED)
def test_whole_plots_that_lack_subplots_look_as_sure_as_they_are(spread: str, where: str) -> None:
    case = Case("split plot", "after", ("fleece", "open"), SPREADS[spread], 3)
    share, error = rejected(over(TRIALS, partial(missed, case, where)))
    told(
        f"split plot, after: fleece - open; {spread}; 3 subplots lost {where}", share, error, TRIALS
    )
    assert 0.043 <= share <= 0.057
