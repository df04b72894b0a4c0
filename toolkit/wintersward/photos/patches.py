"""How unevenly the green is spread over a photo: patchiness, and the largest bare patch.

Notes
-----
Both are computed on cells, ``CELLS`` along the longer side of the photo and as many along the
shorter side as make them about square, so that they depend on what the photo shows and not on
how many pixels show it.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "BARE_SHARE",
    "CELLS",
    "FEWEST_SQUARES",
    "SPECK_CELLS",
    "SQUARES",
    "cell_shares",
    "largest_bare_patch",
    "patchiness",
    "pooled",
]

CELLS = 160
"""Cells along the longer side of a photo."""

SQUARES = 8
"""Squares along the longer side of a photo, among which the cover is compared."""

FEWEST_SQUARES = 4
"""Fewest squares from which a patchiness is given."""

BARE_SHARE = 0.1
"""A cell is bare when less than this share of it is green."""

SPECK_CELLS = 4
"""Groups of green cells of at most this size do not break a bare patch."""

_LEAST_PART = 0.5


def cell_shares(
    green: NDArray[np.integer], looked: NDArray[np.integer] | None, full: int
) -> NDArray[np.float64]:
    """Give the green share of each cell.

    Parameters
    ----------
    green, looked : (rows, columns) int
        Green pixels and pixels looked at, in a fine grid over the photo; None where all were
        looked at.
    full : int
        Pixels in each place of the fine grid.

    Returns
    -------
    (cell rows, cell columns) float [1]
        ``CELLS`` along the longer side, fewer where the fine grid is smaller; NaN where less than
        half of a cell was looked at.
    """
    return _shares(green, looked, full, CELLS)


def pooled(share: NDArray[np.float64], along: int) -> NDArray[np.float64]:
    """Average cells over larger ones.

    Parameters
    ----------
    share : (rows, columns) float [1]
        From :func:`cell_shares`.
    along : int
        Larger cells along the longer side.

    Returns
    -------
    (larger rows, larger columns) float [1]
        NaN where less than half of a larger cell is known.
    """
    known = np.isfinite(share)
    return _shares(np.where(known, share, 0), known, 1, along)


def patchiness(share: NDArray[np.float64]) -> float | None:
    """Measure how much more the cover varies within a photo than chance alone would make it.

    Parameters
    ----------
    share : (rows, columns) float [1]
        From :func:`cell_shares`.

    Returns
    -------
    float or None [points]
        0 where the cover varies no more than by chance; None with fewer than
        ``FEWEST_SQUARES`` squares.

    Notes
    -----
    The photo is laid out in squares, ``SQUARES`` along its longer side. With s^2 the variance of
    their cover (divisor: squares - 1), p the mean and n the mean number of cells in a square, it is

        100 sqrt(max(0, s^2 - p (1 - p) / n)).

    The part taken off is the binomial variance of n cells each of which is green or bare by
    itself. The unit is points of cover, the same as of a difference between two photos.
    """
    squares = pooled(share, SQUARES)
    squares = squares[np.isfinite(squares)]
    if squares.size < FEWEST_SQUARES:
        return None
    mean = float(squares.mean())
    cells = float(np.isfinite(share).sum()) / squares.size
    excess = float(squares.var(ddof=1)) - mean * (1 - mean) / cells
    return 100 * math.sqrt(max(0.0, excess))


def largest_bare_patch(share: NDArray[np.float64]) -> float:
    """Find the largest connected patch without green.

    Parameters
    ----------
    share : (rows, columns) float [1]
        Green share of the cells; NaN outside the region.

    Returns
    -------
    float [%]
        Of the region: the cells of the largest patch of bare cells that touch along their sides.
        A cell is bare when less than ``BARE_SHARE`` of it is green; groups of at most
        ``SPECK_CELLS`` green cells are taken for bare.
    """
    from scipy.ndimage import label

    known = np.isfinite(share)
    if not known.any():
        return 0.0
    groups = label(share >= BARE_SHARE)[0]
    green = np.bincount(groups.ravel()) > SPECK_CELLS
    green[0] = False
    patches = label(known & ~green[groups])[0]
    sizes = np.bincount(patches.ravel())[1:]
    return 100 * float(sizes.max(initial=0)) / float(known.sum())


def _shares(
    part: NDArray[Any], seen: NDArray[Any] | None, full: int, along: int
) -> NDArray[np.float64]:
    """Divide the sums of two grids over the cells of a coarser one.

    ``full`` is the most that ``seen`` can be, and what it is everywhere when left out.
    """
    counts = [min(side, max(1, round(along * side / max(part.shape)))) for side in part.shape]
    starts = [
        np.rint(np.linspace(0, side, count, endpoint=False)).astype(np.intp)
        for side, count in zip(part.shape, counts, strict=True)
    ]
    sizes = [np.diff(start, append=side) for start, side in zip(starts, part.shape, strict=True)]
    most = full * np.multiply.outer(*sizes)
    under = most if seen is None else _gathered(seen, starts)
    share = np.full(most.shape, np.nan)
    known = (under > 0) & (under >= _LEAST_PART * most)
    np.divide(_gathered(part, starts), under, out=share, where=known)
    return share


def _gathered(part: NDArray[Any], starts: list[NDArray[np.intp]]) -> NDArray[Any]:
    """Sum a fine grid over the cells of a coarser one."""
    kind = np.float64 if part.dtype.kind == "f" else np.int64
    across = np.add.reduceat(part, starts[1], axis=1, dtype=kind)
    summed: NDArray[Any] = np.add.reduceat(across, starts[0], axis=0)
    return summed
