"""Parts of a covariance as they show in a stack of blocks.

The covariance of a model is a sum of parts. Each part shows itself in a stack of blocks as a
`Piece`, which gives its share of the covariance and the first and second derivatives by its own
parameters; the algebra of `reml` asks for nothing else.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

__all__ = ["Correlated", "Linear", "Piece"]

Floats = NDArray[np.float64]
Integers = NDArray[np.intp]


class Piece(Protocol):
    """The share of one part of the covariance in a stack of B blocks of r rows.

    Where all blocks of a stack have the same covariance, one matrix stands for all: B is 1 here.
    """

    @property
    def count(self) -> int:
        """Number of parameters that the part owns."""
        ...

    def covariance(self, parameters: Floats) -> Floats:
        """Give the part's (B, r, r) share of the covariance."""
        ...

    def first(self, parameters: Floats) -> list[Floats]:
        """Give the (B, r, r) derivative by each parameter."""
        ...

    def second(self, parameters: Floats) -> dict[tuple[int, int], Floats]:
        """Give the (B, r, r) second derivatives that are not zero, first index <= second."""
        ...


@dataclass(frozen=True)
class Linear:
    """A variance times a known matrix.

    Parameters
    ----------
    matrix : (B, r, r) float
        The known matrix in each block.
    """

    matrix: Floats

    @property
    def count(self) -> int:
        """One variance."""
        return 1

    def covariance(self, parameters: Floats) -> Floats:
        """Give the variance times the matrix."""
        return parameters[0] * self.matrix

    def first(self, parameters: Floats) -> list[Floats]:
        """Give the matrix itself."""
        return [self.matrix]

    def second(self, parameters: Floats) -> dict[tuple[int, int], Floats]:
        """Give nothing: a variance enters linearly."""
        return {}


@dataclass(frozen=True)
class Correlated:
    """A residual whose rows of one subject are correlated: D^(1/2) C D^(1/2).

    Parameters
    ----------
    lags : (B, r, r) float
        Powers to which the correlation is raised, at least 1; 0 between rows of different
        subjects and on the diagonal.
    codes : (B, r) int
        Which variance each row has.
    levels : int
        Number of variances; they come first among the parameters, the correlation last.

    Notes
    -----
    C holds 1 on the diagonal, rho^lag between rows of one subject and 0 elsewhere; D holds the
    variances. With lags of 1 throughout C is compound symmetry, in which rho may be negative.
    """

    lags: Floats
    codes: Integers
    levels: int

    @property
    def count(self) -> int:
        """The variances and the correlation."""
        return self.levels + 1

    @functools.cached_property
    def _distinct(self) -> tuple[Floats, Integers]:
        """Each lag once, and which of them stands where: powers are slow."""
        found, places = np.unique(self.lags, return_inverse=True)
        return found, places.reshape(self.lags.shape)

    def _powers(self, rho: float) -> tuple[Floats, Floats, Floats]:
        """Give C and its first and second derivative by rho."""
        lags, places = self._distinct
        fade, bend = (lags > 0).astype(float), np.zeros(len(lags))
        far = lags > 1.0
        fade[far] = rho ** (lags[far] - 1.0)
        bend[far] = lags[far] * (lags[far] - 1.0) * fade[far] / rho
        own = np.eye(self.lags.shape[1])
        return own + (rho * fade)[places], (lags * fade)[places], bend[places]

    def _scale(self, parameters: Floats) -> Floats:
        root = np.sqrt(parameters[: self.levels])[self.codes]
        return np.asarray(root[:, :, None] * root[:, None, :])

    def _sides(self) -> list[Floats]:
        """Give, for each variance, how many of a pair's two rows have it."""
        masks = [(self.codes == level).astype(float) for level in range(self.levels)]
        return [mask[:, :, None] + mask[:, None, :] for mask in masks]

    def covariance(self, parameters: Floats) -> Floats:
        """Give D^(1/2) C D^(1/2)."""
        return np.asarray(self._scale(parameters) * self._powers(parameters[-1])[0])

    def first(self, parameters: Floats) -> list[Floats]:
        """Give the derivatives by each variance, then by the correlation."""
        scale = self._scale(parameters)
        correlation, slope, _ = self._powers(parameters[-1])
        whole = scale * correlation
        by_variance = [
            0.5 * side * whole / variance
            for side, variance in zip(self._sides(), parameters, strict=False)
        ]
        return [*by_variance, scale * slope]

    def second(self, parameters: Floats) -> dict[tuple[int, int], Floats]:
        """Give the second derivatives; one variance alone enters linearly."""
        scale, last = self._scale(parameters), self.levels
        correlation, slope, bend = self._powers(parameters[-1])
        whole, sides = scale * correlation, self._sides()
        found = {(last, last): scale * bend} if bend.any() else {}
        for i, side in enumerate(sides):
            found[i, last] = 0.5 * side * scale * slope / parameters[i]
            if self.levels > 1:
                found[i, i] = -0.25 * (side == 1.0) * whole / parameters[i] ** 2
            for j in range(i + 1, self.levels):
                both = (side == 1.0) & (sides[j] == 1.0)
                found[i, j] = 0.25 * both * whole / (parameters[i] * parameters[j])
        return found
