"""Contact sheets: photographs in labelled rows, by which a person checks numbers by eye."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image, ImageDraw, ImageFont

from wintersward.errors import WinterswardError
from wintersward.photos.decoding import open_photo

__all__ = ["JPEG_QUALITY", "Example", "SheetRow", "contact_sheet"]

JPEG_QUALITY = 75
"""Quality at which a run saves pictures of photos, 0 to 100: to be looked at, never scored."""

_PAPER, _INK, _SOFT = (255, 255, 255), (34, 34, 34), (88, 88, 88)
_FRAME_PX = 3
_MOST_LINES = 3


@dataclass(frozen=True)
class Example:
    """One photograph on a contact sheet.

    Parameters
    ----------
    picture : path or PIL.Image.Image
        The photo, or a picture made from it.
    plot : str
        Plot it was taken on.
    cover : float or None [%]
        Green cover; None where there is no score.
    note : str
        What else is told below it, such as its date.
    flag : str
        Why it is flagged: it gets a black frame, and the reason below. Empty where it is not.
    """

    picture: str | os.PathLike[str] | Image.Image
    plot: str
    cover: float | None
    note: str = ""
    flag: str = ""


@dataclass(frozen=True)
class SheetRow:
    """Photographs that belong together, under one heading.

    Parameters
    ----------
    heading : str
        What they share; empty for none.
    entries : sequence of Example
        From the left; they go on in another line where there are more than columns.
    """

    heading: str
    entries: Sequence[Example]


def contact_sheet(
    rows: Sequence[SheetRow], columns: int = 6, thumb_px: int = 150, scores: bool = True
) -> Image.Image:
    """Lay photographs out on one sheet, each with its plot and green cover in percent below.

    Parameters
    ----------
    rows : sequence of SheetRow
        From the top.
    columns : int
        Most photos beside one another.
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
    many = sum(len(row.entries) for row in rows)
    if not many or columns < 1 or thumb_px < 80:
        raise WinterswardError(
            f"a contact sheet of {many} photos in {columns} columns of {thumb_px} pixels; "
            "allowed: at least 1 photo, 1 column and 80 pixels"
        )
    columns = min(columns, max(len(row.entries) for row in rows))
    parts: list[Image.Image] = []
    pen = _Pen(thumb_px, columns)
    for row in rows:
        if not row.entries:
            continue
        if row.heading:
            parts.append(pen.heading(row.heading))
        for first in range(0, len(row.entries), columns):
            parts.append(pen.line(row.entries[first : first + columns], scores))
    sheet = Image.new("RGB", (pen.width, sum(part.height for part in parts) + pen.gap), _PAPER)
    top = pen.gap
    for part in parts:
        sheet.paste(part, (0, top))
        top += part.height
    return sheet


class _Pen:
    """Draws headings and lines of photos of one width."""

    def __init__(self, thumb_px: int, columns: int) -> None:
        self.thumb_px, self.font_px = thumb_px, max(11, round(thumb_px / 12))
        self.gap = max(6, thumb_px // 20)
        self.width = columns * (thumb_px + self.gap) + self.gap
        self.font, self.small = _font(self.font_px), _font(0.88 * self.font_px)
        self.large = _font(1.2 * self.font_px)

    def heading(self, text: str) -> Image.Image:
        """Draw the heading of a row."""
        part = Image.new("RGB", (self.width, round(2.2 * self.font_px)), _PAPER)
        draw = ImageDraw.Draw(part)
        said = _cut(draw, text, self.large, self.width - 2 * self.gap)
        draw.text((self.gap, round(0.5 * self.font_px)), said, fill=_INK, font=self.large)
        return part

    def line(self, entries: Sequence[Example], scores: bool) -> Image.Image:
        """Draw photos beside one another, with what stands below them."""
        thumbs = [_thumb(entry, self.thumb_px) for entry in entries]
        notes = [self._below(entry) for entry in entries]
        deep = max(thumb.height for thumb in thumbs)
        step = round(1.2 * self.font_px)
        lines = 1 + max(len(note) for note in notes)
        high = deep + self.font_px // 3 + lines * step + self.gap
        part = Image.new("RGB", (self.width, high), _PAPER)
        draw = ImageDraw.Draw(part)
        for column, (entry, thumb, note) in enumerate(zip(entries, thumbs, notes, strict=True)):
            left = self.gap + column * (self.thumb_px + self.gap)
            part.paste(thumb, (left, 0))
            top = thumb.height + self.font_px // 3
            self._label(draw, (left, top), entry, scores)
            for number, text in enumerate(note, 1):
                draw.text((left, top + number * step), text, fill=_SOFT, font=self.small)
        return part

    def _label(
        self, draw: ImageDraw.ImageDraw, at: tuple[int, int], entry: Example, scores: bool
    ) -> None:
        """Write plot and cover on one line, the plot cut to the room that is left."""
        cover = "no score" if entry.cover is None else f"{entry.cover:.0f} %"
        cover = cover if scores else ""
        left, top = at
        cover_px = draw.textlength(cover, font=self.font)
        draw.text((left + self.thumb_px - cover_px, top), cover, fill=_INK, font=self.font)
        room = self.thumb_px - cover_px - (self.font_px if cover else 0)
        plot = _cut(draw, f"Plot {entry.plot}", self.font, room)
        draw.text((left, top), plot, fill=_INK, font=self.font)

    def _below(self, entry: Example) -> list[str]:
        """Break what is told below a photo into lines of its width."""
        draw = ImageDraw.Draw(Image.new("RGB", (1, 1)))
        lines: list[str] = []
        for text in (entry.note, f"flagged: {entry.flag}" if entry.flag else ""):
            if not text:
                continue
            width = draw.textlength(text, font=self.small) / len(text)
            letters = max(8, int(self.thumb_px / width))
            lines += textwrap.wrap(text, letters, max_lines=_MOST_LINES, placeholder=" ...")
        return [_cut(draw, line, self.small, self.thumb_px) for line in lines]


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


def _thumb(entry: Example, width_px: int) -> Image.Image:
    """Shrink or enlarge a picture to the width, or into a square of it when it is higher."""
    picture = entry.picture
    image = (
        picture.convert("RGB")
        if isinstance(picture, Image.Image)
        else open_photo(picture, 2 * width_px).image
    )
    scale = width_px / max(image.size)
    size = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
    thumb = image.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0)
    if entry.flag:
        box = (0, 0, thumb.width - 1, thumb.height - 1)
        draw = ImageDraw.Draw(thumb)
        draw.rectangle(box, outline=(0, 0, 0), width=_FRAME_PX)
    return thumb
