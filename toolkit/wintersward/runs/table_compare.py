"""Two results tables, compared: rows by their key, numbers as text or by a tolerance."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from wintersward.errors import listed

__all__ = ["TOLERANCE", "Compared", "Moved", "Tolerance", "compare_tables", "in_digits"]

_TOLD = 3
_NUMBERS = ("integer", "number")


@dataclass(frozen=True)
class Tolerance:
    """How far numbers of another machine may lie from those of a run.

    Parameters
    ----------
    relative : float [1]
        Of the larger of two numbers.
    floor : float [1]
        Of the largest number of the column: so much is nothing beside it.
    """

    relative: float
    floor: float

    def allowed(self, one: float, other: float, largest: float) -> float:
        """Give the largest distance of two numbers that still counts as none."""
        return self.relative * max(abs(one), abs(other)) + self.floor * largest


TOLERANCE = Tolerance(relative=1e-6, floor=1e-8)
"""What another processor, or another version of a library, may change.

Tables hold ten digits. Sums in another order move the sixteenth: the example, run with the linear
algebra of three generations of processors (SSE3, AVX2, AVX-512), differed in 12 of 19587 cells,
one of them in the tenth digit and the others by less than 1e-14 of their column, where zero comes
out as rounding. Estimates of mixed models end with steps below 1e-9 of a parameter
(`wintersward.models.search`); degrees of freedom and p values far out magnify that some hundred
times. The relative tolerance leaves a margin of ten beyond it, and is far below the last digit
of any page; the floor is for numbers that would be zero were it not for rounding."""


@dataclass(frozen=True)
class Moved:
    """A cell that is not the same in two tables.

    Parameters
    ----------
    line : int
        In the first table; line 1 holds the headings.
    key : str
        The row in words: ``measure green_cover, date 2026-03-24``.
    column : str
    before, after : str
        As the tables hold them.
    share : float [1]
        Their distance, in parts of the largest number of the column; infinite where one of
        them is no number, 0 in a column of text.
    """

    line: int
    key: str
    column: str
    before: str
    after: str
    share: float

    def words(self, where: tuple[str, str]) -> str:
        """Say where it is, what it was and what it became.

        Parameters
        ----------
        where : tuple of str
            Where the two tables are, ``in 001`` and ``in 002``.
        """
        apart = relative_words(self.before, self.after)
        return (
            f"line {self.line} ({self.key}), column {self.column}: {_shown(self.before)} "
            f"{where[0]}, {_shown(self.after)} {where[1]}{apart}"
        )


@dataclass(frozen=True)
class Compared:
    """Two tables, compared.

    Parameters
    ----------
    rows, cells : int
        Rows that both have, and their cells beside the key.
    problems : tuple of str
        What keeps tables from being compared, and rows that only one of them has.
    moved : tuple of Moved
        Cells that differ by more than the tolerance, the largest share first.
    near : int
        Cells that differ by less.
    """

    rows: int
    cells: int
    problems: tuple[str, ...]
    moved: tuple[Moved, ...]
    near: int = 0

    @property
    def same(self) -> bool:
        """Whether nothing differs by more than the tolerance."""
        return not self.problems and not self.moved


def compare_tables(
    before: str,
    after: str,
    entry: Mapping[str, Any],
    where: tuple[str, str],
    tolerance: Tolerance | None = None,
) -> Compared:
    """Compare two tables of results.

    Parameters
    ----------
    before, after : str
        CSV text.
    entry : mapping
        Of ``tables.json``: ``key`` and ``columns`` with ``name`` and ``type``.
    where : tuple of str
        Where the two are, for messages: ``in 001`` and ``in 002``.
    tolerance : Tolerance, optional
        For columns of type number; left out, every cell must be the same text. Keys, text,
        dates and whole numbers are compared as text in any case.

    Returns
    -------
    Compared
        Columns that only one table has are told as problems, and the others compared.
    """
    one, other = _Rows(before), _Rows(after)
    problems = [
        f"{said} {place}"
        for rows, place in zip((one, other), where, strict=True)
        for said in rows.uneven()
    ]
    if one.columns != other.columns:
        problems.append(_columns_apart(one.columns, other.columns, where))
    kinds = {column["name"]: column["type"] for column in entry["columns"]}
    key = [name for name in entry["key"] if name in one.columns and name in other.columns]
    if not one.columns or len(key) < len(entry["key"]):
        lost = listed(name for name in entry["key"] if name not in key)
        return Compared(0, 0, (*problems, f"its key cannot be read: {lost}"), ())
    first, twice = one.by(key)
    second, again = other.by(key)
    problems += [f"two rows {where[0]} for {_key_words(key, found)}" for found in twice]
    problems += [f"two rows {where[1]} for {_key_words(key, found)}" for found in again]
    problems += _rows_apart(key, first, second, where)
    both = [found for found in first if found in second]
    if both != [found for found in second if found in first]:
        problems.append("its rows stand in another order")
    shared = [name for name in one.columns if name in other.columns and name not in key]
    moved, near = [], 0
    for name in shared:
        pairs = [(found, first[found], second[found]) for found in both]
        cells = [(found, line, row[name], new[name]) for found, (line, row), (_, new) in pairs]
        numeric = kinds.get(name) in _NUMBERS
        largest = _largest([text for _, _, a, b in cells for text in (a, b)]) if numeric else 0.0
        for found, line, a, b in cells:
            if a == b:
                continue
            if tolerance and kinds.get(name) == "number" and _close(a, b, largest, tolerance):
                near += 1
                continue
            share = _share(a, b, largest) if numeric else 0.0
            moved.append(Moved(line, _key_words(key, found), name, a, b, share))
    moved.sort(key=lambda one: (-one.share, one.line))
    return Compared(len(both), len(both) * len(shared), tuple(problems), tuple(moved), near)


class _Rows:
    """A CSV text as rows, which count from 2 on: line 1 holds the headings."""

    def __init__(self, text: str) -> None:
        lines = list(csv.reader(io.StringIO(text, newline="")))
        self.columns = lines[0] if lines else []
        self.rows = lines[1:]

    def uneven(self) -> list[str]:
        """Tell of rows that do not fit the headings, each of which stands once."""
        wide = len(self.columns)
        lines = [line for line, row in enumerate(self.rows, 2) if len(row) != wide]
        told = [f"line {lines[0]} has not the {wide} cells of the headings"] if lines else []
        return told + ([] if len(set(self.columns)) == wide else ["a heading stands twice"])

    def by(
        self, key: Sequence[str]
    ) -> tuple[dict[tuple[str, ...], tuple[int, dict[str, str]]], list[tuple[str, ...]]]:
        """Find rows by their key; and the keys that several rows have."""
        found: dict[tuple[str, ...], tuple[int, dict[str, str]]] = {}
        twice = []
        for line, cells in enumerate(self.rows, 2):
            padded = [*cells, *[""] * (len(self.columns) - len(cells))]
            row = dict(zip(self.columns, padded, strict=False))
            named = tuple(row[name] for name in key)
            if named in found:
                twice.append(named)
            found.setdefault(named, (line, row))
        return found, twice


def _columns_apart(before: Sequence[str], after: Sequence[str], where: tuple[str, str]) -> str:
    gone = [name for name in before if name not in after]
    came = [name for name in after if name not in before]
    told = [f"{listed(gone)} only {where[0]}"] if gone else []
    told += [f"{listed(came)} only {where[1]}"] if came else []
    return f"its columns differ: {'; '.join(told) or 'another order'}"


def _rows_apart(
    key: Sequence[str],
    first: Mapping[tuple[str, ...], Any],
    second: Mapping[tuple[str, ...], Any],
    where: tuple[str, str],
) -> list[str]:
    told = []
    for place, one, other in ((where[0], first, second), (where[1], second, first)):
        alone = [_key_words(key, found) for found in one if found not in other]
        if alone:
            many = "a row" if len(alone) == 1 else f"{len(alone)} rows"
            more = "; ..." if len(alone) > _TOLD else ""
            told.append(f"{many} only {place}: {'; '.join(alone[:_TOLD])}{more}")
    return told


def _key_words(key: Sequence[str], found: Sequence[str]) -> str:
    return listed(f"{name} {value or _shown('')}" for name, value in zip(key, found, strict=True))


def _number(text: str) -> float:
    """Read a cell; an empty one, and what is no number, is none."""
    try:
        return float(text)
    except ValueError:
        return math.nan


def _largest(texts: Sequence[str]) -> float:
    sizes = (abs(_number(text)) for text in texts)
    return max((size for size in sizes if math.isfinite(size)), default=0.0)


def _close(before: str, after: str, largest: float, tolerance: Tolerance) -> bool:
    one, other = _number(before), _number(after)
    apart = abs(one - other)
    return math.isfinite(apart) and apart <= tolerance.allowed(one, other, largest)


def _share(before: str, after: str, largest: float) -> float:
    apart = abs(_number(before) - _number(after))
    if not math.isfinite(apart):
        return math.inf
    return apart / largest if largest else 0.0


def relative_words(before: str, after: str) -> str:
    """Say how far two numbers are apart, in parts of the larger; nothing for what is none.

    Examples
    --------
    >>> relative_words("46.25", "46.3"), relative_words("a", "1")
    (', apart by 0.0011 of the larger', '')
    """
    one, other = _number(before), _number(after)
    larger = max(abs(one), abs(other))
    if not math.isfinite(one - other) or not larger:
        return ""
    return f", apart by {in_digits(abs(one - other) / larger)} of the larger"


def in_digits(value: float) -> str:
    """Write a share in two digits.

    Examples
    --------
    >>> in_digits(0.00123), in_digits(1.2e-9)
    ('0.0012', '1.2e-09')
    """
    return f"{value:.2g}"


def _shown(text: str) -> str:
    return text or "nothing"
