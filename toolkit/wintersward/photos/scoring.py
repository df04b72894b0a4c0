"""The score of one photograph: green cover, its colour and spread, and what to be wary of."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from wintersward.errors import Problem, WinterswardError
from wintersward.photos.cell_spread import cover_se
from wintersward.photos.colour import GREEN, GreenWindow, colour_index
from wintersward.photos.colour_sums import Colour
from wintersward.photos.decoding import Photo, file_hash, open_photo
from wintersward.photos.likeness import likeness
from wintersward.photos.patches import cell_shares, largest_bare_patch, patchiness
from wintersward.photos.quality import Exposure, grey_of, quality_flags
from wintersward.photos.reduced import Reduced
from wintersward.photos.region import Outline, Region, holds_nothing, outline_of
from wintersward.photos.strips import strips, upright_size
from wintersward.photos.tally import COLOUR_PIXELS, Tally

__all__ = ["FEWEST_GREEN_PIXELS", "SCORING_VERSION", "PhotoScore", "score_file", "score_photo"]

SCORING_VERSION = 4
"""Raised whenever a photo may score differently than before; stored scores are then redone."""

FEWEST_GREEN_PIXELS = 100
"""Fewest green pixels from which a colour is given; fewer are specks and noise."""

_STRIP_PIXELS = 120_000


@dataclass(frozen=True)
class PhotoScore:
    """What one photograph shows.

    Parameters
    ----------
    cover : float [%]
        Green pixels in percent of the pixels scored.
    cover_se : float or None [points]
        Standard error of the cover as a sample of turf like that in the frame
        (:func:`wintersward.photos.cell_spread.cover_se`).
    colour_index : float or None [1]
        Dark green colour index of the mean hue, saturation and brightness of the green pixels.
        The index is linear in these, so it is also the mean of the pixels' indices; it is not the
        index of the mean red, green and blue.
    colour_index_sd : float or None [1]
        Standard deviation of the pixels' indices within the photo (divisor: pixels - 1).
    hue : float or None [degrees]
        Mean hue of the green pixels.
    saturation, brightness : float or None [1]
        Means over the green pixels, 0 to 1.
    patchiness : float or None [points]
        How much more the cover varies from part to part of the photo than by chance
        (:func:`wintersward.photos.patches.patchiness`).
    largest_bare_patch : float [%]
        Largest connected patch without green, in percent of the part scored
        (:func:`wintersward.photos.patches.largest_bare_patch`).
    clipped : float [%]
        Pixels at 0 or 255 in any channel, of those whose light was read: there the camera's scale
        ended.
    pixels : int
        Pixels scored.
    green_pixels : int
        Pixels that are green; with fewer than ``FEWEST_GREEN_PIXELS`` the five colour values
        are None and a flag states the count.
    flags : tuple of str
        What to be wary of. A flag drops nothing.
    sha256 : str
        Of the file's bytes.
    taken : str or None
        When the camera took it, ISO 8601; None where the file does not say.
    camera : str
        Maker and model; empty where the file does not say.
    exposure : float or None [EV]
        Exposure value at ISO 100 that the camera chose; None where the file does not say.
    white_balance : str
        ``automatic``, ``fixed``, or empty where the file does not say.
    likeness : str
        Hexadecimal digits that are nearly the same for copies of a picture, resized or saved
        anew (:func:`wintersward.photos.likeness.likeness`).
    """

    cover: float
    cover_se: float | None
    colour_index: float | None
    colour_index_sd: float | None
    hue: float | None
    saturation: float | None
    brightness: float | None
    patchiness: float | None
    largest_bare_patch: float
    clipped: float
    pixels: int
    green_pixels: int
    flags: tuple[str, ...]
    sha256: str
    taken: str | None
    camera: str
    exposure: float | None
    white_balance: str
    likeness: str


def score_photo(
    path: str | os.PathLike[str],
    window: GreenWindow = GREEN,
    region: Region | None = None,
) -> PhotoScore:
    """Score one photograph.

    Parameters
    ----------
    path : path
        A JPEG, HEIC, PNG or TIFF file. It is turned upright as the camera noted, and decoded at
        full size; shrinking it first would mix the colours of neighbouring blades.
    window : GreenWindow
        What counts as green.
    region : (4,) or (n, 2) float [1], optional
        The part to score, in shares of the width and height of the upright picture, from its
        upper left corner: left, top, right and bottom of a box, or the corners (x, y) of a
        polygon in order. A pixel belongs to a polygon when its centre lies inside. The whole
        picture when left out.

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
    window never runs through red. The cover counts every pixel. In photos of more than
    ``COLOUR_PIXELS`` pixels twice over, colour and light (what is clipped, fully bright or nearly
    black) are read in every second row, three times over in every third, and so on: more pixels
    of one blade tell nothing more of its colour. In 12 megapixels, read in every twelfth row, the
    mean hue came out within 0.01 degrees and the colour index within 0.0001 of those of twice as
    many rows. Blur, shadow, snow and patches are looked at in a copy of about 640 pixels, of a
    polygon in the box around it.
    """
    return score_file(path, file_hash(path), window, region)


def score_file(
    path: str | os.PathLike[str],
    sha256: str,
    window: GreenWindow = GREEN,
    region: Region | None = None,
) -> PhotoScore:
    """Score one photograph whose hash is known; as :func:`score_photo` in all else."""
    photo = open_photo(path)
    size = upright_size(photo.stored, photo.turn)
    outline = outline_of(region, size)
    tally, small = _looked_at(photo, outline, window)
    camera, notes = photo.camera, photo.notes
    del photo  # by far the largest; what follows needs the small copy alone
    if not tally.pixels:
        raise holds_nothing(region, size)
    if not tally.coloured:
        raise WinterswardError(
            Problem(
                Path(path).as_posix(),
                found="a picture without any colour (all grey, black or white)",
                allowed="a photo in colour",
                hint="take it again, or leave it out",
            )
        )
    planes, share = small.planes, cell_shares(small.green, small.looked, small.factor**2)
    grey = grey_of(planes)
    flags = quality_flags(
        planes, grey, Exposure(tally.pixels, tally.lit, tally.bright, tally.dark), window
    )
    flags += notes
    colour: Colour | None = None
    if tally.colour_pixels >= FEWEST_GREEN_PIXELS:
        colour = tally.colour()
    else:
        flags.append(
            f"colour not given: {tally.colour_pixels} green pixels, "
            f"at least {FEWEST_GREEN_PIXELS} needed"
        )
    return PhotoScore(
        cover=100 * tally.green / tally.pixels,
        cover_se=cover_se(share),
        colour_index=colour_index(*colour[:3]) if colour else None,
        colour_index_sd=colour.index_sd if colour else None,
        hue=colour.hue if colour else None,
        saturation=colour.saturation if colour else None,
        brightness=colour.brightness if colour else None,
        patchiness=patchiness(share),
        largest_bare_patch=largest_bare_patch(share),
        clipped=100 * tally.clipped / max(1, tally.lit),
        pixels=tally.pixels,
        green_pixels=tally.green,
        flags=tuple(flags),
        sha256=sha256,
        taken=camera.taken,
        camera=camera.camera,
        exposure=camera.exposure,
        white_balance=camera.white_balance,
        likeness=likeness(grey),
    )


def _looked_at(photo: Photo, outline: Outline, window: GreenWindow) -> tuple[Tally, Reduced]:
    """Go through the pixels of a photo once, band by band."""
    left, top, right, bottom = outline.box
    small = Reduced((right - left, bottom - top))
    # A band is made of whole rows of squares of the small copy.
    row = small.factor * (right - left)
    rows = small.factor * max(1, _STRIP_PIXELS // row)
    every = max(1, photo.stored.width * photo.stored.height // COLOUR_PIXELS)
    tally = Tally(window, rows * (right - left), every)
    for strip in strips(photo.stored, photo.turn, outline.box, rows):
        inside = outline.inside(strip.top, len(strip.red))
        small.add(strip, tally.add(strip, inside), inside)
    tally.finish()
    return tally, small
