"""Pictures, and what notebooks wrote, of two computers: the same but for the last digits."""

from __future__ import annotations

import base64
import io
import json
import re
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageChops, ImageStat

from wintersward.runs.notebooks import same_cells
from wintersward.runs.table_compare import TOLERANCE

__all__ = ["LEVELS", "PIXELS", "SQUARE", "SQUARE_LEVELS", "notebook_apart", "picture_apart"]

PIXELS = 0.01
"""How far a point of a drawing may lie from where it is made anew [px]."""
LEVELS = 2.0
"""How far the levels of a photo may be from those made anew, on average over all pixels."""
SQUARE = 16
"""Side of the squares in which a photo is looked at, wherever they lie [px]."""
SQUARE_LEVELS = 9.0
"""How far the levels of a photo may be from those made anew, on average over any one square.

Measured on four sheets and four overlays of the example's photos, saved at quality 75, the square
that is farthest apart: 0.0 levels by libjpeg-turbo 2.1.5 in the place of 3.2.0, 6.4 by its fast and
7.2 by its floating-point transform, 8.3 at quality 74, 8.5 at 76 (where sheets are 2.1 to 2.6 apart
as a whole, which is beyond `LEVELS`). A square of 16 px that was painted the green of a lawn
(40, 140, 40), at 40 places of each, is 39 or more apart; white on an overlay, 156 or more. What
was painted in nearly the colour that it had cannot be told from another encoder: a dull green
(90, 110, 50), where least apart, was 7.7.
"""

_NUMBER = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
# Names that the drawing library makes of a hash of what it draws: the last digits go in.
_NAME = re.compile(r"(?<![0-9A-Za-z])[a-z][0-9a-f]{10}(?![0-9A-Za-z])")
_EMBEDDED = re.compile(r"(data:image/[a-z+]+;base64,)([A-Za-z0-9+/=\s]*)")
# What a run and its notebooks write.
_FORMATS = ("JPEG", "PNG")
_COLOUR = re.compile(r"#[0-9A-Fa-f]{3,8}\b")
# What a picture file tells of how its pixels are shown.
_SHOWN_BY = ("exif", "icc_profile", "gamma", "chromaticity", "srgb")

_Near = Callable[[float, float], bool]


def picture_apart(name: str, one: bytes, other: bytes) -> str:
    """Say how a picture differs from the one made anew on another computer.

    Parameters
    ----------
    name : str
        The file.
    one, other : bytes
        The picture that was handed in, and the one made anew.

    Returns
    -------
    str
        Empty where the two are alike: a drawing within `PIXELS`, a photo within `LEVELS` as a
        whole and within `SQUARE_LEVELS` in every square.
    """
    if one == other:
        return ""
    if name.endswith(".svg"):
        return _drawing_apart(*(data.decode("utf-8", "replace") for data in (one, other)))
    return _photo_apart(one, other)


def _drawing_apart(one: str, other: str) -> str:
    if apart := _embedded_apart(one, other):
        return apart
    first, second = (_renamed(_EMBEDDED.sub(r"\1", text)) for text in (one, other))
    return _text_apart(first, second, lambda a, b: abs(a - b) <= PIXELS)


def _embedded_apart(one: str, other: str) -> str:
    """Say how the pictures within two texts differ."""
    held = [_EMBEDDED.findall(text) for text in (one, other)]
    if [kind for kind, _ in held[0]] != [kind for kind, _ in held[1]]:
        return "it holds other pictures than the one made anew"
    for (kind, ours), (_, others) in zip(*held, strict=True):
        if ours != others:
            name = "embedded.svg" if "svg" in kind else "embedded"
            apart = picture_apart(name, *(base64.b64decode(text) for text in (ours, others)))
            if apart:
                return apart
    return ""


def _renamed(text: str) -> str:
    """Call the names that are hashes by their order."""
    seen: dict[str, str] = {}
    return _NAME.sub(lambda found: seen.setdefault(found[0], f"name{len(seen)}"), text)


def _text_apart(one: str, other: str, near: _Near) -> str:
    if _NUMBER.sub("#", one) != _NUMBER.sub("#", other):
        return "it is not what comes out anew"
    pairs = zip(_NUMBER.findall(one), _NUMBER.findall(other), strict=True)
    for a, b in pairs:
        if a != b and not near(float(a), float(b)):
            return f"it is not what comes out anew: {a}; made anew: {b}"
    # As numbers, #0e4395 and #0e9595 would both be naught.
    return (
        "" if _COLOUR.findall(one) == _COLOUR.findall(other) else "it has other colours than anew"
    )


def _photo_apart(one: bytes, other: bytes) -> str:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            files = [Image.open(io.BytesIO(data), formats=_FORMATS) for data in (one, other)]
            if (sizes := [file.size for file in files])[0] != sizes[1]:
                return f"it has {sizes[0]} pixels; made anew, {sizes[1]}"
            if _told_by(files[0]) != _told_by(files[1]):
                return "its file is of another kind than the one made anew"
            ours, others = (file.convert("RGBA") for file in files)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return "it is no picture"
    apart = ImageChops.difference(ours, others)
    if (whole := max(ImageStat.Stat(apart).mean)) > LEVELS:
        return f"it is not what comes out anew: {whole:.1f} of 255 levels apart on average"
    levels, left, top, wide, high = max(_square(channel) for channel in apart.split())
    if levels > SQUARE_LEVELS:
        where = f"{wide} x {high} px, {left} px from the left and {top} px from the top"
        return f"it is not what comes out anew: {where}: {levels:.1f} of 255 levels apart"
    return ""


def _told_by(file: Image.Image) -> list[object]:
    """List what else decides how a picture is shown: its kind, frames, profile, turn."""
    return [file.format, getattr(file, "n_frames", 1), *(file.info.get(one) for one in _SHOWN_BY)]


def _square(apart: Image.Image) -> tuple[float, int, int, int, int]:
    """Find the square with the highest mean of one channel, with its place and sides."""
    levels = np.asarray(apart, dtype=np.int64)
    high, wide = (min(SQUARE, side) for side in levels.shape)
    sums = np.pad(levels.cumsum(0).cumsum(1), ((1, 0), (1, 0)))
    held = sums[high:, wide:] - sums[:-high, wide:] - sums[high:, :-wide] + sums[:-high, :-wide]
    top, left = divmod(int(held.argmax()), held.shape[1])
    return float(held[top, left]) / (high * wide), left, top, wide, high


def notebook_apart(one: Path, other: Path, outputs: bool) -> str:
    """Say how an executed notebook differs from the one made anew.

    Parameters
    ----------
    one, other : Path
        The notebook that was handed in, and the one made anew.
    outputs : bool
        Whether what the cells wrote is compared too, numbers by
        `wintersward.runs.table_compare.TOLERANCE`, pictures as in `picture_apart`.

    Returns
    -------
    str
        Empty where the two are alike.
    """
    if one.read_bytes() == other.read_bytes():
        return ""
    if not same_cells(one, other):
        return "its cells are not those that were executed anew"
    if not outputs:
        return ""
    ours, others = (_outputs(path) for path in (one, other))
    if [kind for kind, _ in ours] != [kind for kind, _ in others]:
        return "its cells wrote other things than anew"
    for (kind, text), (_, made) in zip(ours, others, strict=True):
        if text != made and (apart := _output_apart(kind, text, made)):
            return f"what its cells wrote: {apart}"
    return ""


def _outputs(notebook: Path) -> list[tuple[str, str]]:
    """List what the cells wrote: the kind of each thing, and its text."""
    found: list[tuple[str, str]] = []
    cells: list[dict[str, Any]] = json.loads(notebook.read_text(encoding="utf-8"))["cells"]
    for number, cell in enumerate(cells):
        for output in cell.get("outputs", []):
            told = output.get("data") or {output.get("name", "text"): output.get("text", "")}
            told = {**told, "metadata": json.dumps(output.get("metadata", {}), sort_keys=True)}
            found += [(f"{number} {kind}", _joined(text)) for kind, text in sorted(told.items())]
    return found


def _joined(text: Any) -> str:
    if isinstance(text, list):
        return "".join(map(str, text))
    return text if isinstance(text, str) else json.dumps(text, sort_keys=True)


def _output_apart(kind: str, one: str, other: str) -> str:
    if kind.endswith(("image/png", "image/jpeg")):
        return _photo_apart(*(base64.b64decode(text) for text in (one, other)))
    if kind.endswith("image/svg+xml"):
        return _drawing_apart(one, other)
    if apart := _embedded_apart(one, other):
        return apart
    first, second = (_EMBEDDED.sub(r"\1", text) for text in (one, other))
    return _text_apart(first, second, _near)


def _near(one: float, other: float) -> bool:
    return abs(one - other) <= TOLERANCE.allowed(one, other, max(abs(one), abs(other)))
