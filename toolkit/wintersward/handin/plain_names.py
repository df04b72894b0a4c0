"""Names of files that every computer can write, and tell apart: one rule for both sides."""

from __future__ import annotations

import unicodedata

__all__ = ["LONGEST_PART", "LONGEST_PATH", "folded", "name_fault", "printable"]
__all__ += ["spelled"]

LONGEST_PART = 200
"""Bytes of a name; most file systems allow 255."""
LONGEST_PATH = 1000
"""Bytes of a whole path."""

# Beside the slash, what Windows allows in no name.
_FORBIDDEN = '<>"|?*'
# Names of devices, also with an ending (Microsoft, Naming Files, Paths, and Namespaces; from
# memory).
_PORTS = (f"{port}{number}" for port in ("COM", "LPT") for number in range(1, 10))
_DEVICES = {"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$", *_PORTS}
# Control characters, and marks that turn the direction of writing and so hide an ending.
_HIDDEN = ("Cc", "Cf")


def name_fault(name: str) -> str:
    """Say what keeps some computer from writing a file by its name.

    Parameters
    ----------
    name : str
        A path with forward slashes.

    Returns
    -------
    str
        Empty where every computer can write it.

    Examples
    --------
    >>> name_fault("study/trial.yaml."), name_fault("study/aux.csv")
    ('a name that ends in a dot or a space', 'a name that Windows keeps for a device')
    >>> name_fault("study/a b (1).csv")
    ''
    """
    parts = name.removesuffix("/").split("/")
    if any(unicodedata.category(character) in _HIDDEN for character in name):
        return "a name with a control character"
    if any(character in name for character in _FORBIDDEN):
        return f"a name with one of {_FORBIDDEN}"
    if any(part.rstrip(". ") != part for part in parts if part not in (".", "..")):
        return "a name that ends in a dot or a space"
    if any(part.partition(".")[0].rstrip().upper() in _DEVICES for part in parts):
        return "a name that Windows keeps for a device"
    longest = max(len(part.encode("utf-8", "surrogatepass")) for part in parts)
    if longest > LONGEST_PART or len(name.encode("utf-8", "surrogatepass")) > LONGEST_PATH:
        return f"a name of more than {LONGEST_PART} bytes, or a path of more than {LONGEST_PATH}"
    return ""


def folded(name: str) -> str:
    """Write a name as the least particular file systems tell names apart.

    Examples
    --------
    >>> folded("Stra\N{LATIN SMALL LETTER SHARP S}e") == folded("STRASSE")
    True
    """
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def printable(name: str) -> str:
    """Write a name so that it fits in a line and hides nothing."""
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in name)


def spelled(text: str, encoding: str) -> str:
    r"""Spell out what an encoding, such as that of a terminal, has no letters for.

    Examples
    --------
    >>> print(spelled("study/\N{LATIN SMALL LETTER L WITH STROKE}.csv", "cp1252"))
    study/\u0142.csv
    """
    return text.encode(encoding, "backslashreplace").decode(encoding)
