"""The numbers of a page, held against the tables that they name and against a page made anew."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from html.parser import HTMLParser

__all__ = ["Number", "numbers_apart", "numbers_of", "shown_otherwise", "unlike", "untied"]
__all__ += ["words_apart"]

_SOURCE = re.compile(r"(?P<table>[A-Za-z0-9_]+)\.csv:(?P<line>[1-9][0-9]{0,8})")
# What may differ by rounding alone: the raw values, and pictures drawn from numbers.
_RAW = re.compile(r'(<data\b[^>]*\bvalue=")[^"]*(")')
_PICTURE = re.compile(r'(src="data:[^",]*,)[^"]*(")')
_PLAIN = re.compile(r"[-+]?[0-9]+(?:\.[0-9]+)?")
_AROUND = 60


@dataclass(frozen=True)
class Number:
    """A number of a page.

    Parameters
    ----------
    line : int
        Of the page, from 1.
    value : str
        As its table holds it, in SI.
    source : str
        File and line of the table, ``differences.csv:3``.
    shown : str
        As the reader sees it, in the reader's unit.
    """

    line: int
    value: str
    source: str
    shown: str


class _Reader(HTMLParser):
    """Gathers what stands in ``data`` elements."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[Number] = []
        self._open: list[tuple[int, str, str]] = []
        self._text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "data":
            told = dict(attrs)
            value, source = told.get("value"), told.get("title")
            self._open.append((self.getpos()[0], value or "", source or ""))
            self._text.append("")

    def handle_data(self, data: str) -> None:
        self._text = [text + data for text in self._text]

    def handle_endtag(self, tag: str) -> None:
        if tag == "data" and self._open:
            self.found.append(Number(*self._open.pop(), " ".join(self._text.pop().split())))


def numbers_of(html: str) -> list[Number]:
    """Read the numbers of a page that name their place in the results.

    Examples
    --------
    >>> numbers_of('<p><data value="11.04" title="primary.csv:2">11</data> points</p>')
    [Number(line=1, value='11.04', source='primary.csv:2', shown='11')]
    """
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return sorted(reader.found, key=lambda one: one.line)


def untied(numbers: Iterable[Number], tables: Mapping[str, str]) -> list[str]:
    """Tell which numbers do not stand where the page says.

    Parameters
    ----------
    numbers : iterable of Number
    tables : mapping of str to str
        The CSV text of each table, by its name without ending.

    Returns
    -------
    list of str
        One entry a number, with the line of the page.

    Notes
    -----
    A page writes numbers as tables do, with ten digits, so that they are compared as text.
    """
    rows = {name: list(csv.reader(io.StringIO(text, newline=""))) for name, text in tables.items()}
    told = []
    for one in numbers:
        match = _SOURCE.fullmatch(one.source)
        what = f"line {one.line}: {one.value!r}, shown as {one.shown!r}"
        if match is None:
            told.append(f"{what}, names no file and line: {one.source!r}")
        elif match["table"] not in rows:
            told.append(f"{what}, names {one.source}; there is no such table")
        elif match["line"] == "1":
            told.append(f"{what}, names {one.source}; the numbers of a table begin with line 2")
        elif int(match["line"]) > (lines := len(rows[match["table"]])):
            told.append(f"{what}, names {one.source}; the table ends with line {lines}")
        elif one.value not in (row := rows[match["table"]][int(match["line"]) - 1]):
            told.append(f"{what}, does not stand in {one.source}, which holds {_listed(row)}")
    return told


def _listed(row: Iterable[str]) -> str:
    said = ", ".join(cell for cell in row if cell)
    return said if len(said) <= 3 * _AROUND else f"{said[: 3 * _AROUND]} ..."


def numbers_apart(numbers: Iterable[Number], anew: Iterable[Number]) -> list[str]:
    """Tell where the numbers of a page are not those of a page made anew, one after the other.

    Parameters
    ----------
    numbers, anew : iterable of Number
        Of the two pages, made by the same wintersward.

    Returns
    -------
    list of str
        One entry a number that is shown otherwise, with the line of the first page; the last one
        where a number was added, left out or put in the place of another.
    """
    ours, others = list(numbers), list(anew)
    told: list[str] = []
    for one, other in zip(ours, others, strict=False):
        if one.source != other.source:
            here, there = (f"{two.source}, {two.shown!r}" for two in (one, other))
            return [*told, f"line {one.line}: {here}, stands where, made anew, {there} stands"]
        if one.shown != other.shown:
            told.append(_shown_as(one, [other.shown]))
    if len(ours) != len(others):
        told.append(f"{len(ours)} of them; made anew, {len(others)}")
    return told


def shown_otherwise(numbers: Iterable[Number], anew: Iterable[Number]) -> list[str]:
    """Tell which numbers a page shows otherwise than a page that another wintersward made.

    Parameters
    ----------
    numbers, anew : iterable of Number
        Of the two pages. One that differs by a unit of the last digit of the coarser of the two
        counts as rounded otherwise. A number that the second page does not hold with the same
        value and source is passed over.

    Returns
    -------
    list of str
        One entry a number, with the line of the first page.
    """
    known: dict[tuple[str, str], dict[str, None]] = {}
    for one in anew:
        known.setdefault((one.source, one.value), {})[one.shown] = None
    told = []
    for one in numbers:
        shown = known.get((one.source, one.value), {})
        if shown and not any(_rounded_alike(one.shown, other) for other in shown):
            told.append(_shown_as(one, shown))
    return told


def _shown_as(one: Number, shown: Iterable[str]) -> str:
    right = " or ".join(repr(text) for text in shown)
    return f"line {one.line}: {one.source} is shown as {one.shown!r}; made anew, as {right}"


def _rounded_alike(one: str, other: str) -> bool:
    if one == other:
        return True
    numbers = [Decimal(text) for text in map(_plain, (one, other)) if _PLAIN.fullmatch(text)]
    if len(numbers) < 2:
        return False
    unit = Decimal(1).scaleb(max(int(number.as_tuple().exponent) for number in numbers))
    return abs(numbers[0] - numbers[1]) <= unit


def _plain(text: str) -> str:
    return text.replace("\N{MINUS SIGN}", "-").replace(",", "").replace(" ", "")


def words_apart(html: str, anew: str) -> str:
    """Find where two pages differ, raw values and pictures apart.

    Returns
    -------
    str
        The line of the first page and both texts from there on; empty where only raw values
        and pictures differ, or nothing.
    """
    return unlike(*(_PICTURE.sub(r"\1\2", _RAW.sub(r"\1\2", page)) for page in (html, anew)))


def unlike(one: str, other: str) -> str:
    r"""Find the first line in which two texts differ, and say it with what stands there.

    Examples
    --------
    >>> unlike("a\nb c", "a\nb d")
    "line 2: 'b c'; made anew: 'b d'"
    >>> unlike("a", "a")
    ''
    """
    lines, others = one.splitlines(), other.splitlines()
    for number in range(max(len(lines), len(others))):
        here = lines[number] if number < len(lines) else ""
        there = others[number] if number < len(others) else ""
        if here != there:
            at = next(
                (i for i, pair in enumerate(zip(here, there, strict=False)) if pair[0] != pair[1]),
                min(len(here), len(there)),
            )
            start = max(0, at - _AROUND)
            cut = slice(start, at + _AROUND)
            return f"line {number + 1}: {here[cut]!r}; made anew: {there[cut]!r}"
    return ""
