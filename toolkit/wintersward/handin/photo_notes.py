"""What cameras and programs note with a photo that names a person or a place."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from PIL import ExifTags, Image, ImageFile, IptcImagePlugin

from wintersward.errors import Problem
from wintersward.handin.named_people import StandIn
from wintersward.paths import command
from wintersward.photos import heif

__all__ = ["photo_problems"]

_PEOPLE = (
    ExifTags.Base.Artist,
    ExifTags.Base.Copyright,
    ExifTags.Base.XPAuthor,
    ExifTags.Base.CameraOwnerName,
)
# Of what a camera notes of its place, what tells none: version and time.
_NO_PLACE = (ExifTags.GPS.GPSVersionID, ExifTags.GPS.GPSTimeStamp, ExifTags.GPS.GPSDateStamp)
# By-line and its title, credit, copyright notice and writer (IPTC-IIM 4.2, record 2; from memory).
_IPTC = tuple((2, number) for number in (80, 85, 110, 116, 122))
# Notes as text beside those in numbers, and the words of a position in them (from memory).
_TEXTS = ("xmp", "XML:com.adobe.xmp")
_POSITION_WORDS = ("GPSLatitude", "GPSLongitude")
_PEOPLE_WORDS = ("dc:creator", "photoshop:Credit", "OwnerName")
_PEOPLE_KEYS = ("author", "copyright", "comment", "artist", "creator")
_ENCODINGS = ("utf-8", "latin-1", "utf-16-le", "utf-16-be")
_TWO_BYTES = "UNICODE\0"
# A shorter name stands in the bytes of many a picture by chance.
_FEWEST_BYTES = 5


def photo_problems(
    study: Path,
    names: Iterable[str],
    known: Sequence[StandIn],
    places: Sequence[StandIn],
    people: bool,
    exact_place: bool,
) -> list[Problem]:
    """Tell whether photos carry what is to be left out; photos are records and are not changed.

    Parameters
    ----------
    study : Path
        The study folder.
    names : iterable of str
        The photos, from the study folder on.
    known, places : sequence of StandIn
        Names and numbers that are looked for wherever they may stand in the file.
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
        who, where = _told(study / name, known, places)
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


def _told(path: Path, known: Sequence[StandIn], places: Sequence[StandIn]) -> tuple[bool, bool]:
    """Tell whether a photo holds a person and a position."""
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
            records = {}
            if isinstance(image, ImageFile.ImageFile):
                records = IptcImagePlugin.getiptcinfo(image) or {}
            told = dict(image.info)
        data = path.read_bytes()
    except Exception:
        # The notes are binary data from many makers.
        return True, True
    notes = {**exif, **within}
    text = " ".join(_text(told.get(key)) for key in _TEXTS)
    everything = "\n".join(_texts([*notes.values(), *place.values(), *records.values(), told]))
    who = (
        any(_text(notes.get(tag)).strip("\0 ") for tag in _PEOPLE)
        or any(record in records for record in _IPTC)
        or any(str(key).lower() in _PEOPLE_KEYS and _text(told[key]).strip("\0 ") for key in told)
        or any(word in text for word in _PEOPLE_WORDS)
    )
    where = any(tag not in _NO_PLACE for tag in place)
    where = where or any(word in text for word in _POSITION_WORDS)
    return (
        who or any(one.pattern.search(everything) or _within(data, one.name) for one in known),
        where or any(one.pattern.search(everything) or _fine(data, one.name) for one in places),
    )


def _texts(notes: Iterable[Any]) -> Iterator[str]:
    """Give every text among notes, whatever they lie in."""
    for note in notes:
        if isinstance(note, str | bytes):
            text = _text(note)
            yield text
            # Of two bytes a letter, behind the word that says so.
            yield text.removeprefix(_TWO_BYTES).replace("\0", "")
        elif isinstance(note, dict):
            yield from _texts(note.values())
        elif isinstance(note, list | tuple):
            yield from _texts(note)


def _within(data: bytes, name: str) -> bool:
    """Tell whether a name stands in the bytes of a file, in any of the usual encodings."""
    forms = {name.encode(encoding, "ignore") for encoding in _ENCODINGS}
    return any(form in data for form in forms if len(form) >= _FEWEST_BYTES)


def _fine(data: bytes, number: str) -> bool:
    """Tell whether a number with further digits stands in the bytes of a file."""
    one, two = re.escape(number.encode()), re.escape(number.encode("utf-16-le"))
    return re.search(rb"(?<![0-9.])" + one + rb"[0-9]", data) is not None or (
        re.search(two + rb"[0-9]\0", data) is not None
    )


def _text(note: Any) -> str:
    if isinstance(note, bytes):
        return note.decode("utf-8", "replace")
    return "" if note is None else str(note)
