import io
import os
import struct
import zlib
from datetime import datetime

import numpy as np
import pytest
from PIL import ExifTags, Image, ImageCms, ImageFile

from wintersward.errors import WinterswardError
from wintersward.photos.decoding import file_hash, open_photo


def stored(image: Image.Image, kind: str, **options: object) -> bytes:
    memory = io.BytesIO()
    image.save(memory, kind, **options)
    return memory.getvalue()


def refusal(path: os.PathLike[str]) -> str:
    with pytest.raises(WinterswardError) as caught:
        open_photo(path)
    said = str(caught.value)
    assert "\n" not in said
    assert "Traceback" not in said
    assert os.fspath(path) in said
    return said


def bomb(width: int, height: int) -> bytes:
    """A PNG of a hundred bytes that claims to be huge."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = (chunk(b"IHDR", header), chunk(b"IDAT", zlib.compress(b"\0")), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


NOISE = Image.fromarray(np.random.default_rng(3).integers(0, 256, (48, 64, 3), dtype=np.uint8))
CLEAR = NOISE.convert("RGBA")
CLEAR.putpixel((3, 3), (90, 120, 60, 0))

NOT_PHOTOS = {
    "empty": (b"", "an empty file"),
    "text": (b"plot,cover\n101,80\n", "a file that is no photo"),
    "zeros": (bytes(5000), "a file that is no photo"),
    "JPEG start only": (b"\xff\xd8\xff\xe0", "cut short or damaged"),
    "PNG start only": (b"\x89PNG\r\n\x1a\n", "cut short or damaged"),
    "TIFF start only": (b"II*\x00\x08\x00", "cut short or damaged"),
    "GIF": (stored(NOISE.convert("P"), "GIF"), "a GIF picture"),
    "WebP": (stored(NOISE, "WEBP"), "a WebP picture"),
    "BMP": (stored(NOISE, "BMP"), "a BMP picture"),
    "PDF": (b"%PDF-1.7\n", "a PDF document"),
    "spreadsheet": (b"PK\x03\x04" + bytes(40), "a ZIP archive or office document"),
    "HEIC start only": (b"\x00\x00\x00\x18ftypheic" + bytes(40), "cut short or damaged"),
    "AVIF": (b"\x00\x00\x00\x18ftypavif" + bytes(40), "an AVIF photo"),
    "AVIF of a phone": (b"\x00\x00\x00\x18ftypmif1\0\0\0\0avifmiaf", "set the camera to JPEG"),
    "burst": (b"\x00\x00\x00\x18ftyphevc" + bytes(40), "several pictures in one file"),
    "film": (b"\x00\x00\x00\x18ftypisom" + bytes(40), "a film"),
    "grey": (stored(NOISE.convert("L"), "JPEG"), "a black-and-white picture"),
    "one bit": (stored(NOISE.convert("1"), "PNG"), "a black-and-white picture"),
    "grey of 16 bits": (stored(NOISE.convert("I;16"), "PNG"), "a black-and-white picture"),
    "grey with alpha": (stored(NOISE.convert("LA"), "PNG"), "a black-and-white picture"),
    "CMYK JPEG": (stored(NOISE.convert("CMYK"), "JPEG"), "a picture in CMYK colours"),
    "CMYK TIFF": (stored(NOISE.convert("CMYK"), "TIFF"), "a picture in CMYK colours"),
    "see-through": (stored(CLEAR, "PNG"), "see-through parts"),
    "see-through colour": (
        stored(NOISE, "PNG", transparency=NOISE.getpixel((0, 0))),
        "see-through",
    ),
    "animated PNG": (
        stored(NOISE, "PNG", save_all=True, append_images=[NOISE.rotate(180)]),
        "several pictures in one file",
    ),
    "pages": (
        stored(NOISE, "TIFF", save_all=True, append_images=[NOISE.rotate(180)]),
        "several pictures in one file",
    ),
    "over Pillow's limit": (bomb(20_000, 20_000), "at most 120 million pixels"),
    "over our limit": (bomb(11_000, 11_000), "at most 120 million pixels"),
}


@pytest.mark.parametrize("name", NOT_PHOTOS)
def test_what_is_no_photo_gets_one_line(tmp_path, name):
    content, said = NOT_PHOTOS[name]
    path = tmp_path / "photo.jpg"
    path.write_bytes(content)
    assert said in refusal(path)


def test_missing_file_and_folder_get_one_line(tmp_path):
    assert "no such file" in refusal(tmp_path / "none.jpg")
    assert "a folder" in refusal(tmp_path)
    with pytest.raises(WinterswardError, match="no such file"):
        file_hash(tmp_path / "none.jpg")


TIFF16 = np.random.default_rng(4).integers(0, 65536, (24, 32, 3), dtype=np.uint16)


def test_sixteen_bits_keep_their_upper_eight(tmp_path):
    rows = b"".join(b"\0" + row.astype(">u2").tobytes() for row in TIFF16)
    plain = bomb(32, 24)
    header = plain[:8] + plain[8:33].replace(b"\x08\x02\x00\x00\x00", b"\x10\x02\x00\x00\x00")
    header = header[:29] + struct.pack(">I", zlib.crc32(header[12:29]))
    data = zlib.compress(rows)
    body = (
        struct.pack(">I", len(data))
        + b"IDAT"
        + data
        + struct.pack(">I", zlib.crc32(b"IDAT" + data))
    )
    path = tmp_path / "deep.png"
    path.write_bytes(header + body + plain[-12:])
    assert np.array_equal(np.asarray(open_photo(path).image), (TIFF16 >> 8).astype(np.uint8))


SAME_PIXELS = {
    "PNG": (NOISE, "PNG", {}),
    "TIFF": (NOISE, "TIFF", {}),
    "packed TIFF": (NOISE, "TIFF", {"compression": "tiff_lzw"}),
    "opaque RGBA": (NOISE.convert("RGBA"), "PNG", {}),
}


@pytest.mark.parametrize("name", SAME_PIXELS)
def test_lossless_kinds_give_the_pixels_whatever_the_name_says(tmp_path, name):
    image, kind, options = SAME_PIXELS[name]
    path = tmp_path / "named_wrongly.jpg"
    path.write_bytes(stored(image, kind, **options))
    photo = open_photo(path)
    assert photo.image.mode == "RGB"
    assert np.array_equal(np.asarray(photo.image), np.asarray(NOISE))
    assert photo.taken is None
    assert photo.notes == ()


def test_palette_gives_its_colours(tmp_path):
    palette = NOISE.quantize(16)
    (tmp_path / "p.png").write_bytes(stored(palette, "PNG"))
    opened = np.asarray(open_photo(tmp_path / "p.png").image)
    assert np.array_equal(opened, np.asarray(palette.convert("RGB")))


def test_multi_picture_jpeg_gives_its_first_picture(tmp_path):
    content = stored(NOISE, "MPO", save_all=True, append_images=[NOISE.rotate(180)], quality=95)
    (tmp_path / "phone.jpg").write_bytes(content)
    opened = np.asarray(open_photo(tmp_path / "phone.jpg").image)
    (tmp_path / "plain.jpg").write_bytes(stored(NOISE, "JPEG", quality=95))
    assert np.array_equal(opened, np.asarray(open_photo(tmp_path / "plain.jpg").image))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
@pytest.mark.parametrize("lenient", [False, True], ids=["usual", "notebook allows truncated"])
def test_cut_short_is_refused_or_whole(tmp_path, monkeypatch, kind, lenient):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", lenient)
    whole = stored(NOISE, kind)
    path = tmp_path / "cut.jpg"
    path.write_bytes(whole)
    pixels = np.asarray(open_photo(path).image)
    said = []
    for share in np.linspace(0.02, 0.999, 30):
        path.write_bytes(whole[: int(share * len(whole))])
        try:
            image = open_photo(path).image
        except WinterswardError as error:
            said.append(str(error))
        else:
            # Only bytes after the last pixel may be missing.
            assert np.array_equal(np.asarray(image), pixels)
    assert len(said) >= 25
    assert all("cut short or damaged" in line for line in said)
    assert ImageFile.LOAD_TRUNCATED_IMAGES is lenient


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
def test_scrambled_bytes_never_escape(tmp_path, kind):
    """Any damage gives a picture or one line, never another exception or a warning."""
    whole = bytearray(stored(NOISE, kind))
    rng = np.random.default_rng(9)
    path = tmp_path / "scrambled.jpg"
    outcomes = set()
    for _ in range(150):
        content = bytearray(whole)
        for place in rng.integers(0, min(len(content), 400), 4):
            content[place] = rng.integers(0, 256)
        path.write_bytes(content)
        try:
            outcomes.add(open_photo(path).image.mode)
        except WinterswardError:
            outcomes.add("refused")
    assert "refused" in outcomes
    assert outcomes <= {"RGB", "refused"}


def exif_with(**tags: str) -> Image.Exif:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 1
    camera = exif.get_ifd(ExifTags.IFD.Exif)
    for name, text in tags.items():
        block = exif if name == "DateTime" else camera
        block[ExifTags.Base[name]] = text
    # Only a block that was read has its inner block written to TIFF.
    read = Image.Exif()
    read.load(exif.tobytes())
    return read


@pytest.mark.parametrize(
    ("tags", "taken"),
    [
        ({"DateTimeOriginal": "2026:03:10 09:12:33"}, "2026-03-10T09:12:33"),
        (
            {"DateTimeOriginal": "2026:03:10 09:12:33", "OffsetTimeOriginal": "-04:00"},
            "2026-03-10T09:12:33-04:00",
        ),
        (
            {"DateTimeOriginal": "2026:03:10 09:12:33", "OffsetTimeOriginal": "EST"},
            "2026-03-10T09:12:33",
        ),
        ({"DateTimeDigitized": "2026:03:10 09:12:33"}, "2026-03-10T09:12:33"),
        ({"DateTime": "2026:05:01 10:00:00"}, None),
        ({"DateTimeOriginal": "0000:00:00 00:00:00"}, None),
        ({"DateTimeOriginal": "    :  :     :  :  "}, None),
        ({}, None),
    ],
)
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
def test_time_of_capture(tmp_path, kind, tags, taken):
    path = tmp_path / "photo"
    path.write_bytes(stored(NOISE, kind, exif=exif_with(**tags)))
    assert open_photo(path).taken == taken


def test_a_photo_to_look_at_is_decoded_small(painter, tmp_path):
    path = tmp_path / "a.jpg"
    painter.save_photo(Image.new("RGB", (640, 480), (60, 90, 40)), path, datetime(2026, 3, 24, 11))
    whole, small = open_photo(path), open_photo(path, 200)
    assert whole.image.size == (640, 480)
    assert small.image.size == (320, 240)
    assert small.taken == whole.taken == "2026-03-24T11:00:00"


def test_damaged_camera_notes_do_not_refuse_the_photo(tmp_path):
    content = stored(NOISE, "JPEG", exif=b"Exif\x00\x00II*\x00\xff\xff\xff\x7fgarbage")
    path = tmp_path / "photo.jpg"
    path.write_bytes(content)
    photo = open_photo(path)
    assert photo.taken is None
    assert photo.image.size == (64, 48)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_every_orientation_comes_upright(painter, tmp_path, orientation, kind):
    path = tmp_path / "held.jpg"
    painter.save_photo(NOISE, path, datetime(2026, 3, 10, 9), orientation)
    with Image.open(path) as held:
        exif = held.getexif()
        turned = held.size != NOISE.size
    assert turned == (orientation >= 5)
    # The same turning without loss: the stored rows are turned back to find what to store.
    names = "FLIP_LEFT_RIGHT ROTATE_180 FLIP_TOP_BOTTOM TRANSPOSE ROTATE_90 TRANSVERSE ROTATE_270"
    rows = NOISE
    if orientation > 1:
        rows = NOISE.transpose(Image.Transpose[names.split()[orientation - 2]])
    path.write_bytes(stored(rows, kind, exif=exif))
    assert np.array_equal(np.asarray(open_photo(path).image), np.asarray(NOISE))


@pytest.mark.parametrize("orientation", [0, 9, 77])
def test_impossible_orientation_is_taken_as_upright(tmp_path, orientation):
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    path = tmp_path / "photo.png"
    path.write_bytes(stored(NOISE, "PNG", exif=exif))
    assert np.array_equal(np.asarray(open_photo(path).image), np.asarray(NOISE))


@pytest.mark.parametrize(("space", "noted"), [("sRGB", False), ("XYZ", True)])
def test_other_colour_profiles_are_noted(tmp_path, space, noted):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile(space)).tobytes()
    path = tmp_path / "photo.png"
    path.write_bytes(stored(NOISE, "PNG", icc_profile=profile))
    notes = open_photo(path).notes
    assert [note.startswith("colour profile: ") for note in notes] == [True] * noted


def test_damaged_profile_is_noted(tmp_path):
    path = tmp_path / "photo.png"
    path.write_bytes(stored(NOISE, "PNG", icc_profile=b"no profile"))
    assert open_photo(path).notes == ("colour profile: an unreadable profile, scored as stored",)
