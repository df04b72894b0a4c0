"""A straight line from scores to counts, and whether it foretells a photo that it has not seen."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["ANALYSIS", "Line", "count_error", "fit_line", "points_variance", "raw_error"]

ANALYSIS = "calibrated"
"""Short name of the supporting analysis with calibrated scores."""

Floats = NDArray[np.float64]
# Of the spread: less than this is rounding.
_NOTHING = 1e-9


@dataclass(frozen=True)
class Line:
    """A straight line of counts on scores.

    Parameters
    ----------
    intercept : float [%]
        Count at a score of 0.
    slope : float [1]
        Rise of the count for one point of score.
    slope_se : float [1]
        Standard error of the slope.
    left_out : float [points]
        Root mean square error of each photo's count by the line of all the others.
    """

    intercept: float
    slope: float
    slope_se: float
    left_out: float


def fit_line(scored: Floats, counted: Floats, points: Floats) -> Line | None:
    """Fit counts on scores by least squares, each photo with the weight of its points.

    Parameters
    ----------
    scored, counted : (n,) float [%]
        Score and count of each photo.
    points : (n,) float
        Crosses told on each photo.

    Returns
    -------
    Line or None
        None with fewer than four photos, where the scores do not vary, or where a single photo
        decides the slope alone.

    Notes
    -----
    Counts stand on the left because they carry the chance of the crosses, which scores do not: so
    the slope is not pulled towards zero. A photo's error by the line of the others is its
    residual over 1 - h, h being its leverage (Allen 1974); the errors are averaged with the
    weights of the fit.

    References
    ----------
    Allen D. M. (1974) The relationship between variable selection and data augmentation and a
    method for prediction. Technometrics 16, 125-127. doi:10.1080/00401706.1974.10489157
    """
    n = len(scored)
    if n < 4:
        return None
    weights = points / float(points.sum())
    middle = float(weights @ scored)
    apart = scored - middle
    spread = float(weights @ apart**2)
    if math.sqrt(spread) <= _NOTHING * max(1.0, float(np.abs(scored).max())):
        return None
    slope = float(weights @ (apart * counted)) / spread
    intercept = float(weights @ counted) - slope * middle
    left = counted - intercept - slope * scored
    leverage = weights * (1 + apart**2 / spread)
    if float(leverage.max()) > 1 - _NOTHING:
        return None
    variance = float(weights @ left**2) * n / (n - 2)
    alone = left / (1 - leverage)
    return Line(
        intercept,
        slope,
        math.sqrt(variance / (n * spread)),
        math.sqrt(float(weights @ alone**2)),
    )


def raw_error(scored: Floats, counted: Floats, points: Floats) -> float:
    """Give the root mean square of score less count, with the weights of `fit_line` [points]."""
    return math.sqrt(float(points @ (scored - counted) ** 2) / float(points.sum()))


def points_variance(counted: Floats, points: Floats) -> Floats:
    """Estimate the variance that the chance of the crosses gives to the count of each photo.

    Parameters
    ----------
    counted : (n,) float [%]
        Green in percent of the points.
    points : (n,) float
        Crosses told; a single one counts as two.

    Returns
    -------
    (n,) float [points squared]
        ``p (1 - p) / (n - 1)``, which has the variance of a binomial share for its mean.

    Notes
    -----
    With one point in each cell of a grid the variance is no more than that: see
    `wintersward.papers.point_counts.crosses`.

    References
    ----------
    Cochran W. G. (1977) Sampling Techniques, third edition. Wiley, New York, section 3.2 (from
    memory).
    """
    share = counted / 100
    return np.asarray(1e4 * share * (1 - share) / np.maximum(points - 1, 1), dtype=float)


def count_error(counted: Floats, points: Floats) -> float:
    """Give the standard deviation that crosses alone lend to a difference from a count [points]."""
    return math.sqrt(float(points_variance(counted, points).mean()))
