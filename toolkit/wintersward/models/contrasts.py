"""Comparisons among means: all pairs, each with a control, any weights."""

from __future__ import annotations

import itertools
from collections.abc import Hashable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from wintersward.errors import WinterswardError, listed
from wintersward.models.adjust import adjusted, checked_adjustment
from wintersward.models.columns import label
from wintersward.models.fixed import FixedPart
from wintersward.models.means import Cells, cells_of, checked_level, named, position

if TYPE_CHECKING:
    from wintersward.models.fit import MixedFit

__all__ = ["contrast", "pairs"]

Floats = NDArray[np.float64]


def pairs(
    fit: MixedFit,
    factors: str | Sequence[str],
    by: str | Sequence[str] | None = None,
    adjust: str = "tukey",
    level: float = 0.95,
    control: Hashable | None = None,
) -> pd.DataFrame:
    """Compare means pair by pair; see `MixedFit.pairs`."""
    checked_adjustment(adjust)
    checked_level(level)
    by, factors = named(fit.fixed_part, by), named(fit.fixed_part, factors)
    if not factors:
        raise WinterswardError("pairs: found no factors; allowed: at least one to compare")
    cells = cells_of(fit.fixed_part, (*by, *factors))
    groups = _families(cells, len(by))
    chosen = _control(fit, factors, cells, len(by), adjust, control)
    tables = [_family(fit, cells, rows, len(by), adjust, level, chosen) for rows in groups]
    return pd.concat(tables, ignore_index=True)


def _families(cells: Cells, depth: int) -> list[list[int]]:
    found: dict[tuple[Hashable, ...], list[int]] = {}
    for i, cell in enumerate(cells.levels):
        found.setdefault(cell[:depth], []).append(i)
    return list(found.values())


def _control(
    fit: MixedFit,
    factors: Sequence[str],
    cells: Cells,
    depth: int,
    adjust: str,
    control: Hashable | None,
) -> tuple[Hashable, ...] | None:
    """Give the levels of the control, or None where all pairs are compared."""
    if control is None:
        return cells.levels[0][depth:] if adjust == "dunnett" else None
    if adjust == "tukey":
        raise WinterswardError(
            "adjust: tukey is for all pairs; with a control use dunnett, holm, bonferroni or none"
        )
    given = control if isinstance(control, tuple) else (control,)
    if len(given) != len(factors):
        raise WinterswardError(
            f"control: found {listed(given)}; allowed: one level of each of {listed(factors)}"
        )
    places = [
        (name, position(fit.fixed_part, name, level))
        for name, level in zip(factors, given, strict=True)
    ]
    return tuple(fit.fixed_part.factors[name].levels[place] for name, place in places)


def _family(
    fit: MixedFit,
    cells: Cells,
    rows: Sequence[int],
    depth: int,
    adjust: str,
    level: float,
    control: tuple[Hashable, ...] | None,
) -> pd.DataFrame:
    if control is None:
        chosen = list(itertools.combinations(rows, 2))
    else:
        other = next(row for row in rows if cells.levels[row][depth:] == control)
        chosen = [(row, other) for row in rows if row != other]
    left, right = [a for a, _ in chosen], [b for _, b in chosen]
    weights = cells.weights[left] - cells.weights[right]
    found = fit.linear(weights, [f"{cells.said(a)} minus {cells.said(b)}" for a, b in chosen])
    known = np.flatnonzero(np.isfinite(found.se) & (found.df > 0))
    p, reach = np.full(len(chosen), np.nan), np.full(len(chosen), np.nan)
    t = found.estimate / found.se
    if known.size:
        compared = len({*np.array(left)[known].tolist(), *np.array(right)[known].tolist()})
        p[known], reach[known] = adjusted(
            adjust, t[known], found.df[known], level, compared, fit.correlations(weights[known])
        )
    reach *= found.se
    columns: dict[str, object] = {
        name: [cells.levels[rows[0]][i]] * len(chosen) for i, name in enumerate(cells.names[:depth])
    }
    columns["left"] = [_short(cells.levels[row][depth:]) for row in left]
    columns["right"] = [_short(cells.levels[row][depth:]) for row in right]
    columns |= {"difference": found.estimate, "se": found.se, "df": found.df}
    columns |= {"lower": found.estimate - reach, "upper": found.estimate + reach, "t": t, "p": p}
    return pd.DataFrame(columns)


def _short(levels: Sequence[Hashable]) -> Hashable:
    return levels[0] if len(levels) == 1 else ", ".join(label(level) for level in levels)


def contrast(
    fit: MixedFit,
    weights: Mapping[Hashable, float],
    factors: str | Sequence[str] | None = None,
    at: Mapping[str, Hashable] | None = None,
    level: float = 0.95,
    margin: float | Sequence[float] | None = None,
    df: str = "kenward-roger",
) -> pd.DataFrame:
    """Estimate a weighted sum of means; see `MixedFit.contrast`."""
    checked_level(level)
    within = None if margin is None else _margin(margin, level)
    total = _weighted(fit.fixed_part, weights, factors, at)
    found = fit.linear(total[None, :], ["the contrast"], df)
    reach = stats.t.ppf(0.5 + level / 2.0, found.df) * found.se
    t = found.estimate / found.se
    table = pd.DataFrame(
        {
            "estimate": found.estimate,
            "se": found.se,
            "df": found.df,
            "lower": found.estimate - reach,
            "upper": found.estimate + reach,
            "t": t,
            "p": 2.0 * stats.t.sf(np.abs(t), found.df),
        }
    )
    if within is None:
        return table
    low, high = within
    shorter = stats.t.ppf(level, found.df) * found.se
    above = stats.t.sf((found.estimate - low) / found.se, found.df)
    below = stats.t.cdf((found.estimate - high) / found.se, found.df)
    return table.assign(
        p_above=above,
        p_below=below,
        p_equivalence=np.maximum(above, below),
        lower_equivalence=found.estimate - shorter,
        upper_equivalence=found.estimate + shorter,
    )


def _margin(margin: float | Sequence[float], level: float) -> tuple[float, float]:
    """Give the two ends of a margin of equivalence."""
    ends = np.array(margin, dtype=float)
    ends = np.array([-ends, ends]) if ends.ndim == 0 else ends
    if ends.shape != (2,) or not np.isfinite(ends).all() or ends[0] >= ends[1]:
        raise WinterswardError(
            f"margin: found {margin}; allowed: a number over 0, or a lower and a higher number"
        )
    if level <= 0.5:
        raise WinterswardError(
            f"level: found {level}; allowed with a margin: over 0.5 and under 1, such as 0.95"
        )
    return float(ends[0]), float(ends[1])


def _weighted(
    fixed: FixedPart,
    weights: Mapping[Hashable, float],
    factors: str | Sequence[str] | None,
    at: Mapping[str, Hashable] | None,
) -> Floats:
    """Give the weighted sum of cells as one function of the coefficients."""
    if not weights:
        raise WinterswardError("contrast: found no weights; allowed: at least one cell")
    given = tuple(fixed.factors) if factors is None else named(fixed, factors)
    if factors is None:
        given = tuple(name for name in given if name not in (at or {}))
    cells = cells_of(fixed, given, at)
    total = np.zeros(cells.weights.shape[1])
    for cell, weight in weights.items():
        levels = cell if isinstance(cell, tuple) else (cell,)
        if len(levels) != len(given):
            raise WinterswardError(
                f"contrast: found the cell {listed(levels)}; allowed: one level of each of"
                f" {listed(given)}; name fewer factors with factors="
            )
        if not np.isfinite(weight):
            raise WinterswardError(f"contrast: found the weight {weight}; allowed: a number")
        places = [position(fixed, n, x) for n, x in zip(given, levels, strict=True)]
        sizes = [len(fixed.factors[name].levels) for name in given]
        total += weight * cells.weights[np.ravel_multi_index(places, sizes) if places else 0]
    return total
