"""Pictures by which a person checks a score: what counts as green, and what only just does."""

from __future__ import annotations

import os
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from wintersward.photos.colour import GREEN, GreenWindow, green_mask
from wintersward.photos.decoding import open_photo
from wintersward.photos.region import outline_of

__all__ = ["EDGE_DEGREES", "Overlay", "borderline_mask", "overlay"]

EDGE_DEGREES = 5
"""Farthest from an edge of the window that a hue counts as borderline [degrees]."""

_LONG_SIDE_PX = 1600
_HALF, _LEAST_SHOWN = 50, 0.1  # [%]
_LINE = (255, 255, 255)
_BLACK, _WHITE = (0, 0, 0), (255, 255, 255)
# Below this a black dot would not be seen.
_DARK_LUMA = 50


@dataclass(frozen=True)
class Overlay:
    """A photo with what counts as green outlined and what only just does or does not dotted.

    Parameters
    ----------
    image : PIL.Image.Image
        The photo, or the part of it that is shown, enlarged by a whole factor.
    window : GreenWindow
        What counts as green.
    green : float [%]
        Green pixels of those shown.
    inside, outside : float [%]
        Borderline pixels of those shown, that count as green and that do not.
    """

    image: Image.Image
    window: GreenWindow
    green: float
    inside: float
    outside: float

    @property
    def borderline(self) -> float:
        """Borderline pixels of those shown [%]."""
        return self.inside + self.outside

    @property
    def caption(self) -> str:
        """What each mark means, what the lines surround, and how much is borderline."""
        return f"{self._lines} {self._dots}"

    @property
    def _lines(self) -> str:
        said = "A white line parts what counts as green from what does not; all else is as the "
        said += "camera took it. "
        share = f"({self.green:.1f} %)"
        if self.green < _HALF:
            return said + f"Here less than half counts as green {share}: the rings lie round that."
        return said + (
            f"Here most counts as green {share}: the rings lie round what does not, such as brown "
            "stems and soil."
        )

    @property
    def _dots(self) -> str:
        low, high = self.window.hue
        where = (
            f"within {EDGE_DEGREES} degrees of an edge of the window, {low:g} to {high:g} degrees"
        )
        if not self.borderline:
            return f"No pixel shown is borderline: none has a hue {where}."
        dots = (
            "A dot stands on each borderline pixel, black, or white where the photo is dark: its "
        )
        dots += f"hue lies {where}. Borderline are "
        if self.borderline < _LEAST_SHOWN:
            return f"{dots}fewer than {_LEAST_SHOWN:g} % of the pixels shown."
        dots += f"{self.borderline:.1f} % of the pixels shown: {self.inside:.1f} % count as green, "
        return f"{dots}{self.outside:.1f} % do not."


def overlay(
    path: str | os.PathLike[str],
    window: GreenWindow = GREEN,
    part: tuple[float, float, float, float] | None = None,
    long_side_px: int = _LONG_SIDE_PX,
) -> Overlay:
    """Outline what counts as green, and mark the pixels near an edge of the window's hue.

    Parameters
    ----------
    path : path
        A photo.
    window : GreenWindow
        What counts as green.
    part : (4,) float [1], optional
        Left, top, right and bottom of the part that is shown, in shares of the upright photo;
        the whole photo when left out.
    long_side_px : int [px]
        The picture is enlarged by a whole factor so that its longer side is at least this.

    Returns
    -------
    Overlay
        The upright photo with a white line one pixel wide just outside every green area, and a
        dot on every borderline pixel (:func:`borderline_mask`). Lines and dots are told apart by
        their shape, in grey print too. The rest is as the camera took it. A dot leaves the rim
        of its pixel to be seen where the factor is two or more.

    Raises
    ------
    WinterswardError
        The file is no whole colour photo, or the part holds nothing.
    """
    image = open_photo(path).image
    if part is not None:
        image = image.crop(outline_of(part, image.size).box)
    pixels = np.asarray(image)
    green, near = green_mask(pixels, window), borderline_mask(pixels, window)
    factor = max(1, -(-long_side_px // max(image.size)))
    shown = _enlarged(pixels, factor)
    shown[_just_outside(_enlarged(green, factor))] = _LINE
    _dot(shown, near, pixels, factor)
    inside, outside = (100 * float(kind.mean()) for kind in (near & green, near & ~green))
    share = 100 * float(green.mean())
    return Overlay(Image.fromarray(shown), window, share, inside, outside)


def borderline_mask(
    rgb: NDArray[np.uint8], window: GreenWindow = GREEN, degrees: int = EDGE_DEGREES
) -> NDArray[np.bool_]:
    """Say of every colour whether a window with slightly other hues would judge it otherwise.

    Parameters
    ----------
    rgb : (..., 3) uint8
        Red, green, blue, 0 to 255.
    window : GreenWindow
        What counts as green.
    degrees : int [degrees]
        How far an edge of the hue may be moved, outwards or inwards.

    Returns
    -------
    (...) bool
        True where the window with both edges moved outwards holds the colour and the one with
        both moved inwards does not. Colours outside the limits of saturation or brightness are
        never borderline.

    Examples
    --------
    >>> import numpy as np
    >>> leaf, edge = (60, 90, 40), (98, 90, 40)  # hues 96 and 51.7 degrees
    >>> borderline_mask(np.array([leaf, edge], dtype=np.uint8)).tolist()
    [False, True]
    """
    low, high = window.exact("hue")
    outer = (max(low - degrees, Fraction(0)), min(high + degrees, Fraction(360)))
    wide = green_mask(rgb, _with_hue(window, *outer))
    if low + degrees > high - degrees:
        return wide
    return wide & ~green_mask(rgb, _with_hue(window, low + degrees, high - degrees))


def _with_hue(window: GreenWindow, low: Fraction, high: Fraction) -> GreenWindow:
    return GreenWindow((float(low), float(high)), window.saturation, window.value)


def _dot(
    shown: NDArray[np.uint8], near: NDArray[np.bool_], pixels: NDArray[np.uint8], factor: int
) -> None:
    """Put a dot into the middle of every enlarged pixel that is borderline."""
    size = max(1, factor - 2)
    first = (factor - size) // 2
    dark = pixels @ np.array([0.299, 0.587, 0.114]) < _DARK_LUMA
    for where, colour in ((near & ~dark, _BLACK), (near & dark, _WHITE)):
        for row in range(first, first + size):
            for column in range(first, first + size):
                shown[row::factor, column::factor][where] = colour


def _enlarged(pixels: NDArray[Any], factor: int) -> NDArray[Any]:
    return pixels.repeat(factor, axis=0).repeat(factor, axis=1)


def _just_outside(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Pixels that are not in the mask but touch it along an edge."""
    near = np.zeros_like(mask)
    near[1:] |= mask[:-1]
    near[:-1] |= mask[1:]
    near[:, 1:] |= mask[:, :-1]
    near[:, :-1] |= mask[:, 1:]
    return near & ~mask
