"""Pictures by which a person checks the scores: outlines of what counts as green, and sheets."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from wintersward.errors import WinterswardError
from wintersward.photos.colour import GREEN, GreenWindow, green_mask
from wintersward.photos.decoding import open_photo

__all__ = ["Example", "contact_sheet", "overlay"]

_OUTLINE = (255, 255, 255)
_OUTLINE_EDGE_PX = 1600
_PAPER = (255, 255, 255)
_INK = (34, 34, 34)
_FAINT_INK = (96, 96, 96)


@dataclass(frozen=True)
class Example:
    """One photograph on a contact sheet.

    Parameters
    ----------
    picture : path or PIL.Image.Image
        The photo, or a picture made from it, such as an overlay.
    plot : str
        Plot it was taken on.
    date : str
        Day it was taken, as it shall be printed.
    cover : float or None [%]
        Green cover; None where there is no score.
    """

    picture: str | os.PathLike[str] | Image.Image
    plot: str
    date: str
    cover: float | None


def overlay(path: str | os.PathLike[str], window: GreenWindow = GREEN) -> Image.Image:
    """Outline what counts as green, leaving every green pixel as it was.

    Parameters
    ----------
    path : path
        A photo.
    window : GreenWindow
        What counts as green.

    Returns
    -------
    PIL.Image.Image
        The upright photo, enlarged by a whole factor so that its longer side is at least 1600
        pixels, with a white line one pixel wide just outside every green area. The rest of the
        photo is as the camera took it.

    Raises
    ------
    WinterswardError
        The file is no whole colour photo.
    """
    image = open_photo(path).image
    mask = green_mask(np.asarray(image), window)
    factor = max(1, -(-_OUTLINE_EDGE_PX // max(image.size)))
    size = (image.width * factor, image.height * factor)
    shown = np.array(image.resize(size, Image.Resampling.NEAREST))
    shown[_just_outside(mask.repeat(factor, axis=0).repeat(factor, axis=1))] = _OUTLINE
    return Image.fromarray(shown)


def contact_sheet(
    entries: Sequence[Example], columns: int = 3, thumb_px: int = 300, scores: bool = True
) -> Image.Image:
    """Lay photographs out on one sheet, each with its plot, date and green cover below.

    Parameters
    ----------
    entries : sequence of Example
        Photos, row by row from the left.
    columns : int
        Photos in a row.
    thumb_px : int [px]
        Width of each photo; higher ones are made to fit a square of it.
    scores : bool
        Whether the green cover is written below the photos.

    Returns
    -------
    PIL.Image.Image
        RGB on white. The same photos give the same bytes when saved.

    Raises
    ------
    WinterswardError
        No photo is given, the columns or the width are too small, or a file is no photo.
    """
    if not entries or columns < 1 or thumb_px < 80:
        raise WinterswardError(
            f"a contact sheet of {len(entries)} photos in {columns} columns of {thumb_px} pixels; "
            "allowed: at least 1 photo, 1 column and 80 pixels"
        )
    columns = min(columns, len(entries))
    thumbs = [_thumb(entry.picture, thumb_px) for entry in entries]
    font_px = max(11, round(thumb_px / 12))
    gap = max(6, thumb_px // 20)
    label_px = round(2.8 * font_px)
    rows = [thumbs[start : start + columns] for start in range(0, len(thumbs), columns)]
    heights = [max(thumb.height for thumb in row) + label_px + gap for row in rows]
    width = columns * (thumb_px + gap) + gap
    sheet = Image.new("RGB", (width, sum(heights) + gap), _PAPER)
    draw = ImageDraw.Draw(sheet)
    top = gap
    for number, (row, height) in enumerate(zip(rows, heights, strict=True)):
        for column, thumb in enumerate(row):
            left = gap + column * (thumb_px + gap)
            sheet.paste(thumb, (left, top))
            entry = entries[number * columns + column]
            at = (left, top + thumb.height + font_px // 3)
            _write_label(draw, at, entry, thumb_px, font_px, scores)
        top += height
    return sheet


def _write_label(
    draw: ImageDraw.ImageDraw,
    at: tuple[int, int],
    entry: Example,
    width_px: int,
    font_px: int,
    scores: bool,
) -> None:
    """Write plot and cover on one line, the date on the next, cut to the photo's width."""
    cover = "no score" if entry.cover is None else f"{entry.cover:.0f} % green"
    cover = cover if scores else ""
    font, small = _font(font_px), _font(0.85 * font_px)
    left, top = at
    cover_px = draw.textlength(cover, font=font)
    draw.text((left + width_px - cover_px, top), cover, fill=_INK, font=font)
    plot = _cut(draw, f"Plot {entry.plot}", font, width_px - cover_px - font_px)
    draw.text((left, top), plot, fill=_INK, font=font)
    date = _cut(draw, entry.date, small, width_px)
    draw.text((left, top + round(1.25 * font_px)), date, fill=_FAINT_INK, font=small)


def _cut(
    draw: ImageDraw.ImageDraw, text: str, font: ImageFont.FreeTypeFont, width_px: float
) -> str:
    """Shorten a text to a width, marking what was left out."""
    if draw.textlength(text, font=font) <= width_px:
        return text
    while text and draw.textlength(text + "...", font=font) > width_px:
        text = text[:-1]
    return text.rstrip() + "..."


def _font(size_px: float) -> ImageFont.FreeTypeFont:
    """Give the font that comes with Pillow: the same letters on every computer."""
    font = ImageFont.load_default(size_px)
    if not isinstance(font, ImageFont.FreeTypeFont):
        raise WinterswardError(
            "labels cannot be drawn: this Pillow was built without FreeType; install Pillow anew"
        )
    return font


def _thumb(picture: str | os.PathLike[str] | Image.Image, width_px: int) -> Image.Image:
    """Shrink or enlarge a picture to the width, or into a square of it when it is higher."""
    image = (
        picture.convert("RGB") if isinstance(picture, Image.Image) else open_photo(picture).image
    )
    scale = width_px / max(image.size)
    size = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
    return image.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0)


def _just_outside(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Pixels that are not in the mask but touch it along an edge."""
    near = np.zeros_like(mask)
    near[1:] |= mask[:-1]
    near[:-1] |= mask[1:]
    near[:, 1:] |= mask[:, :-1]
    near[:, :-1] |= mask[:, 1:]
    return near & ~mask
