"""Means of the levels of factors, as linear functions of the coefficients."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from wintersward.errors import WinterswardError, closest, listed
from wintersward.models.columns import label
from wintersward.models.fixed import FixedPart

if TYPE_CHECKING:
    from wintersward.models.fit import MixedFit

__all__ = ["Cells", "cells_of", "checked_level", "means", "named", "position"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Cells:
    """Combinations of levels and the functions of the coefficients that are their means.

    Parameters
    ----------
    names : tuple of str
        Factors that make the cells.
    levels : tuple of tuple
        Levels of each cell, the first factor slowest.
    weights : (cells, columns) float
        One cell a row.
    """

    names: tuple[str, ...]
    levels: tuple[tuple[Hashable, ...], ...]
    weights: Floats

    def said(self, row: int) -> str:
        """Name one cell, ``cover=woven, date=2026-03-24``."""
        pairs = zip(self.names, self.levels[row], strict=True)
        return listed(f"{name}={label(level)}" for name, level in pairs) or "overall"


def checked_level(level: float) -> float:
    """Give the level of intervals back if it is a proportion.

    Raises
    ------
    WinterswardError
        If it is not between 0 and 1.
    """
    if not 0.0 < level < 1.0:
        raise WinterswardError(f"level: found {level}; allowed: over 0 and under 1, such as 0.95")
    return level


def named(fixed: FixedPart, names: str | Sequence[str] | None) -> tuple[str, ...]:
    """Give factor names as a tuple, once they are known to be factors of the model."""
    given = (names,) if isinstance(names, str) else tuple(names or ())
    for name in given:
        if name in fixed.covariates:
            raise WinterswardError(
                f"factor {name}: is a column of numbers, so it has a slope and no means of levels;"
                f" write C({name}) in the formula to make it a factor"
            )
        if name not in fixed.factors:
            hint = closest(name, fixed.factors)
            said = f"factor {name}: not a factor of this model; allowed: {listed(fixed.factors)}"
            raise WinterswardError(f"{said}; {hint}" if hint else said)
    if len(set(given)) < len(given):
        raise WinterswardError(f"factors: found {listed(given)}; allowed: each once")
    return given


def position(fixed: FixedPart, name: str, level: Hashable) -> int:
    """Find a level of a factor.

    Raises
    ------
    WinterswardError
        If the factor has no such level.
    """
    levels = fixed.factors[name].levels
    if level in levels:
        return levels.index(level)
    by_label = [i for i, known in enumerate(levels) if label(known) == label(level)]
    if len(by_label) == 1:
        return by_label[0]
    known = [label(other) for other in levels]
    hint = closest(label(level), known)
    said = f"factor {name}: has no level {label(level)}; allowed: {listed(known)}"
    raise WinterswardError(f"{said}; {hint}" if hint else said)


def cells_of(
    fixed: FixedPart, names: Sequence[str], at: Mapping[str, Hashable] | None = None
) -> Cells:
    """Average the grid over every factor but the named ones.

    Parameters
    ----------
    fixed : FixedPart
        Of the model.
    names : sequence of str
        Factors that make the cells, the first slowest.
    at : mapping of str to level, optional
        Factors held at one level instead of being averaged over.

    Returns
    -------
    Cells

    Notes
    -----
    The levels of the other factors weigh equally, whatever their numbers of rows; covariates
    stand at their means over the rows used.
    """
    names = named(fixed, names)
    held = dict(at or {})
    named(fixed, [*names, *held])
    grid, order = fixed.grid, list(fixed.factors)
    for name, level in held.items():
        axis = order.index(name)
        grid = np.take(grid, [position(fixed, name, level)], axis=axis)
    spare = tuple(i for i, name in enumerate(order) if name not in names)
    averaged = grid.mean(axis=spare)
    left = [name for name in order if name in names]
    averaged = np.moveaxis(averaged, range(len(left)), [names.index(name) for name in left])
    sizes = averaged.shape[:-1]
    levels = tuple(
        tuple(fixed.factors[name].levels[code] for name, code in zip(names, cell, strict=True))
        for cell in np.ndindex(*sizes)
    )
    return Cells(names, levels, averaged.reshape(-1, averaged.shape[-1]))


def means(
    fit: MixedFit,
    factors: str | Sequence[str],
    by: str | Sequence[str] | None = None,
    level: float = 0.95,
) -> pd.DataFrame:
    """Estimate the mean of each combination of levels; see `MixedFit.means`."""
    by, factors = named(fit.fixed_part, by), named(fit.fixed_part, factors)
    cells = cells_of(fit.fixed_part, (*by, *factors))
    found = fit.linear(cells.weights, [cells.said(i) for i in range(len(cells.levels))])
    reach = stats.t.ppf(0.5 + checked_level(level) / 2.0, found.df) * found.se
    columns: dict[str, object] = {
        name: [cell[i] for cell in cells.levels] for i, name in enumerate(cells.names)
    }
    return pd.DataFrame(
        {
            **columns,
            "mean": found.estimate,
            "se": found.se,
            "df": found.df,
            "lower": found.estimate - reach,
            "upper": found.estimate + reach,
        }
    )
