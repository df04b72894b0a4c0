"""The test for green as inequalities between whole numbers, quick enough for every pixel.

Notes
-----
With M the largest and m the smallest of red, green and blue, and D = M - m, a colour is green
when D > 0 and hue, saturation D / M and brightness M / 255 lie within their ranges.

The hue is decided without dividing. Seen along the grey axis, all colours of hue h lie on one
ray. The colours whose hue is at most 180 degrees further than h fill the half-plane

    (g - b) (G - R) + (r - g) (G - B) >= 0,

where (r, g, b) is any colour of hue h: the left side is the determinant of grey, (r, g, b) and
the colour. A range of hues is where two such half-planes meet, or both together where it is
wider than 180 degrees. A limit is a fraction, so that all numbers become whole when multiplied
by its denominator, and no rounding takes part.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from wintersward.photos.aligned import aligned

if TYPE_CHECKING:
    from wintersward.photos.colour import GreenWindow

__all__ = ["GreenRule"]

Plane = NDArray[np.integer]
Mask = NDArray[np.bool_]


class GreenRule:
    """Decides for up to a given number of pixels at a time, in memory that is reused.

    Parameters
    ----------
    window : GreenWindow
        What counts as green.
    pixels : int
        Most pixels of one call.
    """

    def __init__(self, window: GreenWindow, pixels: int) -> None:
        hue, saturation = window.exact("hue"), window.exact("saturation")
        self._sides = _half_planes(*hue)
        self._union = hue[1] - hue[0] >= 180
        self._wedge = 0 < hue[1] - hue[0] < 180
        # Red has the hue 0 and not 360, so a range that ends there does not hold it.
        self._without_red = hue[1] == 360 and hue[0] > 0
        self._saturation = _slopes(*saturation)
        self._brightness = _levels(*window.exact("value"))
        most = max((max(map(abs, pair)) for pair in self._sides + self._saturation), default=1)
        # |a (G - R) + b (G - B)| is at most 255 times the denominator, which is the largest of
        # |a|, |b| and |a + b|; the two products by themselves stay below that too.
        wide = next(t for t in (np.int16, np.int32, np.int64) if 510 * most <= np.iinfo(t).max)
        self._wide: Any = wide
        self._steps = aligned(2, pixels, np.int16)
        self._sums = aligned(3, pixels, wide)
        self._masks = aligned(2, pixels, np.bool_)

    def mask(self, red: Plane, green: Plane, blue: Plane) -> Mask:
        """Say of every pixel whether it is green.

        Parameters
        ----------
        red, green, blue : (n,) uint8 or int16
            The channels, 0 to 255, each in one piece.

        Returns
        -------
        (n,) bool
            Valid until the next call, which writes into the same memory.
        """
        from_red, from_blue = (part[: red.size] for part in self._steps)
        inside, spare = (part[: red.size] for part in self._masks)
        np.subtract(green, red, out=from_red, dtype=np.int16)
        np.subtract(green, blue, out=from_blue, dtype=np.int16)
        self._limit_hue(inside, from_red, from_blue)
        if self._without_red:
            inside &= ~((from_blue == 0) & (from_red < 0))
        if not self._wedge:
            np.bitwise_or(from_red, from_blue, out=from_red)
            inside &= np.not_equal(from_red, 0, out=spare)
        self._limit_light(inside, spare, (red, green, blue))
        return inside

    def _limit_hue(self, inside: Mask, from_red: NDArray[Any], from_blue: NDArray[Any]) -> None:
        """Say where the hue lies within its range."""
        if not self._sides:
            inside.fill(True)
            return
        joined, more, _ = (part[: inside.size] for part in self._sums)
        self._combine(self._sides[0], from_red, from_blue, joined)
        # A number is negative when its highest bit is set: "or" leaves that bit clear where no
        # sum is negative, "and" where not all are.
        join = np.bitwise_and if self._union else np.bitwise_or
        for side in self._sides[1:]:
            self._combine(side, from_red, from_blue, more)
            join(joined, more, out=joined)
        # Grey, where all three are equal, makes both sums of a wedge zero, and nothing else does.
        (np.greater if self._wedge else np.greater_equal)(joined, 0, out=inside)

    def _limit_light(self, inside: Mask, spare: Mask, channels: tuple[Plane, ...]) -> None:
        """Take out what lies outside the ranges of saturation and brightness."""
        low, high = self._brightness
        if (low, high) == (0, 255) and not self._saturation:
            return
        # The differences are not needed any more.
        most, spread = (part[: inside.size] for part in self._steps)
        red, green, blue = channels
        for extreme, place in ((np.maximum, most), (np.minimum, spread)):
            extreme(red, green, out=place, dtype=np.int16)
            extreme(place, blue, out=place, dtype=np.int16)
        np.subtract(most, spread, out=spread)
        for slope in self._saturation:
            self._combine(slope, spread, most, self._sums[0][: inside.size])
            inside &= np.greater_equal(self._sums[0][: inside.size], 0, out=spare)
        inside &= np.greater_equal(most, low, out=spare)
        inside &= np.less_equal(most, high, out=spare)

    def _combine(
        self, weights: tuple[int, int], first: NDArray[Any], second: NDArray[Any], out: NDArray[Any]
    ) -> None:
        """Put weights[0] first + weights[1] second into ``out``."""
        spare = self._sums[2][: out.size]
        if weights[0] in (1, -1):
            first, second, weights = second, first, weights[::-1]
        self._times(first, weights[0], out)
        if weights[1] == 1:
            np.add(out, second, out=out)
        elif weights[1] == -1:
            np.subtract(out, second, out=out)
        else:
            self._times(second, weights[1], spare)
            np.add(out, spare, out=out)

    def _times(self, part: NDArray[Any], weight: int, out: NDArray[Any]) -> None:
        if part.dtype == out.dtype and weight != 1:
            np.multiply(part, self._wide(weight), out=out)
            return
        np.copyto(out, part)
        if weight != 1:
            np.multiply(out, self._wide(weight), out=out)


def _ray(hue: Fraction) -> tuple[int, int, int]:
    """Give a colour of that hue [degrees] in whole numbers."""
    sector, part = divmod((hue % 360) / 60, 1)
    up, down, whole = part.numerator, part.denominator - part.numerator, part.denominator
    rays = (
        (whole, up, 0),
        (down, whole, 0),
        (0, whole, up),
        (0, down, whole),
        (up, 0, whole),
        (whole, 0, down),
    )
    return rays[int(sector)]


def _after(hue: Fraction) -> tuple[int, int]:
    """Weights of G - R and G - B for the half-plane of hues up to 180 degrees further."""
    red, green, blue = _ray(hue)
    return green - blue, red - green


def _half_planes(low: Fraction, high: Fraction) -> list[tuple[int, int]]:
    """Give the half-planes of a range of hues; none for the whole circle."""
    if low == 0 and high == 360:
        return []
    sides = [_after(low), _after(high - 180)]
    # Two opposite half-planes meet in a whole line; a third keeps the one ray of it.
    return [*sides, _after(low - 90)] if low == high else sides


def _slopes(low: Fraction, high: Fraction) -> list[tuple[int, int]]:
    """Weights of D and M for a range of saturation; none for the whole range."""
    if low == 0 and high == 1:
        return []
    return [(low.denominator, -low.numerator), (-high.denominator, high.numerator)]


def _levels(low: Fraction, high: Fraction) -> tuple[int, int]:
    """Lowest and highest brightness (0 to 255) inside the range."""
    return -(-255 * low.numerator // low.denominator), 255 * high.numerator // high.denominator
