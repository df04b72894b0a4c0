"""Drawings that weigh less: places to a hundredth of a point, each style once, short names."""

from __future__ import annotations

import re
from collections import Counter

__all__ = ["lean"]

_METADATA = re.compile(r"<metadata>.*?</metadata>\s*", re.DOTALL)
_PLACES = re.compile(r'(?<=\s)(?:d|points|x|y)="[^"]*"|translate\([^)]*\)')
_LONG = re.compile(r"-?\d+\.\d{3,}")
_SPACES = re.compile(r"\s+")
_COMMAND = re.compile(r" ?([MLHVCSQTAZz]) ?")
_INDENT = re.compile(r"\n\s+")
_STYLE = re.compile(r' style="([^"]*)"')
_SHEET = "</style>"
_NAMED = re.compile(r' id="([^"]*)"')
_MEANT = re.compile(r'(?<=href="#)[^"]+|(?<=url\(#)[^)]+')


def lean(drawing: str) -> str:
    """Write a drawing of matplotlib with fewer letters, so that a page with many stays light.

    Parameters
    ----------
    drawing : str
        SVG.

    Returns
    -------
    str
        The same elements and comments. Places are rounded to 0.01 of their unit, a point of a
        drawing or less of a letter; a style that several elements share stands once, as a class;
        names that nothing refers to, and the description of the format, are left out.

    Examples
    --------
    >>> lean('<path d="M 1.234567 2 L 3.999999 40.5 " style="fill: none"/>')
    '<path d="M1.23 2L4 40.5" style="fill: none"/>'
    """
    bare = _METADATA.sub("", drawing)
    return _renamed(_shared(_INDENT.sub("\n", _PLACES.sub(_places, bare))))


def _renamed(drawing: str) -> str:
    """Number the names that something refers to, in their order, and leave out the others."""
    meant = set(_MEANT.findall(drawing))
    names: dict[str, str] = {}
    for name in _NAMED.findall(drawing):
        if name in meant:
            names.setdefault(name, f"i{len(names)}")
    bare = _NAMED.sub(
        lambda match: f' id="{names[match[1]]}"' if match[1] in names else "", drawing
    )
    return _MEANT.sub(lambda match: names.get(match[0], match[0]), bare)


def _shared(drawing: str) -> str:
    """Write a style that stands several times into the drawing's own sheet of styles."""
    if _SHEET not in drawing:
        return drawing
    counted = Counter(_STYLE.findall(drawing))
    names = {
        style: f"s{number}"
        for number, style in enumerate(one for one, times in counted.items() if times > 1)
    }
    rules = "".join(f".{name}{{{style}}}" for style, name in names.items())
    named = _STYLE.sub(
        lambda match: f' class="{names[match[1]]}"' if match[1] in names else match[0], drawing
    )
    return named.replace(_SHEET, f"{rules}{_SHEET}", 1)


def _places(match: re.Match[str]) -> str:
    """Shorten the numbers of a place, and the blanks of a path."""
    text = _SPACES.sub(" ", _LONG.sub(_short, match[0]))
    if not text.startswith("d="):
        return text
    path = _COMMAND.sub(r"\1", text[3:-1])
    return f'd="{path.strip()}"'


def _short(match: re.Match[str]) -> str:
    shown = f"{float(match[0]):.2f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown
