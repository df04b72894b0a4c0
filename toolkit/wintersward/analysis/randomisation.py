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

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import product
from math import factorial

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis.arrangements import Arrangements, Codes, Exchange, Square, smallest_share
from wintersward.analysis.model import model_for
from wintersward.analysis.results import empty
from wintersward.analysis.strata import Stratum, compare, stratum
from wintersward.errors import WinterswardError, listed
from wintersward.study import Trial

__all__ = [
    "DRAWS",
    "Dealt",
    "Outcome",
    "dealt",
    "others_of",
    "randomisation_test",
    "randomised",
    "surrounding",
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
    """
    statistics = t_values(values, fixed, observed[None, :], contrasts)[0]
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
        Table ``randomisation``, one row a comparison; empty where the data cannot answer.

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
    question = trial.definition.analysis.primary
    if not trial.ready:
        return {"randomisation": empty("randomisation")}
    model = model_for(trial, question.measure, trial.primary_date)
    try:
        compare(model, question.pairs, model.level)
        made = stratum(model, trial.definition.factor_of(question.levels[0]))
    except WinterswardError:
        return {"randomisation": empty("randomisation")}
    given = dealt(trial, made)
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
    frame = pd.DataFrame(question.pairs, columns=["left", "right"]).assign(
        measure=model.measure,
        date=pd.Timestamp(model.date),
        statistic=found.statistics,
        null=_null(trial, made),
        arrangements=float(found.arrangements),
        draws=found.draws,
        exact="yes" if found.exact else "no",
        seed=seed,
        p=found.p,
        smallest_p=found.smallest_p,
    )
    return {"randomisation": frame[list(empty("randomisation").columns)]}


@dataclass(frozen=True)
class Dealt:
    """The treatments of the units as numbers, and how else they could have fallen.

    Parameters
    ----------
    observed : (n,) int
        Treatment, or combination of treatments, of each unit.
    contrasts : (k, t) float
        The comparisons of the primary question.
    arrangements : Arrangements
        What the layout could have drawn.
    alike : int
        How many arrangements are as far from zero as any one.
    """

    observed: Codes
    contrasts: Floats
    arrangements: Arrangements
    alike: int


def others_of(made: Stratum) -> list[str]:
    """Name the other factors that were drawn for the same units, or lie around them."""
    known = {"unit", "value", made.factor, *made.around}
    return [name for name in made.data.columns if name not in known]


def surrounding(made: Stratum) -> Floats:
    """Give a column of ones and the indicators of what surrounds the units."""
    parts = [np.ones((len(made.data), 1))]
    parts += [pd.get_dummies(made.data[name]).to_numpy(dtype=float) for name in made.around]
    return np.column_stack(parts)


def dealt(trial: Trial, made: Stratum) -> Dealt:
    """Say how else the treatments of the primary question could have fallen on the units."""
    question, kind = trial.definition.analysis.primary, trial.definition.layout.kind
    others = others_of(made)
    levels = list(trial.factors[made.factor].levels)
    cells = list(product(levels, *(trial.factors[name].levels for name in others)))
    place = {cell: code for code, cell in enumerate(cells)}

    def codes(frame: pd.DataFrame) -> Codes:
        columns = [frame[name].astype(str) for name in (made.factor, *others)]
        return np.array([place[cell] for cell in zip(*columns, strict=True)], dtype=np.intp)

    contrasts = np.zeros((len(question.pairs), len(cells)))
    each = len(cells) // len(levels)
    for row, (left, right) in zip(contrasts, question.pairs, strict=True):
        for cell, code in place.items():
            row[code] = ((cell[0] == left) - (cell[0] == right)) / each
    observed, family = codes(made.data), question.levels
    if kind == "latin square":
        square = _square(trial.plots, codes(trial.plots), made.data["unit"])
        return Dealt(observed, contrasts, square, _alike(family, len(cells), each, square.full))
    exchanged = levels if kind == "strip plot" else family
    rows = made.data[[made.factor, *made.around, *others]].astype(str)
    groups: list[Hashable | None] = [
        tuple(row[1:]) if row[0] in exchanged else None for row in rows.itertuples(index=False)
    ]
    exchange = Exchange(observed, groups)
    alike = _alike(family, len(exchanged), 1, exchange.full(len(exchanged)))
    return Dealt(observed, contrasts, exchange, alike)


def _square(plots: pd.DataFrame, codes: Codes, units: pd.Series) -> Square:
    """Set the treatments of all plots out in rows and columns, with the plots that are there."""
    order = np.lexsort((plots["column"], plots["row"]))
    size = int(np.sqrt(len(plots)))
    place = {str(name): i for i, name in enumerate(plots["plot"].to_numpy()[order])}
    seen = np.array([place[name] for name in units], dtype=np.intp)
    return Square(codes[order].reshape(size, size), seen)


def _alike(family: Sequence[str], exchanged: int, each: int, full: bool) -> int:
    """Count arrangements that are as far from zero as any one: other names for the same thing."""
    if not full:
        return 1
    many = len(family)
    swaps = 2 if many == 2 else factorial(many - 1)
    return swaps * factorial(each) ** many * factorial(exchanged - each * many)


def _null(trial: Trial, made: Stratum) -> str:
    """Say in one sentence what is supposed, and what is exchanged."""
    question, kind = trial.definition.analysis.primary, trial.definition.layout.kind
    if kind in ("latin square", "strip plot"):
        within = "rows and columns" if kind == "latin square" else "each block"
        return (
            f"No {made.unit_kind} would differ under any other treatment; all are dealt anew as"
            f" the layout deals them, within {within}."
        )
    levels = trial.factors[made.factor].levels
    named = [f"'{levels[level].label}'" for level in question.levels]
    places = [name.replace("_", " ") for name in made.around]
    if "whole_plot" not in made.around:
        places += [f"treatment of {name.replace('_', ' ')}" for name in others_of(made)]
    within = (
        f"within each {' and '.join(places)}" if places else f"among all their {made.unit_kind}s"
    )
    pair = len(named) == 2
    same = f"{named[0]} in place of {named[1]}" if pair else f"another of {listed(named)}"
    also = "" if pair else ", and the largest of the comparisons counts"
    return (
        f"No {made.unit_kind} would differ with {same}; these labels are exchanged {within}{also}."
    )
