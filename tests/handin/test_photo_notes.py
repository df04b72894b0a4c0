"""What a photo carries beside its picture, in every place where programs put it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import ExifTags, Image
from PIL.PngImagePlugin import PngInfo

from wintersward.handin.named_people import StandIn
from wintersward.handin.photo_notes import photo_problems
from wintersward.handin.traces import traces

KNOWN = [StandIn("R. Example", "person 1"), StandIn("May", "person 2")]
PLACES = traces([(43.1565781, 43.2), (-77.6123456, -77.6)])
PHOTO = "photos/101_1.jpg"

Write = Callable[[Path], object]


def saved(path: Path, exif: Image.Exif | None = None, **more: Any) -> None:
    notes = Image.Exif() if exif is None else exif
    Image.new("RGB", (64, 48), (60, 90, 40)).save(path, exif=notes, **more)


def tagged(tag: int, value: Any, ifd: int | None = None) -> Write:
    def write(path: Path) -> None:
        exif = Image.Exif()
        held: Any = exif if ifd is None else exif.get_ifd(ifd)
        held[tag] = value
        saved(path, exif)

    return write


def by_line(path: Path) -> None:
    """Put a record of IPTC into a photo: by-line, 2:80, of somebody nobody knows."""
    saved(path)
    record = b"\x1c\x02\x50\x00\x09Ann Other"
    block = b"8BIM\x04\x04\x00\x00" + len(record).to_bytes(4, "big") + record
    block = b"Photoshop 3.0\0" + block + b"\0" * (len(record) % 2)
    data = path.read_bytes()
    path.write_bytes(
        data[:2] + b"\xff\xed" + (len(block) + 2).to_bytes(2, "big") + block + data[2:]
    )


def noted(key: str, text: str) -> Write:
    def write(path: Path) -> None:
        notes = PngInfo()
        notes.add_text(key, text)
        Image.new("RGB", (64, 48)).save(path, "PNG", pnginfo=notes)

    return write


def after(text: str, encoding: str) -> Write:
    """Put a text behind a picture, where no reader of notes looks."""

    def write(path: Path) -> None:
        saved(path)
        path.write_bytes(path.read_bytes() + text.encode(encoding))

    return write


def told(path: Path, write: Write) -> list[str]:
    (path / "photos").mkdir()
    write(path / PHOTO)
    problems = photo_problems(path, [PHOTO], KNOWN, PLACES, people=False, exact_place=False)
    return [problem.found for problem in problems]


_BASE, _GPS = ExifTags.Base, ExifTags.GPS
NAME = [f"1 photo that carries the name of a person, such as {PHOTO}"]
PLACE = [f"1 photo that carries a position, such as {PHOTO}"]


@pytest.mark.parametrize(
    "write",
    [
        by_line,
        tagged(_BASE.ImageDescription, "seen by R. Example"),
        tagged(_BASE.ImageDescription, "Example, R., early"),
        tagged(_BASE.HostComputer, "R. Example's phone"),
        tagged(_BASE.UserComment, b"ASCII\0\0\0R. Example", ExifTags.IFD.Exif),
        tagged(_BASE.UserComment, b"UNICODE\0" + "r. example".encode("utf-16-le"), 34665),
        lambda path: saved(path, comment=b"by somebody"),
        noted("Author", "somebody"),
        noted("Title", "with May"),
        *(after("R. Example", encoding) for encoding in ("utf-8", "utf-16-le", "utf-16-be")),
    ],
)
def test_a_name_wherever_it_stands(tmp_path: Path, write: Write) -> None:
    assert told(tmp_path, write) == NAME


@pytest.mark.parametrize(
    "write",
    [
        tagged(_GPS.GPSDestLatitude, (43.0, 7.0, 24.2), ExifTags.IFD.GPSInfo),
        tagged(_GPS.GPSAltitude, 120.0, ExifTags.IFD.GPSInfo),
        tagged(_BASE.ImageDescription, "at 43.15657 N"),
        after("77.61235", "utf-8"),
        after("77.61235", "utf-16-le"),
    ],
)
def test_a_position_wherever_it_stands(tmp_path: Path, write: Write) -> None:
    assert told(tmp_path, write) == PLACE


@pytest.mark.parametrize(
    "write",
    [
        saved,
        tagged(_BASE.Model, "a telephone"),
        tagged(_GPS.GPSDateStamp, "2026:03:24", ExifTags.IFD.GPSInfo),
        after("43.15 and 143.157 and Maypole", "utf-8"),
    ],
)
def test_what_tells_nothing(tmp_path: Path, write: Write) -> None:
    assert told(tmp_path, write) == []
