"""Looks through every file of a folder for what only a test of treatments can give.

Two things give a test away, and both are looked for in every file that holds text.

A *name*: the heading of a column, a key or a whole cell that is called like an F, a t, a p, degrees
of freedom, a standard error, an end of an interval, or letters. A heading judges even where its
column is empty, for it promises a number. Short names are names only where they stand alone, so
that a word that begins with p is none.

*Words*: an F, t or p that is written out, the terms of estimates with an error, and those who gave
their names to such methods. Words of everyday use (difference, compare, mean, test alone) are not
among them: a demonstration says of itself that it compares and tests nothing.

A sentence that names such a thing only to say that it is not there stands in `ALLOWED`, whole; it
is taken out of the text before the search, so that no part of it hides anything else.
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from xml.etree import ElementTree

from bs4 import BeautifulSoup
from openpyxl import load_workbook

__all__ = ["ALLOWED", "judgements"]

# Each says that something is not there, and is the only one of its page to do so.
ALLOWED = (
    # plan/frozen/protocol.html: what the analysis of a demonstration is.
    "nothing is tested and no interval is given",
)
NAMES = re.compile(
    r"f|t|p|p[_ ].*|.*[_ ]p|df|df[_ ].*|.*[_ ]df|se|sd[_ ]error|std[_ ]error|lower|upper|letters?"
    r"|f value|t value|p value|statistic|studentised|degrees of freedom|standard error",
    re.IGNORECASE,
)
_ANY_CASE = (
    r"degrees? of freedom",
    r"\bdf\b",
    r"confidence (level|limit|interval)|\bconfident\b",
    r"\bintervals?\b",
    r"standard errors?",
    r"\bp[- ]values?\b",
    r"\b[ft][- ]tests?\b|\b[ft][- ]values?\b",
    r"\btests? of (the |a )?(difference|treatment|hypothes|equal)",
    r"\brandomi[sz]ation tests?\b",
    r"significan|hypothes[ie]s",
    r"analysis of variance|\banova\b|variance component",
    r"marginal means?|least squares means?|\bwe estimate\b",
    r"share a letter|same letter",
    r"tukey|holm\b|bonferroni|dunnett|kenward|satterthwaite|\bfisher\b",
)
# A letter and a relation, as they are printed: small p and t, capital F, which may also be degrees
# Fahrenheit.
_AS_PRINTED = (
    r"\bp\s*[=<>≤≥]\s*[.\d]",
    r"\bt\s*=\s*[-−.\d]",
    r"(?<!°)\bF\s*[=(]\s*[-−.\d]",
    r"\bSE\b",
)
WORDS = re.compile("|".join((*(f"(?i:{one})" for one in _ANY_CASE), *_AS_PRINTED)))
_PICTURES = (".png", ".jpg")


def judgements(folder: Path) -> list[str]:
    """List what judges in the files of a folder, below it too.

    Returns
    -------
    list of str
        One line a find: the file, what was found, and the words around it.

    Raises
    ------
    KeyError
        For a kind of file that is not known here: nothing goes unsearched. Pictures of pixels
        cannot be searched; their words stand beside them.
    """
    found = []
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        if path.suffix in _PICTURES:
            continue
        name = path.relative_to(folder).as_posix()
        names, text = _READ[path.suffix](path.read_bytes(), path)
        found += [f"{name}: name {one!r}" for one in names if NAMES.fullmatch(one.strip())]
        found += [f"{name}: {one}" for one in _said(text)]
    return found


def _said(text: str) -> Iterator[str]:
    plain = " ".join(text.split())
    for sentence in ALLOWED:
        plain = plain.replace(sentence, "")
    for match in WORDS.finditer(plain):
        around = plain[max(0, match.start() - 50) : match.end() + 30]
        yield f"words {match[0]!r} in ...{around}..."


Read = tuple[list[str], str]


def _plain(content: bytes, _path: Path) -> Read:
    return [], content.decode("utf-8")


def _csv(content: bytes, _path: Path) -> Read:
    text = content.decode("utf-8-sig")
    return re.split(r"[,;\n]", text), text


def _json(content: bytes, _path: Path) -> Read:
    parts = list(_strings(json.loads(content)))
    return parts, "\n".join(parts)


def _strings(value: object) -> Iterator[str]:
    """Give every key and every text of a JSON value."""
    if isinstance(value, dict):
        for key, held in value.items():
            yield str(key)
            yield from _strings(held)
    elif isinstance(value, list):
        for held in value:
            yield from _strings(held)
    elif isinstance(value, str):
        yield value


def _page(content: bytes | str, path: Path) -> Read:
    """Read text, attributes that are read aloud, and the drawings that travel inside the page."""
    soup = BeautifulSoup(content, "html.parser")
    for hidden in soup(["style", "script"]):
        hidden.decompose()
    names = [cell.get_text(" ") for cell in soup(["th", "td", "summary", "caption", "dt"])]
    # A unit in a head of a table does not hide what the column is called.
    names += [name.partition("[")[0] for name in names]
    texts = [soup.get_text(" ")]
    for tag in soup.find_all(True):
        texts += [str(tag[name]) for name in ("alt", "title", "aria-label") if tag.get(name)]
        source = str(tag.get("src", ""))
        if source.startswith("data:image/svg"):
            drawn = _drawing(base64.b64decode(source.partition(",")[2]), path)
            names, texts = [*names, *drawn[0]], [*texts, drawn[1]]
    return names, "\n".join(texts)


def _drawing(content: bytes, _path: Path) -> Read:
    """Read the words of a drawing, also those drawn as outlines, which stand in its comments."""
    builder = ElementTree.TreeBuilder(insert_comments=True)
    drawn = ElementTree.fromstring(content, ElementTree.XMLParser(target=builder))
    parts = [one.text or "" for one in drawn.iter()]
    return parts, "\n".join(parts)


def _notebook(content: bytes, path: Path) -> Read:
    """Read the cells of a notebook, and each output as what it is."""
    names: list[str] = []
    texts: list[str] = []
    for cell in json.loads(content)["cells"]:
        texts.append("".join(cell["source"]))
        for output in cell.get("outputs", []):
            texts.append("".join(output.get("text", "")))
            for media, data in output.get("data", {}).items():
                if media.startswith("image/") and media != "image/svg+xml":
                    continue
                read = _page("".join(data), path) if "html" in media else ([], "".join(data))
                names, texts = [*names, *read[0]], [*texts, read[1]]
            texts += list(_strings(output.get("metadata", {})))
    return names, "\n".join(texts)


def _workbook(_content: bytes, path: Path) -> Read:
    book = load_workbook(path)
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    parts = [str(cell.value) for cell in cells if cell.value is not None]
    parts += [cell.comment.text for cell in cells if cell.comment is not None]
    return [*parts, *book.sheetnames], "\n".join([*parts, *book.sheetnames])


_READ: dict[str, Callable[[bytes, Path], Read]] = {
    ".csv": _csv,
    ".html": _page,
    ".ics": _plain,
    ".ipynb": _notebook,
    ".json": _json,
    ".svg": _drawing,
    ".txt": _plain,
    ".xlsx": _workbook,
    ".yaml": _plain,
}
