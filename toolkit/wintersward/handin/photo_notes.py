"""What cameras note with a photo that names a person or a place."""

from __future__ import annotations

import warnings
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from PIL import ExifTags, Image

from wintersward.errors import Problem
from wintersward.paths import command
from wintersward.photos import heif

__all__ = ["photo_problems"]

_PEOPLE = (
    ExifTags.Base.Artist,
    ExifTags.Base.Copyright,
    ExifTags.Base.XPAuthor,
    ExifTags.Base.CameraOwnerName,
)
_POSITION = (ExifTags.GPS.GPSLatitude, ExifTags.GPS.GPSLongitude)
# Notes as text beside those in numbers, and the words of a position in them (from memory).
_TEXTS = ("xmp", "XML:com.adobe.xmp")
_POSITION_WORDS = ("GPSLatitude", "GPSLongitude")
_PEOPLE_WORDS = ("dc:creator", "photoshop:Credit", "OwnerName")


def photo_problems(
    study: Path, names: Iterable[str], people: bool, exact_place: bool
) -> list[Problem]:
    """Tell whether photos carry what is to be left out; photos are records and are not changed.

    Parameters
    ----------
    study : Path
        The study folder.
    names : iterable of str
        The photos, from the study folder on.
    people, exact_place : bool
        Whether names, whether positions may be handed in.

    Returns
    -------
    list of Problem
        One for names, one for positions, with the first photo as an example. A photo whose notes
        cannot be read counts as one that carries them.
    """
    named, placed = [], []
    for name in sorted(names):
        who, where = _told(study / name)
        named += [name] if who and not people else []
        placed += [name] if where and not exact_place else []
    problems = []
    for found, what, option in (
        (named, "the name of a person", "--without-people"),
        (placed, "a position", "--rounded-place"),
    ):
        if found:
            many = "1 photo that carries" if len(found) == 1 else f"{len(found)} photos that carry"
            said = f"{many} {what}, such as {found[0]}"
            hint = f"leave the photos out: {command('bundle', study)} {option} --without-photos"
            problems.append(Problem("photos", found=said, hint=hint))
    return problems


def _told(path: Path) -> tuple[bool, bool]:
    """Tell whether a photo's notes hold a person and a position."""
    try:
        # What Pillow thinks of a large or odd picture was told when it was scored.
        with path.open("rb") as file, warnings.catch_warnings():
            warnings.simplefilter("ignore")
            start = file.read(heif.START_BYTES)
            file.seek(0)
            image = heif.open_heif(file) if heif.is_heif(start) else Image.open(file)
            exif = image.getexif()
            within = exif.get_ifd(ExifTags.IFD.Exif)
            place = exif.get_ifd(ExifTags.IFD.GPSInfo)
            text = " ".join(_text(image.info.get(key)) for key in _TEXTS)
    except Exception:
        # The notes are binary data from many makers.
        return True, True
    notes = {**exif, **within}
    who = any(_text(notes.get(tag)).strip("\0 ") for tag in _PEOPLE)
    where = any(tag in place for tag in _POSITION)
    return (
        who or any(word in text for word in _PEOPLE_WORDS),
        where or any(word in text for word in _POSITION_WORDS),
    )


def _text(note: Any) -> str:
    if isinstance(note, bytes):
        return note.decode("utf-8", "replace")
    return "" if note is None else str(note)
