"""Which colours count as living green, decided exactly, and the dark green colour index.

Notes
-----
With M the largest and m the smallest of red, green and blue (0 to 255) and D = M - m:

- brightness B = M / 255, saturation S = D / M;
- hue H = 60 n / D degrees, where n = G - B (plus 6 D when negative) if red is largest,
  B - R + 2 D if green is largest, R - G + 4 D if blue is largest. Where two channels are
  equally large, both forms give the same hue.

Grey (D = 0), black and white among them, has no hue and is never green. All comparisons are
made between whole numbers (:mod:`wintersward.photos.green_rule`), so a colour that lies exactly
on a limit is always inside.

References
----------
Smith AR (1978) Color gamut transform pairs. Computer Graphics 12(3):12-19.
doi:10.1145/965139.807361.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintersward.errors import WinterswardError
from wintersward.photos.green_rule import GreenRule

__all__ = [
    "GREEN",
    "ColourParts",
    "GreenWindow",
    "colour_index",
    "colour_parts",
    "green_mask",
    "hsb",
    "plane_parts",
]

_FULL = {"hue": 360, "saturation": 1, "value": 1}
_MOST_DECIMALS = 9
_AT_A_TIME = 65_536


def _fraction(value: Any) -> Fraction | None:
    """Read a limit as the decimal it was written as; nothing where it is no such number."""
    if isinstance(value, bool):
        return None
    try:
        exact = Fraction(str(value))
    except (ValueError, ZeroDivisionError):
        return None
    return exact if (exact * 10**_MOST_DECIMALS).denominator == 1 else None


def _refusal(name: str, limits: object, rule: str) -> str:
    return f"the {name} range of the green window is {limits!r}; allowed: {rule}"


@dataclass(frozen=True)
class GreenWindow:
    """The range of colours that counts as living green; every limit is itself inside.

    Parameters
    ----------
    hue : (2,) float [degrees]
        Lowest and highest hue, within 0 to 360; the lowest may not exceed the highest.
    saturation : (2,) float [1]
        Lowest and highest saturation, within 0 to 1.
    value : (2,) float [1]
        Lowest and highest brightness, within 0 to 1.

    Raises
    ------
    WinterswardError
        A limit is not a number, lies outside its range, has more than nine decimals, or the
        first limit is above the second. A hue range through red (350 to 20) is refused: no turf
        needs one, and two limits written the wrong way round would be taken for it.

    Notes
    -----
    A limit means the decimal as written: 0.1 is one tenth, not the nearest binary number.

    Examples
    --------
    >>> GreenWindow(hue=(60, 150)).hue
    (60, 150)
    """

    hue: tuple[float, float] = (50, 170)
    saturation: tuple[float, float] = (0, 1)
    value: tuple[float, float] = (0, 1)

    def __post_init__(self) -> None:
        problems: list[str] = []
        for name, top in _FULL.items():
            limits = getattr(self, name)
            try:
                low, high = limits
            except (TypeError, ValueError):
                problems.append(_refusal(name, limits, f"two numbers from 0 to {top}"))
                continue
            exact = [_fraction(low), _fraction(high)]
            if any(part is None or not 0 <= part <= top for part in exact):
                rule = f"two numbers from 0 to {top} with at most {_MOST_DECIMALS} decimals"
                problems.append(_refusal(name, limits, rule))
            elif exact[0] > exact[1]:  # type: ignore[operator]
                problems.append(_refusal(name, limits, "the lower limit first"))
            object.__setattr__(self, name, (low, high))
        if problems:
            raise WinterswardError(problems)

    def exact(self, name: str) -> tuple[Fraction, Fraction]:
        """Both limits of ``hue``, ``saturation`` or ``value`` as exact fractions.

        Parameters
        ----------
        name : str
            Which range.

        Returns
        -------
        tuple of Fraction
            Lower and upper limit, in the unit of the range.

        Examples
        --------
        >>> GreenWindow(saturation=(0.1, 1)).exact("saturation")
        (Fraction(1, 10), Fraction(1, 1))
        """
        low, high = getattr(self, name)
        return Fraction(str(low)), Fraction(str(high))

    def hash(self) -> str:
        """Name the window in twelve characters that stay the same on every computer.

        Returns
        -------
        str
            Hexadecimal digits; equal for 50 and 50.0.

        Examples
        --------
        >>> GreenWindow().hash() == GreenWindow(hue=(50.0, 170.0)).hash()
        True
        """
        text = ";".join(
            f"{name}:{low}:{high}" for name in _FULL for low, high in [self.exact(name)]
        )
        return hashlib.sha256(text.encode()).hexdigest()[:12]


GREEN = GreenWindow()


class ColourParts(NamedTuple):
    """Whole-number parts of hue, saturation and brightness, one of each a pixel (int16).

    Hue is 60 ``numerator`` / ``spread`` degrees, saturation ``spread`` / ``largest``, brightness
    ``largest`` / 255.
    """

    numerator: NDArray[np.int16]
    spread: NDArray[np.int16]
    largest: NDArray[np.int16]


def colour_parts(rgb: ArrayLike) -> ColourParts:
    """Take colours apart into whole numbers that lose nothing.

    Parameters
    ----------
    rgb : (..., 3) uint8
        Red, green, blue, 0 to 255.

    Returns
    -------
    ColourParts
        Three int16 arrays of shape (...).

    Raises
    ------
    WinterswardError
        The array is not uint8 or its last axis is not three long.
    """
    colours = _checked(rgb)
    return plane_parts(*(colours[..., channel] for channel in range(3)))


def plane_parts(
    red: NDArray[np.integer], green: NDArray[np.integer], blue: NDArray[np.integer]
) -> ColourParts:
    """Take colours apart that come as one array a channel.

    Parameters
    ----------
    red, green, blue : (...) int
        The channels, 0 to 255.

    Returns
    -------
    ColourParts
        Three int16 arrays of shape (...).
    """
    r, g, b = (part.astype(np.int16) for part in (red, green, blue))
    largest = np.maximum(np.maximum(r, g), b)
    spread = largest - np.minimum(np.minimum(r, g), b)
    numerator = np.asarray(r - g + 4 * spread)
    np.copyto(numerator, b - r + 2 * spread, where=largest == g)
    np.copyto(numerator, g - b, where=largest == r)
    np.add(numerator, 6 * spread, out=numerator, where=numerator < 0)
    return ColourParts(numerator, spread, largest)


def _checked(rgb: ArrayLike) -> NDArray[np.uint8]:
    """Give colours as an array, or say what they are instead."""
    colours = np.asarray(rgb)
    if colours.dtype != np.uint8 or colours.ndim < 1 or colours.shape[-1] != 3:
        raise WinterswardError(
            f"colours are {colours.dtype} of shape {colours.shape}; allowed: uint8 of shape "
            "(..., 3), red, green and blue from 0 to 255"
        )
    return colours


def green_mask(rgb: ArrayLike, window: GreenWindow = GREEN) -> NDArray[np.bool_]:
    """Say of every colour whether it counts as living green, by an exact rule.

    Parameters
    ----------
    rgb : (..., 3) uint8
        Red, green, blue, 0 to 255.
    window : GreenWindow
        What counts as green.

    Returns
    -------
    (...) bool
        True where the colour is green.

    Raises
    ------
    WinterswardError
        The array is not uint8 or its last axis is not three long.

    Notes
    -----
    Hue, saturation and brightness are ratios of whole numbers. Each is compared with its limits
    by multiplying out, in integers wide enough for the products: no rounding takes part.

    Examples
    --------
    >>> import numpy as np
    >>> green_mask(np.array([[60, 90, 40], [98, 78, 58], [90, 90, 90]], dtype=np.uint8)).tolist()
    [True, False, False]
    """
    colours = _checked(rgb)
    flat = colours.reshape(-1, 3)
    inside = np.empty(len(flat), dtype=np.bool_)
    rule = GreenRule(window, min(len(flat), _AT_A_TIME))
    for first in range(0, len(flat), _AT_A_TIME):
        part = flat[first : first + _AT_A_TIME]
        red, green, blue = (np.ascontiguousarray(part[:, channel]) for channel in range(3))
        inside[first : first + _AT_A_TIME] = rule.mask(red, green, blue)
    return inside.reshape(colours.shape[:-1])


def hsb(rgb: ArrayLike) -> NDArray[np.float64]:
    """Hue, saturation and brightness of colours, for showing and averaging.

    Parameters
    ----------
    rgb : (..., 3) uint8
        Red, green, blue, 0 to 255.

    Returns
    -------
    (..., 3) float
        Hue [degrees], saturation [1], brightness [1]; hue is NaN for grey, saturation 0 for
        black.

    Examples
    --------
    >>> import numpy as np
    >>> hsb(np.array([34, 85, 34], dtype=np.uint8)).round(4).tolist()
    [120.0, 0.6, 0.3333]
    """
    numerator, spread, largest = colour_parts(rgb)
    hue = np.full(spread.shape, np.nan)
    np.divide(60.0 * numerator, spread, out=hue, where=spread > 0)
    saturation = np.zeros(spread.shape)
    np.divide(spread, largest, out=saturation, where=largest > 0)
    return np.stack([hue, saturation, largest / 255.0], axis=-1)


def colour_index(hue: float, saturation: float, brightness: float) -> float:
    """Dark green colour index: one number for how dark green turf looks.

    Parameters
    ----------
    hue : float [degrees]
        Mean hue of the green pixels.
    saturation, brightness : float [1]
        Means over the same pixels, 0 to 1.

    Returns
    -------
    float [1]
        About 0.3 for light yellow-green to 0.7 for dark green.

    Notes
    -----
    ((H - 60) / 60 + (1 - S) + (1 - B)) / 3. It is linear in H, S and B: the index of their means
    is the mean of the pixels' indices. It is not the index of the colour whose red, green and
    blue are the means. The first term is below 0 for hues under 60 degrees and above 1 over 120;
    it is not cut off there, so that the index keeps rising and falling with the hue.

    References
    ----------
    Karcher DE, Richardson MD (2003) Crop Science 43:943-951. doi:10.2135/cropsci2003.9430.

    Examples
    --------
    >>> round(colour_index(120, 0.6, 1 / 3), 4)
    0.6889
    """
    return ((hue - 60) / 60 + (1 - saturation) + (1 - brightness)) / 3
