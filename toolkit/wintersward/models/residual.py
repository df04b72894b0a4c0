"""The residual of a model: one variance or several, plain or correlated within subjects."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintersward.models.grouping import Grouping
from wintersward.models.pieces import Correlated, Linear, Piece

__all__ = ["Residual", "Serial", "plain_residual"]

Floats = NDArray[np.float64]
Integers = NDArray[np.intp]
FLOOR = 1e-9
_NEAR_ZERO, _NEAR_ONE = 1e-8, 1e-6
_MARGIN = 1e-6


@dataclass(frozen=True)
class Serial:
    """Correlation among the rows of one subject.

    Parameters
    ----------
    kind : {"car1", "cs"}
        Fading with time, or the same between any two times.
    subject : Grouping
        Which rows belong to one subject.
    times : (n,) float [unit of the time column; days for dates]
        When each row was observed.
    shortest, median : float [unit of the time column; days for dates]
        Of the gaps between successive rows of a subject.
    most : int
        Most rows of a subject.

    Notes
    -----
    The parameter of ``car1`` is the correlation at the shortest gap: so it does not depend on the
    unit of time, and every power that occurs is at least 1. With equal gaps it is the coefficient
    of a first-order autoregression.
    """

    kind: str
    subject: Grouping
    times: Floats
    shortest: float
    median: float
    most: int

    @property
    def lowest(self) -> float:
        """Lower bound of the parameter: what keeps the covariance positive definite."""
        return _NEAR_ZERO if self.kind == "car1" else (_MARGIN - 1.0) / (self.most - 1.0)

    @property
    def highest(self) -> float:
        """Upper bound of the parameter, just below 1."""
        shrink = self.shortest / self.median if self.kind == "car1" else 1.0
        return 1.0 - _NEAR_ONE * shrink

    @property
    def starts(self) -> tuple[float, ...]:
        """Where to begin: correlations of 0.5, 0.1 and 0.9 at the median gap."""
        if self.kind == "cs":
            return 0.3, 0.5 * self.lowest, 0.9
        power = self.shortest / self.median
        return 0.5**power, 0.1**power, 0.9**power

    def natural(self, parameter: float) -> float:
        """Give the correlation per unit of time, or the common one; 0 at its lower bound."""
        if self.kind == "cs":
            return parameter
        return 0.0 if parameter <= self.lowest else float(parameter ** (1.0 / self.shortest))

    def bound(self, parameter: float) -> str:
        """Say which bound the parameter ended at: "lower", "upper" or nothing."""
        if parameter <= self.lowest + (_NEAR_ONE if self.kind == "car1" else _MARGIN):
            return "lower"
        return "upper" if 1.0 - parameter <= 1.01 * (1.0 - self.highest) else ""

    def lags(self, rows: Integers) -> Floats:
        """Give the powers to which the parameter is raised between rows.

        Parameters
        ----------
        rows : (r,) int
            Rows of one block.

        Returns
        -------
        (r, r) float
            0 between different subjects and on the diagonal.
        """
        own, times = self.subject.codes[rows], self.times[rows]
        tied = own[:, None] == own[None, :]
        np.fill_diagonal(tied, False)
        if self.kind == "cs":
            return tied.astype(float)
        gaps = np.abs(times[:, None] - times[None, :]) / self.shortest
        return np.asarray(np.where(tied, np.maximum(gaps, 1.0), 0.0))


@dataclass(frozen=True)
class Residual:
    """What is left beside the random terms.

    Parameters
    ----------
    names : tuple of str
        One a variance: ``residual``, or ``residual[level]`` for each level.
    codes : (n,) int
        Which variance each row has.
    serial : Serial or None
        Correlation within subjects.
    """

    names: tuple[str, ...]
    codes: Integers
    serial: Serial | None = None

    @property
    def count(self) -> int:
        """Number of parameters."""
        return len(self.names) + (self.serial is not None)

    @property
    def linear(self) -> bool:
        """Whether the covariance is linear in parameters that could be chosen.

        Compound symmetry with one variance is: a variance and a common covariance.
        """
        return self.serial is None or (self.serial.kind == "cs" and len(self.names) == 1)

    def pieces(self, blocks: list[Integers]) -> list[Piece]:
        """Show the residual in a stack of blocks of equal size, rows as given.

        Parameters
        ----------
        blocks : list of (r,) int
            Rows of each block.

        Returns
        -------
        list of Piece
        """
        codes = np.stack([self.codes[rows] for rows in blocks])
        if self.serial is None:
            return plain_pieces(codes, len(self.names))
        lags = np.stack([self.serial.lags(rows) for rows in blocks])
        return [Correlated(lags, codes, len(self.names))]

    def covariance(self, parameters: Floats, blocks: list[Integers]) -> Floats:
        """Give the residual's (B, r, r) covariance in blocks of equal size.

        Parameters
        ----------
        parameters : (count,) float
            Variances, then the correlation.
        blocks : list of (r,) int
            Rows of each block.
        """
        variances = parameters[: len(self.names)]
        if self.serial is None:
            codes = np.stack([self.codes[rows] for rows in blocks])
            return np.asarray(variances[codes][:, :, None] * np.eye(codes.shape[1]))
        return self.pieces(blocks)[0].covariance(parameters)


def plain_residual(rows: int) -> Residual:
    """Give the residual of one variance, rows uncorrelated."""
    return Residual(("residual",), np.zeros(rows, dtype=np.intp))


def plain_pieces(codes: Integers, levels: int) -> list[Piece]:
    """Show uncorrelated residual variances in a stack of blocks.

    Parameters
    ----------
    codes : (B, r) int
        Which variance each row has.
    levels : int
        Number of variances.

    Returns
    -------
    list of Piece
        One a variance.
    """
    eye = np.eye(codes.shape[1])
    return [Linear((codes == level)[:, :, None] * eye) for level in range(levels)]
