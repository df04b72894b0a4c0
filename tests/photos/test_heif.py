"""HEIC files of phones: read whole and upright, told where they are not, loaded only then."""

from __future__ import annotations

import datetime as dt
import io
import subprocess
import sys
from pathlib import Path

import numpy as np
import PIL
import pillow_heif
import pytest
from PIL import Image, ImageCms

from photos.held import as_held
from photos.phone import heic, notes
from photos.test_decoding import NOISE, refusal, stored
from wintersward.errors import WinterswardError
from wintersward.photos import heif
from wintersward.photos.batch import score_photos
from wintersward.photos.decoding import camera_of, decoders, file_hash, open_photo
from wintersward.photos.refused import refused_photos
from wintersward.photos.scoring import score_photo

TILES = {"tile_size": 32}  # as phones write them


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    path = tmp_path / "101_1.heic"
    path.write_bytes(heic(NOISE, exif=notes()))
    return path


def pixels(path: Path) -> np.ndarray:
    return np.asarray(open_photo(path).image)


@pytest.mark.parametrize("options", [{}, TILES], ids=["one piece", "tiles"])
def test_pixels_and_notes_come_through(photo: Path, options: dict[str, int]) -> None:
    photo.write_bytes(heic(NOISE, exif=notes(), **options))
    opened = open_photo(photo)
    assert np.array_equal(pixels(photo), np.asarray(NOISE))
    assert (opened.image.mode, opened.notes, opened.turn) == ("RGB", (), None)
    assert opened.taken == "2026-03-24T11:00:05"
    assert opened.camera == camera_of(photo)
    assert opened.camera.camera == "Invented P1"


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_comes_upright_once(photo: Path, orientation: int) -> None:
    rows, _ = as_held(NOISE, orientation)
    photo.write_bytes(heic(rows, exif=notes(orientation)))
    assert np.array_equal(pixels(photo), np.asarray(NOISE))


def test_the_files_own_turning_counts_and_not_the_note_beside_it(photo: Path) -> None:
    told = b"\x01\x12\x00\x03\x00\x00\x00\x01\x00"
    content = photo.read_bytes()
    assert content.count(told + b"\x01") == 1
    photo.write_bytes(content.replace(told + b"\x01", told + b"\x06"))
    assert np.array_equal(pixels(photo), np.asarray(NOISE))


@pytest.mark.parametrize("orientation", [1, 6, 3])
def test_a_score_is_that_of_the_same_pixels(
    tmp_path: Path, sharp_turf: Image.Image, orientation: int
) -> None:
    turf = sharp_turf.resize((320, 240))
    rows, _ = as_held(turf, orientation)
    (tmp_path / "a.heic").write_bytes(heic(rows, exif=notes(orientation)))
    turf.save(tmp_path / "a.png")
    half = (0, 0, 1, 0.5)
    for region in (None, half):
        one, other = (
            score_photo(tmp_path / f"a.{kind}", region=region) for kind in ("heic", "png")
        )
        assert (one.cover, one.colour_index, one.patchiness, one.likeness) == (
            other.cover, other.colour_index, other.patchiness, other.likeness
        )  # fmt: skip
        assert one.sha256 == file_hash(tmp_path / "a.heic")
        assert one.taken == "2026-03-24T11:00:05"


def test_of_several_pictures_the_primary_one_is_the_photo(photo: Path) -> None:
    photo.write_bytes(heic(NOISE, NOISE.rotate(180)))
    opened = open_photo(photo)
    assert np.array_equal(np.asarray(opened.image), np.asarray(NOISE))
    # The others are not held in memory along with it.
    assert type(opened.stored) is Image.Image


@pytest.mark.parametrize("options", [{}, TILES], ids=["one piece", "tiles"])
def test_a_file_cut_short_anywhere_is_refused(photo: Path, options: dict[str, int]) -> None:
    """The decoder would paint the tiles that are missing, and say nothing."""
    content = heic(NOISE, exif=notes(), **options)
    for cut in {1, 2, 7, 8, 9, 100, *np.linspace(12, len(content) - 20, 40).astype(int)}:
        photo.write_bytes(content[:-cut])
        assert "found a photo that is cut short or damaged; " in refusal(photo)
        (problem,) = refused_photos([photo])
        assert problem.found == "a photo that is cut short or damaged"


def test_a_file_cut_between_its_parts_is_refused(photo: Path) -> None:
    content = photo.read_bytes()
    photo.write_bytes(content[: content.index(b"mdat") - 4])
    assert "cut short or damaged" in refusal(photo)


def test_what_is_written_behind_the_picture_does_no_harm(photo: Path) -> None:
    photo.write_bytes(photo.read_bytes() + b"\x7f\xff\xff\xffSEFTnotes of the maker")
    assert np.array_equal(pixels(photo), np.asarray(NOISE))
    assert refused_photos([photo]) == []


def test_scrambled_headers_never_escape(photo: Path) -> None:
    whole, rng, outcomes = photo.read_bytes(), np.random.default_rng(9), []
    for _ in range(200):
        content = bytearray(whole)
        for place in rng.integers(8, 420, 4):
            content[place] = rng.integers(0, 256)
        photo.write_bytes(content)
        try:
            outcomes.append(open_photo(photo).image.mode)
        except WinterswardError as error:
            outcomes.append(f"refused in {1 + str(error).count(chr(10))} line")
    assert set(outcomes) == {"RGB", "refused in 1 line"}


REFUSED = {
    "grey": (NOISE.convert("L"), "a black-and-white picture"),
    "see-through": (NOISE.convert("RGBA"), "see-through parts"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_has_no_colour_to_score_is_refused(photo: Path, name: str) -> None:
    image, said = REFUSED[name]
    if image.mode == "RGBA":
        image.putpixel((3, 3), (90, 120, 60, 0))
    photo.write_bytes(heic(image, matrix_coefficients=6))
    assert said in refusal(photo)


def test_a_picture_too_large_is_refused_undecoded(
    photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("wintersward.photos.decoding.MOST_PIXELS", 3000)
    monkeypatch.setattr("wintersward.photos.refused.MOST_PIXELS", 3000)
    assert "a picture too large to open" in refusal(photo)
    assert refused_photos([photo])[0].found == "a picture too large to open"


def test_whole_files_are_not_decoded_to_be_checked(
    photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("wintersward.photos.refused.open_photo", None)
    assert refused_photos([photo]) == []


def test_the_small_copy_within_is_taken_for_looking_at(photo: Path) -> None:
    turf = NOISE.resize((640, 480))
    photo.write_bytes(heic(turf, thumbnails=[320], quality=60, chroma=420, matrix_coefficients=6))
    assert open_photo(photo).image.size == (640, 480)
    assert open_photo(photo, 240).image.size == (320, 240)
    assert open_photo(photo, 400).image.size == (640, 480)


def test_other_colours_than_srgb_are_noted(photo: Path) -> None:
    other = ImageCms.ImageCmsProfile(ImageCms.createProfile("XYZ")).tobytes()
    photo.write_bytes(heic(NOISE, icc_profile=other))
    assert open_photo(photo).notes[0].startswith("colour profile: ")
    photo.write_bytes(heic(NOISE, color_primaries=12))
    assert open_photo(photo).notes == ("colour profile: Display P3, scored as stored",)


def test_a_pile_holds_every_kind_and_names_the_damaged(tmp_path: Path, half_green) -> None:
    kinds = {"a.heic": heic(half_green, exif=notes()), "b.jpg": stored(half_green, "JPEG")}
    kinds["c.heic"] = kinds["a.heic"][:-50]
    paths = []
    for name, content in kinds.items():
        paths.append(tmp_path / name)
        paths[-1].write_bytes(content)
    scores, problems = score_photos(
        paths, cache=tmp_path / "kept", dates=[dt.date(2026, 3, 24)] * 3
    )
    assert scores["cover"].round(0).tolist()[:2] == [50.0, 50.0]
    assert [Path(problem.path).name for problem in problems] == ["c.heic"]
    again, _ = score_photos(paths, cache=tmp_path / "kept", dates=[dt.date(2026, 3, 24)] * 3)
    assert again.equals(scores)


def test_the_decoder_is_loaded_when_such_a_file_is_met(tmp_path: Path, photo: Path) -> None:
    plain = tmp_path / "plain.jpg"
    NOISE.save(plain)
    code = (
        "import sys\n"
        "from wintersward.photos.decoding import open_photo\n"
        "from wintersward.photos.refused import refused_photos\n"
        "for path in sys.argv[1:]:\n"
        "    open_photo(path), refused_photos([path])\n"
        "    print('pillow_heif' in sys.modules)\n"
    )
    command = [sys.executable, "-P", "-c", code, str(plain), str(photo)]
    assert subprocess.check_output(command, text=True).split() == ["False", "True"]


def test_the_decoders_version_is_told() -> None:
    assert decoders().split()[::2] == [PIL.__version__, pillow_heif.__version__]


def test_boxes_of_every_size_notation_are_walked() -> None:
    def box(kind: bytes, content: bytes, size: int | None = None) -> bytes:
        length = 8 + len(content) if size is None else size
        return length.to_bytes(4, "big") + kind + content

    head = box(b"ftyp", b"heic\0\0\0\0") + box(b"meta", b"1234")
    wide = b"\0\0\0\1mdat" + (20).to_bytes(8, "big") + b"1234"
    for rest, sound in (
        (box(b"mdat", b"1234"), True),
        (box(b"mdat", b"1234", 0), True),
        (wide, True),
        (wide[:-1], False),
        (box(b"mdat", b"1234", 7), False),
        (b"", False),
        (b"\0\0\0", False),
    ):
        assert heif.whole(io.BytesIO(head + rest)) is sound, rest
    assert heif.whole(io.BytesIO(box(b"ftyp", b"heic") + box(b"meta", b"..idat..")))
