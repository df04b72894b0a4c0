"""Power where no one formula holds: units that will be lost, and errors made of two."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, product
from math import comb, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from wintersward.analysis.power_formulas import equivalence_power, pair_power
from wintersward.analysis.power_plan import Plan

__all__ = ["PATTERNS", "TRIALS", "contrast_spread", "cells_across", "planned_units", "with_lost"]

Floats = NDArray[np.float64]
PATTERNS = 500
TRIALS = 20_000


def cells_across(plan: Plan, blocks: int) -> tuple[float, float]:
    """Give the power for whole-plot treatments within one treatment of the subplots.

    Parameters
    ----------
    plan : Plan
        Of a split plot; its purpose says which power.
    blocks : int
        Number of blocks.

    Returns
    -------
    power : float
        From `TRIALS` drawn pairs of mean squares.
    df : float
        Degrees of freedom by Satterthwaite at the true mean squares.

    Notes
    -----
    The difference of two such means has the variance 2 (E1 + (s - 1) E2) / (r s), with r blocks,
    s subplot treatments, E1 and E2 the mean squares of whole plots and subplots. The analysis
    estimates it by the mean squares, or by the two pooled where E1 is below E2 (the variance of
    whole plots is then estimated as zero), and takes its degrees of freedom by Satterthwaite.
    Mean squares are drawn; given them the power is a normal probability. Blocks count as known
    to differ.
    """
    subs = plan.treatments[1]
    rng = np.random.default_rng(plan.seed)
    df_whole = (blocks - 1) * (plan.treatments[0] - 1)
    df_sub = plan.treatments[0] * (blocks - 1) * (subs - 1)
    sub = plan.within_sd**2
    whole = subs * plan.sd**2 - (subs - 1) * sub
    first = whole * rng.chisquare(df_whole, TRIALS) / df_whole
    second = sub * rng.chisquare(df_sub, TRIALS) / df_sub
    pooled = (first * df_whole + second * df_sub) / (df_whole + df_sub)
    at_bound = first < second
    first, second = np.where(at_bound, pooled, first), np.where(at_bound, pooled, second)

    def satterthwaite(one: Floats, two: Floats) -> Floats:
        made = one + (subs - 1) * two
        return np.asarray(made**2 / (one**2 / df_whole + ((subs - 1) * two) ** 2 / df_sub))

    estimated = np.sqrt(2 * (first + (subs - 1) * second) / (blocks * subs))
    chances = _given(plan, estimated, satterthwaite(first, second), plan.sd * sqrt(2 / blocks))
    true_df = satterthwaite(np.array(whole), np.array(sub))
    return float(chances.mean()), float(true_df)


def _given(plan: Plan, estimated: Floats, df: Floats, true: float) -> Floats:
    """Give the power for each estimated standard error, the true one known."""
    if plan.purpose == "equivalence":
        room = plan.margin - stats.t.isf(plan.each, df) * estimated
        inside = special.ndtr((room - plan.true_difference) / true)
        inside = inside - special.ndtr(-(room + plan.true_difference) / true)
        return np.asarray(np.where(room > 0, inside, 0.0))
    far = stats.t.isf(plan.each / 2, df) * estimated
    above = special.ndtr((plan.difference - far) / true)
    return np.asarray(above + special.ndtr(-(plan.difference + far) / true))


def with_lost(plan: Plan, blocks: int) -> tuple[float, float, float]:
    """Average over the patterns in which units can be lost.

    Parameters
    ----------
    plan : Plan
        Its ``lost`` units may be any.
    blocks : int
        Number of blocks.

    Returns
    -------
    power, se, df : float
        Averages over all patterns, or over `PATTERNS` of them drawn at random; a pattern that
        leaves the difference or its error unknown has power 0 and no part in se and df.
    """
    columns, weights = planned_units(plan, blocks)
    units = len(columns)
    if plan.lost >= units:
        return 0.0, float("nan"), float("nan")
    if comb(units, plan.lost) <= PATTERNS:
        patterns = [np.array(p) for p in combinations(range(units), plan.lost)]
    else:
        rng = np.random.default_rng(plan.seed)
        patterns = [rng.choice(units, plan.lost, replace=False) for _ in range(PATTERNS)]
    found: Counter[tuple[float, int]] = Counter()
    for pattern in patterns:
        size, df = contrast_spread(np.delete(columns, pattern, axis=0), weights)
        found[round(size, 10), df] += 1
    total, seen, ses, dfs = 0.0, 0, 0.0, 0.0
    for (size, df), many in found.items():
        if not (np.isfinite(size) and df > 0):
            continue
        se = size * plan.sd
        total += many * _exact(plan, se, df)
        seen, ses, dfs = seen + many, ses + many * se, dfs + many * df
    if not seen:
        return 0.0, float("nan"), float("nan")
    return total / len(patterns), ses / seen, dfs / seen


def _exact(plan: Plan, se: float, df: float) -> float:
    if plan.purpose == "equivalence":
        return equivalence_power(plan.margin, se, df, plan.true_difference, plan.each)
    return pair_power(plan.difference, se, df, plan.each)


def contrast_spread(columns: Floats, weights: Floats) -> tuple[float, int]:
    """Give the standard error of a contrast, for a unit standard deviation of 1, and its df.

    Parameters
    ----------
    columns : (n, p) float
        Fixed part of the units that are there.
    weights : (p,) float
        The contrast.

    Returns
    -------
    se : float
        NaN where the units do not determine the contrast.
    df : int
        Units less independent columns.
    """
    inverse = np.linalg.pinv(columns.T @ columns, hermitian=True)
    known = np.allclose(inverse @ (columns.T @ (columns @ weights)), weights, atol=1e-8)
    df = len(columns) - int(np.linalg.matrix_rank(columns))
    return (sqrt(weights @ inverse @ weights) if known else float("nan")), df


def planned_units(plan: Plan, blocks: int) -> tuple[Floats, Floats]:
    """Lay out the experimental units of the compared treatments.

    Returns
    -------
    columns : (n, p) float
        Indicators of what surrounds a unit and of its treatment, one row a unit.
    weights : (p,) float
        The difference between the first two compared treatments.
    """
    first, second = plan.treatments
    single = plan.layout in ("split plot", "strip plot") and plan.compare == "first"
    if plan.layout == "strip plot" and plan.compare == "second":
        first, single = second, True
    cells = list(product(range(first), range(1 if single else second)))
    rows: list[tuple[list[object], int]] = []
    if plan.layout == "latin square":
        size = len(cells)
        for square, row, column in product(range(blocks // size), range(size), range(size)):
            around: list[object] = [("row", square, row), ("column", square, column)]
            rows.append((around, (row + column) % size))
    else:
        for block, (cell, (one, _)) in product(range(blocks), enumerate(cells)):
            inside = plan.layout == "split plot" and not single
            name = (block, one) if inside else block
            rows.append(([] if plan.layout == "completely random" else [name], cell))
    names = list(dict.fromkeys(name for around, _ in rows for name in around))
    place = {name: i for i, name in enumerate(names)}
    columns = np.zeros((len(rows), len(names) + len(cells)))
    for i, (around, cell) in enumerate(rows):
        columns[i, [place[name] for name in around]] = 1.0
        columns[i, len(names) + cell] = 1.0
    weights = np.zeros(columns.shape[1])
    by_second = plan.compare.startswith("second") and not single
    for cell, (one, two) in enumerate(cells):
        own, other = (two, one) if by_second else (one, two)
        if own < 2 and not ("within" in plan.compare and other > 0):
            weights[len(names) + cell] = 1.0 if own == 0 else -1.0
    return columns, weights / weights[weights > 0].sum()
