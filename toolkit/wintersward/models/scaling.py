"""The response on a scale that suits arithmetic: centred, least squares taken out, size one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintersward.errors import WinterswardError
from wintersward.models.fixed import FixedPart

__all__ = ["Scaling", "scaled_response"]

Floats = NDArray[np.float64]
_ROUNDING = 1e-12


@dataclass(frozen=True)
class Scaling:
    """How the scaled response relates to the one given.

    Parameters
    ----------
    centre : float [unit of the response]
        Taken out first; 0 where the fixed part holds no constant.
    constant : (columns,) float
        Coefficients that give 1 in every row.
    size : float [unit of the response]
        Residual standard deviation of ordinary least squares.
    start : (p,) float
        Least squares coefficients on the orthonormal basis, of the centred response over `size`.
    left : (n,) float
        Least squares residuals over `size`.
    """

    centre: float
    constant: Floats
    size: float
    start: Floats
    left: Floats

    def centre_of(self, weights: Floats) -> Floats:
        """Give what the centre adds to linear functions of the coefficients.

        Parameters
        ----------
        weights : (m, columns) float
            One function a row.

        Returns
        -------
        (m,) float [unit of the response]
        """
        share = weights @ self.constant
        share = np.where(np.abs(share - np.round(share)) < 1e-9, np.round(share), share)
        return np.asarray(self.centre * share)


def scaled_response(y: Floats, part: FixedPart, response: str) -> Scaling:
    """Centre and scale the response.

    Parameters
    ----------
    y : (n,) float
        Response.
    part : FixedPart
        Of the model.
    response : str
        Its name, for messages.

    Returns
    -------
    Scaling

    Raises
    ------
    WinterswardError
        If the response is constant, if there are no more rows than columns, or if the fixed part
        reproduces every value.

    Notes
    -----
    REML does not change when a combination of the fixed columns is taken from the response, and
    only by a constant when it is scaled. Differences of numbers with a large common part, and
    variances in any unit, so keep their digits.
    """
    rows, columns = part.basis.shape
    if np.ptp(y) == 0:
        raise WinterswardError(
            f"response {response}: every one of {rows} values is {y[0]:.10g}; there is nothing to"
            " compare"
        )
    if rows <= columns:
        raise WinterswardError(
            f"response {response}: {rows} rows and {columns} columns of the fixed part leave"
            " nothing to estimate the error from; use fewer terms or more rows"
        )
    constant = _constant(part)
    centre = float(y.mean()) if constant.any() else 0.0
    centred = y - centre
    start = part.basis.T @ centred
    left = centred - part.basis @ start
    again = part.basis.T @ left
    start, left = start + again, left - part.basis @ again
    size = float(np.sqrt(left @ left / (rows - columns)))
    if size <= _ROUNDING * max(float(np.abs(centred).max()), 1e-3 * float(np.abs(y).max())):
        raise WinterswardError(
            f"response {response}: the fixed part reproduces every value, so there is no error to"
            " judge differences by"
        )
    return Scaling(centre, constant, size, start / size, left / size)


def _constant(part: FixedPart) -> Floats:
    found = np.zeros(len(part.names))
    if "Intercept" in part.terms:
        found[part.terms["Intercept"]] = 1.0
        return found
    inside = part.basis.T @ np.ones(len(part.basis))
    if np.abs(part.basis @ inside - 1.0).max() < 1e-10:
        found[part.kept] = np.linalg.solve(part.triangle, inside)
    return found
