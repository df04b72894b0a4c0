"""A fitted linear mixed model, and what can be asked of it."""

from __future__ import annotations

import functools
from collections.abc import Callable, Hashable, Mapping, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.errors import WinterswardError, listed
from wintersward.models import contrasts, means
from wintersward.models import letters as lettering
from wintersward.models.answers import METHODS, Answers, Estimates
from wintersward.models.columns import Columns
from wintersward.models.conditional import Conditional, conditional
from wintersward.models.fixed import FixedPart
from wintersward.models.grouping import Grouping
from wintersward.models.inference import Inference, Strata, kenward_roger
from wintersward.models.notes import Note
from wintersward.models.reml import Maximum
from wintersward.models.residual import Residual
from wintersward.models.satterthwaite import satterthwaite
from wintersward.models.scaling import Scaling
from wintersward.models.space import Space
from wintersward.models.threads import one_thread

__all__ = ["MixedFit"]

Floats = NDArray[np.float64]


class MixedFit:
    """A fitted linear mixed model. Made by `fit_mixed`.

    Attributes
    ----------
    loglik : float
        REML log-likelihood; its value depends on the coding of the factors, here sum to zero.
    variances : dict of str to float [unit of the response, squared]
        One a random term in the order given, then ``residual``, or ``residual[level]`` for each
        level of `variance_by`.
    correlation : float or None
        Between residuals of one subject: per unit of time (``car1``; per day where times are
        dates), or common to any two times (``cs``). None without `repeated`.
    time_unit : str
        ``day`` where the times of `repeated` are dates, else empty.
    information : {"expected", "observed"}
        Which information about the variances stands behind Kenward-Roger degrees of freedom:
        the observed one where the covariance is not linear in its parameters.
    parameters : int
        Parameters of the covariance, those estimated as zero among them.
    aicc : float
        -2 loglik + 2 k m / (m - k - 1), with k = `parameters` and m = `rows` - `columns`: the
        smaller, the better. For models with the same fixed part and rows only. Infinite where m is
        k + 1 or less.
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
        residual: Residual,
        outward: Callable[[Floats], Floats] | None = None,
    ) -> None:
        self.fixed_part = fixed_part
        self.levels = {name: factor.levels for name, factor in fixed_part.factors.items()}
        self.rows, self.columns = fixed_part.basis.shape
        self._columns, self._groupings, self._scale = columns, groupings, scale
        self._notes = list(notes)
        self._strata = functools.cache(self._build_strata)
        self._point, self._residual = maximum.point, residual
        spare = self.rows - self.columns
        last, serial = float(maximum.point.parameters[-1]), residual.serial
        known = int(serial is not None and serial.bound(last) != "")
        self._inference: Inference = kenward_roger(
            maximum, scale.start, spare, self._strata, outward, known
        )
        space = Space(len(groupings), len(residual.names), residual.serial)
        self._satterthwaite = functools.cache(
            lambda: satterthwaite(maximum, scale.start, space, self._strata)
        )
        self.information = "expected" if residual.linear else "observed"
        names = [*(g.name for g in groupings), *residual.names]
        natural = maximum.point.parameters[: len(names)] * scale.size**2
        self.variances = dict(zip(names, natural.tolist(), strict=True))
        self.correlation = serial.natural(last) if serial else None
        dated = columns.times is not None and columns.times.origin is not None
        self.time_unit = "day" if dated else ""
        self.loglik = _loglik(fixed_part, scale, maximum)
        self.parameters = len(maximum.point.parameters)
        self.aicc = _aicc(self.loglik, self.parameters, spare)

    @property
    def notes(self) -> tuple[Note, ...]:
        """Notes so far, each once."""
        return tuple(self._notes)

    def _add(self, *notes: Note) -> None:
        for note in notes:
            if note not in self._notes:
                self._notes.append(note)

    def _build_strata(self) -> Strata:
        part = self.fixed_part
        groupings, serial = list(self._groupings), self._residual.serial
        if serial and not any(g.name == serial.subject.name for g in groupings):
            groupings.append(serial.subject)
        indicators = tuple(group.indicator() for group in groupings)
        return Strata(part.basis, part.triangle, indicators)

    @property
    def coefficients(self) -> pd.Series:
        """Coefficients of the independent columns, sum-to-zero coded."""
        part = self.fixed_part
        weights = np.eye(len(part.names))[part.kept]
        values = self._answers().values(weights, part.reduced(weights))
        return pd.Series(values, index=[part.names[j] for j in part.kept], name="coefficient")

    @property
    def covariance(self) -> pd.DataFrame:
        """Covariance of `coefficients`, corrected for the variances being estimated."""
        part = self.fixed_part
        names = [part.names[j] for j in part.kept]
        half = part.reduced(np.eye(len(part.names))[part.kept]) * self._scale.size
        return pd.DataFrame(half @ self._inference.adjusted @ half.T, index=names, columns=names)

    @functools.cached_property
    @one_thread()
    def _conditional(self) -> Conditional:
        part, point, start = self.fixed_part, self._point, self._scale.start
        left = self._scale.left - part.basis @ (self._inference.coefficients - start)
        shape = (self._groupings, self._residual, point.parameters)
        return conditional(part.basis, left, point.phi, *shape)

    def _by_row(self, values: Floats, name: str) -> pd.Series:
        return pd.Series(values, index=self._columns.index, name=name)

    @property
    def residuals(self) -> pd.Series:
        """Response less fixed part less predicted random levels, by the data's own index."""
        return self._by_row(self._conditional.residual * self._scale.size, "residual")

    @property
    def fitted(self) -> pd.Series:
        """Fixed part and predicted random levels: the response less `residuals`."""
        return self._by_row(self._columns.response - self.residuals.to_numpy(), "fitted")

    @property
    def studentised(self) -> pd.Series:
        """Each of `residuals` over its own estimated standard deviation; NaN where that is 0."""
        found = self._conditional
        return self._by_row(found.residual / found.spread, "studentised")

    @one_thread()
    def anova(self, method: str = "kenward-roger") -> pd.DataFrame:
        """Test each term of the fixed part with all the others in the model (type III).

        Parameters
        ----------
        method : {"kenward-roger", "satterthwaite"}
            How the denominator degrees of freedom are found. Satterthwaite's leave out variances
            estimated as zero and do not correct F for the variances being estimated.

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
        part, answers = self.fixed_part, self._answers("method", method)
        if part.empty_cells:
            said = [note.text for note in self._notes if note.code == "empty-cells"]
            raise WinterswardError(
                [f"type III tests: {text}; compare observed cells instead" for text in said]
            )
        found = [answers.test(term) for term in part.terms if term != "Intercept"]
        self._add(*(note for _, notes in found for note in notes))
        rows = [row for row, _ in found]
        return pd.DataFrame(rows, columns=["term", "f", "df_num", "df_den", "p"])

    def _answers(self, asked: str = "", method: str = "kenward-roger") -> Answers:
        if method not in METHODS:
            raise WinterswardError(f"{asked}: found '{method}'; allowed: {listed(METHODS)}")
        judge = self._inference if method == "kenward-roger" else self._satterthwaite()
        return Answers(method, judge, self.fixed_part, self._scale)

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
            If a name, a level or the adjustment is unknown, or does not fit the others.

        Notes
        -----
        ``dunnett`` is exact to 8 digits where the comparisons are evenly correlated, and else good
        to 4 digits, the same ones every time; see `wintersward.models.ranges`.
        """
        return contrasts.pairs(self, factors, by, adjust, level, control)

    @one_thread()
    def letters(
        self,
        factors: str | Sequence[str],
        by: str | Sequence[str] | None = None,
        alpha: float = 0.05,
        adjust: str = "tukey",
    ) -> pd.DataFrame:
        """Give letters to the means: two share one just where p of their pair is `alpha` or more.

        Parameters
        ----------
        factors, by, adjust
            As in `pairs`; ``dunnett`` is not for all pairs and so not allowed.
        alpha : float
            Over 0 and under 1, such as 0.05.

        Returns
        -------
        DataFrame
            Columns: those of `by`, those of `factors`, mean, letters. Rows as in `means`. In each
            family the largest mean has an a; a mean that is NaN has no letter.
        """
        return lettering.letters(self, factors, by, alpha, adjust)

    @one_thread()
    def contrast(
        self,
        weights: Mapping[Hashable, float],
        factors: str | Sequence[str] | None = None,
        at: Mapping[str, Hashable] | None = None,
        level: float = 0.95,
        margin: float | Sequence[float] | None = None,
        df: str = "kenward-roger",
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
        margin : float or (low, high), optional [unit of the response]
            What is too small to matter; one number m means (-m, m).
        df : {"kenward-roger", "satterthwaite"}
            How the degrees of freedom are found.

        Returns
        -------
        DataFrame
            One row: estimate, se, df, lower, upper, t, p, unadjusted. With a margin also two
            one-sided tests and the interval that goes with them: p_above (of "low or less"),
            p_below (of "high or more"), p_equivalence (the larger), lower_equivalence and
            upper_equivalence, of level 1 - 2 (1 - `level`). That interval lies within the margin
            just where p_equivalence is below 1 - `level`.

        References
        ----------
        Schuirmann, D. J. (1987). Journal of Pharmacokinetics and Biopharmaceutics 15, 657-680.
        doi:10.1007/BF01068419
        """
        return contrasts.contrast(self, weights, factors, at, level, margin, df)

    @one_thread()
    def linear(self, weights: Floats, said: Sequence[str], df: str = "kenward-roger") -> Estimates:
        """Estimate linear functions of the coefficients.

        Parameters
        ----------
        weights : (m, columns) float
            One function a row, over all columns of `fixed_part`.
        said : sequence of str
            What to call each in a note.
        df : {"kenward-roger", "satterthwaite"}
            How the degrees of freedom are found.

        Returns
        -------
        Estimates
        """
        found, notes = self._answers("df", df).estimates(weights, said)
        self._add(*notes)
        return found

    @one_thread()
    def correlations(self, weights: Floats) -> Floats:
        """Give the (m, m) correlations of linear functions of the coefficients."""
        reduced = self.fixed_part.reduced(weights)
        covariance = reduced @ self._inference.adjusted @ reduced.T
        size = np.sqrt(np.diag(covariance))
        return np.asarray(covariance / np.outer(size, size))


def _aicc(loglik: float, k: int, m: int) -> float:
    return -2.0 * loglik + 2.0 * k * m / (m - k - 1) if m > k + 1 else np.inf


def _loglik(part: FixedPart, scale: Scaling, maximum: Maximum) -> float:
    """Bring the criterion back to the response's scale and the columns as coded."""
    left = part.basis.shape[0] - part.basis.shape[1]
    coded = 2.0 * float(np.log(np.abs(np.diag(part.triangle))).sum())
    constant = left * float(np.log(2.0 * np.pi) + 2.0 * np.log(scale.size))
    return -0.5 * (constant + coded + maximum.point.deviance)
