"""Degrees of freedom by Satterthwaite, from the curvature of the criterion at its top.

Notes
-----
With phi the covariance of the estimates as if the variances t were known, and A the inverse of the
observed information about t, one contrast l has

    nu = 2 (l'phi l)^2 / (g'A g),    g_i = l' (d phi / d t_i) l.

For q contrasts L the eigenvectors of L phi L' turn L into q contrasts that are uncorrelated, with
nu_1 to nu_q; the F whose mean is the mean of their q squared t, over q, has

    df = 2 E / (E - q),    E = sum_m nu_m / (nu_m - 2),

and 2 where a nu_m is 2 or less, since that mean is infinite. The eigenvectors depend on how the
hypothesis is written down; here it is the differences of each level from the first. On balanced
layouts all nu_m are equal and nothing depends on that.

A variance estimated as zero is left out, as is a correlation at either bound: the degrees of
freedom are those of the model without it, more than the design gives. Standard errors are not
corrected for the variances being estimated. Kenward-Roger is the better choice for small trials;
this is here to compare with what others print.

References
----------
Satterthwaite, F. E. (1946). An approximate distribution of estimates of variance components.
Biometrics Bulletin 2, 110-114. doi:10.2307/3002019
Fai, A. H.-T. and Cornelius, P. L. (1996). Approximate F-tests of multiple degree of freedom
hypotheses in generalized least squares analyses of unbalanced split-plot experiments. Journal of
Statistical Computation and Simulation 54, 363-378. doi:10.1080/00949659608811740
Kuznetsova, A., Brockhoff, P. B. and Christensen, R. H. B. (2017). lmerTest package: tests in
linear mixed effects models. Journal of Statistical Software 82(13). doi:10.18637/jss.v082.i13
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from wintersward.models.fixed import FixedPart
from wintersward.models.inference import JointTest, Strata
from wintersward.models.reml import Maximum
from wintersward.models.space import Space

__all__ = ["Satterthwaite", "differences", "joined", "satterthwaite"]

Floats = NDArray[np.float64]
_SINGULAR = 1e-10
_EQUAL = 1e-8
_CODED = re.compile(r"C\(_(\d+)_, contr\.sum\)\[(S\.)?(\d+)\]")


@dataclass(frozen=True)
class Satterthwaite:
    """Covariance of the estimates and how sure the variances in it are.

    Parameters
    ----------
    coefficients : (p,) float
        Estimates on the orthonormal basis.
    phi : (p, p) float
        Their covariance as if the variances were known.
    slopes : (k, p, p) float
        Derivative of `phi` by each parameter that is not held at a bound.
    spread : (k, k) float or None
        Covariance A of those parameters; None where the observed information is not positive.
    strata : callable
        Gives the `Strata`, built only when needed.
    """

    coefficients: Floats
    phi: Floats
    slopes: Floats
    spread: Floats | None
    strata: Callable[[], Strata]

    def singles(self, weights: Floats) -> tuple[Floats, Floats, NDArray[np.bool_]]:
        """Give standard errors and degrees of freedom of m single contrasts.

        Parameters
        ----------
        weights : (m, p) float
            One contrast a row, on the orthonormal basis.

        Returns
        -------
        se : (m,) float
        df : (m,) float
        contained : (m,) bool
            Where the strata were used instead.
        """
        variance = np.einsum("mp,pq,mq->m", weights, self.phi, weights)
        df = np.full(len(weights), np.nan)
        if self.spread is not None:
            pull = np.einsum("mp,kpq,mq->mk", weights, self.slopes, weights, optimize=True)
            doubt = np.einsum("mk,kl,ml->m", pull, self.spread, pull)
            df[doubt > 0] = 2.0 * variance[doubt > 0] ** 2 / doubt[doubt > 0]
        contained = ~np.isfinite(df)
        for i in np.flatnonzero(contained):
            df[i] = self.strata().df(weights[i : i + 1])
        return np.sqrt(variance), df, contained

    def joint(self, weights: Floats, offset: Floats) -> JointTest:
        """Test q independent contrasts together.

        Parameters
        ----------
        weights : (q, p) float
            On the orthonormal basis.
        offset : (q,) float
            What to add to the contrasts of `coefficients`.

        Returns
        -------
        JointTest
        """
        estimate = weights @ self.coefficients + offset
        sizes, turn = np.linalg.eigh(weights @ self.phi @ weights.T)
        f = float(((turn.T @ estimate) ** 2 / sizes).mean())
        _, apart, contained = self.singles(turn.T @ weights)
        df = self.strata().df(weights) if contained.any() else joined(apart)
        p = float(stats.f.sf(f, len(weights), df)) if df > 0 else np.nan
        return JointTest(f, float(len(weights)), df, p, bool(contained.any()))


def joined(apart: Floats) -> float:
    """Give the denominator degrees of freedom of an F made of uncorrelated t.

    Parameters
    ----------
    apart : (q,) float
        Degrees of freedom of each t.

    Returns
    -------
    float

    Examples
    --------
    >>> joined(np.array([8.0, 8.0]))
    8.0
    >>> joined(np.array([6.0, 10.0]))
    7.333333333333333
    """
    if np.ptp(apart) <= _EQUAL * apart.max():
        return float(apart.mean())
    if apart.min() <= 2.0:
        return 2.0
    expected = float((apart / (apart - 2.0)).sum())
    return 2.0 * expected / (expected - len(apart))


def differences(part: FixedPart, term: str) -> Floats:
    """Write the hypothesis of a term as differences of each level from the first.

    Parameters
    ----------
    part : FixedPart
        Of the model.
    term : str
        One of its terms.

    Returns
    -------
    (q, columns) float
        Spans what `FixedPart.hypothesis` spans, and is that where the term has aliased columns.

    Notes
    -----
    For an interaction these are the products of such differences. A factor that is not coded to
    sum to zero, because a coarser term is not in the formula, has its levels themselves.
    """
    rows = part.hypothesis(term)
    found = [_CODED.findall(name) for name in part.spec.column_names[part.terms[term]]]
    if len(rows) < len(found):
        return rows
    mixed = np.ones((len(found), len(found)))
    for coded in zip(*found, strict=True):
        factor, summed = int(coded[0][0]), bool(coded[0][1])
        size = len(list(part.factors.values())[factor].levels)
        levels = np.array([int(level) for _, _, level in coded])
        effect = np.vstack([np.eye(size - 1), -np.ones(size - 1)]) if summed else np.eye(size)
        step = effect[1:] - effect[0] if summed else effect
        mixed *= step[np.ix_(levels, levels)]
    return np.asarray(mixed @ rows)


def satterthwaite(
    maximum: Maximum, start: Floats, space: Space, strata: Callable[[], Strata]
) -> Satterthwaite:
    """Prepare the degrees of freedom at the REML estimates.

    Parameters
    ----------
    maximum : Maximum
        From `maximise`.
    start : (p,) float
        Coefficients that were taken out of the response before the fit.
    space : Space
        Bounds of the parameters; those that ended at one are left out.
    strata : callable
        Gives the `Strata` to fall back on.

    Returns
    -------
    Satterthwaite
    """
    point = maximum.point
    inside = (point.parameters > space.lowest) & (point.parameters < space.highest)
    free = np.flatnonzero(inside)
    slopes = np.array([point.phi @ point.slopes[i] @ point.phi for i in free])
    spread = _inverted(maximum.curvature.observed[np.ix_(free, free)])
    return Satterthwaite(start + point.coefficients, point.phi, slopes, spread, strata)


def _inverted(information: Floats) -> Floats | None:
    size = np.sqrt(np.maximum(np.diag(information), 0.0))
    if not (size > 0).all():
        return None
    scaled = information / np.outer(size, size)
    if np.linalg.eigvalsh(scaled)[0] < _SINGULAR:
        return None
    return np.asarray(np.linalg.inv(scaled) / np.outer(size, size))
