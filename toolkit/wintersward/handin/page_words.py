"""The words, marks and pictures of a page, as a reader sees them."""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

__all__ = ["page_pictures", "pictures_apart", "programs_in", "text_apart"]

_PROGRAMS = ("script", "iframe", "frame", "object", "embed", "applet", "base", "link", "form")
_PICTURES = ("src", "srcset", "poster")
_ADDRESSES = (*_PICTURES, "href", "xlink:href", "data", "action", "formaction", "background")
_DATA, _RUN = "data:", "javascript:"
# Browsers pass over these before and within the scheme of an address.
_PASSED_OVER = re.compile(r"[\x00-\x20]+")
_AROUND = 8


@dataclass(frozen=True)
class _Step:
    """A mark of a page, or the text up to the next one."""

    mark: bool
    text: str


class _Reader(HTMLParser):
    """Gathers marks and texts, pictures and programs in their order."""

    def __init__(self) -> None:
        super().__init__()
        self.steps: list[_Step] = []
        self.pictures: list[str] = []
        self.programs: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._mark(f"<{' '.join([tag, *(_named(name, value or '') for name, value in attrs)])}>")
        where = f"line {self.getpos()[0]}: "
        if tag in _PROGRAMS or any(name.startswith("on") for name, _ in attrs):
            self.programs.append(f"{where}<{tag}>")
        for name, value in attrs:
            told = value or ""
            if not _elsewhere(tag, name, told):
                self.steps.append(_Step(False, told))
            address = _PASSED_OVER.sub("", told).lower() if name in _ADDRESSES else ""
            if address.startswith(_DATA) or name in _PICTURES:
                self.pictures.append(told)
            if address.startswith(_RUN):
                self.programs.append(f'{where}<{tag} {name}="{_RUN}">')
            if (tag, name, told.strip().lower()) == ("meta", "http-equiv", "refresh"):
                self.programs.append(f'{where}<meta http-equiv="refresh">')

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self._mark("/>")

    def handle_endtag(self, tag: str) -> None:
        self._mark(f"</{tag}>")

    def handle_data(self, data: str) -> None:
        self.steps.append(_Step(False, data))

    def handle_comment(self, data: str) -> None:
        self._mark(f"<!--{data}-->")

    def handle_decl(self, decl: str) -> None:
        self._mark(f"<!{decl}>")

    def unknown_decl(self, data: str) -> None:
        self._mark(f"<![{data}]>")

    def handle_pi(self, data: str) -> None:
        self._mark(f"<?{data}>")

    def _mark(self, text: str) -> None:
        self.steps.append(_Step(True, text))


def _named(name: str, value: str) -> str:
    """Name an attribute, and with it the kind of picture that it holds."""
    return f"{name}={value.partition(',')[0]}" if _is_picture(name, value) else name


def _elsewhere(tag: str, name: str, value: str) -> bool:
    """Tell what is compared elsewhere: raw values by the tables, pictures by the run."""
    return (tag, name) == ("data", "value") or _is_picture(name, value)


def _is_picture(name: str, value: str) -> bool:
    return name == "src" and value.startswith(_DATA)


def _read(html: str) -> _Reader:
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return reader


def text_apart(html: str, anew: str, there: Mapping[str, str], here: Mapping[str, str]) -> str:
    """Find where words or marks of two pages differ; raw values and pictures apart.

    Parameters
    ----------
    html, anew : str
        The page that was handed in, and the one made anew.
    there, here : mapping of str to str
        Versions of libraries by which each was made: a page names them.

    Returns
    -------
    str
        What stands in both from there on; empty where words and marks are the same.

    Notes
    -----
    Marks are the names of tags and of their attributes, comments and declarations, in their
    order. All of them come from the templates of wintersward, none from a library, so that
    another version of one is no reason for another mark.

    Examples
    --------
    >>> text_apart("<p>eleven <b>points</b> more</p>", "<p>eleven points less</p>", {}, {})
    "'more'; made anew: 'less'"
    >>> text_apart("<p hidden>eleven</p>", "<p>eleven</p>", {}, {})
    "'<p hidden> eleven </p>'; made anew: '<p> eleven </p>'"
    """
    renamed = {
        f"{name} {here.get(name, version)}": f"{name} {version}" for name, version in there.items()
    }
    one = _singly(_read(html).steps, {})
    other = _singly(_read(anew).steps, renamed)
    words = ([step for step in steps if not step.mark] for steps in (one, other))
    return _first_apart(*words) or _first_apart(one, other)


def _singly(steps: Iterable[_Step], renamed: Mapping[str, str]) -> list[_Step]:
    """Part texts into words, with libraries named as where the other page was made."""
    named = "|".join(re.escape(name) for name in sorted(renamed, key=len, reverse=True))
    known = re.compile(rf"(?<![\w-])(?:{named})(?!\w)")
    single: list[_Step] = []
    for step in steps:
        if step.mark:
            single.append(step)
            continue
        text = " ".join(step.text.split())
        if renamed:
            text = known.sub(lambda found: renamed[found[0]], text)
        single += [_Step(False, word) for word in text.split()]
    return single


def _first_apart(one: list[_Step], other: list[_Step]) -> str:
    if one == other:
        return ""
    at = next(
        (i for i, pair in enumerate(zip(one, other, strict=False)) if pair[0] != pair[1]),
        min(len(one), len(other)),
    )
    said = [" ".join(step.text for step in steps[at : at + _AROUND]) for steps in (one, other)]
    return f"{said[0]!r}; made anew: {said[1]!r}"


def programs_in(html: str) -> list[str]:
    r"""Tell where a page holds or calls a script or another page, which no report does.

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
    if not head.lower().endswith(";base64"):
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
