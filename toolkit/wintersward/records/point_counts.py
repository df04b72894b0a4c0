"""Point counts: how many crosses on a photo a person saw lie on green leaf."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

import pandas as pd

from wintersward.errors import Problem, closest, listed
from wintersward.records.cells import read_number
from wintersward.records.tables import SUFFIXES, Table, read_tables

__all__ = ["COUNT_COLUMNS", "CROSSES", "FOLDER", "KEY", "KEY_HEADINGS", "STEM"]
__all__ += ["PointCounts", "count_files", "read_point_counts"]

CROSSES = 100
"""Crosses on a photo."""

# Where the pictures and their key lie, and what a filled sheet is called in ``photos``.
FOLDER = "plan/papers/point_count"
KEY = f"{FOLDER}/key.csv"
KEY_HEADINGS = ("number", "photo", "sha256", "seed")
STEM = "point_count"
COUNT_COLUMNS = ("photo", "path", "rater", "points", "green", "unsure", "source")

_NEEDED = ("photo", "points", "green")
_ALSO = ("rater", "unsure")
_OTHER_TABLES = (".xls", ".xlsb", ".ods", ".numbers", ".tsv")


@dataclass(frozen=True)
class PointCounts:
    """What people counted.

    Parameters
    ----------
    counts : DataFrame
        One row a photo and rater, columns `COUNT_COLUMNS`: number of the photo, its path from
        the study folder on, initials (empty for one person without), crosses looked at, of these
        on green leaf, of these not to be told, file and row. Sorted by photo and rater.
    drawn : int
        Photos in the key; 0 without a key.
    problems : list of Problem
        Everything that is wrong, sorted by place.
    """

    counts: pd.DataFrame
    drawn: int
    problems: list[Problem]


def count_files(folder: Path) -> list[Path]:
    """List the filled sheets of a study: ``photos/point_count.xlsx``, or one a rater.

    Parameters
    ----------
    folder : Path
        The study folder.

    Returns
    -------
    list of Path
        Files in ``photos`` whose name begins with ``point_count`` and that are tables, sorted.
    """
    found = (folder / "photos").glob(f"{STEM}*")
    kinds = (*SUFFIXES, *_OTHER_TABLES)
    return sorted(path for path in found if path.is_file() and path.suffix.lower() in kinds)


def read_point_counts(folder: Path) -> PointCounts:
    """Read what people counted on the photos of a study.

    Parameters
    ----------
    folder : Path
        The study folder. Filled sheets lie in ``photos``; the key of numbers and photos lies
        where the pictures were made.

    Returns
    -------
    PointCounts
        Rows without fault are returned beside the problems. A row that holds neither green nor
        unsure was not counted and is passed over.
    """
    drawn, problems = _read_key(folder)
    files = count_files(folder)
    reader = _Reader({number: one.path for number, one in drawn.items()})
    for path in files:
        name = f"photos/{path.name}"
        if path.suffix.lower() in _OTHER_TABLES:
            found, hint = f"a file of kind {path.suffix.lower()}", "save it as .xlsx or .csv"
            reader.problems.append(Problem(name, found=found, hint=hint))
            continue
        tables, wrong = read_tables(path, name)
        reader.problems += wrong
        for table in reader.records(name, tables):
            reader.read(table)
    if not files:
        # Before anything is counted the key is nobody's business.
        return PointCounts(_frame([]), len(drawn), [])
    if not drawn and not problems:
        hint = "put back the key that was made with the pictures, or take the counts out of photos"
        problems = [Problem(KEY, found="no file", hint=hint)]
    problems += reader.problems + _changed(folder, drawn, {row[0] for row in reader.rows})
    return PointCounts(_frame(reader.rows), len(drawn), sorted(problems))


def _frame(rows: list[tuple[Any, ...]]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=list(COUNT_COLUMNS))
    whole = dict.fromkeys(("photo", "points", "green", "unsure"), "int64")
    text = dict.fromkeys(("path", "rater", "source"), "str")
    return frame.astype({**whole, **text}).sort_values(["photo", "rater"], ignore_index=True)


@dataclass(frozen=True)
class _Drawn:
    """One row of the key."""

    row: int
    path: str
    sha256: str


def _read_key(folder: Path) -> tuple[dict[int, _Drawn], list[Problem]]:
    """Read which number is which photo; a key that is not there holds none."""
    path = folder / KEY
    if not path.is_file():
        return {}, []
    tables, problems = read_tables(path, KEY)
    if problems:
        return {}, problems
    headings = [heading.casefold() for heading in tables[0].rows[0]] if tables[0].rows else []
    lacking = [name for name in KEY_HEADINGS[:3] if headings.count(name) != 1]
    hint = "put back the key that was made with the pictures"
    for name in lacking:
        rule = listed(KEY_HEADINGS)
        problems.append(Problem(KEY, 0, 0, name, "no such heading, or two of it", rule, hint, 1))
    if lacking:
        return {}, problems
    drawn: dict[int, _Drawn] = {}
    for row, cells in enumerate(tables[0].rows[1:], 2):
        if not any(cells):
            continue
        held = {name: cells[at] if at < len(cells) else "" for at, name in enumerate(headings)}
        number = _whole(held["number"])
        inside = PurePosixPath(held["photo"].replace("\\", "/"))
        if number is None or number in drawn:
            twice = "a number a second time" if number in drawn else f"'{held['number']}'"
            rule = "a whole number from 1, each once"
            problems.append(Problem(KEY, 0, 0, "number", twice, rule, hint, row))
        elif not held["photo"] or inside.is_absolute() or ".." in inside.parts:
            found = f"'{held['photo']}'"
            rule = "a photo, from the study folder on"
            problems.append(Problem(KEY, 0, 0, "photo", found, rule, hint, row))
        else:
            drawn[number] = _Drawn(row, inside.as_posix(), held["sha256"].casefold())
    return drawn, problems


def _changed(folder: Path, drawn: dict[int, _Drawn], numbers: set[int]) -> list[Problem]:
    """Find photos that are not those on which the crosses were counted."""
    problems = []
    for number in sorted(numbers & set(drawn)):
        one = drawn[number]
        path = folder / one.path
        hint = f"put the photo back as it was, or take the counts of photo {number} out"
        if not path.is_file():
            found = f"'{one.path}', which is not there"
            problems.append(Problem(KEY, 0, 0, "photo", found, "", hint, one.row))
            continue
        with path.open("rb") as stream:
            digest = hashlib.file_digest(stream, "sha256").hexdigest()
        if digest != one.sha256:
            found = f"{one.path} is not the file on which the crosses were drawn"
            problems.append(Problem(KEY, 0, 0, "sha256", found, "", hint, one.row))
    return problems


def _whole(text: str) -> int | None:
    """Read a whole number of cells, also as a spreadsheet program may write it; else None."""
    if not re.fullmatch(r"[0-9]{1,6}([.,]0+)?", text):
        return None
    return int(read_number(re.split("[.,]", text)[0]))


def _key(heading: str) -> str:
    """Give a heading without capitals and without a remark in brackets behind it."""
    return re.sub(r"\s*[\[(].*$", "", heading.strip()).casefold()


class _Reader:
    """Turns filled sheets into rows, and keeps what is wrong and what was seen."""

    def __init__(self, key: dict[int, str]) -> None:
        self.key = key
        self.rows: list[tuple[Any, ...]] = []
        self.problems: list[Problem] = []
        self.seen: dict[tuple[int, str], str] = {}

    def records(self, name: str, tables: list[Table]) -> list[Table]:
        """Choose the tabs that hold counts; what to do stands on another one."""
        if len(tables) < 2:
            return tables
        chosen = [one for one in tables if "green" in map(_key, one.rows[0] if one.rows else [])]
        if not chosen:
            found = f"no tab with the headings {listed(_NEEDED)}"
            hint = "put the headings in row 1, or take the file out of photos"
            self.problems.append(Problem(name, found=found, hint=hint))
        return chosen

    def read(self, table: Table) -> None:
        """Read one table."""
        headings = [_key(heading) for heading in table.rows[0]] if table.rows else []
        place: dict[str, int] = {}
        for name in (*_NEEDED, *_ALSO):
            many = headings.count(name)
            if many > 1 or (not many and name in _NEEDED):
                told = "the heading twice" if many else "no such heading"
                spare = [one for one in headings if one and one not in (*_NEEDED, *_ALSO)]
                hint = closest(name, spare) or "put the headings in row 1"
                rule = listed((*_NEEDED, *_ALSO))
                self._tell(table.name, 1, name, told, rule, hint)
            elif many:
                place[name] = headings.index(name)
        if any(name not in place for name in _NEEDED):
            return
        filled = []
        for number, cells in enumerate(table.rows[1:], 2):
            held = {name: cells[at] if at < len(cells) else "" for name, at in place.items()}
            if held["green"] or held.get("unsure"):
                filled.append((number, held))
        named = any(held.get("rater") for _, held in filled)
        for number, held in filled:
            self._count(table.name, number, held, named)

    def _count(self, name: str, row: int, held: dict[str, str], named: bool) -> None:
        """Take one counted photo, or tell everything that is wrong with it."""
        before = len(self.problems)
        photo = _whole(held["photo"])
        if photo is None or (self.key and photo not in self.key):
            rule = f"a number of {KEY} ({listed(sorted(self.key)[:6])} ...)" if self.key else ""
            rule = rule or "a whole number from 1"
            self._tell(name, row, "photo", _shown(held["photo"]), rule)
        points = self._within(name, row, "points", held["points"], 1, CROSSES)
        most = CROSSES if points is None else points
        why = "write 0 where none lies on green leaf; leave the row empty if it was not counted"
        green = self._within(name, row, "green", held["green"], 0, most, why)
        left = most if green is None else most - green
        unsure = self._within(name, row, "unsure", held.get("unsure") or "0", 0, left)
        rater = held.get("rater", "")
        if named and not rater:
            rule = "the initials of who counted, in each row or in none"
            self._tell(name, row, "rater", "an empty cell", rule)
        if len(self.problems) > before or photo is None:
            return
        first = self.seen.get((photo, rater))
        if first is not None:
            who = f" by {rater}" if rater else ""
            hint = f"the first is in {first}; correct one of them, or write who counted"
            self._tell(name, row, "photo", f"photo {photo} a second time{who}", "", hint)
            return
        self.seen[photo, rater] = f"{name}, row {row}"
        path = self.key.get(photo, "")
        self.rows.append((photo, path, rater, points, green, unsure, f"{name}:{row}"))

    def _within(
        self, name: str, row: int, column: str, text: str, low: int, high: int, hint: str = ""
    ) -> int | None:
        value = _whole(text)
        if value is None or not low <= value <= high:
            rule = f"a whole number, {low} to {high}" if high > low else f"{low}"
            self._tell(name, row, column, _shown(text), rule, hint if not text else "")
            return None
        return value

    def _tell(
        self, name: str, row: int, column: str, found: str, allowed: str = "", hint: str = ""
    ) -> None:
        self.problems.append(Problem(name, 0, 0, column, found, allowed, hint, row))


def _shown(text: str) -> str:
    return f"'{text}'" if text else "an empty cell"
