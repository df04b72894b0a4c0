"""How good a photograph is: blur, exposure, damage. What is found becomes a flag, never a cut.

Notes
-----
The limits were set on painted turf photographs whose true cover is known (640 by 480 pixels,
cover 0 to 100 %, JPEG), sharp, blurred and exposed on purpose:

- Blur. Sharp turf measured 0.34 to 0.49 and sharp bare soil 0.17 to 0.18, well lit or three stops
  too dark. Out of focus by a Gaussian radius of 1 px, turf measured 0.16 to 0.25; by 2 px 0.06 to
  0.12; by 3 to 4 px 0.02 to 0.04 well lit and 0.04 to 0.15 three stops too dark; shaken by 9 px
  or more in one direction 0.03 to 0.11. The limit of 0.15 parts 1 px from 2 px: from there on the
  cover drifts by a point or two.
- Overexposure. Straw whose red is cut off at full brightness takes on a green hue. With 2 % of the
  pixels at full brightness the cover came out about 1 point higher, with 5 % 2 to 4 points, with
  15 % 11 points.
- Underexposure. With up to 20 % of the pixels nearly black the cover moved by about 2 points at
  most; with 50 to 65 % by up to 5.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image

__all__ = [
    "BLUR_LIMIT",
    "DARK_LIMIT",
    "FEWEST_PIXELS",
    "FLAT_LIMIT",
    "OVER_LIMIT",
    "flat_share",
    "quality_flags",
    "sharpness",
]

BLUR_LIMIT = 0.15
"""Least sharpness [1] of a picture that is not flagged."""

OVER_LIMIT = 2.0
"""Largest share [%] of pixels at full brightness (254 or 255) that is not flagged."""

DARK_LIMIT = 20.0
"""Largest share [%] of nearly black pixels (brightest channel at most 15) that is not flagged."""

FLAT_LIMIT = 2.0
"""Largest share [%] of rows or columns in one plain colour that is not flagged."""

FEWEST_PIXELS = 10_000
"""Smallest picture [pixels] that is not flagged."""

_FULL_FROM = 254
_BLACK_TO = 15
_LOOKED_AT_PX = 640
_STEPS = (1, 2, 4, 8)
# Of unit white noise the finest band holds 3/8, the next 7/64.
_NOISE_LEAK = (7 / 64) / (3 / 8)


def quality_flags(image: Image.Image, brightness_counts: NDArray[np.floating]) -> list[str]:
    """Say in words what makes a photograph's score doubtful.

    Parameters
    ----------
    image : PIL.Image.Image
        The part of the picture that is scored, RGB.
    brightness_counts : (256,) float
        How many of its pixels have each brightness (largest channel), 0 to 255.

    Returns
    -------
    list of str
        One text a finding, with the number and its limit; empty for a good photo.
    """
    flags: list[str] = []
    pixels = float(brightness_counts.sum())
    if pixels < FEWEST_PIXELS:
        flags.append(f"small: {pixels:.0f} pixels, limit {FEWEST_PIXELS}")
    grey = _grey(image)
    flat = flat_share(grey)
    if flat > FLAT_LIMIT:
        flags.append(
            f"flat: {flat:.0f} % of the rows or columns are one plain colour, "
            f"limit {FLAT_LIMIT:.0f} %; is the file damaged or framed?"
        )
    sharp = sharpness(grey)
    if sharp is not None and sharp < BLUR_LIMIT:
        flags.append(f"blurred: {sharp:.2f}, limit {BLUR_LIMIT:.2f}")
    over = 100 * float(brightness_counts[_FULL_FROM:].sum()) / pixels
    if over > OVER_LIMIT:
        flags.append(f"overexposed: {over:.0f} % at full brightness, limit {OVER_LIMIT:.0f} %")
    dark = 100 * float(brightness_counts[: _BLACK_TO + 1].sum()) / pixels
    if dark > DARK_LIMIT:
        flags.append(f"underexposed: {dark:.0f} % nearly black, limit {DARK_LIMIT:.0f} %")
    return flags


def sharpness(grey: NDArray[np.float32]) -> float | None:
    """Measure how much fine detail a picture has beside its coarser detail.

    Parameters
    ----------
    grey : (rows, columns) float [0 to 255]
        Grey picture, about 640 pixels long.

    Returns
    -------
    float or None [1]
        Energy of the detail about 4 to 8 pixels across, over that about 16 to 32 pixels across,
        in the direction that has less; None where the picture is too small or has no detail.

    Notes
    -----
    Smoothing with the weights 1 2 1 at distances of 1, 2, 4 and 8 pixels, and differences between
    one smoothing and the next, split the detail by size. Both energies grow alike with light, so
    a dark photo is not taken for a blurred one. Sensor noise looks like detail: what the finest
    band holds is taken to be noise, and the share of it that would fall into the fine band is
    taken off. Rows and columns are looked at apart, because a shaken hand blurs in one direction.

    References
    ----------
    The splitting is the "a trous" wavelet with a triangle kernel: Shensa MJ (1992) IEEE
    Transactions on Signal Processing 40:2464-2482. doi:10.1109/78.157290 (from memory).
    """
    if min(grey.shape) <= 2 * sum(_STEPS):
        return None
    ratios = []
    for along in (grey, grey.T):
        finest, fine, _, coarse = _energies(along)
        if coarse > 0:
            ratios.append(max(0.0, fine - _NOISE_LEAK * finest) / coarse)
    return min(ratios) if ratios else None


def flat_share(grey: NDArray[np.float32]) -> float:
    """Tell how much of a picture is plain, as a decoder leaves what it could not read.

    Parameters
    ----------
    grey : (rows, columns) float
        Grey picture.

    Returns
    -------
    float [%]
        Rows, or columns if those are more, that hold one value throughout.
    """
    return max(100 * float((np.ptp(grey, axis=axis) == 0).mean()) for axis in (0, 1))


def _grey(image: Image.Image) -> NDArray[np.float32]:
    """Grey picture about 640 pixels long: detail finer than that says nothing of the focus."""
    factor = max(1, round(max(image.size) / _LOOKED_AT_PX))
    rgb = np.asarray(image.reduce(factor), dtype=np.float32)
    return 0.299 * rgb[..., 0] + 0.587 * rgb[..., 1] + 0.114 * rgb[..., 2]


def _energies(grey: NDArray[np.float32]) -> list[float]:
    """Mean square of the detail along the first axis, from the finest band to the coarsest."""
    energies = []
    for step in _STEPS:
        inner = grey[step:-step]
        smooth = 0.25 * grey[: -2 * step] + 0.5 * inner + 0.25 * grey[2 * step :]
        energies.append(float(np.mean(np.square(inner - smooth), dtype=np.float64)))
        grey = smooth
    return energies
