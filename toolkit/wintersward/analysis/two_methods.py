"""Two ways to measure the same plots: how they move together, how far apart they lie."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

__all__ = ["Correlation", "End", "Limits", "correlation_within", "limits_of_agreement"]

Floats = NDArray[np.float64]
_LEVEL = 0.95
# Share of single differences that lie between the limits, about: 1.96 standard deviations.
_REACH = 1.96
# Of the spread: less than this is rounding.
_NOTHING = 1e-9


@dataclass(frozen=True)
class Correlation:
    """A correlation within groups.

    Parameters
    ----------
    value : float
        From -1 to 1.
    lower, upper : float
        Ends of the 95 % interval; not a number where too little is left to judge by.
    slope : float
        Common slope of y on x within the groups.
    df : int
        Degrees of freedom of the error.
    n : int
        Pairs used.
    """

    value: float
    lower: float
    upper: float
    slope: float
    df: int
    n: int


def correlation_within(x: Floats, y: Floats, group: NDArray[np.generic]) -> Correlation | None:
    """Correlate x and y within groups, one slope for all (repeated-measures correlation).

    Parameters
    ----------
    x, y : (n,) float
        Pairs without gaps.
    group : (n,)
        Group of each pair; groups of one pair are left out.

    Returns
    -------
    Correlation or None
        None where fewer than two pairs are left beside the groups, or x or y does not vary
        within them.

    Notes
    -----
    The analysis of covariance of y with the groups as factor and x as covariate: the sign of the
    common slope times the root of SS(x) / (SS(x) + SS(error)), which is the correlation of the
    deviations from group means. The interval is Fisher's, with df + 2 in place of n.

    References
    ----------
    Bland J. M., Altman D. G. (1995) Calculating correlation coefficients with repeated
    observations: part 1, correlation within subjects. BMJ 310, 446.
    doi:10.1136/bmj.310.6977.446
    Bakdash J. Z., Marusich L. R. (2017) Repeated measures correlation. Frontiers in Psychology
    8, 456. doi:10.3389/fpsyg.2017.00456
    """
    frame = pd.DataFrame({"x": x, "y": y, "group": group})
    frame = frame[frame.groupby("group")["x"].transform("size") > 1]
    df = len(frame) - frame["group"].nunique() - 1
    if df < 1:
        return None
    own = frame[["x", "y"]] - frame.groupby("group")[["x", "y"]].transform("mean")
    squares = own.to_numpy().T @ own.to_numpy()
    size = frame[["x", "y"]].abs().max().to_numpy()
    if (np.sqrt(np.diag(squares)) <= _NOTHING * size).any():
        return None
    value = float(np.clip(squares[0, 1] / math.sqrt(squares[0, 0] * squares[1, 1]), -1, 1))
    lower = upper = math.nan
    if df > 1 and abs(value) < 1 - _NOTHING:
        reach = stats.norm.ppf(0.5 + _LEVEL / 2) / math.sqrt(df - 1)
        lower, upper = (math.tanh(math.atanh(value) + sign * reach) for sign in (-1, 1))
    return Correlation(value, lower, upper, float(squares[0, 1] / squares[0, 0]), df, len(frame))


@dataclass(frozen=True)
class End:
    """An estimate with its 95 % interval.

    Parameters
    ----------
    value, lower, upper : float
        In the unit of the differences.
    """

    value: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Limits:
    """Limits of agreement.

    Parameters
    ----------
    bias, lower, upper : End
        Mean difference, lower and upper limit.
    n, plots : int
        Differences and plots.
    method : str
        The source of the formulas.
    """

    bias: End
    lower: End
    upper: End
    n: int
    plots: int
    method: str


def limits_of_agreement(differences: Floats, plots: NDArray[np.generic]) -> Limits | None:
    """Estimate the limits between which about 95 of 100 single differences lie.

    Parameters
    ----------
    differences : (n,) float
        One method less the other.
    plots : (n,)
        Plot of each difference; plots may come back.

    Returns
    -------
    Limits or None
        None with fewer than three plots, or where all differences are equal.

    Notes
    -----
    Each plot once: mean and 1.96 standard deviations s; interval of the mean by t, and of a limit
    with the variance s^2 (1/n + 1.96^2 / (2 (n - 1))), by t with n - 1 degrees of freedom (Bland
    and Altman 1999).

    Plots that come back: the variance of a single difference is that between plots and that
    within plots, ``var(plot means) + (1 - 1/m) s_w^2`` with m the harmonic mean of the
    differences of a plot; with equal numbers it is that of Bland and Altman (2007) for true values
    that change. The bias is the mean of the plot means. Intervals recover variances from those of
    the two parts (Zou 2013); they allow for plots that come back.

    References
    ----------
    Bland J. M., Altman D. G. (1986) Statistical methods for assessing agreement between two
    methods of clinical measurement. Lancet 327, 307-310. doi:10.1016/S0140-6736(86)90837-8
    Bland J. M., Altman D. G. (1999) Measuring agreement in method comparison studies.
    Statistical Methods in Medical Research 8, 135-160. doi:10.1177/096228029900800204
    Bland J. M., Altman D. G. (2007) Agreement between methods of measurement with multiple
    observations per individual. Journal of Biopharmaceutical Statistics 17, 571-582.
    doi:10.1080/10543400701329422
    Zou G. Y. (2013) Confidence interval estimation for the Bland-Altman limits of agreement with
    multiple observations per individual. Statistical Methods in Medical Research 22, 630-642.
    doi:10.1177/0962280211402548
    """
    values = pd.Series(np.asarray(differences, dtype=float))
    grouped = values.groupby(np.asarray(plots))
    size = float(np.abs(values).max()) if len(values) else 0.0
    if grouped.ngroups < 3 or float(values.std()) <= _NOTHING * size:
        return None
    once = bool((grouped.size() == 1).all())
    return _once(values) if once else _coming_back(values, np.asarray(plots))


def _once(values: pd.Series) -> Limits:
    n, bias, sd = len(values), float(values.mean()), float(values.std())
    t = float(stats.t.ppf(0.5 + _LEVEL / 2, n - 1))
    wide, narrow = t * sd * math.sqrt(1 / n + _REACH**2 / (2 * (n - 1))), t * sd / math.sqrt(n)
    ends = [
        End(at, at - half, at + half)
        for at, half in ((bias, narrow), (bias - _REACH * sd, wide), (bias + _REACH * sd, wide))
    ]
    return Limits(ends[0], ends[1], ends[2], n, n, "Bland and Altman 1999")


def _coming_back(values: pd.Series, plots: NDArray[np.generic]) -> Limits:
    grouped = values.groupby(plots)
    means, sizes = grouped.mean(), grouped.size()
    n, rows = len(means), len(values)
    bias, between = float(means.mean()), float(means.var())
    within = float(((values - grouped.transform("mean")) ** 2).sum()) / (rows - n)
    harmonic = n / float((1 / sizes).sum())
    parts = ((between, n - 1), ((1 - 1 / harmonic) * within, rows - n))
    total = sum(part for part, _ in parts)
    tail = (1 - _LEVEL) / 2
    down = math.hypot(*(part * (1 - df / stats.chi2.ppf(1 - tail, df)) for part, df in parts))
    up = math.hypot(*(part * (df / stats.chi2.ppf(tail, df) - 1) for part, df in parts))
    sd = math.sqrt(total)
    # What lies outside a limit is bounded by the largest variance, what lies inside by the least.
    outward = _REACH * (math.sqrt(total + up) - sd)
    inward = _REACH * (sd - math.sqrt(max(0.0, total - down)))
    around = float(stats.norm.ppf(1 - tail)) * math.sqrt(between / n)
    outward, inward = math.hypot(around, outward), math.hypot(around, inward)
    low, high = bias - _REACH * sd, bias + _REACH * sd
    return Limits(
        End(bias, bias - around, bias + around),
        End(low, low - outward, low + inward),
        End(high, high - inward, high + outward),
        rows,
        n,
        "Bland and Altman 2007, intervals of Zou 2013",
    )
