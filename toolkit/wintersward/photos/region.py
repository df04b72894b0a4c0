"""The part of a photo that is scored: a box or a polygon, in shares of width and height."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintersward.errors import WinterswardError

__all__ = ["Outline", "Region", "holds_nothing", "outline_of"]

Region = tuple[float, float, float, float] | Sequence[tuple[float, float]]

_ALLOWED = (
    "left, top, right, bottom as fractions from 0 to 1, left below right and top below bottom, "
    "or at least three corners (x, y) as fractions from 0 to 1"
)


@dataclass(frozen=True)
class Outline:
    """A region laid over a photo of known size.

    Parameters
    ----------
    box : (4,) int [px]
        Left, top, right and bottom of the upright photo around the region.
    corners : (n, 2) float [px] or None
        Columns and rows of a polygon's corners, from the box's upper left pixel's centre; None
        where the whole box belongs to the region.
    """

    box: tuple[int, int, int, int]
    corners: NDArray[np.float64] | None = None

    def inside(self, top: int, rows: int) -> NDArray[np.bool_] | None:
        """Say which pixels of a band of rows belong to the region.

        Parameters
        ----------
        top : int
            First row of the band, counted from the top of the box.
        rows : int
            Rows of the band.

        Returns
        -------
        (rows, columns) bool or None
            Pixels whose centre lies inside the polygon; None for a box.
        """
        if self.corners is None:
            return None
        from skimage.draw import polygon

        mask = np.zeros((rows, self.box[2] - self.box[0]), dtype=np.bool_)
        mask[polygon(self.corners[:, 1] - top, self.corners[:, 0], mask.shape)] = True
        return mask


def outline_of(region: Region | None, size: tuple[int, int]) -> Outline:
    """Lay a region over a photo.

    Parameters
    ----------
    region : (4,) or (n, 2) float [1] or None
        Left, top, right and bottom, or the corners (x, y) of a polygon in order, as shares of the
        upright photo's width and height; None for the whole photo.
    size : (2,) int [px]
        Width and height of the upright photo.

    Returns
    -------
    Outline
        Where the region lies in the photo.

    Raises
    ------
    WinterswardError
        The region is no such box or polygon, or no row or no column of the photo.
    """
    width, height = size
    if region is None:
        return Outline((0, 0, width, height))
    if _is_box(region):
        left, top, right, bottom = (float(part) for part in region)  # type: ignore[arg-type]
        if not (0 <= left < right <= 1 and 0 <= top < bottom <= 1):
            raise _refused(region)
        box = (
            round(left * width),
            round(top * height),
            round(right * width),
            round(bottom * height),
        )
        if box[0] == box[2] or box[1] == box[3]:
            raise holds_nothing(region, size)
        return Outline(box)
    return _polygon(region, size)


def holds_nothing(region: object, size: tuple[int, int]) -> WinterswardError:
    """Say that a region is too small to hold the centre of a pixel."""
    return WinterswardError(
        f"the region {region!r} holds no pixel of a picture of {size[0]} by {size[1]}; widen it"
    )


def _is_box(region: Region) -> bool:
    try:
        return len(region) == 4 and all(isinstance(part, int | float) for part in region)
    except TypeError:
        raise _refused(region) from None


def _polygon(region: Region, size: tuple[int, int]) -> Outline:
    """Lay a polygon over a photo."""
    try:
        corners = np.array([[float(x), float(y)] for x, y in region])  # type: ignore[misc]
    except (TypeError, ValueError):
        raise _refused(region) from None
    if len(corners) < 3 or not bool(((corners >= 0) & (corners <= 1)).all()):
        raise _refused(region)
    width, height = size
    placed = corners * [width, height]
    left, top = (math.floor(part) for part in placed.min(axis=0))
    right, bottom = (math.ceil(part) for part in placed.max(axis=0))
    if left == right or top == bottom:
        raise holds_nothing(region, size)
    return Outline((left, top, right, bottom), placed - [left + 0.5, top + 0.5])


def _refused(region: object) -> WinterswardError:
    return WinterswardError(f"the region is {region!r}; allowed: {_ALLOWED}")
