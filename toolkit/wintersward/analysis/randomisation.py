"""Randomisation test of the primary question: what if chance had dealt the labels otherwise?

Notes
-----
The layout was drawn by chance, and the test asks how often chance alone, drawing again as the
layout draws, would have put the treatments as far apart as observed. The distance is the t value
of the primary analysis, found anew for every arrangement: difference over its standard error
with everything around the units fixed. Nothing is supposed about the shape of the errors.

References
----------
Fisher R. A. (1935) The Design of Experiments, Oliver and Boyd, section 21.

Phipson B., Smyth G. K. (2010) Permutation p-values should never be zero. Statistical Applications
in Genetics and Molecular Biology 9(1), 39. doi:10.2202/1544-6115.1585

Westfall P. H., Young S. S. (1993) Resampling-Based Multiple Testing, Wiley (from memory: the
largest of several statistics).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis.arrangements import Arrangements, Codes, smallest_share
from wintersward.analysis.dealt import dealt, names_of, others_of, pairs_there, surrounding
from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.results import empty
from wintersward.analysis.strata import Stratum, compare, stratum
from wintersward.errors import WinterswardError, listed
from wintersward.study import Trial

__all__ = [
    "DRAWS",
    "Outcome",
    "randomisation_test",
    "randomised",
    "t_values",
]

Floats = NDArray[np.float64]
DRAWS = 9_999
# Two t values that differ by less than this share of themselves differ by rounding only.
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Outcome:
    """A randomisation test of one or several comparisons.

    Parameters
    ----------
    statistics : (k,) float
        t values as observed.
    p : (k,) float
        Share of arrangements whose largest distance is at least that of each comparison.
    arrangements : int
        Number of arrangements that are possible, the observed one among them.
    draws : int
        Number of arrangements looked at.
    exact : bool
        Whether these were all.
    smallest_p : float
        Smallest p that the layout can give.
    """

    statistics: Floats
    p: Floats
    arrangements: int
    draws: int
    exact: bool
    smallest_p: float


def t_values(values: Floats, fixed: Floats, labels: Codes, contrasts: Floats) -> Floats:
    """Find the t values of contrasts for many arrangements of the treatments at once.

    Parameters
    ----------
    values : (n,) float
        One value a unit.
    fixed : (n, p) float
        Columns that do not change: what surrounds the units, a column of ones at least.
    labels : (m, n) int
        Treatment of each unit in each arrangement, counted from 0.
    contrasts : (k, t) float
        Weights of the treatments, each row adding to 0.

    Returns
    -------
    (m, k) float
        Estimated contrast over its standard error, by least squares on the fixed columns and the
        treatments; NaN where an arrangement does not determine it or leaves no error. With no
        error at all it is infinite, or 0 where the contrast is 0 as well.

    Notes
    -----
    The fixed columns are taken out once. With Q what remains, D the indicators of the treatments
    in an arrangement, the treatments are estimated by (D'QD)^- D'Qy and the error from
    y'Qy - y'QD (D'QD)^- D'Qy.
    """
    basis, size, _ = np.linalg.svd(fixed, full_matrices=False)
    basis = basis[:, size > size[0] * 1e-10]
    left = values - basis @ (basis.T @ values)
    total = float(left @ left)
    count = contrasts.shape[1]
    given = (labels[:, :, None] == np.arange(count)).astype(float)
    projected = np.einsum("nr,mnt->mrt", basis, given, optimize=True)
    crossed = np.einsum("mnt,mnu->mtu", given, given) - projected.transpose(0, 2, 1) @ projected
    roots, vectors = np.linalg.eigh(crossed)
    kept = roots > 1e-9 * np.maximum(roots[:, -1:], 1.0)
    inverted = np.where(kept, 1.0 / np.where(kept, roots, 1.0), 0.0)
    inverse = np.einsum("mtr,mr,mur->mtu", vectors, inverted, vectors)
    pulled = np.einsum("mnt,n->mt", given, left)
    effects = np.einsum("mtu,mu->mt", inverse, pulled)
    df = len(values) - basis.shape[1] - kept.sum(axis=1)
    error = np.maximum(total - np.einsum("mt,mt->m", effects, pulled), 0.0)
    error[error < 1e-20 * total] = 0.0
    estimates = effects @ contrasts.T
    spread = np.einsum("kt,mtu,ku->mk", contrasts, inverse, contrasts)
    shown = np.einsum("kt,mtr,mr->mkr", contrasts, vectors, ~kept)
    known = (np.abs(shown).max(axis=2) < 1e-6) & (df > 0)[:, None]
    se = np.sqrt(error[:, None] / np.maximum(df, 1)[:, None] * spread)
    estimates[np.abs(estimates) < 1e-12 * np.sqrt(max(total, 1e-300))] = 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.where((se == 0) & (estimates == 0), 0.0, estimates / se)
    return np.where(known, found, np.nan)


def randomised(
    values: Floats,
    fixed: Floats,
    arrangements: Arrangements,
    observed: Codes,
    contrasts: Floats,
    seed: int,
    draws: int = DRAWS,
    alike: int = 1,
) -> Outcome:
    """Test contrasts of treatments by the arrangements that could have been drawn.

    Parameters
    ----------
    values : (n,) float
        One value a unit.
    fixed : (n, p) float
        Columns that do not change: what surrounds the units, a column of ones at least.
    arrangements : Arrangements
        Says what could have been drawn.
    observed : (n,) int
        Treatment of each unit, counted from 0.
    contrasts : (k, t) float
        Weights of the treatments; several are tested together, by the largest distance.
    seed : int
        The draws come from NumPy's PCG64, started from ``SeedSequence(seed, spawn_key=(1,))``:
        a stream of its own beside the one that drew the plan.
    draws : int
        How many are drawn where there are too many to look at each.
    alike : int
        How many arrangements are as far from zero as any one, whatever the values.

    Notes
    -----
    Exact, p is the share of all arrangements that are at least as far from zero as observed;
    drawn, it is (1 + b) / (1 + B), with b of B draws as far.

    Raises
    ------
    WinterswardError
        Where the units, as they are, do not determine a comparison or leave no error.
    """
    statistics = t_values(values, fixed, observed[None, :], contrasts)[0]
    if np.isnan(statistics).any():
        raise WinterswardError("the units do not determine the comparison, or leave no error")
    bar = np.abs(statistics) * (1 - _ROUNDING)
    exact = arrangements.listable
    rng = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(1,)))
    looked, far = 0, np.zeros(len(bar))
    for labels in arrangements.every() if exact else arrangements.drawn(draws, rng):
        distance = np.abs(t_values(values, fixed, labels, contrasts))
        # What an arrangement does not determine counts against the treatments.
        largest = np.where(np.isnan(distance), np.inf, distance).max(axis=1)
        looked, far = looked + len(labels), far + (largest[:, None] >= bar).sum(axis=0)
    p = far / looked if exact else (1 + far) / (1 + looked)
    count = arrangements.count
    return Outcome(statistics, p, count, looked, exact, smallest_share(count, alike))


def randomisation_test(trial: Trial) -> dict[str, pd.DataFrame]:
    """Test the primary question by the arrangements that its layout could have drawn.

    Parameters
    ----------
    trial : Trial
        The study; nothing is tested before its primary question has data.

    Returns
    -------
    dict of str to DataFrame
        Tables ``randomisation``, one row a comparison whose treatments are both there, and
        ``notes``: why there is none.

    Notes
    -----
    In blocks, split plots and completely random layouts the labels of the treatments asked about
    are exchanged among the units that carry them, within what surrounds the units (blocks, the
    whole plots around subplots) and within one treatment of another factor on the same units;
    every other treatment stays where it is. In a Latin square no such exchange leaves a
    square, and strips are drawn as a whole: there all treatments are drawn anew, as the
    layout draws them, and what is supposed is that none of them matters. The comparisons
    of a declared family are tested together: labels of the whole family are exchanged, and each
    comparison is held against the largest distance of any.
    """
    tables = {name: empty(name) for name in ("randomisation", "notes")}
    if not trial.ready:
        return tables
    question = trial.definition.analysis.primary
    model = model_for(trial, question.measure, trial.primary_date)
    named: dict[str, Any] = {"measure": model.measure, "date": pd.Timestamp(model.date)}
    try:
        rows = _tested(trial, model)
    except WinterswardError as error:
        text = f"no randomisation test: {error}"
        note = {**named, "code": "no randomisation test", "text": text}
        tables["notes"] = pd.DataFrame([note])[list(tables["notes"].columns)]
    else:
        tables["randomisation"] = rows.assign(**named)[list(tables["randomisation"].columns)]
    return tables


def _tested(trial: Trial, model: TrialModel) -> pd.DataFrame:
    """Test the comparisons whose treatments are there; give one row each."""
    pairs = pairs_there(trial, model)
    compare(model, pairs, model.level)  # what the primary analysis refuses is not tested either
    made = stratum(model, trial.definition.factor_of(pairs[0][0]))
    given = dealt(trial, made, pairs)
    seed = trial.definition.layout.seed
    found = randomised(
        made.data["value"].to_numpy(dtype=float),
        surrounding(made),
        given.arrangements,
        given.observed,
        given.contrasts,
        seed,
        alike=given.alike,
    )
    return pd.DataFrame(pairs, columns=["left", "right"]).assign(
        statistic=found.statistics,
        null=_null(trial, made, pairs),
        arrangements=float(found.arrangements),
        draws=found.draws,
        exact="yes" if found.exact else "no",
        seed=seed,
        p=found.p,
        smallest_p=found.smallest_p,
    )


def _null(trial: Trial, made: Stratum, pairs: Sequence[tuple[str, str]]) -> str:
    """Say in one sentence what is supposed and what is exchanged, and where that is not exact."""
    kind, family = trial.definition.layout.kind, names_of(pairs)
    unsure = ""
    if made.plots is not None:
        unsure = (
            f" Some {made.unit_kind}s lack a part of what they hold, so that the test is"
            " approximate."
        )
    if kind in ("latin square", "strip plot"):
        within = "rows and columns" if kind == "latin square" else "each block"
        return (
            f"No {made.unit_kind} would differ under any other treatment; all are dealt anew as"
            f" the layout deals them, within {within}.{unsure}"
        )
    levels = trial.factors[made.factor].levels
    named = [f"'{levels[level].label}'" for level in family]
    places = [name.replace("_", " ") for name in made.around]
    if "whole_plot" not in made.around:
        others = [name for name in others_of(made) if name in trial.factors]
        places += [f"treatment of {name.replace('_', ' ')}" for name in others]
    within = (
        f"within each {' and '.join(places)}" if places else f"among all their {made.unit_kind}s"
    )
    pair = len(named) == 2
    same = f"{named[0]} in place of {named[1]}" if pair else f"another of {listed(named)}"
    also = "" if pair else ", and the largest of the comparisons counts"
    return (
        f"No {made.unit_kind} would differ with {same}; these labels are exchanged"
        f" {within}{also}.{unsure}"
    )
