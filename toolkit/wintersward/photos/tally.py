"""Running sums over the pixels of a photo; all of them whole, so that no order can change them."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from wintersward.photos.colour import GreenWindow, plane_parts
from wintersward.photos.green_rule import GreenRule
from wintersward.photos.strips import Strip

__all__ = ["COLOUR_PIXELS", "Colour", "Tally"]

COLOUR_PIXELS = 2_000_000
"""In larger photos the colour is read in every second, third ... row, in so many pixels or more."""

FULL_FROM = 254
"""Brightness (largest channel, 0 to 255) from which a pixel counts as fully bright."""

BLACK_TO = 15
"""Brightness up to which a pixel counts as nearly black."""

# Ratios are summed in steps of 2^-46: a sum over one batch then stays below 2^63, and the rounding
# of a hue below 10^-12 degrees.
_STEPS = 2.0**46
_BATCH = 8_192
_INDEX_STEPS = 2.0**20

Plane = NDArray[np.uint8]


class Colour(NamedTuple):
    """Colour of the green pixels.

    Parameters
    ----------
    hue : float [degrees]
        Mean.
    saturation, brightness : float [1]
        Means.
    index_sd : float [1]
        Standard deviation of the pixels' dark green colour indices.
    """

    hue: float
    saturation: float
    brightness: float
    index_sd: float


class Tally:
    """Counts of a photo, strip by strip.

    Parameters
    ----------
    window : GreenWindow
        What counts as green.
    strip_pixels : int
        Most pixels of a strip.
    every : int
        The colour is read in every so many rows; the counts are of all.

    Attributes
    ----------
    pixels, green : int
        Pixels looked at, and how many of them are green.
    bright, dark, clipped : int
        Pixels that are fully bright, nearly black, and at 0 or 255 in any channel.
    coloured : bool
        Whether any pixel is not grey.
    colour_pixels : int
        Green pixels whose colour was read.
    """

    def __init__(self, window: GreenWindow, strip_pixels: int, every: int = 1) -> None:
        self._rule = GreenRule(window, strip_pixels)
        self._every = every
        self._levels = [np.empty(strip_pixels, dtype=np.uint8) for _ in range(2)]
        self._masks = [np.empty(strip_pixels, dtype=np.bool_) for _ in range(2)]
        self.pixels = self.green = self.bright = self.dark = self.clipped = 0
        self.coloured = False
        self.colour_pixels = 0
        # Of hue / 60 and saturation in steps of 2^-46, of brightness in 255ths, of the index
        # (thrice, in steps of 2^-20) and its square.
        self._sums = [0] * 5
        self._waiting: list[tuple[Plane, Plane, Plane]] = []

    def add(self, strip: Strip, inside: NDArray[np.bool_] | None) -> NDArray[np.bool_]:
        """Count one strip.

        Parameters
        ----------
        strip : Strip
            A band of rows.
        inside : (rows, columns) bool or None
            Which of its pixels to look at; None for all.

        Returns
        -------
        (rows, columns) bool
            Which are green; valid until the next call.
        """
        shape = strip.red.shape
        channels = [part.reshape(-1) for part in (strip.red, strip.green, strip.blue)]
        mask = self._rule.mask(*channels)
        looked = None if inside is None else inside.reshape(-1)
        if looked is not None:
            mask &= looked
        self.pixels += mask.size if looked is None else int(np.count_nonzero(looked))
        self.green += int(np.count_nonzero(mask))
        self._count_light(channels, looked)
        mask = mask.reshape(shape)
        self._add_colour(strip, mask)
        return mask

    def _count_light(self, channels: list[Plane], looked: NDArray[np.bool_] | None) -> None:
        size = channels[0].size
        most, least = (part[:size] for part in self._levels)
        found, spare = (part[:size] for part in self._masks)
        red, green, blue = channels
        np.maximum(np.maximum(red, green, out=most), blue, out=most)
        np.minimum(np.minimum(red, green, out=least), blue, out=least)

        def counted(mask: NDArray[np.bool_]) -> int:
            if looked is not None:
                mask &= looked
            return int(np.count_nonzero(mask))

        self.bright += counted(np.greater_equal(most, FULL_FROM, out=found))
        self.dark += counted(np.less_equal(most, BLACK_TO, out=found))
        np.logical_or(np.equal(most, 255, out=found), np.equal(least, 0, out=spare), out=found)
        self.clipped += counted(found)
        if not self.coloured:
            self.coloured = counted(np.not_equal(most, least, out=found)) > 0

    def _add_colour(self, strip: Strip, mask: NDArray[np.bool_]) -> None:
        """Sum the colour of the green pixels of every n-th row of the photo."""
        rows = slice(-strip.top % self._every, None, self._every)
        chosen = np.flatnonzero(mask[rows])
        # Places are quicker to pick from than a mask.
        red, green, blue = (
            part[rows].reshape(-1).take(chosen) for part in (strip.red, strip.green, strip.blue)
        )
        self.colour_pixels += chosen.size
        self._waiting.append((red, green, blue))
        if sum(part[0].size for part in self._waiting) >= _BATCH:
            self._sum_waiting()

    def _sum_waiting(self) -> None:
        """Sum the colours that wait, in batches: many small ones would take longer."""
        if not self._waiting:
            return
        red, green, blue = (np.concatenate(parts) for parts in zip(*self._waiting, strict=True))
        self._waiting.clear()
        for first in range(0, red.size, _BATCH):
            batch = slice(first, first + _BATCH)
            self._sum_colour(red[batch], green[batch], blue[batch])

    def _sum_colour(self, red: Plane, green: Plane, blue: Plane) -> None:
        numerator, spread, largest = plane_parts(red, green, blue)
        hue = np.divide(numerator, spread, dtype=np.float64)
        saturation = np.divide(spread, largest, dtype=np.float64)
        index = np.multiply(largest, -1 / 255, dtype=np.float64)
        index += hue
        index -= saturation
        hue *= _STEPS
        saturation *= _STEPS
        index *= _INDEX_STEPS
        sixths, shares, whole = (
            np.rint(part, out=part).astype(np.int64) for part in (hue, saturation, index)
        )
        found: tuple[NDArray[Any], ...] = (sixths, shares, largest, whole, whole * whole)
        for place, part in enumerate(found):
            self._sums[place] += int(part.sum(dtype=np.int64))

    def colour(self) -> Colour:
        """Means and spread of the colour of the green pixels; at least two must have been read."""
        self._sum_waiting()
        count = self.colour_pixels
        hue, saturation, brightness, index, squares = self._sums
        varied = Fraction(count * squares - index * index, count * (count - 1))
        return Colour(
            hue=float(Fraction(60 * hue, count * 2**46)),
            saturation=float(Fraction(saturation, count * 2**46)),
            brightness=float(Fraction(brightness, count * 255)),
            index_sd=math.sqrt(varied) / (3 * _INDEX_STEPS),
        )
