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

from PIL import Image, ImageChops, ImageStat

from wintersward.runs.notebooks import same_cells
from wintersward.runs.table_compare import TOLERANCE

__all__ = ["LEVELS", "PIXELS", "notebook_apart", "picture_apart"]

PIXELS = 0.01
"""How far a point of a drawing may lie from where it is made anew [px]."""
LEVELS = 2.0
"""How far the levels of a photo may be from those made anew, on average over all pixels."""

_NUMBER = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
# Names that the drawing library makes of a hash of what it draws: the last digits go in.
_NAME = re.compile(r"(?<![0-9A-Za-z])[a-z][0-9a-f]{10}(?![0-9A-Za-z])")
_EMBEDDED = re.compile(r"data:image/[a-z+]+;base64,([A-Za-z0-9+/=\s]*)")

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
        Empty where the two are alike: a drawing within `PIXELS`, a photo within `LEVELS`.
    """
    if one == other:
        return ""
    if name.endswith(".svg"):
        return _drawing_apart(*(data.decode("utf-8", "replace") for data in (one, other)))
    return _photo_apart(one, other)


def _drawing_apart(one: str, other: str) -> str:
    held = [[base64.b64decode(match) for match in _EMBEDDED.findall(t)] for t in (one, other)]
    if len(held[0]) != len(held[1]):
        return "it holds other pictures than the one made anew"
    for ours, others in zip(*held, strict=True):
        if ours != others and (apart := _photo_apart(ours, others)):
            return apart
    first, second = (_renamed(_EMBEDDED.sub("", text)) for text in (one, other))
    return _text_apart(first, second, lambda a, b: abs(a - b) <= PIXELS)


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
    return ""


def _photo_apart(one: bytes, other: bytes) -> str:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            ours, others = (Image.open(io.BytesIO(data)).convert("RGBA") for data in (one, other))
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return "it is no picture"
    if ours.size != others.size:
        return f"it has {ours.size} pixels; made anew, {others.size}"
    apart = max(ImageStat.Stat(ImageChops.difference(ours, others)).mean)
    if apart > LEVELS:
        return f"it is not what comes out anew: {apart:.1f} of 255 levels apart on average"
    return ""


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
    first, second = (_EMBEDDED.sub("", text) for text in (one, other))
    return _text_apart(first, second, _near)


def _near(one: float, other: float) -> bool:
    return abs(one - other) <= TOLERANCE.allowed(one, other, max(abs(one), abs(other)))
