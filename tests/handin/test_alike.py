from __future__ import annotations

import base64
import io
from pathlib import Path

import nbformat
import pytest
from PIL import Image

from wintersward.handin.alike import notebook_apart, picture_apart

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


def test_a_photo_within_a_drawing() -> None:
    def around(photo: bytes) -> bytes:
        coded = base64.b64encode(photo).decode()
        return f'<svg><image href="data:image/png;base64,{coded}"/></svg>'.encode()

    assert picture_apart("a.svg", around(painted(61)), around(painted(60))) == ""
    assert picture_apart("a.svg", around(painted(99)), around(painted(60))).startswith("it is not")
    assert picture_apart("a.svg", b"<svg></svg>", around(painted(60))) == (
        "it holds other pictures than the one made anew"
    )


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


def test_a_notebook_that_lost_what_it_wrote(tmp_path: Path) -> None:
    anew = written(tmp_path / "anew.ipynb", "mean 71.04166667")
    cell = nbformat.v4.new_code_cell("show(a)", id="a")
    bare = tmp_path / "bare.ipynb"
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), bare)
    assert notebook_apart(bare, anew, outputs=True) == "its cells wrote other things than anew"
