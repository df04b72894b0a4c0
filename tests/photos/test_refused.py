"""Photos that cannot be opened are found without decoding those that are whole."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from wintersward.photos import refused
from wintersward.photos.refused import refused_photos

ALLOWED = "allowed: a whole JPEG, HEIC, PNG or TIFF photo in colour"
AGAIN = "copy it from the camera again, or leave it out"


@pytest.fixture
def photo(tmp_path: Path, half_green: Image.Image) -> Path:
    """A JPEG with a small picture in its header, as cameras write one, with an end of its own."""
    small = tmp_path / "small.jpg"
    half_green.resize((16, 12)).save(small)
    path = tmp_path / "101_1.jpg"
    half_green.save(path, quality=90, exif=b"Exif\x00\x00" + small.read_bytes())
    assert path.read_bytes().count(b"\xff\xd9") == 2
    return path


def told(path: Path) -> list[str]:
    return [str(one).removeprefix(f"{path.as_posix()}: ") for one in refused_photos([path])]


def test_whole_photos_are_not_decoded(
    photo: Path, half_green: Image.Image, monkeypatch: pytest.MonkeyPatch
) -> None:
    others = [photo.with_suffix(kind) for kind in (".png", ".tif")]
    for other in others:
        half_green.save(other)

    def decoded(path: Path) -> None:
        raise AssertionError(f"{path} was decoded")

    monkeypatch.setattr(refused, "open_photo", decoded)
    assert refused_photos([photo, *others]) == []


@pytest.mark.parametrize("cut", [1, 2, 3, 100, 700])
def test_a_photo_without_its_end_is_told(photo: Path, cut: int) -> None:
    photo.write_bytes(photo.read_bytes()[:-cut])
    assert told(photo) == [f"found a photo that is cut short or damaged; {ALLOWED}; {AGAIN}"]


def test_a_photo_that_ends_within_its_header_is_told(photo: Path) -> None:
    photo.write_bytes(photo.read_bytes()[:700])
    assert told(photo) == [f"found a photo that is cut short or damaged; {ALLOWED}; {AGAIN}"]


@pytest.mark.parametrize("more", [1, 5000, 300_000])
def test_what_a_phone_writes_behind_the_picture_does_no_harm(
    photo: Path, more: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    photo.write_bytes(photo.read_bytes() + b"\x00" * more)
    monkeypatch.setattr(refused, "open_photo", None)
    assert refused_photos([photo]) == []


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"", "an empty file"),
        (b"not a photo", "a file that is no photo"),
        (b"\x00\x00\x00\x18ftypheic\x00\x00", "a photo that is cut short or damaged"),
        (b"\x00\x00\x00\x18ftypavif\x00\x00", "an AVIF photo"),
    ],
)
def test_what_is_no_photo_is_told(photo: Path, content: bytes, found: str) -> None:
    photo.write_bytes(content)
    (said,) = told(photo)
    assert said.startswith(f"found {found}; {ALLOWED}; ")


def test_a_file_that_is_not_there_is_told(photo: Path) -> None:
    photo.unlink()
    assert told(photo) == [f"found no such file; {ALLOWED}; check the name, or leave it out"]


def test_a_picture_without_colour_is_told(photo: Path, half_green: Image.Image) -> None:
    half_green.convert("L").save(photo)
    assert told(photo) == [
        f"found a black-and-white picture; {ALLOWED}; take or export the photo in colour"
    ]


def test_all_are_told_in_the_order_given(photo: Path, tmp_path: Path) -> None:
    names = [tmp_path / name for name in ("b.jpg", "a.jpg")]
    for name in names:
        name.write_bytes(b"")
    assert [one.path for one in refused_photos([names[0], photo, names[1]])] == [
        name.as_posix() for name in names
    ]
