"""Probabilities and interval widths for several comparisons made together."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from wintersward.errors import WinterswardError, closest, listed
from wintersward.models.ranges import (
    control_critical,
    control_sf,
    loadings,
    range_critical,
    range_sf,
    uneven_critical,
    uneven_sf,
)

__all__ = ["ADJUSTMENTS", "adjusted", "checked_adjustment"]

Floats = NDArray[np.float64]

ADJUSTMENTS = {
    "none": "each comparison by itself",
    "tukey": "all pairs of the means, by the studentised range",
    "holm": "probabilities stepped down by Holm; intervals by Bonferroni",
    "bonferroni": "probabilities times the number of comparisons; intervals to match",
    "dunnett": "each mean with one control, by the multivariate t",
}


def checked_adjustment(adjust: str) -> str:
    """Give the name of an adjustment back if there is one.

    Raises
    ------
    WinterswardError
        If there is none of that name.
    """
    if adjust in ADJUSTMENTS:
        return adjust
    hint = closest(adjust, ADJUSTMENTS)
    said = f"adjust: found '{adjust}'; allowed: {listed(ADJUSTMENTS)}"
    raise WinterswardError(f"{said}; {hint}" if hint else said)


def adjusted(
    adjust: str, t: Floats, df: Floats, level: float, means: int, correlation: Floats
) -> tuple[Floats, Floats]:
    """Adjust one family of comparisons.

    Parameters
    ----------
    adjust : str
        One of `ADJUSTMENTS`.
    t : (m,) float
        Differences over their standard errors.
    df : (m,) float
        Degrees of freedom of each.
    level : float
        Of the intervals, jointly where the adjustment is joint.
    means : int
        Number of means among which the pairs were formed, for ``tukey``.
    correlation : (m, m) float
        Of the differences, for ``dunnett``.

    Returns
    -------
    p : (m,) float
        Adjusted two-sided probabilities.
    critical : (m,) float
        Half-widths of the intervals in standard errors.

    Notes
    -----
    Comparisons of one family may differ in degrees of freedom; each uses its own. ``dunnett`` is
    exact where the correlations are products, as with unequal numbers of independent plots, and
    else good to a relative 1e-4; see `wintersward.models.ranges`.
    """
    size, alpha = len(t), np.abs(t)
    tail = 1.0 - level
    if adjust == "tukey":
        p = [range_sf(a * np.sqrt(2.0), means, v) for a, v in zip(alpha, df, strict=True)]
        critical = _each(df, lambda v: range_critical(level, means, v)) / np.sqrt(2.0)
        return np.array(p), critical
    if adjust == "dunnett":
        loads = loadings(correlation)
        if loads is None:
            p = [uneven_sf(a, correlation, v) for a, v in zip(alpha, df, strict=True)]
            return np.array(p), _each(df, lambda v: uneven_critical(level, correlation, v))
        p = [control_sf(a, loads, v) for a, v in zip(alpha, df, strict=True)]
        return np.array(p), _each(df, lambda v: control_critical(level, loads, v))
    plain = 2.0 * stats.t.sf(alpha, df)
    if adjust == "none":
        return plain, stats.t.isf(tail / 2.0, df)
    critical = stats.t.isf(tail / (2.0 * size), df)
    if adjust == "holm":
        order = np.argsort(plain, kind="stable")
        stepped = np.maximum.accumulate(plain[order] * np.arange(size, 0, -1))
        holm = np.empty(size)
        holm[order] = np.minimum(stepped, 1.0)
        return holm, critical
    return np.minimum(plain * size, 1.0), critical


def _each(df: Floats, critical: Callable[[float], float]) -> Floats:
    """Solve once for degrees of freedom that agree to rounding."""
    near = np.array([float(f"{v:.11g}") for v in df])
    solved = {v: critical(v) for v in np.unique(near)}
    return np.array([solved[v] for v in near])
