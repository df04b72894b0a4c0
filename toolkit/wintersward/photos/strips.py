"""The pixels of a decoded photo as planes, a band of rows at a time, upright."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from wintersward.photos.aligned import aligned
from wintersward.photos.pixels import packed

__all__ = ["Strip", "strips", "upright_size"]

Box = tuple[int, int, int, int]
Turn = Image.Transpose | None

_T = Image.Transpose
# Which columns and rows were stored of what lies upright in the box (left, top, right, bottom),
# given width and height as stored.
_STORED: dict[Turn, Callable[[int, int, int, int, int, int], Box]] = {
    None: lambda w, h, l, t, r, b: (l, t, r, b),  # noqa: E741
    _T.FLIP_LEFT_RIGHT: lambda w, h, l, t, r, b: (w - r, t, w - l, b),  # noqa: E741
    _T.ROTATE_180: lambda w, h, l, t, r, b: (w - r, h - b, w - l, h - t),  # noqa: E741
    _T.FLIP_TOP_BOTTOM: lambda w, h, l, t, r, b: (l, h - b, r, h - t),  # noqa: E741
    _T.TRANSPOSE: lambda w, h, l, t, r, b: (t, l, b, r),  # noqa: E741
    _T.ROTATE_270: lambda w, h, l, t, r, b: (t, h - r, b, h - l),  # noqa: E741
    _T.TRANSVERSE: lambda w, h, l, t, r, b: (w - b, h - r, w - t, h - l),  # noqa: E741
    _T.ROTATE_90: lambda w, h, l, t, r, b: (w - b, l, w - t, r),  # noqa: E741
}


class Strip(NamedTuple):
    """A band of rows of the upright photo.

    Parameters
    ----------
    top : int
        Its first row, counted from the top of the box.
    red, green, blue : (rows, columns) int16
        The channels, 0 to 255, each in one piece of memory. They are as wide as their differences
        need, so that these take no further copies.
    """

    top: int
    red: NDArray[np.int16]
    green: NDArray[np.int16]
    blue: NDArray[np.int16]


def upright_size(image: Image.Image, turn: Turn) -> tuple[int, int]:
    """Width and height [px] of a photo that is turned upright."""
    left, top, right, bottom = _STORED[turn](image.width, image.height, 0, 0, 1, 2)
    return image.size if right - left == 1 else (image.height, image.width)


def strips(image: Image.Image, turn: Turn, box: Box, rows: int) -> Iterator[Strip]:
    """Give a part of a photo band by band, so that little memory is held at a time.

    Parameters
    ----------
    image : PIL.Image.Image
        RGB, as stored.
    turn : PIL.Image.Transpose or None
        What turns it upright. Each band is turned by itself: the photo is never held twice.
    box : (4,) int [px]
        Left, top, right and bottom of the part, in the upright photo.
    rows : int
        Most rows of a band.

    Yields
    ------
    Strip
        From the top down.
    """
    left, top, right, bottom = box
    for first in range(top, bottom, rows):
        last = min(first + rows, bottom)
        at = _STORED[turn](image.width, image.height, left, first, right, last)
        band = image.crop(at)
        if turn is not None:
            band = band.transpose(turn)
        yield Strip(first - top, *_planes(packed(band)))


def _planes(colours: NDArray[np.uint32]) -> tuple[NDArray[np.int16], ...]:
    """Part colours that are packed into one number each.

    NumPy is several times as quick to cut numbers short as to pick every fourth byte.
    """
    red, green, blue = planes = aligned(3, colours.size, np.int16)
    lower, halves = aligned(2, 2 * colours.size, np.uint8)
    # Red and green of each pixel, then red and blue.
    for kept, narrower in ((lower.view("<u2"), colours), (halves, colours.view("<u2"))):
        np.copyto(kept.reshape(narrower.shape), narrower, casting="unsafe")
    np.right_shift(lower.view("<u2"), 8, out=green.view(np.uint16))
    np.bitwise_and(halves.view("<u2"), 255, out=red.view(np.uint16))
    np.right_shift(halves.view("<u2"), 8, out=blue.view(np.uint16))
    return tuple(plane.reshape(colours.shape) for plane in planes)
