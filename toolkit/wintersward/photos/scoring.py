"""The score of one photograph: green cover, colour of the green, and what to be wary of."""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from wintersward.errors import Problem, WinterswardError
from wintersward.photos.colour import (
    GREEN,
    ColourParts,
    GreenWindow,
    colour_index,
    colour_parts,
    parts_are_green,
)
from wintersward.photos.decoding import file_hash, open_photo
from wintersward.photos.quality import quality_flags

__all__ = ["FEWEST_GREEN_PIXELS", "SCORING_VERSION", "PhotoScore", "Region", "score_photo"]

SCORING_VERSION = 1
"""Raised whenever a photo may score differently than before; stored scores are then redone."""

FEWEST_GREEN_PIXELS = 100
"""Fewest green pixels from which a colour is given; fewer are specks and noise."""

Region = tuple[float, float, float, float]

_STRIP_PIXELS = 1_000_000


@dataclass(frozen=True)
class PhotoScore:
    """What one photograph shows.

    Parameters
    ----------
    cover : float [%]
        Green pixels in percent of the pixels scored.
    colour_index : float or None [1]
        Dark green colour index of the mean hue, saturation and brightness of the green pixels.
    hue : float or None [degrees]
        Mean hue of the green pixels.
    saturation, brightness : float or None [1]
        Means over the green pixels, 0 to 1.
    pixels : int
        Pixels scored.
    green_pixels : int
        Pixels that are green; with fewer than ``FEWEST_GREEN_PIXELS`` the four colour values
        are None and a flag states the count.
    flags : tuple of str
        What to be wary of. A flag drops nothing.
    sha256 : str
        Of the file's bytes.
    taken : str or None
        When the camera took it, ISO 8601; None where the file does not say.
    """

    cover: float
    colour_index: float | None
    hue: float | None
    saturation: float | None
    brightness: float | None
    pixels: int
    green_pixels: int
    flags: tuple[str, ...]
    sha256: str
    taken: str | None


def score_photo(
    path: str | os.PathLike[str],
    window: GreenWindow = GREEN,
    region: Region | None = None,
) -> PhotoScore:
    """Score one photograph.

    Parameters
    ----------
    path : path
        A JPEG, PNG or TIFF file. It is turned upright as the camera noted, and decoded at full
        size; shrinking it first would mix the colours of neighbouring blades.
    window : GreenWindow
        What counts as green.
    region : (4,) float [1], optional
        Left, top, right and bottom of the part to score, as fractions of the upright picture;
        the whole picture when left out.

    Returns
    -------
    PhotoScore
        The score with its flags.

    Raises
    ------
    WinterswardError
        The file is no whole colour photo, holds no colour at all, or the region is empty.

    Notes
    -----
    Counts and sums are kept in whole numbers, so the order of the pixels, and with it the way
    the camera was held, cannot change a digit of the score. Mean hue is the plain mean: the
    window never runs through red.
    """
    photo = open_photo(path)
    image = photo.image if region is None else photo.image.crop(_box(region, photo.image.size))
    tally = _Tally()
    for rgb in _strips(image):
        tally.add(colour_parts(rgb), window)
    if not tally.coloured:
        raise WinterswardError(
            Problem(
                Path(path).as_posix(),
                found="a picture without any colour (all grey, black or white)",
                allowed="a photo in colour",
                hint="take it again, or leave it out",
            )
        )
    flags = [*quality_flags(image, tally.brightness_counts), *photo.notes]
    green = int(tally.green)
    colour: tuple[float, float, float] | None = None
    if green >= FEWEST_GREEN_PIXELS:
        colour = tally.mean_colour()
    else:
        flags.append(
            f"colour not given: {green} green pixels, at least {FEWEST_GREEN_PIXELS} needed"
        )
    return PhotoScore(
        cover=100 * green / tally.pixels,
        colour_index=colour_index(*colour) if colour else None,
        hue=colour[0] if colour else None,
        saturation=colour[1] if colour else None,
        brightness=colour[2] if colour else None,
        pixels=tally.pixels,
        green_pixels=green,
        flags=tuple(flags),
        sha256=file_hash(path),
        taken=photo.taken,
    )


def _zeros() -> NDArray[np.float64]:
    return np.zeros(256)


@dataclass
class _Tally:
    """Running sums over strips; every number in it is whole, so adding is exact."""

    pixels: int = 0
    green: int = 0
    coloured: bool = False
    brightness_counts: NDArray[np.float64] = field(default_factory=_zeros)
    green_brightness: NDArray[np.float64] = field(default_factory=_zeros)
    numerator_by_spread: NDArray[np.float64] = field(default_factory=_zeros)
    spread_by_largest: NDArray[np.float64] = field(default_factory=_zeros)

    def add(self, parts: ColourParts, window: GreenWindow) -> None:
        """Count one strip."""
        mask = parts_are_green(parts, window)
        numerator, spread, largest = (part[mask] for part in parts)
        self.pixels += mask.size
        self.green += numerator.size
        self.coloured = self.coloured or bool(parts.spread.any())
        self.brightness_counts += np.bincount(parts.largest.ravel(), minlength=256)
        self.green_brightness += np.bincount(largest, minlength=256)
        self.numerator_by_spread += np.bincount(spread, weights=numerator, minlength=256)
        self.spread_by_largest += np.bincount(largest, weights=spread, minlength=256)

    def mean_colour(self) -> tuple[float, float, float]:
        """Mean hue [degrees], saturation and brightness [1] of the green pixels."""
        levels = np.arange(1, 256)
        hue = math.fsum(60 * self.numerator_by_spread[1:] / levels)
        saturation = math.fsum(self.spread_by_largest[1:] / levels)
        brightness = math.fsum(self.green_brightness[1:] * levels) / 255
        return hue / self.green, saturation / self.green, brightness / self.green


def _strips(image: Image.Image) -> Iterator[NDArray[np.uint8]]:
    """Give the picture in bands of rows, so that the arrays stay small."""
    rows = max(1, _STRIP_PIXELS // image.width)
    for top in range(0, image.height, rows):
        band = image.crop((0, top, image.width, min(top + rows, image.height)))
        yield np.asarray(band, dtype=np.uint8)


def _box(region: Region, size: tuple[int, int]) -> tuple[int, int, int, int]:
    """Turn fractions into whole pixels."""
    left, top, right, bottom = region
    if not (0 <= left < right <= 1 and 0 <= top < bottom <= 1):
        raise WinterswardError(
            f"the region is {region}; allowed: left, top, right, bottom as fractions from 0 to 1, "
            "left below right and top below bottom"
        )
    width, height = size
    box = (
        round(left * width),
        round(top * height),
        round(right * width),
        round(bottom * height),
    )
    if box[0] == box[2] or box[1] == box[3]:
        raise WinterswardError(
            f"the region {region} holds no pixel of a picture of {width} by {height}; widen it"
        )
    return box
