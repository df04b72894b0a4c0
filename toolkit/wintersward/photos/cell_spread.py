"""How sure one photo is of its plot's cover, told from how the cover varies within the photo."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from wintersward.photos.patches import pooled

__all__ = ["BLOCKS_ALONG", "FEWEST_CELLS", "SPREAD_CELLS", "cover_se"]

SPREAD_CELLS = 24
"""Cells along the longer side of a photo: 432 in one of 4 by 3."""

BLOCKS_ALONG = 3
"""Blocks that fill either side of a photo."""

FEWEST_CELLS = 36
"""Fewest cells from which a standard error is given."""

_LEAST_KNOWN = 0.5


def cover_se(share: NDArray[np.float64]) -> float | None:
    """Estimate the standard error of a photo's cover, as a sample of turf like that in the frame.

    Parameters
    ----------
    share : (rows, columns) float [1]
        Green share of the cells, from :func:`wintersward.photos.patches.cell_shares`; NaN outside
        the region.

    Returns
    -------
    float or None [points]
        0 where all cells are alike; None with fewer than ``FEWEST_CELLS`` cells.

    Notes
    -----
    Block bootstrap over cells, ``SPREAD_CELLS`` along the longer side. Neighbouring cells are
    alike, so that single cells drawn by chance would make the photo look far too sure; drawn are
    blocks of neighbours, as wide and high as a third of the photo, from every place in it, until
    they fill a photo. With e the green of a block less what the photo's cover makes of it, per
    known cell of a block on average, and f the known cells of a block over those of the photo,
    the variance of the cover over all such draws is f times the mean square of e. It is computed
    as it stands: nothing is drawn, and no seed is needed. Divided by 1 - f it allows for blocks
    that lie in the photo whose mean they are set against.

    What it is not: it tells nothing of turf outside the frame that is unlike that inside, such
    as a plot that is greener at one end, nor of light, camera and the window of green, which are
    the same all over a photo. Of what varies in patches as large as a quarter of the frame it
    sees a part. Two photos of a plot therefore differ by this much or more.

    Measured on 720 frames each, cut from wide fields that are green where a smooth normal field
    with correlation exp(-(d / 2 s)^2) at distance d lies below its median: with s of 1.5, 3, 6 and
    12 % of the longer side, two standard errors to either side held the true cover in 93, 90, 86
    and 72 % of the frames; with single cells in place of blocks in 80, 59, 37 and 19 %. Of blocks
    of a half, a third, a quarter and a sixth of the sides a third did best or as well. Frames cut
    from one large painted picture of the example differed by 1.0 to 1.6 times this error.

    References
    ----------
    Künsch H. R. (1989) The jackknife and the bootstrap for general stationary observations.
    Annals of Statistics 17, 1217-1241. doi:10.1214/aos/1176347265 (from memory).
    """
    cells = pooled(share, SPREAD_CELLS)
    known = np.isfinite(cells)
    count = int(known.sum())
    if count < FEWEST_CELLS:
        return None
    green = np.where(known, cells, 0.0)
    away = green - known * (green.sum() / count)
    high, wide = (max(1, round(side / BLOCKS_ALONG)) for side in cells.shape)
    held = _in_blocks(known.astype(float), high, wide)
    used = held >= _LEAST_KNOWN * high * wide
    if not used.any():
        return None
    size = float(held[used].mean())
    part = size / count
    squares = np.square(_in_blocks(away, high, wide)[used] / size)
    return 100 * math.sqrt(float(squares.mean()) * part / (1 - part))


def _in_blocks(values: NDArray[np.float64], high: int, wide: int) -> NDArray[np.float64]:
    """Sum the values of a block at every place where it fits."""
    summed = np.zeros((values.shape[0] + 1, values.shape[1] + 1))
    summed[1:, 1:] = values.cumsum(axis=0).cumsum(axis=1)
    return (
        summed[high:, wide:]
        - summed[:-high, wide:]
        - summed[high:, :-wide]
        + summed[:-high, :-wide]
    )
