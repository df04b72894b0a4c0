"""Who wrote a workbook, as its program noted it: taken out without touching a cell."""

from __future__ import annotations

import io
import re
import zipfile

__all__ = ["without_author"]

# Parts and fields of the Open Packaging Conventions, ECMA-376 part 2 (from memory).
_PARTS = ("docProps/core.xml", "docProps/app.xml")
_FIELDS = re.compile(
    rb"(<(?:\w+:)?(creator|lastModifiedBy|Manager|Company)(?:\s[^>]*)?>)([^<]*)(</)"
)
# The library that writes the sheets which are handed out.
_NOBODY = b"openpyxl"


def without_author(data: bytes) -> bytes:
    """Take author, last editor, manager and company out of a workbook's properties.

    Parameters
    ----------
    data : bytes
        Of a file; what is no workbook comes back as it is.

    Returns
    -------
    bytes
        The same bytes where nobody is named; else the same parts in the same order, those with
        the properties without the names.
    """
    if not zipfile.is_zipfile(io.BytesIO(data)):
        return data
    made, changed = io.BytesIO(), False
    with zipfile.ZipFile(io.BytesIO(data)) as book, zipfile.ZipFile(made, "w") as copy:
        for part in book.infolist():
            content = book.read(part)
            if part.filename in _PARTS:
                content = _FIELDS.sub(_emptied, before := content)
                changed = changed or content != before
            copy.writestr(part, content)
    return made.getvalue() if changed else data


def _emptied(field: re.Match[bytes]) -> bytes:
    return field[0] if field[3] == _NOBODY else field[1] + field[4]
