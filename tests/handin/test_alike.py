from __future__ import annotations

import base64
import io
import re
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
import pytest
from PIL import Image

from wintersward.handin.alike import SQUARE_LEVELS, notebook_apart, picture_apart
from wintersward.photos.sheets import JPEG_QUALITY

SVG = """\
<svg width="144pt"><defs><path id="m4ef8443bb7" d="M 0 3.5 L -1.25 0"/></defs>
<use xlink:href="#m4ef8443bb7" x="10.000001" y="2e1" style="fill: #1c4395"/>
<g id="DejaVuSans-41"/></svg>
"""


def painted(level: int, size: int = 8, ending: str = "PNG") -> bytes:
    made = io.BytesIO()
    Image.new("RGB", (size, size), (level, 90, 40)).save(made, ending)
    return made.getvalue()


def test_a_drawing_of_another_computer() -> None:
    moved = SVG.replace("10.000001", "10.009").replace("m4ef8443bb7", "m0123456789")
    assert picture_apart("a.svg", moved.encode(), SVG.encode()) == ""


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("10.000001", "10.02", "it is not what comes out anew: 10.02; made anew: 10.000001"),
        ("1c4395", "1c4396", "it is not what comes out anew: 4396; made anew: 4395"),
        ("M 0", "L 0", "it is not what comes out anew"),
        ('"#m4ef8443bb7"', '"#m0123456789"', "it is not what comes out anew: 1; made anew: 0"),
        ("DejaVuSans-41", "DejaVuSans-42", "it is not what comes out anew: -42; made anew: -41"),
    ],
)
def test_a_drawing_that_was_edited(before: str, after: str, told: str) -> None:
    assert SVG.count(before) == 1
    assert picture_apart("a.svg", SVG.replace(before, after).encode(), SVG.encode()) == told


def test_a_photo_of_another_computer() -> None:
    assert picture_apart("a.png", painted(61), painted(60)) == ""
    assert picture_apart("a.jpg", painted(61, ending="JPEG"), painted(60, ending="JPEG")) == ""
    told = "it is not what comes out anew: 9.0 of 255 levels apart on average"
    assert picture_apart("a.png", painted(69), painted(60)) == told
    assert picture_apart("a.png", painted(60, 9), painted(60)) == (
        "it has (9, 9) pixels; made anew, (8, 8)"
    )
    assert picture_apart("a.png", b"no picture", painted(60)) == "it is no picture"


def speckled(**changed: tuple[int, int, int]) -> Image.Image:
    """A picture as full of small differences as turf is, with what is painted over it."""
    levels = np.random.default_rng(5).normal((105, 110, 70), 22, (120, 160, 3))
    image = Image.fromarray(levels.clip(0, 255).astype(np.uint8)).resize((320, 240))
    for place, colour in changed.items():
        left, top = map(int, place[1:].split("_"))
        image.paste(colour, (left, top, left + 16, top + 16))
    return image


def saved(image: Image.Image, ending: str = "JPEG", **told: Any) -> bytes:
    made = io.BytesIO()
    image.save(made, ending, **({"quality": JPEG_QUALITY, "optimize": True} | told))
    return made.getvalue()


@pytest.mark.parametrize("place", ["p0_0", "p304_224", "p96_64", "p104_72", "p101_67"])
@pytest.mark.parametrize("colour", [(40, 140, 40), (255, 255, 255)])
def test_a_painted_square_of_a_photo(place: str, colour: tuple[int, int, int]) -> None:
    left, top = map(int, place[1:].split("_"))
    told = picture_apart("a.jpg", saved(speckled(**{place: colour})), saved(speckled()))
    found = re.fullmatch(
        r"it is not what comes out anew: 16 x 16 px, ([0-9]+) px from the left and ([0-9]+) px "
        r"from the top: ([0-9.]+) of 255 levels apart",
        told,
    )
    assert found is not None, told
    assert abs(int(found[1]) - left) <= 3
    assert abs(int(found[2]) - top) <= 3
    assert float(found[3]) > 3 * SQUARE_LEVELS


@pytest.mark.parametrize("other", [{"quality": JPEG_QUALITY - 1}, {"progressive": True}])
def test_a_photo_saved_by_another_encoder(other: dict[str, Any]) -> None:
    assert picture_apart("a.jpg", saved(speckled(), **other), saved(speckled())) == ""


def test_a_photo_within_a_file_that_shows_it_otherwise() -> None:
    anew, told = saved(speckled()), "its file is of another kind than the one made anew"
    turned = Image.Exif()
    turned[0x0112] = 3
    assert picture_apart("a.jpg", saved(speckled(), exif=turned), anew) == told
    assert picture_apart("a.jpg", saved(speckled(), icc_profile=b"x" * 200), anew) == told
    assert picture_apart("a.jpg", saved(speckled(), "PNG"), anew) == told
    second = {"save_all": True, "append_images": [speckled(p32_32=(40, 140, 40))]}
    moving = saved(speckled(), "PNG", **second)
    assert picture_apart("a.png", moving, saved(speckled(), "PNG")) == told


def test_a_photo_within_a_drawing() -> None:
    def around(photo: bytes) -> bytes:
        coded = base64.b64encode(photo).decode()
        return f'<svg><image href="data:image/png;base64,{coded}"/></svg>'.encode()

    assert picture_apart("a.svg", around(painted(61)), around(painted(60))) == ""
    assert picture_apart("a.svg", around(painted(99)), around(painted(60))).startswith("it is not")
    for other in (b"<svg></svg>", around(painted(60)).replace(b"image/png", b"image/gif")):
        assert picture_apart("a.svg", other, around(painted(60))) == (
            "it holds other pictures than the one made anew"
        )


def test_colours_are_no_numbers() -> None:
    one, other = (SVG.replace("1c4395", colour).encode() for colour in ("0e4395", "0e9595"))
    assert picture_apart("a.svg", one, other) == "it has other colours than anew"


def written(path: Path, text: str, source: str = "show(a)", level: int = 60) -> Path:
    data = {"text/plain": text, "image/png": base64.b64encode(painted(level)).decode()}
    cell = nbformat.v4.new_code_cell(source, id="a", execution_count=1)
    cell.outputs = [nbformat.v4.new_output("display_data", data)]
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), path)
    return path


def test_a_notebook_of_another_computer(tmp_path: Path) -> None:
    anew = written(tmp_path / "anew.ipynb", "mean 71.04166667")
    near = written(tmp_path / "near.ipynb", "mean 71.0416667", level=61)
    assert notebook_apart(near, anew, outputs=True) == ""


@pytest.mark.parametrize(
    ("text", "source", "told"),
    [
        ("mean 71.2", "show(a)", "what its cells wrote: it is not what comes out anew: 71.2; made"),
        ("mode 71.04166667", "show(a)", "what its cells wrote: it is not what comes out anew"),
        ("mean 71.04166667", "show(b)", "its cells are not those that were executed anew"),
    ],
)
def test_a_notebook_that_was_edited(tmp_path: Path, text: str, source: str, told: str) -> None:
    anew = written(tmp_path / "anew.ipynb", "mean 71.04166667")
    edited = written(tmp_path / "edited.ipynb", text, source)
    assert notebook_apart(edited, anew, outputs=True).startswith(told)
    # Where other libraries wrote it, the cells alone are held against each other.
    assert bool(notebook_apart(edited, anew, outputs=False)) == (source == "show(b)")


def test_a_picture_within_what_a_notebook_wrote(tmp_path: Path) -> None:
    def shown(level: int) -> str:
        coded = base64.b64encode(painted(level)).decode()
        return f'<img src="data:image/png;base64,{coded}">'

    anew = written(tmp_path / "anew.ipynb", shown(60))
    near = written(tmp_path / "near.ipynb", shown(61))
    assert notebook_apart(near, anew, outputs=True) == ""
    other = written(tmp_path / "other.ipynb", shown(99))
    assert notebook_apart(other, anew, outputs=True) == (
        "what its cells wrote: it is not what comes out anew: 39.0 of 255 levels apart on average"
    )


def test_a_notebook_that_lost_what_it_wrote(tmp_path: Path) -> None:
    anew = written(tmp_path / "anew.ipynb", "mean 71.04166667")
    cell = nbformat.v4.new_code_cell("show(a)", id="a")
    bare = tmp_path / "bare.ipynb"
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), bare)
    assert notebook_apart(bare, anew, outputs=True) == "its cells wrote other things than anew"
