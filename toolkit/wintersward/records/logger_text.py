"""The text of a logger's file: how it is encoded, what parts its cells, where headings stand."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from wintersward.errors import Problem
from wintersward.records.cells import plain

__all__ = ["SEPARATORS", "cells_of", "decoded", "heading_key", "read_lines", "separator"]
__all__ += ["unit_in"]

# What may stand between cells, by what a diary calls it.
SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t"}
# Beginnings of files that are no text: workbooks, older documents, pages, pictures.
_NO_TEXT = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF", b"\x89PNG", b"\xff\xd8\xff")
_MARKS = {b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}
# How much is looked at to tell UTF-16 without a mark [bytes], and the least share of zeros in it:
# every second byte of plain letters and digits is one.
_LOOK, _ZEROS = 4000, 0.4
# A file may end in zeros where the power went; with more of them it is no text.
_MOST_ZEROS = 0.1
_DEGREES = {"degC": r"c|celsius|centigrade", "degF": r"f|fahrenheit"}
# Ends of a word; an underscore parts words, as in soil_degC.
_BEGIN, _END = r"(?<![^\W_])", r"(?![^\W_])"
_UNIT = {
    unit: re.compile(
        rf"(°\s?|{_BEGIN}deg(rees?)?[\s._]?)({words}){_END}"
        rf"|[(\[,;_]\s*({words})\s*([)\],;]|$)"
        rf"|{_BEGIN}({words.partition('|')[2]}){_END}"
    )
    for unit, words in _DEGREES.items()
}


def read_lines(path: Path, name: str) -> tuple[list[str], list[Problem]]:
    """Read the lines of a file.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        What to call it in messages.

    Returns
    -------
    lines : list of str
        Without their ends; no empty line stands for the end of the last one.
    problems : list of Problem
        Why there are none.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        return [], [Problem(name, hint=f"the file cannot be read: {error.strerror}")]
    text = decoded(content)
    if text is None:
        hint = "let the logger's program export it as CSV, or save it as .csv"
        return [], [Problem(name, found="a file that is not text", hint=hint)]
    if not text.strip("\0 \t\r\n"):
        return [], [Problem(name, found="an empty file", hint="export it again")]
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return lines[:-1] if lines[-1] == "" else lines, []


def decoded(content: bytes) -> str | None:
    r"""Turn bytes into text: UTF-8, UTF-16, else the single bytes of Windows (code page 1252).

    Returns
    -------
    str or None
        None where they are no text.

    Examples
    --------
    >>> decoded("5 °C".encode("utf-16")), decoded("5 °C".encode("cp1252")), decoded(b"PK\x03\x04")
    ('5 °C', '5 °C', None)
    """
    if content.startswith(_NO_TEXT):
        return None
    zeros = {"utf-16-le": content[1:_LOOK:2], "utf-16-be": content[:_LOOK:2]}
    for mark, encoding in _MARKS.items():
        half = zeros[encoding]
        unmarked = bool(half) and half.count(0) > _ZEROS * len(half)
        other = content[:_LOOK].count(0) - half.count(0)
        if content.startswith(mark) or (unmarked and other == 0):
            return content.decode(encoding, errors="replace").removeprefix("\ufeff")
    if content.count(0) > _MOST_ZEROS * len(content):
        return None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def cells_of(lines: Iterable[str], between: str) -> list[list[str]]:
    """Part lines into cells.

    Parameters
    ----------
    lines : iterable of str
        Lines of a file. A quoted cell ends with its line, so that a quote that is not closed
        takes no other line along.
    between : str
        One of the values of `SEPARATORS`.

    Returns
    -------
    list of list of str
        One a line; quotes around a cell are taken off.

    Examples
    --------
    >>> cells_of(['"Temp, degF",Time', '40.1,12:00'], ",")
    [['Temp, degF', 'Time'], ['40.1', '12:00']]
    """
    return [_parted(line, between) if '"' in line else line.split(between) for line in lines]


def _parted(line: str, between: str) -> list[str]:
    try:
        return next(csv.reader((line,), delimiter=between, skipinitialspace=True), [""])
    except csv.Error:  # a cell longer than any that is meant
        return line.split(between)


def separator(line: str, wanted: Sequence[str]) -> str:
    """Tell what stands between the cells of a line of headings.

    Parameters
    ----------
    line : str
        The headings.
    wanted : sequence of str
        Headings that should be there.

    Returns
    -------
    str
        That by which most of the wanted headings are found; of several the one that gives most
        cells, and of these comma before semicolon before tab.
    """

    def fit(between: str) -> tuple[int, int]:
        cells = cells_of([line], between)[0]
        there = {heading_key(cell) for cell in cells}
        return sum(heading_key(name) in there for name in wanted), len(cells)

    return max(SEPARATORS.values(), key=fit)


def heading_key(text: str) -> str:
    """Write a heading so that two that are meant alike are the same.

    Examples
    --------
    >>> heading_key("Temp,  ºF ") == heading_key("temp, °f")
    True
    """
    return plain(text.strip().strip('"')).casefold().replace("º", "°").replace("˚", "°")


def unit_in(heading: str) -> str:
    """Tell the unit of temperature that a heading names; empty where it names none, or both.

    Examples
    --------
    >>> unit_in("Temp (°F)"), unit_in("soil, deg C"), unit_in("Temp_C"), unit_in("Temp")
    ('degF', 'degC', 'degC', '')
    """
    key = heading_key(heading)
    named = [unit for unit, pattern in _UNIT.items() if pattern.search(key)]
    return named[0] if len(named) == 1 else ""
