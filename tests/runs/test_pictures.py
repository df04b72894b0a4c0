from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
from matplotlib import rc_context
from matplotlib.figure import Figure
from PIL import Image

from wintersward.errors import WinterswardError
from wintersward.runs.pictures import picture_file, svg


def figure() -> Figure:
    made = Figure()
    axes = made.subplots()
    axes.plot([0, 1], marker="o", label="cover")
    axes.fill_between([0, 1], [0, 1], [1, 2], hatch="/")
    axes.legend()
    return made


def photo(mode: str = "RGB") -> Image.Image:
    values = np.random.default_rng(1).integers(0, 256, (16, 24, 3), dtype=np.uint8)
    return Image.fromarray(values).convert(mode)


def test_a_figure_is_the_same_svg_each_time() -> None:
    first, second = picture_file(figure()), picture_file(figure())
    assert first == second
    assert first[0] == "svg"
    with rc_context({"svg.hashsalt": "another"}):
        assert picture_file(figure()) == first


def test_a_figure_is_drawn_once_until_it_is_changed() -> None:
    made = figure()
    first = svg(made)
    assert svg(made) is first
    line = made.axes[0].lines[0]
    for change in (
        lambda: line.set_ydata([1, 0]),
        lambda: made.axes[0].set_title("More"),
        lambda: made.text(0.1, 0.1, "Beside"),
        lambda: made.set_size_inches(3, 2),
    ):
        before = svg(made)
        change()
        assert svg(made) != before
        assert svg(made) is svg(made)


def test_an_svg_holds_no_date_and_no_version() -> None:
    text = picture_file(figure())[1].decode()
    assert "<dc:date>" not in text
    assert "<dc:creator>" not in text


@pytest.mark.parametrize(
    ("mode", "ending", "format_name"),
    [("RGB", "jpg", "JPEG"), ("L", "jpg", "JPEG"), ("RGBA", "png", "PNG"), ("P", "png", "PNG")],
)
def test_images(mode: str, ending: str, format_name: str) -> None:
    image = photo(mode)
    found, content = picture_file(image)
    assert found == ending
    assert (found, content) == picture_file(image.copy())
    back = Image.open(io.BytesIO(content))
    assert back.format == format_name
    assert back.size == image.size


def test_pixels_of_a_png_stay_as_they_are() -> None:
    image = photo("P")
    back = Image.open(io.BytesIO(picture_file(image)[1]))
    assert np.array_equal(np.asarray(back), np.asarray(image.convert("RGBA")))


def test_what_a_phone_wrote_into_a_photo_is_left_out() -> None:
    taken = Image.Exif()
    taken[0x010E] = "field behind the school"
    stream = io.BytesIO()
    photo().save(stream, "JPEG", exif=taken, comment=b"by R. Example")
    image = Image.open(io.BytesIO(stream.getvalue()))
    assert image.getexif()[0x010E] == "field behind the school"
    content = picture_file(image)[1]
    assert not Image.open(io.BytesIO(content)).getexif()
    assert b"Example" not in content


def test_anything_else_is_refused() -> None:
    wrong: Any = "picture.png"
    with pytest.raises(WinterswardError, match="a figure of type str; allowed: a matplotlib"):
        picture_file(wrong)
