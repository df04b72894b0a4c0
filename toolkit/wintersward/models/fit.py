"""A fitted linear mixed model, and what can be asked of it."""

from __future__ import annotations

import functools
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg

from wintersward.errors import WinterswardError, listed
from wintersward.models import contrasts, means
from wintersward.models.columns import Columns
from wintersward.models.fixed import FixedPart
from wintersward.models.grouping import Grouping
from wintersward.models.inference import Inference, Strata, kenward_roger
from wintersward.models.notes import Note
from wintersward.models.reml import Maximum
from wintersward.models.scaling import Scaling
from wintersward.models.threads import one_thread

__all__ = ["Estimates", "MixedFit"]

Floats = NDArray[np.float64]
_METHODS = ("kenward-roger",)


@dataclass(frozen=True)
class Estimates:
    """Linear functions of the coefficients; NaN where the data do not determine one.

    Parameters
    ----------
    estimate, se : (m,) float [unit of the response]
        Values and standard errors.
    df : (m,) float
        Degrees of freedom.
    """

    estimate: Floats
    se: Floats
    df: Floats


class MixedFit:
    """A fitted linear mixed model. Made by `fit_mixed`.

    Attributes
    ----------
    loglik : float
        REML log-likelihood; its value depends on the coding of the factors, here sum to zero.
    variances : dict of str to float [unit of the response, squared]
        One a random term in the order given, then ``residual``.
    notes : tuple of Note
        What to know about the fit; answers that needed a note add theirs.
    levels : dict of str to tuple
        Levels of the factors of the fixed part, in their order.
    rows : int
        Rows used.
    columns : int
        Independent columns of the fixed part.
    """

    def __init__(
        self,
        columns: Columns,
        fixed_part: FixedPart,
        groupings: tuple[Grouping, ...],
        scale: Scaling,
        maximum: Maximum,
        notes: Sequence[Note],
    ) -> None:
        self.fixed_part = fixed_part
        self.levels = {name: factor.levels for name, factor in fixed_part.factors.items()}
        self.rows, self.columns = fixed_part.basis.shape
        self._columns, self._groupings, self._scale = columns, groupings, scale
        self._notes = list(notes)
        self._strata = functools.cache(self._build_strata)
        self._inference: Inference = kenward_roger(
            maximum, scale.start, self.rows - self.columns, self._strata
        )
        natural = maximum.point.parameters * scale.size**2
        names = [*(g.name for g in groupings), "residual"]
        self.variances = dict(zip(names, natural.tolist(), strict=True))
        self.loglik = _loglik(fixed_part, scale, maximum)

    @property
    def notes(self) -> tuple[Note, ...]:
        """Notes so far, each once."""
        return tuple(self._notes)

    def _add(self, note: Note) -> None:
        if note not in self._notes:
            self._notes.append(note)

    def _build_strata(self) -> Strata:
        part = self.fixed_part
        indicators = tuple(group.indicator() for group in self._groupings)
        return Strata(part.basis, part.triangle, indicators)

    @property
    def coefficients(self) -> pd.Series:
        """Coefficients of the independent columns, sum-to-zero coded."""
        part = self.fixed_part
        weights = np.eye(len(part.names))[part.kept]
        values = self._values(weights, part.reduced(weights))
        return pd.Series(values, index=[part.names[j] for j in part.kept], name="coefficient")

    @property
    def covariance(self) -> pd.DataFrame:
        """Covariance of `coefficients`, corrected for the variances being estimated."""
        part = self.fixed_part
        names = [part.names[j] for j in part.kept]
        half = part.reduced(np.eye(len(part.names))[part.kept]) * self._scale.size
        return pd.DataFrame(half @ self._inference.adjusted @ half.T, index=names, columns=names)

    @property
    @one_thread()
    def residuals(self) -> pd.Series:
        """Response less fixed part less predicted random levels, by the data's own index."""
        part, scale = self.fixed_part, self._scale
        left = scale.left - part.basis @ (self._inference.coefficients - scale.start)
        active = [
            (g.indicator(), v / self.variances["residual"])
            for g, v in zip(self._groupings, self.variances.values(), strict=False)
            if v > 0
        ]
        if active:
            z = np.column_stack([indicator for indicator, _ in active])
            ratio = np.repeat([r for _, r in active], [i.shape[1] for i, _ in active])
            system = z.T @ z + np.diag(1.0 / ratio)
            left = left - z @ linalg.solve(system, z.T @ left, assume_a="pos")
        return pd.Series(left * scale.size, index=self._columns.index, name="residual")

    @one_thread()
    def anova(self, method: str = "kenward-roger") -> pd.DataFrame:
        """Test each term of the fixed part with all the others in the model (type III).

        Parameters
        ----------
        method : {"kenward-roger"}
            How the denominator degrees of freedom are found.

        Returns
        -------
        DataFrame
            Columns term, f, df_num, df_den, p; one row a term, in the order of the formula. A term
            of which nothing can be separated from the other terms has NaN. A factor that also
            has its own slope on a covariate is tested where the covariate is zero.

        Raises
        ------
        WinterswardError
            If an interaction has cells without observations: then these tests have no clear
            meaning. Means and contrasts of the observed cells are still to be had.
        """
        if method not in _METHODS:
            raise WinterswardError(f"method: found '{method}'; allowed: {listed(_METHODS)}")
        part = self.fixed_part
        if part.empty_cells:
            said = [note.text for note in self._notes if note.code == "empty-cells"]
            raise WinterswardError(
                [f"type III tests: {text}; compare observed cells instead" for text in said]
            )
        rows = [self._tested(term) for term in part.terms if term != "Intercept"]
        return pd.DataFrame(rows, columns=["term", "f", "df_num", "df_den", "p"])

    def _tested(self, term: str) -> tuple[str, float, float, float, float]:
        part = self.fixed_part
        weights = part.hypothesis(term)
        if not len(weights):
            text = f"{term}: cannot be separated from the other terms; not tested"
            self._add(Note("non-estimable", text, (term,), 1))
            return term, np.nan, 0.0, np.nan, np.nan
        offset = self._scale.centre_of(weights) / self._scale.size
        found = self._inference.joint(part.reduced(weights), offset)
        if found.contained:
            self._contained([term])
        return term, found.f, found.df_num, found.df_den, found.p

    @one_thread()
    def means(
        self,
        factors: str | Sequence[str],
        by: str | Sequence[str] | None = None,
        level: float = 0.95,
    ) -> pd.DataFrame:
        """Estimate the mean of each level or combination of levels.

        Parameters
        ----------
        factors : str or sequence of str
            Factors whose levels are wanted; none gives the overall mean.
        by : str or sequence of str
            Factors to list them by.
        level : float
            Of the intervals.

        Returns
        -------
        DataFrame
            Columns: those of `by`, those of `factors`, mean, se, df, lower, upper. Rows in the
            order of the levels, `by` slowest. Means that the data do not determine are NaN, with a
            note.

        Notes
        -----
        The levels of factors that are not named weigh equally; covariates stand at their means.
        Intervals are for one mean at a time, by t with Kenward-Roger degrees of freedom.
        """
        return means.means(self, factors, by, level)

    @one_thread()
    def pairs(
        self,
        factors: str | Sequence[str],
        by: str | Sequence[str] | None = None,
        adjust: str = "tukey",
        level: float = 0.95,
        control: Hashable | None = None,
    ) -> pd.DataFrame:
        """Compare the means of `factors` pair by pair, within each combination of `by`.

        Parameters
        ----------
        factors, by : str or sequence of str
            As in `means`.
        adjust : {"tukey", "holm", "bonferroni", "dunnett", "none"}
            For the comparisons of one family; each combination of `by` is a family. Intervals are
            adjusted alike, with ``holm`` by Bonferroni.
        level : float
            Of the intervals.
        control : level or tuple of levels, optional
            Compare each other mean with this one only. With ``dunnett`` the first level unless
            given; with ``tukey`` not allowed.

        Returns
        -------
        DataFrame
            Columns: those of `by`, left, right, difference (left minus right), se, df, lower,
            upper, t, p.

        Raises
        ------
        WinterswardError
            If ``dunnett`` cannot be computed exactly, which happens with four or more comparisons
            that are unevenly correlated.
        """
        return contrasts.pairs(self, factors, by, adjust, level, control)

    @one_thread()
    def contrast(
        self,
        weights: Mapping[Hashable, float],
        factors: str | Sequence[str] | None = None,
        at: Mapping[str, Hashable] | None = None,
        level: float = 0.95,
    ) -> pd.DataFrame:
        """Estimate a weighted sum of means.

        Parameters
        ----------
        weights : mapping of cell to float
            A cell is a level, or a tuple of levels, one for each of `factors`. Weights need not sum
            to zero: ``{"woven": 1}`` is a mean, ``{"woven": 1, "open": -1}`` a difference.
        factors : str or sequence of str, optional
            Factors that the cells are made of, the others averaged over. Unless given, every
            factor of the model that is not in `at`.
        at : mapping of str to level, optional
            Factors held at one level.
        level : float
            Of the interval.

        Returns
        -------
        DataFrame
            One row: estimate, se, df, lower, upper, t, p, unadjusted.
        """
        return contrasts.contrast(self, weights, factors, at, level)

    @one_thread()
    def linear(self, weights: Floats, said: Sequence[str]) -> Estimates:
        """Estimate linear functions of the coefficients.

        Parameters
        ----------
        weights : (m, columns) float
            One function a row, over all columns of `fixed_part`.
        said : sequence of str
            What to call each in a note.

        Returns
        -------
        Estimates
        """
        part = self.fixed_part
        known = np.flatnonzero(part.estimable(weights))
        lost = tuple(said[i] for i in sorted(set(range(len(said))) - set(known.tolist())))
        if lost:
            text = f"these data do not determine {'; '.join(lost)}"
            self._add(Note("non-estimable", text, lost, len(lost)))
        estimate, se, df = (np.full(len(weights), np.nan) for _ in range(3))
        if known.size:
            reduced = part.reduced(weights[known])
            scaled, df[known], contained = self._inference.singles(reduced)
            estimate[known] = self._values(weights[known], reduced)
            se[known] = scaled * self._scale.size
            if contained.any():
                self._contained([said[known[i]] for i in np.flatnonzero(contained)])
        return Estimates(estimate, se, df)

    @one_thread()
    def correlations(self, weights: Floats) -> Floats:
        """Give the (m, m) correlations of linear functions of the coefficients."""
        reduced = self.fixed_part.reduced(weights)
        covariance = reduced @ self._inference.adjusted @ reduced.T
        size = np.sqrt(np.diag(covariance))
        return np.asarray(covariance / np.outer(size, size))

    def _values(self, weights: Floats, reduced: Floats) -> Floats:
        inside = reduced @ self._inference.coefficients * self._scale.size
        return np.asarray(inside + self._scale.centre_of(weights))

    def _contained(self, said: Sequence[str]) -> None:
        text = (
            "the Kenward-Roger approximation does not apply; degrees of freedom taken from the"
            f" stratum for {listed(said)}"
        )
        self._add(Note("containment-df", text, tuple(said), len(said)))


def _loglik(part: FixedPart, scale: Scaling, maximum: Maximum) -> float:
    """Bring the criterion back to the response's scale and the columns as coded."""
    left = part.basis.shape[0] - part.basis.shape[1]
    coded = 2.0 * float(np.log(np.abs(np.diag(part.triangle))).sum())
    constant = left * float(np.log(2.0 * np.pi) + 2.0 * np.log(scale.size))
    return -0.5 * (constant + coded + maximum.point.deviance)
