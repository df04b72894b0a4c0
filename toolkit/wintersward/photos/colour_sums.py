"""Sums over the colours of green pixels; all of them whole, so that no order can change them.

Notes
-----
Ratios are summed in whole steps: hue and saturation in steps of 2^-46, the index in steps of
2^-20. No step is counted out by multiplying and rounding. A double has 53 bits, so that next to
96 the numbers it can hold lie 2^-46 apart, and next to 1.5 2^32 they lie 2^-20 apart: adding such
a number rounds a ratio to a step, to the even one where it lies between two, and the bits of the
sum, read as a whole number, count the steps.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from wintersward.photos.aligned import aligned

__all__ = ["Colour", "ColourSums"]

_FINE = 96.0
_FINE_STEPS = 2**46
_COARSE = 1.5 * 2.0**32
_COARSE_STEPS = 2**20

# Sixths of the circle, below 6, then sum to less than 2^64 steps.
_BATCH = 32_768


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


class ColourSums:
    """Sums over colours that are not grey, in memory that is reused.

    Attributes
    ----------
    count : int
        Colours added.
    """

    def __init__(self) -> None:
        self.count = 0
        # Of hue / 60 and saturation, of brightness in 255ths, of the index (thrice) and its square.
        self._sums = [0] * 5
        self._parts = aligned(4, _BATCH, np.int16)
        self._where = aligned(1, _BATCH, np.bool_)[0]
        self._ratios = aligned(4, _BATCH, np.float64)

    def add(self, red: NDArray[Any], green: NDArray[Any], blue: NDArray[Any]) -> None:
        """Add colours.

        Parameters
        ----------
        red, green, blue : (n,) int16
            Channels, 0 to 255, of colours that are not grey.
        """
        self.count += red.size
        for first in range(0, red.size, _BATCH):
            batch = slice(first, first + _BATCH)
            self._sum(*self._taken_apart(red[batch], green[batch], blue[batch]))

    def colour(self) -> Colour:
        """Means and spread of the colours; at least two must have been added."""
        count = self.count
        hue, saturation, brightness, index, squares = self._sums
        varied = Fraction(count * squares - index * index, count * (count - 1))
        return Colour(
            hue=float(Fraction(60 * hue, count * _FINE_STEPS)),
            saturation=float(Fraction(saturation, count * _FINE_STEPS)),
            brightness=float(Fraction(brightness, count * 255)),
            index_sd=math.sqrt(varied) / (3 * _COARSE_STEPS),
        )

    def _taken_apart(
        self, red: NDArray[Any], green: NDArray[Any], blue: NDArray[Any]
    ) -> list[NDArray[Any]]:
        """Numerator of the hue, spread and largest channel, as in :mod:`wintersward.photos.colour`.

        Green is taken to be the largest; where it is not, the numerator is written over.
        """
        numerator, spread, largest, spare = parts = [part[: red.size] for part in self._parts]
        where = self._where[: red.size]
        np.maximum(red, green, out=largest)
        blue_is_largest = np.less(largest, blue, out=where).any()
        np.maximum(largest, blue, out=largest)
        np.minimum(np.minimum(red, green, out=spread), blue, out=spread)
        np.subtract(largest, spread, out=spread)
        np.subtract(blue, red, out=numerator)
        numerator += spread
        numerator += spread
        if blue_is_largest:
            np.subtract(red, green, out=spare)
            for _ in range(4):
                spare += spread
            np.copyto(numerator, spare, where=where)
        np.subtract(green, blue, out=spare)
        np.copyto(numerator, spare, where=np.equal(largest, red, out=where))
        if np.less(numerator, 0, out=where).any():
            np.multiply(spread, 6, out=spare)
            np.add(numerator, spare, out=numerator, where=where)
        return parts[:3]

    def _sum(self, numerator: NDArray[Any], spread: NDArray[Any], largest: NDArray[Any]) -> None:
        hue, saturation, spreads, index = (part[: numerator.size] for part in self._ratios)
        for whole, place in ((numerator, hue), (spread, spreads), (largest, index)):
            np.copyto(place, whole)
        hue /= spreads
        np.divide(spreads, index, out=saturation)
        self._sums[2] += int(index.sum())
        index *= -1 / 255
        index += hue
        index -= saturation
        self._sums[0] += _steps(hue, _FINE)
        self._sums[1] += _steps(saturation, _FINE)
        index += _COARSE
        whole = index.view(np.int64)
        whole -= _bits(_COARSE)
        self._sums[3] += int(whole.sum())
        self._sums[4] += int(np.dot(whole, whole))


def _bits(number: float) -> int:
    """Read the bits of a double as a whole number."""
    return int(np.float64(number).view(np.int64))


def _steps(ratios: NDArray[np.float64], beside: float) -> int:
    """Sum ratios of 0 or more in steps, writing over them; the sum is below 2^64."""
    ratios += beside
    # Sums of whole numbers run over without a loss: they are kept up to multiples of 2^64.
    return (int(ratios.view(np.int64).sum()) - ratios.size * _bits(beside)) % 2**64
