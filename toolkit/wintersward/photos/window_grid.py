"""Green cover by many windows of green at once: does a score hang on where green begins?

Notes
-----
Every pixel is compared once with each edge of hue and each floor of saturation, not once with each
window. How many lower edges it reaches, how many upper edges it passes and how many floors it
reaches put it into one cell of a small table; the pixels of a window are a corner of that table,
summed up. As in :mod:`wintersward.photos.green_rule` everything is compared between whole numbers:
with n, D and M as in :mod:`wintersward.photos.colour`, and an edge that is e / q degrees, a hue
reaches it when 60 q n >= e D, and a saturation reaches the floor f / q when q D >= f M.
"""

from __future__ import annotations

import hashlib
import math
import os
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wintersward.photos.colour import GreenWindow, plane_parts
from wintersward.photos.decoding import open_photo
from wintersward.photos.green_rule import GreenRule
from wintersward.photos.region import Region, holds_nothing, outline_of
from wintersward.photos.strips import Strip, strips, upright_size

__all__ = ["FLOORS", "HUE_STEPS", "GridTally", "WindowGrid", "covers_over", "tally_over"]
__all__ += ["window_grid"]

HUE_STEPS: tuple[float, ...] = (-10, -5, 0, 5, 10)
"""How far the edges of hue are moved [degrees]; common practice, no source."""

FLOORS: tuple[float, ...] = (0, 0.05, 0.1, 0.15)
"""Lowest saturations that are tried; common practice, no source."""

_FLOOR_STEP = Fraction(1, 20)
_STRIP_PIXELS = 80_000
# The largest numerator of a hue, and 60 times it.
_MOST_HUE = 60 * 6 * 255


@dataclass(frozen=True)
class WindowGrid:
    """Windows of green that differ in their edges of hue and their lowest saturation.

    Parameters
    ----------
    around : GreenWindow
        The window that they surround; highest saturation and brightness are its own.
    lower, upper : tuple of float [degrees]
        Lower and upper edges of hue, ascending.
    floors : tuple of float [1]
        Lowest saturations, ascending.
    """

    around: GreenWindow
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    floors: tuple[float, ...]

    @cached_property
    def places(self) -> tuple[tuple[int, int, int], ...]:
        """Places of lower edge, upper edge and floor of each window; the last runs fastest."""
        sizes = (len(self.lower), len(self.upper), len(self.floors))
        every = product(*map(range, sizes))
        return tuple((i, j, k) for i, j, k in every if self.lower[i] <= self.upper[j])

    @cached_property
    def windows(self) -> tuple[GreenWindow, ...]:
        """The windows, in the order of `places`; without those that hold no hue."""
        high = self.around.saturation[1]
        return tuple(
            GreenWindow((self.lower[i], self.upper[j]), (self.floors[k], high), self.around.value)
            for i, j, k in self.places
        )

    def hash(self) -> str:
        """Name the grid in twelve characters that stay the same on every computer."""
        text = " ".join(window.hash() for window in self.windows)
        return hashlib.sha256(text.encode()).hexdigest()[:12]


def window_grid(
    around: GreenWindow,
    hue_steps: Sequence[float] = HUE_STEPS,
    floors: Sequence[float] = FLOORS,
) -> WindowGrid:
    """Lay a grid of windows around one.

    Parameters
    ----------
    around : GreenWindow
        It is itself one of them.
    hue_steps : sequence of float [degrees]
        How far each edge of hue is moved; edges stay within 0 to 360.
    floors : sequence of float [1]
        Lowest saturations, besides that of `around` and 0.05 above it; those above the highest
        of `around` are left out.

    Returns
    -------
    WindowGrid

    Examples
    --------
    >>> grid = window_grid(GreenWindow())
    >>> grid.lower, grid.upper, len(grid.windows)
    ((40.0, 45.0, 50.0, 55.0, 60.0), (160.0, 165.0, 170.0, 175.0, 180.0), 100)
    """
    steps = [Fraction(0), *(Fraction(str(step)) for step in hue_steps)]
    low, high = around.exact("hue")
    floor, most = around.exact("saturation")
    wanted = [floor, floor + _FLOOR_STEP, *(Fraction(str(one)) for one in floors)]
    tried = {limit for limit in wanted if limit <= most}

    def edges(at: Fraction) -> tuple[float, ...]:
        return tuple(
            sorted({float(min(max(at + step, Fraction(0)), Fraction(360))) for step in steps})
        )

    return WindowGrid(around, edges(low), edges(high), tuple(sorted(map(float, tried))))


class GridTally:
    """Counts of a photo by every window of a grid, strip by strip.

    Parameters
    ----------
    grid : WindowGrid
        The windows.
    strip_pixels : int
        Most pixels of a strip.

    Attributes
    ----------
    pixels : int
        Pixels looked at.
    """

    def __init__(self, grid: WindowGrid, strip_pixels: int) -> None:
        self._grid, around = grid, grid.around
        # What this window leaves out is green by none of them, and is not looked at further.
        widest = GreenWindow(
            (grid.lower[0], grid.upper[-1]),
            (grid.floors[0], around.saturation[1]),
            around.value,
        )
        self._rule = GreenRule(widest, strip_pixels)
        (self._lower, self._upper), degree = _whole(grid.lower, grid.upper)
        (self._floors,), one = _whole(grid.floors)
        self._scales = 60 * degree, one
        wide = max(_MOST_HUE * degree, 360 * degree * 255, 255 * one)
        self._wide: Any = np.int32 if wide <= np.iinfo(np.int32).max else np.int64
        self._shape = (len(grid.lower) + 1, len(grid.upper) + 1, len(grid.floors) + 1)
        self._cells = np.zeros(math.prod(self._shape), dtype=np.int64)
        self.pixels = 0

    def add(self, strip: Strip, inside: NDArray[np.bool_] | None = None) -> None:
        """Count one strip.

        Parameters
        ----------
        strip : Strip
            A band of rows.
        inside : (rows, columns) bool, optional
            Which of its pixels to look at; left out, all.
        """
        channels = [part.reshape(-1) for part in (strip.red, strip.green, strip.blue)]
        mask = self._rule.mask(*channels)
        if inside is not None:
            mask &= inside.reshape(-1)
        self.pixels += mask.size if inside is None else int(np.count_nonzero(inside))
        chosen = np.flatnonzero(mask)
        parts = plane_parts(*(part.take(chosen) for part in channels))
        numerator, spread, largest = (part.astype(self._wide) for part in parts)
        hue, saturation = numerator * self._scales[0], spread * self._scales[1]
        cell = _reached(np.greater_equal, hue, self._lower, spread)
        cell *= self._shape[1]
        cell += _reached(np.greater, hue, self._upper, spread)
        cell *= self._shape[2]
        cell += _reached(np.greater_equal, saturation, self._floors, largest)
        self._cells += np.bincount(cell, minlength=self._cells.size)

    @property
    def green(self) -> NDArray[np.int64]:
        """Green pixels by each window: (windows,) int."""
        table = self._cells.reshape(self._shape)
        # A window takes what reaches its lower edge and floor, and does not pass its upper edge.
        for axis in (0, 2):
            table = np.flip(np.flip(table, axis).cumsum(axis), axis)
        table = table.cumsum(1)
        return np.array([table[i + 1, j, k + 1] for i, j, k in self._grid.places], dtype=np.int64)

    @property
    def covers(self) -> NDArray[np.float64]:
        """Green pixels in percent of the pixels looked at: (windows,) float."""
        return np.asarray(100 * self.green / self.pixels, dtype=np.float64)


def covers_over(
    path: str | os.PathLike[str], grid: WindowGrid, region: Region | None = None
) -> NDArray[np.float64]:
    """Score the green cover of one photograph by every window of a grid.

    Parameters
    ----------
    path : path
        A JPEG, HEIC, PNG or TIFF file, decoded at full size.
    grid : WindowGrid
        The windows.
    region : (4,) or (n, 2) float [1], optional
        The part to score, as for :func:`wintersward.photos.score_photo`.

    Returns
    -------
    (windows,) float [%]
        In the order of ``grid.windows``; each is the cover that
        :func:`wintersward.photos.score_photo` gives with that window, to the last digit.

    Raises
    ------
    WinterswardError
        The file is no whole colour photo, or the region is empty.
    """
    return tally_over(path, grid, region).covers


def tally_over(
    path: str | os.PathLike[str], grid: WindowGrid, region: Region | None = None
) -> GridTally:
    """Count one photograph; as :func:`covers_over`, but for the counts themselves."""
    photo = open_photo(path)
    size = upright_size(photo.stored, photo.turn)
    outline = outline_of(region, size)
    wide = outline.box[2] - outline.box[0]
    rows = max(1, _STRIP_PIXELS // wide)
    tally = GridTally(grid, rows * wide)
    for strip in strips(photo.stored, photo.turn, outline.box, rows):
        tally.add(strip, outline.inside(strip.top, len(strip.red)))
    if not tally.pixels:
        raise holds_nothing(region, size)
    return tally


def _whole(*lists: Sequence[float]) -> tuple[list[list[int]], int]:
    """Write limits as whole numbers of one common fraction, and tell which part of one it is."""
    exact = [[Fraction(str(limit)) for limit in limits] for limits in lists]
    parts = math.lcm(*(limit.denominator for limits in exact for limit in limits))
    return [[int(limit * parts) for limit in limits] for limits in exact], parts


def _reached(
    compare: np.ufunc, scaled: NDArray[Any], limits: Sequence[int], by: NDArray[Any]
) -> NDArray[np.intp]:
    """Count for each pixel the limits that it reaches, or passes."""
    found = np.zeros(scaled.size, dtype=np.uint8)
    for limit in limits:
        found += compare(scaled, by * by.dtype.type(limit))
    return found.astype(np.intp)
