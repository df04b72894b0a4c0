"""Change single values of a YAML file and leave every other byte of it as it is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from wintersward.errors import WinterswardError
from wintersward.trial.reading import Place, read_yaml

__all__ = ["rewritten"]

# What YAML 1.2 counts as the end of a line, and the older marks that the reader counts too.
_LINE = re.compile(r"[^\n\r\x85\u2028\u2029]*(?:\r\n|[\n\r\x85\u2028\u2029]|$)")


def rewritten(path: Path, name: str, values: Mapping[Place, tuple[str, str]]) -> bytes:
    """Put new values into a YAML file; comments, order, quotes and line ends stay.

    Parameters
    ----------
    path : Path
        A file without problems.
    name : str
        What to call it in messages.
    values : mapping
        From the path of an entry to a regular expression of what stands there and to the text
        that shall stand there.

    Returns
    -------
    bytes
        Of the new file.

    Raises
    ------
    WinterswardError
        Where a value does not stand plainly in its line.
    """
    source = read_yaml(path, name)
    if source.problems:
        raise WinterswardError(source.problems)
    raw = path.read_bytes()
    mark = b"\xef\xbb\xbf" if raw.startswith(b"\xef\xbb\xbf") else b""
    lines = _LINE.findall(raw.decode("utf-8-sig"))
    # From the end on, so that the positions before stay true; an entry that others refer to
    # by an alias has one position.
    changes = {source.values[place]: (place, *change) for place, change in values.items()}
    for (line, column), (place, old, new) in sorted(changes.items(), reverse=True):
        text = lines[line - 1]
        found = re.compile(old).search(text, column - 1)
        if found is None:
            raise WinterswardError(
                source.problem(place, "it in a form that cannot be changed", "one plain value")
            )
        lines[line - 1] = text[: found.start()] + new + text[found.end() :]
    return mark + "".join(lines).encode("utf-8")
