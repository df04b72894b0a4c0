"""Opening a photograph: whole, upright, in colour, or one line that says why not.

Notes
-----
What is read: JPEG, HEIC (HEIF), PNG and TIFF, told by content. Colours of 10 or 16 bits keep their
upper eight; a palette gives its colours; an alpha channel is dropped where nothing is see-through;
of a multi-picture JPEG the first picture counts, of a HEIC file its primary one. What is refused,
each in one line: black and white, printing colours (CMYK), see-through parts, animations, bursts
and pages, floating-point TIFF, every other kind of file, files cut short or damaged, and pictures
of more than ``MOST_PIXELS``. Damage within a coded picture that its decoder hides is not seen.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import io
import os
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import PIL
from PIL import ExifTags, Image, ImageCms, ImageFile, UnidentifiedImageError, features

from wintersward.errors import Problem, WinterswardError
from wintersward.photos import heif
from wintersward.photos.camera import CameraNotes, camera_notes, exif_of

__all__ = ["COLOUR_MODES", "FORMATS", "MOST_PIXELS", "Photo", "camera_of", "file_hash"]
__all__ += ["decoders", "open_photo"]

MOST_PIXELS = 120_000_000
"""Largest picture that is decoded [pixels]: about half a gigabyte of memory."""

FORMATS = ("JPEG", "PNG", "TIFF")
"""What Pillow itself opens."""

COLOUR_MODES = {"RGB", "RGBA", "RGBX", "P", "PA", "YCbCr"}
"""Pillow's names for how the colours of a photo may be stored."""

_ALLOWED = "a whole JPEG, HEIC, PNG or TIFF photo in colour"
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
    stored : PIL.Image.Image
        Mode RGB, fully decoded, its rows as the camera stored them; a HEIC file's come upright.
    turn : PIL.Image.Transpose or None
        What turns it upright.
    camera : CameraNotes
        What the camera noted.
    notes : tuple of str
        What a reader of the score should know about the file.
    """

    stored: Image.Image
    turn: Image.Transpose | None
    camera: CameraNotes
    notes: tuple[str, ...]

    @property
    def image(self) -> Image.Image:
        """The photo, turned upright."""
        return self.stored if self.turn is None else self.stored.transpose(self.turn)

    @property
    def taken(self) -> str | None:
        """When the camera took it, ISO 8601, with the offset from UTC where it kept one."""
        return self.camera.taken


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
        A JPEG, HEIC, PNG or TIFF file; told by its content, whatever its name says.
    side : int
        For looking at, not for scoring: a JPEG is decoded at a fraction of its size, in a
        fraction of the time, with sides no shorter than this [pixels], and of a HEIC file the
        small copy within it is taken where it is no smaller; 0 for the full size.

    Returns
    -------
    Photo
        The picture at full size unless `side` is given, with the camera's notes.

    Raises
    ------
    WinterswardError
        The file is missing, empty, cut short, no photo, too large to decode, black and white,
        in printing colours, partly transparent, or holds several pictures none of which is the
        photo.

    Notes
    -----
    The numbers are scored as the camera stored them. Another colour profile than sRGB is noted,
    not converted.
    """
    with _readable(path) as file, _strict():
        start, stored = _opened(path, file)
        try:
            if side:
                stored.draft(None, (side, side))
            stored.load()
        except Exception as error:
            raise _unreadable(path, start, error) from None
        exif, note = exif_of(stored), _profile_note(stored)
        image = _opaque(path, stored)
        turn = _TURNS.get(exif.get(ExifTags.Base.Orientation, 1))
        if heif.is_heif(start):
            # Loading has turned it. Of several pictures, a copy leaves the others behind.
            turn = None
            if image is stored and getattr(stored, "n_frames", 1) > 1:
                image = stored.copy()
    return Photo(image, turn, camera_notes(exif), (note,) if note else ())


def camera_of(path: str | os.PathLike[str]) -> CameraNotes:
    """Read what the camera noted with a photo, without decoding it.

    Parameters
    ----------
    path : path
        A file as for `open_photo`.

    Returns
    -------
    CameraNotes
        As `open_photo` gives them.

    Raises
    ------
    WinterswardError
        As of `open_photo`, as far as the file's header shows it.
    """
    with _readable(path) as file, _strict():
        return camera_notes(exif_of(_opened(path, file)[1]))


def _opened(path: str | os.PathLike[str], file: io.BufferedReader) -> tuple[bytes, Image.Image]:
    """Give a file's start and the picture in it, not decoded yet, or say why it is none."""
    start = file.read(heif.START_BYTES)
    file.seek(0)
    if not start:
        raise _refused(path, "an empty file", _COPY_AGAIN)
    of_phone = heif.is_heif(start)
    if heif.is_sequence(start):
        raise _several(path)
    if of_phone and not heif.whole(file):
        raise _cut_short(path)
    try:
        stored = heif.open_heif(file) if of_phone else Image.open(file, formats=FORMATS)
        _check_kind(path, stored)
    except WinterswardError:
        raise
    except Image.DecompressionBombError:
        raise _too_large(path) from None
    except Exception as error:
        # A decoder may fail in any way on bytes that are no picture.
        raise _unreadable(path, start, error) from None
    return start, stored


def decoders() -> str:
    """Tell the versions of what decodes photos: two may differ by one step in some pixels.

    Returns
    -------
    str
        Versions of the image library, its JPEG decoder, and what brings the decoder of HEIC,
        which is not loaded for it.
    """
    of_heic = importlib.metadata.version("pillow-heif")
    return f"{PIL.__version__} {features.version('jpg')} {of_heic}"


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
    # Phones put depth maps behind the photo in a multi-picture JPEG: the first is the photo. A
    # HEIC file says which one is.
    if image.format not in ("MPO", "HEIF") and getattr(image, "n_frames", 1) > 1:
        raise _several(path)
    if image.mode in _GREY_MODES:
        raise _refused(path, "a black-and-white picture", "take or export the photo in colour")
    if image.mode not in COLOUR_MODES:
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
    if heif.is_avif(start):
        hint = "set the camera to JPEG or HEIC, or export this one as JPEG"
        return _refused(path, "an AVIF photo", hint)
    if heif.is_heif(start):
        return _too_large(path) if isinstance(error, MemoryError) else _cut_short(path)
    for pattern, kind in _OTHER_FILES:
        if pattern.match(start):
            return _refused(path, kind, "use the photo itself")
    if isinstance(error, MemoryError):
        return _too_large(path)
    pictures = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"II*\x00", b"MM\x00*")
    if start.startswith(pictures):
        tiff = isinstance(error, UnidentifiedImageError) and start[:2] in (b"II", b"MM")
        return _cut_short(path, ", or a TIFF of a kind that is not read" if tiff else "")
    return _refused(path, "a file that is no photo", _COPY_AGAIN)


def _cut_short(path: str | os.PathLike[str], other: str = "") -> WinterswardError:
    return _refused(path, f"a photo that is cut short or damaged{other}", _COPY_AGAIN)


def _several(path: str | os.PathLike[str]) -> WinterswardError:
    return _refused(path, "several pictures in one file", "save the one photo by itself")


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


def _profile_note(image: Image.Image) -> str:
    """Name a colour profile other than sRGB."""
    stored = image.info.get("icc_profile")
    if not stored:
        name = heif.profile_name(image)
        return f"colour profile: {name}, scored as stored" if name else ""
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(stored))
        name = ImageCms.getProfileDescription(profile).strip()
    except Exception:
        # Little CMS raises its own errors on damaged profiles.
        name = "an unreadable profile"
    return "" if "srgb" in name.lower() else f"colour profile: {name}, scored as stored"
