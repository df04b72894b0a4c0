"""The files that people filled in: which there are, and which of their tabs hold records."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

from wintersward.errors import Problem, closest, listed
from wintersward.records.heading_names import KEYS, key
from wintersward.records.tables import SUFFIXES, Table
from wintersward.trial.schema import Diary, Sheet

__all__ = ["Entry", "entries", "paired", "table_files"]

# Tables that a spreadsheet program saves in a form that is not read here.
_OTHER_TABLES = (".xls", ".xlsb", ".ods", ".fods", ".numbers", ".gsheet", ".tsv", ".tab")
# Files of words, which may be notes as well as tables.
_TEXTS = (".txt", ".text", ".dat", ".prn", "")
# How much of such a file is looked at for headings [bytes].
_LOOK = 4096
# The number of an entry of the diary about sheets, counted from 1, and the entry.
Entry = tuple[int, Sheet]


def table_files(place: Path, problems: list[Problem]) -> list[Path]:
    """List the tables of a folder, and tell of those that are not read.

    Parameters
    ----------
    place : Path
        The folder ``sheets``.
    problems : list of Problem
        What is told is added to it.
    """
    tables = []
    for file in sorted(place.rglob("*"), key=lambda path: path.as_posix()):
        inside = file.relative_to(place)
        kind = file.suffix.lower()
        # Spreadsheet programs keep a file ~$... or .~lock... beside one that is open.
        if any(part.startswith((".", "~$")) for part in inside.parts) or not file.is_file():
            continue
        if kind in _OTHER_TABLES:
            found, hint = f"a file of kind {kind}", "save it as .xlsx or .csv"
        elif kind in _TEXTS and _has_headings(file):
            found = f"a table in a file of kind {kind}" if kind else "a table in a file of no kind"
            hint = "save it as .xlsx or .csv"
        elif kind in SUFFIXES and len(inside.parts) > 1:
            found, hint = "a sheet in a folder within sheets", "move it up into sheets"
        else:
            tables += [file] if kind in SUFFIXES else []
            continue
        problems.append(Problem(f"sheets/{inside.as_posix()}", found=found, hint=hint))
    return tables


def _has_headings(file: Path) -> bool:
    """Tell whether a file of words has a line with date and plot, each in a cell of its own."""
    try:
        with file.open("rb") as content:
            text = content.read(_LOOK).decode("utf-8-sig", errors="replace")
    except OSError:
        return False
    rows = (re.split(r"[,;\t|]", line.replace('"', "")) for line in text.splitlines())
    return any(set(KEYS) <= {key(cell) for cell in row} for row in rows)


def entries(diary: Diary, files: list[str], problems: list[Problem]) -> dict[str, list[Entry]]:
    """Match the diary's entries about sheets with the files that are there.

    Parameters
    ----------
    diary : Diary
        What happened, and how tables are read.
    files : list of str
        Names of the files that are there.
    problems : list of Problem
        What is told is added to it.

    Returns
    -------
    dict of str to list of Entry
        From the name of a file to its entries.
    """
    found: dict[str, list[Entry]] = {}
    there = {_composed(name): name for name in files}
    for number, sheet in enumerate(diary.sheets, 1):
        name = there.get(_composed(sheet.file.replace("\\", "/").removeprefix("sheets/")), "")
        field = f"sheets.{number}.file"
        if not name:
            allowed = f"a file in sheets ({listed(files)})" if files else "a file in sheets"
            near = closest(sheet.file, files)
            problems.append(Problem("diary.yaml", 0, 0, field, f"'{sheet.file}'", allowed, near))
            continue
        same = [n for n, other in found.get(name, []) if None in (other.tab, sheet.tab)]
        same += [n for n, other in found.get(name, []) if other.tab == sheet.tab]
        if same:
            told = f"'{sheet.file}' a second time"
            hint = f"put it together with entry {same[0]}, or name different tabs"
            problems.append(Problem("diary.yaml", 0, 0, field, told, "one entry a table", hint))
            continue
        found.setdefault(name, []).append((number, sheet))
    return found


def _composed(name: str) -> str:
    """Write letters with accents as one sign each; some systems write two into names of files."""
    return unicodedata.normalize("NFC", name)


def paired(
    name: str,
    tables: list[Table],
    told: list[Entry],
    holds_records: Callable[[Table, Sheet | None], bool],
    problems: list[Problem],
) -> list[tuple[Table, Sheet | None]]:
    """Pair tables of a file with what the diary says.

    Tabs that it does not name are left out; those that hold anything are named beside the first
    table that is read.

    Parameters
    ----------
    name : str
        The file, in messages.
    tables : list of Table
        Its tabs.
    told : list of Entry
        The diary's entries about it.
    holds_records : callable
        Tells a tab of records from one of remarks beside it.
    problems : list of Problem
        What is told is added to it.

    Returns
    -------
    list of (Table, Sheet or None)
        Those to be read.
    """
    if not told:
        chosen = [t for t in tables if len(tables) == 1 or holds_records(t, None)]
        if tables and not chosen:
            said = f"no tab with the headings date and plot among {listed(t.tab for t in tables)}"
            hint = "put the headings in row 1, name the tab in diary.yaml, or move the file out of"
            problems.append(Problem(name, found=said, hint=f"{hint} sheets"))
        return _beside([(t, None) for t in chosen], tables)
    pairs: list[tuple[Table, Sheet | None]] = []
    for number, sheet in told:
        named = [t for t in tables if _composed(t.tab) == _composed(sheet.tab or "")]
        if sheet.tab is None:
            # Of a workbook with remarks beside the records, the records are meant.
            named = [t for t in tables if holds_records(t, sheet)] or tables
        if not named and tables:
            field, tabs = f"sheets.{number}.tab", [t.tab for t in tables if t.tab]
            allowed = listed(tabs) or "no tab, for it is not a workbook"
            near = closest(str(sheet.tab), tabs)
            problems.append(Problem("diary.yaml", 0, 0, field, f"'{sheet.tab}'", allowed, near))
        pairs += [(table, sheet) for table in named]
    return _beside(pairs, tables)


def _beside(
    pairs: list[tuple[Table, Sheet | None]], tables: Iterable[Table]
) -> list[tuple[Table, Sheet | None]]:
    """Name the tabs that are not read beside the first one that is."""
    read = {table.tab for table, _ in pairs}
    left = tuple(f"tab {table.tab}" for table in tables if table.tab not in read)
    first = [(replace(table, beside=left + table.beside), sheet) for table, sheet in pairs[:1]]
    return first + [(replace(table, beside=()), sheet) for table, sheet in pairs[1:]]
