"""A copy of a photo of about 640 pixels, gathered band by band, with the green counted in it."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from wintersward.photos.strips import Strip

__all__ = ["LOOKED_AT_PX", "Reduced"]

LOOKED_AT_PX = 640
"""About how long the longer side of the copy is [pixels]; smaller photos are copied as they are."""

_MOST_FACTOR = 255
# Up to this factor a square of full brightness is summed in 16 bits.
_SMALL_FACTOR = 16


class Reduced:
    """The copy in which blur, light and patches are looked at.

    Parameters
    ----------
    size : (2,) int [px]
        Width and height of the part that is scored.

    Attributes
    ----------
    factor : int
        Pixels of the photo along one side of a pixel of the copy.
    looked : (rows, columns) int or None
        How many of the photo's pixels in each pixel of the copy belong to the region; None where
        all do.

    Notes
    -----
    A pixel of the copy is the mean of a square of the photo. Up to ``factor`` - 1 rows and columns
    at the lower and right edge, which fill no square, are left out.
    """

    def __init__(self, size: tuple[int, int]) -> None:
        width, height = size
        self.factor = min(max(1, round(max(size) / LOOKED_AT_PX)), width, height, _MOST_FACTOR)
        self._shape = (height // self.factor, width // self.factor)
        self._sum_type: Any = np.uint16 if self.factor <= _SMALL_FACTOR else np.uint32
        self._sums = np.zeros((4, *self._shape), dtype=self._sum_type)
        self.looked: NDArray[np.integer] | None = None

    def add(self, strip: Strip, green: NDArray[np.bool_], inside: NDArray[np.bool_] | None) -> None:
        """Gather one strip; its first row must begin a square.

        Parameters
        ----------
        strip : Strip
            A band of rows.
        green : (rows, columns) bool
            Which of its pixels are green.
        inside : (rows, columns) bool or None
            Which belong to the region; None for all.
        """
        first = strip.top // self.factor
        rows = slice(first, first + len(green) // self.factor)
        self._sums[:, rows] = self._summed([strip.red, strip.green, strip.blue, green])
        if inside is not None:
            if self.looked is None:
                self.looked = np.zeros(self._shape, dtype=self._sum_type)
            self.looked[rows] = self._summed([inside])[0]

    def _summed(self, parts: list[NDArray[Any]]) -> NDArray[Any]:
        """Sum the squares of some planes: (planes, rows, columns)."""
        side = self.factor
        if side == 1:
            return np.stack(parts)
        rows, columns = parts[0].shape
        high, wide = rows // side, columns // side
        down = np.empty((len(parts), high, columns), dtype=np.uint16)
        for part, place in zip(parts, down, strict=True):
            squares = part[: high * side].reshape(high, side, columns)
            if part.dtype == np.bool_:
                place[:] = np.add.reduce(squares.view(np.uint8), axis=1, dtype=np.uint8)
            else:
                np.add.reduce(squares.view(np.uint16), axis=1, out=place)
        # Column by column of the squares: NumPy is slow at summing many short rows.
        summed = down[..., : wide * side : side].astype(self._sum_type)
        for column in range(1, side):
            summed += down[..., column : wide * side : side]
        return summed

    @property
    def planes(self) -> NDArray[np.float32]:
        """The copy: (3, rows, columns) float, red, green and blue from 0 to 255."""
        copy = self._sums[:3].astype(np.float32)
        if self.factor > 1:
            copy /= np.float32(self.factor**2)
        return copy

    @property
    def green(self) -> NDArray[np.integer]:
        """How many of the photo's pixels in each pixel of the copy are green: (rows, columns)."""
        return self._sums[3]
