"""HEIC files as a phone writes them."""

from __future__ import annotations

import io
from typing import Any

import pillow_heif
from PIL import ExifTags, Image

__all__ = ["heic", "notes"]


def notes(orientation: int = 1, taken: str = "2026:03:24 11:00:05") -> bytes:
    """What a phone notes with a photo.

    Parameters
    ----------
    orientation : int
        How it was held (Exif, tag 274).
    taken : str
        Time of capture as Exif writes it; empty for none.
    """
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    exif[ExifTags.Base.Make], exif[ExifTags.Base.Model] = "Invented", "Invented P1"
    if taken:
        exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = taken
    return exif.tobytes()


def heic(*images: Image.Image, **options: Any) -> bytes:
    """Write pictures into one HEIC file.

    Parameters
    ----------
    images : PIL.Image.Image
        The pictures, the primary one first.
    options : anything
        For the encoder; left out, the pixels are kept exactly.
    """
    plain = {"quality": -1, "chroma": 444, "matrix_coefficients": 0, **options}
    file = pillow_heif.from_pillow(images[0])
    memory = io.BytesIO()
    for image in images[1:]:
        file.add_from_pillow(image)
    file.save(memory, primary_index=0, **plain)
    return memory.getvalue()
