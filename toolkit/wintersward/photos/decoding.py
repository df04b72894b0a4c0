"""Opening a photograph: whole, upright, in colour, or one line that says why not."""

from __future__ import annotations

import hashlib
import io
import os
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from PIL import ExifTags, Image, ImageCms, ImageFile

from wintersward.errors import Problem, WinterswardError

__all__ = ["MOST_PIXELS", "Photo", "file_hash", "open_photo"]

MOST_PIXELS = 120_000_000
"""Largest picture that is decoded [pixels]: about half a gigabyte of memory."""

_FORMATS = ("JPEG", "PNG", "TIFF")
_ALLOWED = "a whole JPEG, PNG or TIFF photo in colour"
_COLOUR_MODES = {"RGB", "RGBA", "RGBX", "P", "PA", "YCbCr"}
_GREY_MODES = {"1", "L", "LA", "La", "I", "F", "I;16", "I;16L", "I;16B", "I;16N"}
_COPY_AGAIN = "copy it from the camera again, or leave it out"

_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}

_OTHER_FILES = (
    (re.compile(rb"....ftyp(heic|heix|hevc|mif1|msf1|avif)", re.DOTALL), "a HEIC or AVIF photo"),
    (re.compile(rb"....ftyp", re.DOTALL), "a film"),
    (re.compile(rb"GIF8"), "a GIF picture"),
    (re.compile(rb"RIFF....WEBP", re.DOTALL), "a WebP picture"),
    (re.compile(rb"BM"), "a BMP picture"),
    (re.compile(rb"%PDF"), "a PDF document"),
    (re.compile(rb"PK\x03\x04"), "a ZIP archive or office document"),
)


@dataclass(frozen=True)
class Photo:
    """A decoded photograph.

    Parameters
    ----------
    image : PIL.Image.Image
        Upright, mode RGB, fully decoded.
    taken : str or None
        When the camera took it, ISO 8601, with the offset from UTC where the camera kept one.
    notes : tuple of str
        What a reader of the score should know about the file.
    """

    image: Image.Image
    taken: str | None
    notes: tuple[str, ...]


def file_hash(path: str | os.PathLike[str]) -> str:
    """SHA-256 of a file's bytes.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    str
        64 hexadecimal digits.

    Raises
    ------
    WinterswardError
        The file cannot be read.
    """
    with _readable(path) as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def open_photo(path: str | os.PathLike[str], side: int = 0) -> Photo:
    """Decode a photograph, turned upright.

    Parameters
    ----------
    path : path
        A JPEG, PNG or TIFF file; told by its content, whatever its name says.
    side : int
        For looking at, not for scoring: a JPEG is decoded at a fraction of its size, in a
        fraction of the time, with sides no shorter than this [pixels]; 0 for the full size.

    Returns
    -------
    Photo
        The picture at full size unless `side` is given, with its time and notes.

    Raises
    ------
    WinterswardError
        The file is missing, empty, cut short, no photo, too large to decode, black and white,
        in printing colours, partly transparent, or holds several pictures.

    Notes
    -----
    The numbers are scored as the camera stored them. Another colour profile than sRGB is noted,
    not converted.
    """
    with _readable(path) as file, _strict():
        start = file.read(16)
        file.seek(0)
        if not start:
            raise _refused(path, "an empty file", _COPY_AGAIN)
        try:
            stored = Image.open(file, formats=_FORMATS)
        except Image.DecompressionBombError:
            raise _too_large(path) from None
        except Exception as error:
            # A decoder may fail in any way on bytes that are no picture.
            raise _unreadable(path, start, error) from None
        try:
            _check_kind(path, stored)
            if side:
                stored.draft(None, (side, side))
            stored.load()
        except WinterswardError:
            raise
        except Exception as error:
            raise _unreadable(path, start, error) from None
        exif, note = _exif(stored), _profile_note(stored)
        image = _opaque(path, stored)
        turn = _TURNS.get(exif.get(ExifTags.Base.Orientation, 1))
        if turn is not None:
            image = image.transpose(turn)
    return Photo(image, _taken(exif), (note,) if note else ())


@contextmanager
def _readable(path: str | os.PathLike[str]) -> Iterator[io.BufferedReader]:
    """Open for reading, with a sentence for what the operating system says."""
    try:
        with open(path, "rb") as file:
            yield file
    except FileNotFoundError:
        raise _refused(path, "no such file", "check the name, or leave it out") from None
    except IsADirectoryError:
        raise _refused(path, "a folder", "name the photos in it one by one") from None
    except PermissionError:
        raise _refused(path, "a file that may not be read", "allow reading it") from None
    except OSError as error:
        raise _refused(
            path, f"a file that cannot be read ({error.strerror})", _COPY_AGAIN
        ) from None


@contextmanager
def _strict() -> Iterator[None]:
    """Refuse pictures cut short, whatever a notebook has set, and keep decoders quiet."""
    lenient = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = lenient


def _check_kind(path: str | os.PathLike[str], image: Image.Image) -> None:
    """Refuse, from the file's header alone, what cannot be scored."""
    if image.width * image.height > MOST_PIXELS:
        raise _too_large(path)
    # Phones put depth maps behind the photo in a multi-picture JPEG: the first is the photo.
    if image.format != "MPO" and getattr(image, "n_frames", 1) > 1:
        raise _refused(path, "several pictures in one file", "save the one photo by itself")
    if image.mode in _GREY_MODES:
        raise _refused(path, "a black-and-white picture", "take or export the photo in colour")
    if image.mode not in _COLOUR_MODES:
        found = f"a picture in {image.mode} colours"
        raise _refused(path, found, "export the photo in RGB, as the camera took it")


def _opaque(path: str | os.PathLike[str], image: Image.Image) -> Image.Image:
    """Give the picture in RGB; what is see-through has no colour to score."""
    if image.has_transparency_data:
        image = image.convert("RGBA")
        least = image.getchannel("A").getextrema()[0]
        if least != 255:
            raise _refused(path, "a picture with see-through parts", "use the photo as taken")
    return image if image.mode == "RGB" else image.convert("RGB")


def _unreadable(path: str | os.PathLike[str], start: bytes, error: Exception) -> WinterswardError:
    """Say what the file seems to be instead of a photo."""
    for pattern, kind in _OTHER_FILES:
        if pattern.match(start):
            hint = "set the camera to JPEG, or export this one as JPEG"
            return _refused(path, kind, hint if "HEIC" in kind else "use the photo itself")
    if isinstance(error, MemoryError):
        return _too_large(path)
    pictures = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"II*\x00", b"MM\x00*")
    if start.startswith(pictures):
        return _refused(path, "a photo that is cut short or damaged", _COPY_AGAIN)
    return _refused(path, "a file that is no photo", _COPY_AGAIN)


def _too_large(path: str | os.PathLike[str]) -> WinterswardError:
    most = f"at most {MOST_PIXELS // 1_000_000} million pixels"
    problem = Problem(
        Path(path).as_posix(),
        found="a picture too large to open",
        allowed=most,
        hint="set the camera to a smaller size, or leave it out",
    )
    return WinterswardError(problem)


def _refused(path: str | os.PathLike[str], found: str, hint: str) -> WinterswardError:
    return WinterswardError(
        Problem(Path(path).as_posix(), found=found, allowed=_ALLOWED, hint=hint)
    )


def _exif(image: Image.Image) -> dict[int, Any]:
    """Read the camera's own notes; a damaged block counts as none."""
    try:
        exif = image.getexif()
        return {**exif, **exif.get_ifd(ExifTags.IFD.Exif)}
    except Exception:
        # The block is binary data from many makers; a photo is not refused for it.
        return {}


def _taken(exif: dict[int, Any]) -> str | None:
    """Give the time of capture; the time of the last change is not taken for it."""
    tags = ExifTags.Base
    for when, offset in (
        (tags.DateTimeOriginal, tags.OffsetTimeOriginal),
        (tags.DateTimeDigitized, tags.OffsetTimeDigitized),
    ):
        try:
            text = str(exif[when]).strip("\x00 ")
            moment = datetime.strptime(text, "%Y:%m:%d %H:%M:%S").isoformat()
        except (KeyError, ValueError):
            continue
        zone = str(exif.get(offset, "")).strip("\x00 ")
        return moment + zone if re.fullmatch(r"[+-]\d\d:\d\d", zone) else moment
    return None


def _profile_note(image: Image.Image) -> str:
    """Name a colour profile other than sRGB."""
    stored = image.info.get("icc_profile")
    if not stored:
        return ""
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(stored))
        name = ImageCms.getProfileDescription(profile).strip()
    except Exception:
        # Little CMS raises its own errors on damaged profiles.
        name = "an unreadable profile"
    return "" if "srgb" in name.lower() else f"colour profile: {name}, scored as stored"
