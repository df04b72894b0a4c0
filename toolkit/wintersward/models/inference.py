"""Standard errors, degrees of freedom and F tests for the fixed part.

Notes
-----
Kenward and Roger. With phi = (X'V^-1 X)^-1, and for the parameters t_i of V

    P_i  = -X'V^-1 V_i V^-1 X
    Q_ij =  X'V^-1 V_i V^-1 V_j V^-1 X
    W    =  inverse of the information about t

the covariance of the estimates, corrected for the variances being estimated, is

    phi_A = phi + 2 phi { sum_ij W_ij (Q_ij - P_i phi P_j) - R / 4 } phi,

with R = 0 where V is linear in its parameters, or in others that could be chosen.

For q independent contrasts L, with Theta = L'(L phi L')^-1 L,

    A1 = sum_ij W_ij tr(Theta phi P_i phi) tr(Theta phi P_j phi)
    A2 = sum_ij W_ij tr(Theta phi P_i phi Theta phi P_j phi)
    B  = (A1 + 6 A2) / 2q,   g = ((q + 1) A1 - (q + 4) A2) / ((q + 2) A2)
    c1 = g / d,  c2 = (q - g) / d,  c3 = (q + 2 - g) / d,   d = 3q + 2 (1 - g)
    E* = 1 / (1 - A2 / q),   V* = (2 / q) (1 + c1 B) / ((1 - c2 B)^2 (1 - c3 B))
    rho = V* / 2 E*^2,   m = 4 + (q + 2) / (q rho - 1),   scale = m / (E* (m - 2))

and scale times the Wald statistic (L b)'(L phi_A L')^-1 (L b) / q is referred to F(q, m).
For one contrast this is scale 1 and m = 2 / A1; the same holds, with m = 2 q / A2, whenever
A1 = q A2, as in balanced strata. W is the expected information, which is what Halekoh and
Hojsgaard compute for variance components; where V is not linear, as with correlations that fade
with time, it is the observed information.

Where V is not linear, the first paper has R = sum_ij W_ij X'V^-1 V_ij V^-1 X, with the second
derivatives V_ij. That takes the estimates of t for unbiased, depends on how the parameters are
chosen, and goes wrong by any amount where two of them are hard to tell apart, as are the variance
of plots and a correlation that fades slowly. The second paper adds their bias. To first order
(Cox and Snell) that is

    b_i = - sum_jkl J_ij W_kl tr(P V_kl P V_j) / 4,    J = inverse of the expected information,

and moves phi by - sum_i b_i phi P_i phi on average; taking that out as well leaves in R only what
the V_i do not make up of sum_kl W_kl V_kl, whatever the parameters: see `curvature.outward`.

There the expansion behind these formulas needs A2 < q. Where it fails, as it may beside a plot
variance estimated as zero, m is 2 or less and means nothing; the degrees of freedom are then those
of the stratum. Where V is linear they are so where m is below 1: that is less than the smallest
layout leaves, and comes from variances that few unbalanced rows hardly tell apart. A correlation
estimated at the end of its range counts as known.

A variance estimated as zero keeps its place in these sums, so that the degrees of freedom remain
those of the design. With one variance only (no random term) the covariance needs no correction
and m = n - p exactly.

References
----------
Kenward, M. G. and Roger, J. H. (1997). Small sample inference for fixed effects from restricted
maximum likelihood. Biometrics 53, 983-997. doi:10.2307/2533558
Kenward, M. G. and Roger, J. H. (2009). An improved approximation to the precision of fixed effects
from restricted maximum likelihood. Computational Statistics and Data Analysis 53, 2583-2595 (cited
from memory; the formula above was derived here).
Cox, D. R. and Snell, E. J. (1968). A general definition of residuals. Journal of the Royal
Statistical Society B 30, 248-275 (bias of maximum likelihood estimates; cited from memory).
Halekoh, U. and Hojsgaard, S. (2014). A Kenward-Roger approximation and parametric bootstrap
methods for tests in linear mixed models. Journal of Statistical Software 59(9).
doi:10.18637/jss.v059.i09
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, stats

from wintersward.models.reml import Maximum

__all__ = ["Inference", "JointTest", "Strata", "kenward_roger"]

Floats = NDArray[np.float64]
_SINGULAR = 1e-10
_BALANCED = 1e-9
_LEAST = 2.0
# 1 itself is what a layout may leave, and is met up to rounding.
_FEWEST = 1.0 - 1e-6


@dataclass(frozen=True)
class Strata:
    """Degrees of freedom by containment.

    Parameters
    ----------
    basis : (n, p) float
        Orthonormal columns of the fixed part.
    triangle : (p, p) float
        What gives the columns as coded, ``basis @ triangle``.
    indicators : tuple of (n, levels) float
        Columns of each random term.
    """

    basis: Floats
    triangle: Floats
    indicators: tuple[Floats, ...]

    def df(self, weights: Floats) -> float:
        """Give the degrees of freedom of the stratum in which a hypothesis lies.

        Parameters
        ----------
        weights : (q, p) float
            Functions of the coefficients on the orthonormal basis.

        Returns
        -------
        float
            The least, over the coded columns that the hypothesis uses, of what is left to the
            residual and to the random terms within whose levels the column does not vary. 0 where
            nothing is left.

        Notes
        -----
        What is left to a random term is the rank that it adds to the fixed part and to the random
        terms that are not nested within it.
        """
        coded = np.abs(weights @ self.triangle).max(axis=0)
        columns = self.basis @ self.triangle[:, coded > 1e-9 * coded.max()]
        found = [float(len(self.basis) - _rank([self.basis, *self.indicators]))]
        for own in self.indicators:
            if any(_constant(own, columns[:, [j]]) for j in range(columns.shape[1])):
                coarser = [z for z in self.indicators if z is not own and not _constant(z, own)]
                before = [self.basis, *coarser]
                found.append(float(_rank([*before, own]) - _rank(before)))
        return min(found)


def _constant(indicator: Floats, columns: Floats) -> bool:
    """Tell whether columns do not vary within the levels of a random term."""
    levels = (indicator.T @ columns) / indicator.sum(axis=0)[:, None]
    gap = np.abs(columns - indicator @ levels).max()
    return bool(gap <= 1e-9 * np.abs(columns).max())


def _rank(parts: list[Floats]) -> int:
    return int(np.linalg.matrix_rank(np.column_stack(parts), tol=1e-8))


@dataclass(frozen=True)
class JointTest:
    """An F test of several contrasts.

    Parameters
    ----------
    f : float
        Scaled statistic.
    df_num, df_den : float
        Degrees of freedom.
    p : float
        Probability of a larger F if all contrasts were zero.
    contained : bool
        Whether `df_den` came from the strata because the approximation did not apply.
    """

    f: float
    df_num: float
    df_den: float
    p: float
    contained: bool


@dataclass(frozen=True)
class Inference:
    """Covariance of the estimates and how sure that covariance is.

    Parameters
    ----------
    coefficients : (p,) float
        Estimates on the orthonormal basis.
    phi : (p, p) float
        Their covariance as if the variances were known.
    adjusted : (p, p) float
        Their covariance corrected for the variances being estimated.
    slopes : (k, p, p) float
        Derivative of `phi` by each variance.
    spread : (k, k) float or None
        Covariance W of the variances; None where the information is singular.
    exact : float or None
        Degrees of freedom of everything, where there is one variance only.
    strata : callable
        Gives the `Strata`, built only when needed.
    least : float
        Degrees of freedom up to this one are taken from the strata instead.
    """

    coefficients: Floats
    phi: Floats
    adjusted: Floats
    slopes: Floats
    spread: Floats | None
    exact: float | None
    strata: Callable[[], Strata]
    least: float = 0.0

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
        plain = np.einsum("mp,pq,mq->m", weights, self.phi, weights)
        if self.exact is not None:
            return np.sqrt(plain), np.full(len(plain), self.exact), np.zeros(len(plain), bool)
        variance = np.einsum("mp,pq,mq->m", weights, self.adjusted, weights)
        df = np.full(len(plain), np.nan)
        if self.spread is not None:
            pull = np.einsum("mp,kpq,mq->mk", weights, self.slopes, weights, optimize=True)
            doubt = np.einsum("mk,kl,ml->m", pull, self.spread, pull)
            known = (doubt > 0) & (variance > 0)
            df[known] = 2.0 * plain[known] ** 2 / doubt[known]
        contained = ~(np.isfinite(df) & (df > self.least))
        for i in np.flatnonzero(contained):
            df[i] = self.strata().df(weights[i : i + 1])
        return np.sqrt(np.where(contained, plain, variance)), df, contained

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
        q = len(weights)
        estimate = weights @ self.coefficients + offset
        df, scale = self._joint_df(weights)
        contained = not (np.isfinite(df) and df > self.least and np.isfinite(scale) and scale > 0)
        covariance = weights @ self.adjusted @ weights.T
        if contained or np.linalg.eigvalsh(covariance)[0] <= 0:
            contained, covariance = True, weights @ self.phi @ weights.T
            df, scale = self.strata().df(weights), 1.0
        f = scale * float(estimate @ np.linalg.solve(covariance, estimate)) / q
        p = float(stats.f.sf(f, q, df)) if df > 0 else np.nan
        return JointTest(f, float(q), df, p, contained)

    def _joint_df(self, weights: Floats) -> tuple[float, float]:
        """Give the denominator degrees of freedom and the factor of the Wald statistic."""
        if self.exact is not None:
            return self.exact, 1.0
        if self.spread is None:
            return np.nan, np.nan
        q = len(weights)
        if q == 1:
            _, df, contained = self.singles(weights)
            return (np.nan if contained[0] else float(df[0])), 1.0
        lower = np.linalg.cholesky(weights @ self.phi @ weights.T)
        half = linalg.solve_triangular(lower, weights, lower=True)
        turned = np.einsum("ap,kpq,bq->kab", half, self.slopes, half, optimize=True)
        own = np.einsum("kaa->k", turned)
        a1 = float(own @ self.spread @ own)
        a2 = float(np.einsum("kl,kab,lba->", self.spread, turned, turned, optimize=True))
        if abs(a1 - q * a2) <= _BALANCED * abs(a1):
            return 2.0 * q / a2, 1.0
        return _approximate_f(a1, a2, q)


def _approximate_f(a1: float, a2: float, q: int) -> tuple[float, float]:
    """Match the first two moments of F; see the notes of this module."""
    b = (a1 + 6.0 * a2) / (2.0 * q)
    g = ((q + 1) * a1 - (q + 4) * a2) / ((q + 2) * a2)
    d = 3.0 * q + 2.0 * (1.0 - g)
    v0, v1, v2 = 1.0 + g / d * b, 1.0 - (q - g) / d * b, 1.0 - (q + 2 - g) / d * b
    shrink = 1.0 - a2 / q
    if min(abs(v1), abs(v2)) < 1e-14:
        return np.nan, np.nan
    rho = (shrink / v1) ** 2 * v0 / v2 / q
    if abs(q * rho - 1.0) < 1e-14:
        return np.nan, np.nan
    m = 4.0 + (q + 2) / (q * rho - 1.0)
    scale = 1.0 if abs(m - 2.0) < 1e-2 else m * shrink / (m - 2.0)
    return m, scale


def kenward_roger(
    maximum: Maximum,
    start: Floats,
    residual_df: int,
    strata: Callable[[], Strata],
    outward: Callable[[Floats], Floats] | None = None,
    known: int = 0,
) -> Inference:
    """Build the Kenward-Roger covariance at the REML estimates.

    Parameters
    ----------
    maximum : Maximum
        From `maximise`.
    start : (p,) float
        Coefficients that were taken out of the response before the fit.
    residual_df : int
        Rows less columns of the fixed part.
    strata : callable
        Gives the `Strata` to fall back on.
    outward : callable, optional
        Gives R for a W; needed where the covariance is not linear in its parameters. Then W is the
        inverse of the observed information, else of the expected one.
    known : int
        How many parameters, the last ones, count as known.

    Returns
    -------
    Inference
    """
    point, second = maximum.point, maximum.curvature
    phi, coefficients = point.phi, start + maximum.point.coefficients
    slopes = np.array([phi @ slope @ phi for slope in point.slopes])
    if len(point.parameters) == 1:
        return Inference(coefficients, phi, phi, slopes, None, float(residual_df), strata)
    spread = _inverted(second.expected if outward is None else second.observed, known)
    adjusted = phi
    if spread is not None:
        crossed = np.einsum("ipq,qr,jrs->ijps", point.slopes, phi, point.slopes, optimize=True)
        middle = np.einsum("ij,ijpq->pq", spread, second.products - crossed)
        if outward is not None:
            middle = middle - 0.25 * outward(spread)
        adjusted = phi + phi @ (middle + middle.T) @ phi
    least = _FEWEST if outward is None else _LEAST
    return Inference(coefficients, phi, adjusted, slopes, spread, None, strata, least)


def _inverted(information: Floats, known: int = 0) -> Floats | None:
    """Invert the information about all parameters but the last `known`, which have no spread."""
    if known:
        inner = _inverted(information[:-known, :-known])
        return None if inner is None else np.pad(inner, (0, known))
    size = np.sqrt(np.maximum(np.diag(information), 0.0))
    if not (size > 0).all():
        return None
    correlation = information / np.outer(size, size)
    if np.linalg.eigvalsh(correlation)[0] < _SINGULAR:
        return None
    return np.asarray(np.linalg.inv(correlation) / np.outer(size, size))
