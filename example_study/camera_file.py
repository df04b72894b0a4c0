"""Picture files as a camera writes them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from PIL import ExifTags, Image

__all__ = ["save_photo"]

_TURNS = "FLIP_LEFT_RIGHT ROTATE_180 FLIP_TOP_BOTTOM TRANSPOSE ROTATE_90 TRANSVERSE ROTATE_270"


def save_photo(
    image: Image.Image, path: str | Path, taken: datetime, orientation: int = 1, quality: int = 80
) -> None:
    """Write a picture as a camera would: JPEG with time of capture and orientation.

    Parameters
    ----------
    image : PIL.Image.Image
        Upright picture.
    path : path
        File to write.
    taken : datetime
        Time of capture; its offset from UTC is written where it has one.
    orientation : int
        1 to 8, how the camera was held; whoever honours it sees the picture upright.
    quality : int
        JPEG quality.

    Notes
    -----
    The same picture and arguments give the same bytes.
    """
    if orientation not in range(1, 9):
        raise ValueError(f"orientation is {orientation}; allowed: 1 to 8")
    if orientation > 1:
        image = image.transpose(Image.Transpose[_TURNS.split()[orientation - 2]])
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    camera = exif.get_ifd(ExifTags.IFD.Exif)
    camera[ExifTags.Base.DateTimeOriginal] = taken.strftime("%Y:%m:%d %H:%M:%S")
    if taken.utcoffset() is not None:
        zone = taken.strftime("%z")
        camera[ExifTags.Base.OffsetTimeOriginal] = f"{zone[:3]}:{zone[3:5]}"
    image.save(path, "JPEG", quality=quality, subsampling="4:2:2", exif=exif)
