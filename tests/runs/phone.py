"""Photos as a phone writes them: its own names, the time of capture within."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

import pillow_heif
from PIL import ExifTags, Image

__all__ = ["shoot", "walk_through"]


def shoot(path: Path, taken: dt.datetime | None, image: Image.Image | None = None) -> Path:
    """Write a small photo.

    Parameters
    ----------
    path : Path
        Where; its folder is made. An ending .heic gives such a file.
    taken : datetime or None
        Time of capture; None for a photo that lost it.
    image : PIL.Image.Image, optional
        What it shows; left out, plain green.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    exif = Image.Exif()
    if taken is not None:
        inner = exif.get_ifd(ExifTags.IFD.Exif)
        inner[ExifTags.Base.DateTimeOriginal] = f"{taken:%Y:%m:%d %H:%M:%S}"
    shown = image or Image.new("RGB", (640, 480), (60, 90, 40))
    if path.suffix == ".heic":
        pillow_heif.from_pillow(shown).save(path, exif=exif.tobytes(), quality=60)
    else:
        shown.save(path, "JPEG", exif=exif)
    return path


def walk_through(
    place: Path, day: dt.date, gaps: Sequence[float], first: int = 2034, name: str = "IMG_{:04}.jpg"
) -> list[str]:
    """Take a photo, and another after each gap [s]; give their names."""
    moment = dt.datetime.combine(day, dt.time(11, 0))
    names = []
    for number, gap in enumerate([0, *gaps], first):
        moment += dt.timedelta(seconds=gap)
        names.append(name.format(number))
        shoot(place / names[-1], moment)
    return names
