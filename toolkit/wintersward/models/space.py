"""Bounds of a covariance's parameters, and where searches for them begin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintersward.models.residual import FLOOR, Serial

__all__ = ["Space"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Space:
    """The parameters: variances of random terms, residual variances, perhaps a correlation.

    Parameters
    ----------
    terms, levels : int
        Numbers of random terms and of residual variances.
    serial : Serial or None
        What the correlation, the last parameter, belongs to.

    Notes
    -----
    Data are scaled so that the residual variance of ordinary least squares is 1.
    """

    terms: int
    levels: int
    serial: Serial | None = None

    @property
    def variances(self) -> int:
        """How many of the parameters are variances; they come first."""
        return self.terms + self.levels

    @property
    def count(self) -> int:
        """Number of parameters."""
        return self.variances + (self.serial is not None)

    @property
    def lowest(self) -> Floats:
        """Lower bounds: 0 for a random term, a trifle for a residual variance."""
        bounds = [*[0.0] * self.terms, *[FLOOR] * self.levels]
        return np.array(bounds if self.serial is None else [*bounds, self.serial.lowest])

    @property
    def highest(self) -> Floats:
        """Upper bounds: none for a variance."""
        bounds = [np.inf] * self.variances
        return np.array(bounds if self.serial is None else [*bounds, self.serial.highest])

    @property
    def steps(self) -> Floats:
        """What counts as a unit of change where a parameter is near zero."""
        sizes = [FLOOR] * self.variances
        return np.array(sizes if self.serial is None else [*sizes, 1e-3])

    def reference(self) -> Floats:
        """Give parameters at which to compare parts: no random variation, residual variance 1."""
        point = np.array([*[0.0] * self.terms, *[1.0] * self.levels])
        return point if self.serial is None else np.append(point, self.serial.starts[0])

    def starts(self) -> list[Floats]:
        """Give starts: equal shares; then the residual, each random term, or all of them large.

        A correlation begins at 0.5 at the median gap; equal shares and a large residual are also
        tried with a weak and with a strong one.
        """
        shares = self._shares()
        if self.serial is None:
            return shares
        usual, *others = self.serial.starts
        starts = [np.append(share, usual) for share in shares]
        return starts + [np.append(share, rho) for share in shares[:2] for rho in others]

    def _shares(self) -> list[Floats]:
        if not self.terms:
            return [np.ones(self.levels)]
        large = [{self.terms}, *({i} for i in range(self.terms))]
        if self.terms > 1:
            large.append(set(range(self.terms)))
        shares = [np.full(self.terms + 1, 1.0 / (self.terms + 1))]
        for chosen in large:
            share = np.array([1.0 if i in chosen else 0.02 for i in range(self.terms + 1)])
            share[-1] = max(share[-1], 0.1)
            shares.append(share)
        spread = [*range(self.terms), *[self.terms] * self.levels]
        return [share[spread] for share in shares]
