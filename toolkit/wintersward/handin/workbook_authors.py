"""Who wrote a workbook, as its program noted it: taken out without touching a cell."""

from __future__ import annotations

import io
import re
import zipfile

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
# The library that writes the sheets which are handed out.
_NOBODY = (b"openpyxl", b"None")


def without_author(data: bytes) -> bytes:
    """Take author, last editor, manager, company and whose computer it was out of a workbook.

    Parameters
    ----------
    data : bytes
        Of a file; what is no workbook comes back as it is.

    Returns
    -------
    bytes
        The same bytes where nobody is named; else the same parts in the same order, without the
        names in the properties, in the list of who commented, and in the folder that the file
        lay in when it was saved.
    """
    if not zipfile.is_zipfile(io.BytesIO(data)):
        return data
    made, changed = io.BytesIO(), False
    with zipfile.ZipFile(io.BytesIO(data)) as book, zipfile.ZipFile(made, "w") as copy:
        for part in book.infolist():
            content = _without(part.filename, before := book.read(part))
            changed = changed or content != before
            copy.writestr(part, content)
    return made.getvalue() if changed else data


def _without(name: str, content: bytes) -> bytes:
    """Take names out of a part of a workbook."""
    if name in ("docProps/core.xml", "docProps/app.xml"):
        return _PROPERTIES.sub(_emptied, content)
    if name == "docProps/custom.xml":
        return _CUSTOM.sub(_emptied, content)
    if name == "xl/workbook.xml":
        return _PLACE.sub(b"", content)
    if name.startswith("xl/comments"):
        return _AUTHOR.sub(_emptied, content)
    if name.startswith("xl/persons/"):
        return _PERSON.sub(rb"\1\3", content)
    return content


def _emptied(field: re.Match[bytes]) -> bytes:
    return field[0] if field[2] in _NOBODY else field[1] + field[3]
