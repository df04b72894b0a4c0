"""Pictures as files."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from wintersward.errors import WinterswardError
from wintersward.report.drawn import svg

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from PIL.Image import Image

__all__ = ["picture_file", "svg"]


def picture_file(picture: Figure | Image) -> tuple[str, bytes]:
    """Turn a picture into the bytes of a file: the same bytes for the same picture.

    Parameters
    ----------
    picture : matplotlib Figure or PIL Image
        A Figure becomes SVG; an RGB or grey image JPEG; any other image PNG.

    Returns
    -------
    ending : str
        Of the file name.
    content : bytes
        Without a clock reading, and without what a camera wrote into a photo.

    Raises
    ------
    WinterswardError
        For anything else.
    """
    from matplotlib.figure import Figure
    from PIL.Image import Image

    if isinstance(picture, Figure):
        return "svg", svg(picture)
    if isinstance(picture, Image):
        return _pixels(picture)
    raise WinterswardError(
        f"a figure of type {type(picture).__name__}; allowed: a matplotlib Figure, a PIL Image"
    )


def _pixels(image: Image) -> tuple[str, bytes]:
    from PIL import Image as images

    from wintersward.photos.sheets import JPEG_QUALITY

    plain = image if image.mode in ("RGB", "L") else image.convert("RGBA")
    # A copy of the pixels alone: a phone writes time and place into a photo.
    clean = images.frombytes(plain.mode, plain.size, plain.tobytes())
    stream = io.BytesIO()
    if clean.mode in ("RGB", "L"):
        clean.save(stream, "JPEG", quality=JPEG_QUALITY, optimize=True)
        return "jpg", stream.getvalue()
    clean.save(stream, "PNG", optimize=True)
    return "png", stream.getvalue()
