"""Counts of the pixels of a photo, strip by strip."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from wintersward.photos.aligned import aligned
from wintersward.photos.colour import GreenWindow
from wintersward.photos.colour_sums import Colour, ColourSums
from wintersward.photos.green_rule import GreenRule
from wintersward.photos.strips import Strip

__all__ = ["COLOUR_PIXELS", "Tally"]

COLOUR_PIXELS = 1_000_000
"""Colour and light of larger photos are read in every n-th row, in so many pixels or more."""

FULL_FROM = 254
"""Brightness (largest channel, 0 to 255) from which a pixel counts as fully bright."""

BLACK_TO = 15
"""Brightness up to which a pixel counts as nearly black."""

# Rows are kept until so many pixels are read at once: many small batches would take longer.
_BATCH = 64_000

Mask = NDArray[np.bool_]


class Tally:
    """Counts of a photo, strip by strip.

    Parameters
    ----------
    window : GreenWindow
        What counts as green.
    strip_pixels : int
        Most pixels of a strip.
    every : int
        Colour and light are read in every so many rows; pixels and green are counted in all.

    Attributes
    ----------
    pixels, green : int
        Pixels looked at, and how many of them are green.
    coloured : bool
        Whether any pixel is not grey.
    lit, bright, dark, clipped : int
        Pixels whose light was read, and how many of them are fully bright, nearly black, and at
        0 or 255 in any channel. Complete after `finish`.
    """

    def __init__(self, window: GreenWindow, strip_pixels: int, every: int = 1) -> None:
        self._rule = GreenRule(window, strip_pixels)
        self._every = every
        self.pixels = self.green = 0
        self.coloured = False
        self.lit = self.bright = self.dark = self.clipped = 0
        self._colours = ColourSums()
        # Red, green, blue, which are green, which are inside.
        room = _BATCH + strip_pixels
        self._kept = [*aligned(3, room, np.int16), *aligned(2, room, np.bool_)]
        self._waiting = 0
        self._outlined = False

    def add(self, strip: Strip, inside: Mask | None) -> Mask:
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
        planes = strip.red, strip.green, strip.blue
        mask = self._rule.mask(*(plane.reshape(-1) for plane in planes)).reshape(strip.red.shape)
        if inside is not None:
            mask &= inside
        self.pixels += mask.size if inside is None else int(np.count_nonzero(inside))
        self.green += int(np.count_nonzero(mask))
        if not self.coloured:
            self.coloured = self.green > 0 or _any_colour(planes, inside)
        self._keep(slice(-strip.top % self._every, None, self._every), planes, mask, inside)
        if self._waiting >= _BATCH:
            self.finish()
        return mask

    def finish(self) -> None:
        """Read colour and light of the rows that still wait."""
        red, green, blue, mask, inside = (part[: self._waiting] for part in self._kept)
        self._waiting = 0
        self._count_light(red, green, blue, inside if self._outlined else None)
        # Places are quicker to pick from than a mask.
        chosen = np.flatnonzero(mask)
        self._colours.add(*(plane.take(chosen) for plane in (red, green, blue)))

    @property
    def colour_pixels(self) -> int:
        """Green pixels whose colour was read; complete after `finish`."""
        return self._colours.count

    def colour(self) -> Colour:
        """Means and spread of the colour of the green pixels; at least two must have been read."""
        return self._colours.colour()

    def _keep(
        self, rows: slice, planes: tuple[NDArray[Any], ...], mask: Mask, inside: Mask | None
    ) -> None:
        """Keep some rows of a strip until they are read."""
        parts = [*planes, mask] if inside is None else [*planes, mask, inside]
        self._outlined = inside is not None
        start = self._waiting
        for place, part in zip(self._kept, parts, strict=False):
            chosen = part[rows]
            self._waiting = start + chosen.size
            np.copyto(place[start : self._waiting].reshape(chosen.shape), chosen)

    def _count_light(
        self,
        red: NDArray[Any],
        green: NDArray[Any],
        blue: NDArray[Any],
        inside: Mask | None,
    ) -> None:
        most, least = np.maximum(red, green), np.minimum(red, green)
        np.maximum(most, blue, out=most)
        np.minimum(least, blue, out=least)

        def counted(mask: Mask) -> int:
            if inside is not None:
                mask &= inside
            return int(np.count_nonzero(mask))

        self.lit += most.size if inside is None else int(np.count_nonzero(inside))
        self.bright += counted(most >= FULL_FROM)
        self.dark += counted(most <= BLACK_TO)
        self.clipped += counted((most == 255) | (least == 0))


def _any_colour(planes: tuple[NDArray[Any], ...], inside: Mask | None) -> bool:
    """Tell whether any pixel is not grey."""
    red, green, blue = planes
    found = (red != green) | (green != blue)
    return bool((found if inside is None else found & inside).any())
