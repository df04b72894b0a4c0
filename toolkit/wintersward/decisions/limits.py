"""A mean against a limit: bounds, verdicts, and how many blocks would have told.

Notes
-----
A verdict follows from one bound and nothing else. With the confidence c and the degrees of freedom
of the standard error, a limit that is to be reached (at least L) is met where the lower bound
mean - t(c) se is L or more, and not met where the upper bound mean + t(c) se is below L; between
the two these data cannot tell. A limit that is not to be passed (at most L) is judged the other way
round. Each bound holds by itself, one-sided.

Where the limit is a share s of the mean r of established turf, mean - s r has the variance
se_m^2 + s^2 se_r^2 and the degrees of freedom

    (se_m^2 + s^2 se_r^2)^2 / (se_m^4 / df_m + s^4 se_r^4 / df_r),

and its root stands in the place of se.

References
----------
Satterthwaite F. E. (1946) An approximate distribution of estimates of variance components.
Biometrics Bulletin 2(6), 110-114. doi:10.2307/3002019
Schuirmann D. J. (1987) Journal of Pharmacokinetics and Biopharmaceutics 15, 657-680 (one-sided
bounds against a margin). doi:10.1007/BF01068419
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import stdtrit

__all__ = [
    "AT_LEAST",
    "AT_MOST",
    "CANNOT_TELL",
    "MET",
    "MOST",
    "NOT_MET",
    "NO_DATA",
    "VERDICTS",
    "Estimate",
    "beyond",
    "bounds",
    "copies_to_tell",
    "joined",
    "verdict",
]

MET, NOT_MET, CANNOT_TELL, NO_DATA = "met", "not met", "these data cannot tell", "no data"
VERDICTS = (MET, NOT_MET, CANNOT_TELL, NO_DATA)
AT_LEAST, AT_MOST = "at least", "at most"
# More blocks than this nobody lays out (common practice, no source).
MOST = 30


@dataclass(frozen=True)
class Estimate:
    """A mean and how sure it is.

    Parameters
    ----------
    mean, se : float [unit of the measure]
        Mean and standard error.
    df : float
        Degrees of freedom of the standard error.
    """

    mean: float
    se: float
    df: float

    @property
    def judges(self) -> bool:
        """Whether bounds can be had: without any spread nothing is known of the error."""
        known = all(math.isfinite(one) for one in (self.mean, self.se, self.df))
        return known and self.se > 0 and self.df > 0


def joined(own: Estimate, share: float, reference: Estimate) -> Estimate:
    """Give a mean the error that it has against a share of another mean.

    Parameters
    ----------
    own : Estimate
        Of the treatment.
    share : float
        What is asked of the other mean, 0.8 for 80 %.
    reference : Estimate
        The other mean.

    Returns
    -------
    Estimate
        Mean of the treatment; se and df of mean less share x reference mean.

    Examples
    --------
    >>> alike = 0.6 / 8**0.5
    >>> found = joined(Estimate(5.75, alike, 7), 1.0, Estimate(5.60, alike, 7))
    >>> round(found.se, 6), round(found.df, 6)
    (0.3, 14.0)
    """
    first, second = own.se**2, (share * reference.se) ** 2
    df = (first + second) ** 2 / (first**2 / own.df + second**2 / reference.df)
    return Estimate(own.mean, math.sqrt(first + second), df)


def bounds(found: Estimate, sure: float) -> tuple[float, float]:
    """Give the one-sided bounds of a mean.

    Parameters
    ----------
    found : Estimate
        The mean.
    sure : float [%]
        Confidence of each of the two bounds.

    Returns
    -------
    (float, float) [unit of the measure]
        Lower and upper bound; NaN where no bound can be had.

    Examples
    --------
    >>> [round(end, 3) for end in bounds(Estimate(50.0, 2.0, 10), 90)]
    [47.256, 52.744]
    """
    if not found.judges:
        return math.nan, math.nan
    reach = float(stdtrit(found.df, sure / 100)) * found.se
    return found.mean - reach, found.mean + reach


def verdict(ends: tuple[float, float], at: str, limit: float) -> str:
    """Judge a mean against a limit by its bounds.

    Parameters
    ----------
    ends : (float, float) [unit of the measure]
        Lower and upper bound of the mean.
    at : {'at least', 'at most'}
        On which side of the limit the mean is to be.
    limit : float [unit of the measure]
        The limit.

    Returns
    -------
    {'met', 'not met', 'these data cannot tell'}

    Examples
    --------
    >>> verdict((46.0, 54.0), "at least", 45.0), verdict((46.0, 54.0), "at most", 45.0)
    ('met', 'not met')
    >>> verdict((44.0, 54.0), "at least", 45.0)
    'these data cannot tell'
    """
    lower, upper = ends
    if any(math.isnan(one) for one in (lower, upper, limit)):
        return CANNOT_TELL
    if at == AT_LEAST:
        return MET if lower >= limit else NOT_MET if upper < limit else CANNOT_TELL
    return MET if upper <= limit else NOT_MET if lower > limit else CANNOT_TELL


def beyond(value: float, at: str, limit: float) -> bool:
    """Tell whether a value by itself misses a limit."""
    return value < limit if at == AT_LEAST else value > limit


def copies_to_tell(
    own: Estimate,
    limit: float,
    sure: float,
    copies: int,
    share: float = 0.0,
    reference: Estimate | None = None,
) -> int | None:
    """Count the blocks with which the mean and the spread seen here would have told.

    Parameters
    ----------
    own : Estimate
        Of the treatment, without the error of the limit.
    limit : float [unit of the measure]
        The limit.
    sure : float [%]
        Confidence of the bound.
    copies : int
        Blocks, or plots of each treatment, that there were; for Latin squares 1.
    share, reference
        As in `joined`; without them the limit is a plain number.

    Returns
    -------
    int or None
        The smallest number above `copies` and up to `MOST`; None where none is enough.

    Notes
    -----
    With b in place of a blocks the standard error of the mean is taken as se sqrt(a / b), its
    degrees of freedom as df (b - 1) / (a - 1), or df b where a is 1, and the mean as it was. That
    is a rough figure: another trial has another mean, and lands on either side of it about evenly.
    """
    if not own.judges or math.isnan(limit):
        return None
    gap = abs(own.mean - limit)
    for many in range(copies + 1, MOST + 1):
        df = own.df * ((many - 1) / (copies - 1) if copies > 1 else many)
        more = Estimate(own.mean, own.se * math.sqrt(copies / many), df)
        more = more if reference is None else joined(more, share, reference)
        if float(stdtrit(more.df, sure / 100)) * more.se <= gap:
            return many
    return None
