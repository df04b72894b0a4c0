"""The words and the pictures of a page: what a reader sees, whatever the marks around it."""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Mapping
from html.parser import HTMLParser
from pathlib import Path

__all__ = ["page_pictures", "pictures_apart", "programs_in", "text_apart"]

# Raw values are held against the tables, pictures against the run; other libraries may give
# headings other places to jump to.
_APART = ("value", "src", "id", "href")
_PROGRAMS = ("script", "iframe", "object", "embed")
_DATA = "data:"
_AROUND = 8


class _Reader(HTMLParser):
    """Gathers words, pictures and programs in their order."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.pictures: list[str] = []
        self.programs: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        for name in sorted({*told} - {*_APART}):
            self.words += told[name].split()
        self.pictures += [value for value in told.values() if value.strip().startswith(_DATA)]
        if tag in _PROGRAMS or any(name.startswith("on") for name in told):
            self.programs.append(f"line {self.getpos()[0]}: <{tag}>")

    def handle_data(self, data: str) -> None:
        self.words += data.split()


def _read(html: str) -> _Reader:
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return reader


def text_apart(html: str, anew: str, there: Mapping[str, str], here: Mapping[str, str]) -> str:
    """Find where the words of two pages differ; marks and pictures apart.

    Parameters
    ----------
    html, anew : str
        The page that was handed in, and the one made anew.
    there, here : mapping of str to str
        Versions of libraries by which each was made: a page names them.

    Returns
    -------
    str
        What stands in both from there on; empty where the words are the same.

    Examples
    --------
    >>> text_apart("<p>eleven <b>points</b> more</p>", "<p>eleven points less</p>", {}, {})
    "'more'; made anew: 'less'"
    """
    ours, others = (" ".join(_read(page).words) for page in (html, anew))
    for name, version in there.items():
        known = rf"(?<![\w-]){re.escape(name)} {re.escape(here.get(name, version))}(?!\w)"
        others = re.sub(known, _plainly(f"{name} {version}"), others)
    one, other = ours.split(), others.split()
    if one == other:
        return ""
    at = next(
        (i for i, pair in enumerate(zip(one, other, strict=False)) if pair[0] != pair[1]),
        min(len(one), len(other)),
    )
    said = [" ".join(words[at : at + _AROUND]) for words in (one, other)]
    return f"{said[0]!r}; made anew: {said[1]!r}"


def _plainly(text: str) -> str:
    """Write a text so that it stands for itself where a pattern is replaced."""
    return text.replace("\\", r"\\")


def programs_in(html: str) -> list[str]:
    r"""Tell where a page holds a script or another page, which no report does.

    Examples
    --------
    >>> programs_in("<p>a</p>\n<script>b</script>")
    ['line 2: <script>']
    """
    return _read(html).programs


def page_pictures(html: str, figures: Path) -> list[tuple[str, ...]]:
    """Name the pictures of a page.

    Parameters
    ----------
    html : str
        The page.
    figures : Path
        Folder ``figures`` of its run.

    Returns
    -------
    list of tuple of str
        For each picture of the page, in its order, the files that it is; none where it is no
        picture of the run.
    """
    known: dict[bytes, list[str]] = {}
    for path in sorted(figures.glob("*")):
        if path.is_file():
            known.setdefault(path.read_bytes(), []).append(path.name)
    return [tuple(known.get(_content(source), ())) for source in _read(html).pictures]


def _content(source: str) -> bytes:
    head, _, coded = source.strip().partition(",")
    if not head.endswith(";base64"):
        return b""
    try:
        return base64.b64decode(coded, validate=True)
    except (binascii.Error, ValueError):
        return b""


def pictures_apart(pictures: list[tuple[str, ...]], anew: list[tuple[str, ...]]) -> list[str]:
    """Tell which pictures of a page stand where, made anew, another one stands.

    Examples
    --------
    >>> pictures_apart([("a.svg",)], [("b.svg",)])
    ['picture 1 is a.svg; made anew, b.svg stands there']
    """
    told = []
    for number, (one, other) in enumerate(zip(pictures, anew, strict=False), 1):
        if one and not {*one} & {*other}:
            right = other[0] if other else "another"
            told.append(f"picture {number} is {one[0]}; made anew, {right} stands there")
    if len(pictures) != len(anew):
        told.append(f"{len(pictures)} pictures; made anew, {len(anew)}")
    return told
