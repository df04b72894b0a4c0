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
- Shadow. Without one the brighter part of the green was up to 1.24 times as bright as the darker
  one, at any cover, vigour and patchiness. Shadows that left 55 % of the stored brightness gave
  1.6 to 1.8, those that left 40 % 2.2 to 2.4. The limit of 1.5 lies between.
- Snow. No painted photo had a white pixel to speak of; the limit is common sense, no source.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wintersward.photos.colour import GREEN, GreenWindow
from wintersward.photos.green_rule import GreenRule

__all__ = [
    "BLUR_LIMIT",
    "DARK_LIMIT",
    "FEWEST_PIXELS",
    "FLAT_LIMIT",
    "OVER_LIMIT",
    "SHADOW_LIMIT",
    "SNOW_LIMIT",
    "Exposure",
    "flat_share",
    "grey_of",
    "lit_ratio",
    "quality_flags",
    "sharpness",
    "snow_share",
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

SHADOW_LIMIT = 1.5
"""Largest ratio [1] of the brightness of the brighter to the darker part that is not flagged."""

SNOW_LIMIT = 5.0
"""Largest share [%] of white pixels that is not flagged."""

_PARTS = 16  # cells along the longer side in which the light is compared
_LEAST_GREEN = 0.05
_LEAST_PART = 0.1
_LEAST_KNOWN = 0.25
_WHITE_FROM = 170
_WHITE_SPREAD = 0.15
_STEPS = (1, 2, 4, 8)
_SLAB_PX = 128  # looked at together, so that it stays in the processor's own memory
# Of unit white noise the finest band holds 3/8, the next 7/64.
_NOISE_LEAK = (7 / 64) / (3 / 8)


class Exposure(NamedTuple):
    """How many pixels of a photo are at the ends of the scale.

    Parameters
    ----------
    pixels : int
        Pixels scored.
    lit : int
        Those whose light was read.
    bright, dark : int
        Of these, fully bright (largest channel 254 or 255) and nearly black (at most 15).
    """

    pixels: int
    lit: int
    bright: int
    dark: int


def quality_flags(
    planes: NDArray[np.float32],
    grey: NDArray[np.float32],
    exposure: Exposure,
    window: GreenWindow = GREEN,
) -> list[str]:
    """Say in words what makes a photograph's score doubtful.

    Parameters
    ----------
    planes : (3, rows, columns) float [0 to 255]
        Copy of the part that is scored, about 640 pixels long: finer detail says nothing of the
        focus.
    grey : (rows, columns) float [0 to 255]
        The same in grey, from :func:`grey_of`.
    exposure : Exposure
        Counted in the photo itself.
    window : GreenWindow
        What counts as green.

    Returns
    -------
    list of str
        One text a finding, with the number and its limit; empty for a good photo.
    """
    flags: list[str] = []
    pixels = exposure.pixels
    if pixels < FEWEST_PIXELS:
        flags.append(f"small: {pixels} pixels, limit {FEWEST_PIXELS}")
    flat = flat_share(grey)
    if flat > FLAT_LIMIT:
        flags.append(
            f"flat: {flat:.0f} % of the rows or columns are one plain colour, "
            f"limit {FLAT_LIMIT:.0f} %; is the file damaged or framed?"
        )
    sharp = sharpness(grey)
    if sharp is not None and sharp < BLUR_LIMIT:
        flags.append(f"blurred: {sharp:.2f}, limit {BLUR_LIMIT:.2f}")
    lit = max(1, exposure.lit)
    over = 100 * exposure.bright / lit
    if over > OVER_LIMIT:
        flags.append(f"overexposed: {over:.0f} % at full brightness, limit {OVER_LIMIT:.0f} %")
    dark = 100 * exposure.dark / lit
    if dark > DARK_LIMIT:
        flags.append(f"underexposed: {dark:.0f} % nearly black, limit {DARK_LIMIT:.0f} %")
    coarse = np.ascontiguousarray(planes[:, ::2, ::2])
    ratio = lit_ratio(coarse, window)
    if ratio is not None and ratio > SHADOW_LIMIT:
        flags.append(
            f"shadow: green in one part is {ratio:.1f} times as bright as in the other, "
            f"limit {SHADOW_LIMIT:.1f}"
        )
    snow = snow_share(coarse)
    if snow > SNOW_LIMIT:
        flags.append(f"snow: {snow:.0f} % white, limit {SNOW_LIMIT:.0f} %; snow, frost or paint?")
    return flags


def lit_ratio(planes: NDArray[np.float32], window: GreenWindow = GREEN) -> float | None:
    """Compare the light on two parts of a picture, as a shadow across it parts them.

    Parameters
    ----------
    planes : (3, rows, columns) float [0 to 255]
        Picture, about 320 pixels long.
    window : GreenWindow
        What counts as green.

    Returns
    -------
    float or None [1]
        How many times as bright the brighter part is, by the geometric means; None where fewer
        than a quarter of the cells are 5 % green, or one part has less than a tenth of all.

    Notes
    -----
    Only green pixels are compared, since soil and straw differ in brightness by themselves. The
    picture is laid out in cells, 16 along the longer side; the mean brightness (largest channel)
    of the green pixels in each is parted in two where that explains most of its variance.

    References
    ----------
    Otsu N (1979) IEEE Transactions on Systems, Man, and Cybernetics 9:62-66.
    doi:10.1109/TSMC.1979.4310076 (from memory).
    """
    from skimage.filters import threshold_otsu

    high, wide = planes.shape[1:]
    side = max(high, wide) // _PARTS
    rows, columns = (0, 0) if side < 1 else (high // side, wide // side)
    if rows * columns < _PARTS:
        return None
    colours = np.rint(planes).astype(np.uint8).reshape(3, -1)
    green = GreenRule(window, high * wide).mask(*colours).reshape(high, wide)
    light = np.where(green, planes.max(axis=0), 0)
    starts = [side * np.arange(count) for count in (rows, columns)]
    counts, sums = (
        np.add.reduceat(
            np.add.reduceat(part[: rows * side, : columns * side], starts[0], axis=0, dtype=float),
            starts[1],
            axis=1,
        )
        for part in (green, light)
    )
    known = counts >= _LEAST_GREEN * side**2
    if known.sum() < _LEAST_KNOWN * counts.size:
        return None
    bright = np.log(np.maximum(sums[known] / counts[known], 1))
    if np.ptp(bright) == 0:
        return None
    lit = bright > threshold_otsu(bright, nbins=64)
    if min(lit.sum(), (~lit).sum()) < _LEAST_PART * counts.size:
        return None
    return float(np.exp(bright[lit].mean() - bright[~lit].mean()))


def snow_share(planes: NDArray[np.float32]) -> float:
    """Tell how much of a picture is white.

    Parameters
    ----------
    planes : (3, rows, columns) float [0 to 255]
        Picture.

    Returns
    -------
    float [%]
        Pixels whose channels are all 170 or more and differ by at most 15 % of the largest.
    """
    least, most = planes.min(axis=0), planes.max(axis=0)
    white = (least >= _WHITE_FROM) & (most - least <= _WHITE_SPREAD * most)
    return 100 * float(white.mean())


def grey_of(planes: NDArray[np.float32]) -> NDArray[np.float32]:
    """Weigh red, green and blue as the eye does.

    Parameters
    ----------
    planes : (3, rows, columns) float [0 to 255]
        Picture.

    Returns
    -------
    (rows, columns) float [0 to 255]
        Luma.

    References
    ----------
    Weights of ITU-R Recommendation BT.601.
    """
    return 0.299 * planes[0] + 0.587 * planes[1] + 0.114 * planes[2]


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


def _energies(grey: NDArray[np.float32]) -> list[float]:
    """Mean square of the detail along the first axis, from the finest band to the coarsest."""
    sums = [0.0] * len(_STEPS)
    for left in range(0, grey.shape[1], _SLAB_PX):
        smooth = grey[:, left : left + _SLAB_PX].copy()
        spare = [np.empty_like(smooth) for _ in range(2)]
        # A smoothing is left four times as large as it is: the sum of its weights is 4.
        scale = 1
        for number, step in enumerate(_STEPS):
            inner = smooth[step:-step]
            smoother, detail = (part[: len(inner)] for part in spare)
            np.add(smooth[: -2 * step], smooth[2 * step :], out=smoother)
            np.add(inner, inner, out=inner)
            np.subtract(inner, smoother, out=detail)
            np.add(inner, smoother, out=smoother)
            np.square(detail, out=detail)
            scale *= 16
            sums[number] += float(detail.sum(axis=0).sum(dtype=np.float64)) / scale
            spare[0], smooth = smooth[: len(inner)], smoother
    lengths = grey.shape[0] - 2 * np.cumsum(_STEPS)
    return [total / (int(long) * grey.shape[1]) for total, long in zip(sums, lengths, strict=True)]
