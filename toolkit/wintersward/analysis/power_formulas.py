"""The chance that a comparison shows what it should, by exact formulas."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np
from scipy import integrate, optimize, special, stats

from wintersward.errors import WinterswardError

__all__ = [
    "detectable",
    "equivalence_power",
    "half_width",
    "overall_power",
    "pair_power",
    "units_for_mean",
]

# Above this a search is a mistake in the question, not a trial.
_MOST = 100_000


def pair_power(difference: float, se: float, df: float, alpha: float = 0.05) -> float:
    """Give the chance that the interval of a difference leaves out zero.

    Parameters
    ----------
    difference : float [unit of the measure]
        True difference.
    se : float [unit of the measure]
        True standard error of the estimated difference.
    df : float
        Degrees of freedom of its estimate.
    alpha : float
        Two-sided error rate.

    Returns
    -------
    float
        From 0 to 1; both sides count.

    Notes
    -----
    The t value follows the noncentral t distribution with noncentrality difference / se. Its
    probability is integrated over the distribution of the estimated standard error, which holds
    where library functions of that distribution lose their digits.

    Examples
    --------
    >>> round(pair_power(15, 10 * 0.5**0.5, 9), 4)
    0.4739
    """
    critical, away = stats.t.isf(alpha / 2, df), difference / se

    def given(ratio: float) -> float:
        far = critical * ratio
        return float(special.ndtr(away - far) + special.ndtr(-away - far))

    return _over_spread(given, df)


def overall_power(
    means: Sequence[float], sd: float, replicates: float, df: float, alpha: float = 0.05
) -> float:
    """Give the chance that the F test over all treatments rejects.

    Parameters
    ----------
    means : (t,) float [unit of the measure]
        True means of the treatments.
    sd : float [unit of the measure]
        Standard deviation of the experimental units around block and treatment.
    replicates : float
        Units of each treatment.
    df : float
        Error degrees of freedom.
    alpha : float
        Error rate.

    Notes
    -----
    F follows the noncentral F distribution with t - 1 and df degrees of freedom and
    noncentrality replicates x sum((mean - average)^2) / sd^2.
    """
    centred = np.asarray(means, dtype=float) - np.mean(means)
    beyond = replicates * float(centred @ centred) / sd**2
    first = len(centred) - 1
    critical = stats.f.isf(alpha, first, df)
    return float(stats.ncf.sf(critical, first, df, beyond)) if beyond else alpha


def equivalence_power(
    margin: float, se: float, df: float, difference: float = 0.0, alpha: float = 0.05
) -> float:
    """Give the chance that two one-sided tests both put a difference inside a margin.

    Parameters
    ----------
    margin : float [unit of the measure]
        More than 0; the limits are minus and plus it.
    se : float [unit of the measure]
        True standard error of the estimated difference.
    df : float
        Degrees of freedom of its estimate.
    difference : float [unit of the measure]
        True difference.
    alpha : float
        Error rate of each of the two tests.

    Notes
    -----
    Both tests succeed where the estimate lies within margin - t s of zero, s its estimated
    standard error. Given s the estimate is normal; the probability is integrated over the
    distribution of s / se, a chi over the root of its degrees of freedom, up to the s at which
    margin - t s is zero. This is the exact power (a bivariate noncentral t probability), not
    the sum of two one-sided ones.

    References
    ----------
    Phillips K. F. (1990) Power of the two one-sided tests procedure in bioequivalence. Journal
    of Pharmacokinetics and Biopharmaceutics 18(2), 137-144. doi:10.1007/BF01063556 (from memory)
    """
    critical = stats.t.isf(alpha, df)

    def given(ratio: float) -> float:
        room = margin - critical * se * ratio
        return float(
            special.ndtr((room - difference) / se) - special.ndtr(-(room + difference) / se)
        )

    return _over_spread(given, df, margin / (critical * se))


def _over_spread(given: Callable[[float], float], df: float, most: float = math.inf) -> float:
    """Average over the ratio of an estimated to the true standard deviation, up to the most."""
    root = math.sqrt(df)
    # The ratio is narrow where df is large: the integral runs where it has mass.
    low = math.sqrt(2 * special.gammaincinv(df / 2, 1e-13)) / root
    high = math.sqrt(2 * special.gammainccinv(df / 2, 1e-13)) / root
    if most <= low:
        return 0.0

    # The density of the chi distribution, written out: the library's costs a hundred times more.
    constant = (1 - df / 2) * math.log(2) - special.gammaln(df / 2)

    def weighed(ratio: float) -> float:
        x = ratio * root
        return given(ratio) * math.exp(constant + (df - 1) * math.log(x) - x * x / 2) * root

    found, _ = integrate.quad(weighed, low, min(most, high), epsabs=1e-11, limit=200)
    return float(min(1.0, max(0.0, found)))


def half_width(se: float, df: float, level: float) -> float:
    """Give the expected half-width of an interval [unit of the measure].

    Parameters
    ----------
    se : float [unit of the measure]
        True standard error of the estimate.
    df : float
        Degrees of freedom.
    level : float
        Of the interval.

    Notes
    -----
    The estimated standard deviation is too small on average, by the factor
    sqrt(2 / df) gamma((df + 1) / 2) / gamma(df / 2).
    """
    shrink = math.sqrt(2 / df) * math.exp(special.gammaln((df + 1) / 2) - special.gammaln(df / 2))
    return float(stats.t.isf((1 - level) / 2, df) * se * shrink)


def detectable(se: float, df: float, wanted: float = 0.8, alpha: float = 0.05) -> float:
    """Find the true difference that is shown with the wanted chance [unit of the measure].

    Examples
    --------
    >>> round(detectable(10 * 0.5**0.5, 9), 2)
    22.27
    """
    if not alpha < wanted < 1:
        raise WinterswardError(f"wanted: found {wanted:g}; allowed: between {alpha:g} and 1")
    return se * _detectable(df, wanted, alpha)


@lru_cache(maxsize=1024)
def _detectable(df: float, wanted: float, alpha: float) -> float:
    """Find the true difference that is shown with the wanted chance, in standard errors."""
    far = (stats.t.isf(alpha / 2, df) + stats.t.isf(1 - wanted, df)) * 4 + 10

    def over(difference: float) -> float:
        return pair_power(difference, 1.0, df, alpha) - wanted

    return float(optimize.brentq(over, 1e-9, far))


def units_for_mean(half: float, sd: float, alpha: float = 0.05) -> int:
    """Count the units whose mean is known to within a half-width.

    Parameters
    ----------
    half : float [unit of the measure]
        Wanted half-width of the 1 - alpha interval.
    sd : float [unit of the measure]
        Standard deviation of the units.
    alpha : float
        One less the level of the interval.

    Returns
    -------
    int
        The smallest n with t_(n-1) sd / sqrt(n) at most the half-width.

    Examples
    --------
    >>> units_for_mean(2, 3.4)
    14
    """
    if not (half > 0 and sd > 0):
        raise WinterswardError("half and sd: allowed: numbers over 0")
    for n in range(2, _MOST):
        if stats.t.isf(alpha / 2, n - 1) * sd / math.sqrt(n) <= half:
            return n
    raise WinterswardError(f"more than {_MOST} units would be needed; a wider interval must do")
