"""Who wrote a workbook, as its program noted it: taken out without touching a cell."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Sequence
from xml.sax.saxutils import escape, unescape

from wintersward.handin.named_people import StandIn, replaced

__all__ = ["without_author"]

# Parts and fields of the Open Packaging Conventions, ECMA-376 part 2, and of SpreadsheetML, part
# 1; where the file lay and who wrote a thread of comments, of Microsoft's extensions [MS-XLSX]
# (all from memory).
_TAG = r"(<(?:\w+:)?(?:{})(?:\s[^>]*)?>)([^<]*)(</)"
_PROPERTIES = re.compile(_TAG.format("creator|lastModifiedBy|Manager|Company").encode())
_CUSTOM = re.compile(_TAG.format("lpwstr|lpstr|bstr").encode())
_AUTHOR = re.compile(_TAG.format("author").encode())
_PLACE = re.compile(rb"<(?:\w+:)?absPath\b[^>]*?(?:/>|>[^<]*</(?:\w+:)?absPath>)")
_PERSON = re.compile(rb"(\s(?:displayName|userId)=\")([^\"]*)(\")")
# What is printed on top of every page and below it; an ampersand there begins a code.
_PRINTED = re.compile(_TAG.format("(?:odd|even|first)(?:Header|Footer)").encode())
# The library that writes the sheets which are handed out.
_NOBODY = (b"openpyxl", b"None")


def without_author(data: bytes, people: Sequence[StandIn] = ()) -> bytes:
    """Take author, last editor, manager, company and whose computer it was out of a workbook.

    Parameters
    ----------
    data : bytes
        Of a file; what is no workbook comes back as it is.
    people : sequence of StandIn
        Whose names are to go from what is printed on top of pages and below them, where a sheet
        that was handed out says who rates.

    Returns
    -------
    bytes
        The same bytes where nobody is named; else the same parts in the same order, without the
        names in the properties, on top of and below printed pages, in the list of who commented,
        and in the folder that the file lay in when it was saved.
    """
    if not zipfile.is_zipfile(io.BytesIO(data)):
        return data
    made, changed = io.BytesIO(), False
    with zipfile.ZipFile(io.BytesIO(data)) as book, zipfile.ZipFile(made, "w") as copy:
        for part in book.infolist():
            content = _without(part.filename, before := book.read(part), people)
            changed = changed or content != before
            copy.writestr(part, content)
    return made.getvalue() if changed else data


def _without(name: str, content: bytes, people: Sequence[StandIn]) -> bytes:
    """Take names out of a part of a workbook."""
    if name in ("docProps/core.xml", "docProps/app.xml"):
        return _PROPERTIES.sub(_emptied, content)
    if name == "docProps/custom.xml":
        return _CUSTOM.sub(_emptied, content)
    if name == "xl/workbook.xml":
        return _PLACE.sub(b"", content)
    if name.startswith("xl/worksheets/"):
        return _PRINTED.sub(lambda field: _renamed(field, people), content)
    if name.startswith("xl/comments"):
        return _AUTHOR.sub(_emptied, content)
    if name.startswith("xl/persons/"):
        return _PERSON.sub(rb"\1\3", content)
    return content


def _renamed(field: re.Match[bytes], people: Sequence[StandIn]) -> bytes:
    text = unescape(field[2].decode("utf-8"))
    changed = replaced(text, people)
    return field[0] if changed == text else field[1] + escape(changed).encode() + field[3]


def _emptied(field: re.Match[bytes]) -> bytes:
    return field[0] if field[2] in _NOBODY else field[1] + field[3]
