"""A run that was handed in, held against the same run made anew: tables, pages and the rest."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from wintersward.handin.inputs_check import Sameness
from wintersward.handin.page_numbers import numbers_of, shown_otherwise, unlike, untied, words_apart
from wintersward.handin.verified import Line
from wintersward.report.numbers import counted
from wintersward.runs.files import read_json
from wintersward.runs.table_compare import TOLERANCE, Compared, compare_tables

__all__ = ["page_lines", "rest_lines", "table_lines"]

_TOLD = 5
_WHERE = ("in the bundle", "made anew")
_NEAR = "; no more than is allowed on another computer: is this one of the same name, or changed?"
_REST = {"figures": "pictures", "notebooks": "notebooks"}


def table_lines(
    handed: Path, anew: Path, same: Sameness, taken: Iterable[str] = ()
) -> Iterator[Line]:
    """Compare the tables of two runs.

    Parameters
    ----------
    handed, anew : Path
        Folders of the run that was handed in and of the run made anew.
    same : Sameness
        How alike the circumstances of the two are.
    taken : iterable of str
        Tables that were taken over, so that there is nothing to compare.

    Yields
    ------
    Line
        One a table.
    """
    passed_over = set(taken)
    one, other = (read_json(folder / "results" / "tables.json") for folder in (handed, anew))
    stray = {path.stem for path in (handed / "results").glob("*.csv")}
    for name in sorted({*one, *other, *stray} - passed_over):
        what = f"table {name}"
        if name not in other:
            yield Line(False, what, "the run made anew has no such table")
        elif name not in one:
            yield Line(False, what, "run/results/tables.json does not tell of it")
        elif not (handed / "results" / f"{name}.csv").is_file():
            yield Line(False, what, f"run/results/{name}.csv is missing")
        elif same.wintersward and _described(one[name]) != _described(other[name]):
            yield Line(False, what, "run/results/tables.json describes it otherwise")
        else:
            texts = [_text(folder / "results" / f"{name}.csv") for folder in (handed, anew)]
            tolerance = None if same.exact else TOLERANCE
            found = compare_tables(texts[0], texts[1], other[name], _WHERE, tolerance)
            said = _compared(found, same.exact)
            if not found.same and same.exact:
                near = compare_tables(texts[0], texts[1], other[name], _WHERE, TOLERANCE)
                said += _NEAR if near.same else ""
            yield Line(found.same, what, said)


def _described(entry: Mapping[str, Any]) -> tuple[list[str], list[tuple[str, str, str]]]:
    columns = [(column["name"], column["type"], column["unit"]) for column in entry["columns"]]
    return list(entry["key"]), columns


def _compared(found: Compared, exact: bool) -> str:
    """Say how two tables compare: what differs most, and where."""
    if found.same:
        rows = counted(found.rows, "row")
        if exact or not found.near:
            return f"{rows}, the same digit for digit"
        within = f"a relative {TOLERANCE.relative:g}"
        return f"{rows}, the same; {found.near} of {found.cells} cells differ, all within {within}"
    told = list(found.problems)
    if found.moved:
        worst = found.moved[0].words(_WHERE)
        told.append(f"{len(found.moved)} of {found.cells} cells differ, the most {worst}")
    return "; ".join(told)


def page_lines(name: str, page: Path, handed: Path, anew: Path, same: Sameness) -> Iterator[Line]:
    """Check the numbers of a page, and the page against one made anew.

    Parameters
    ----------
    name : str
        What the page is called.
    page : Path
        The page that was handed in.
    handed, anew : Path
        Folders of the run that was handed in and of the run made anew.
    same : Sameness
        How alike the circumstances of the two are. Pages are compared where versions are the
        same; digit for digit only on the same computer.

    Yields
    ------
    Line
        One for the numbers, or one for each that is wrong; then one for the page.
    """
    second = anew / name
    if not page.is_file() or not second.is_file():
        if page.is_file() or second.is_file():
            told = "it is missing" if second.is_file() else "the run made anew has no such page"
            yield Line(not same.wintersward, name, told)
        return
    here, there = _text(page), _text(second)
    numbers = numbers_of(here)
    tables = {path.stem: _text(path) for path in (handed / "results").glob("*.csv")}
    faults = untied(numbers, tables)
    if same.wintersward:
        faults += shown_otherwise(numbers, numbers_of(there))
    yield from _faults(f"numbers of {name}", faults)
    if not faults:
        said = f"{len(numbers)} numbers, each as in the line of the table that it names"
        yield Line(True, f"numbers of {name}", said)
    if same.versions:
        yield _page_line(name, here, there, same.exact)


def _page_line(name: str, here: str, there: str, exact: bool) -> Line:
    if here == there:
        return Line(True, name, "the same bytes as made anew")
    apart = unlike(here, there) if exact else words_apart(here, there)
    if apart:
        return Line(False, name, f"it is not what comes out anew; {apart}")
    return Line(True, name, "the same words and shown numbers as made anew, pictures apart")


def rest_lines(handed: Path, anew: Path) -> Iterator[Line]:
    """Compare pictures and notebooks, byte for byte.

    Parameters
    ----------
    handed, anew : Path
        Folders of the run that was handed in and of the run made anew, on one computer with
        one set of versions.

    Yields
    ------
    Line
        One for the pictures and one for the notebooks, or one for each that differs.
    """
    for folder, what in _REST.items():
        one, other = (_files(run / folder) for run in (handed, anew))
        names = sorted({*one, *other})
        faults = [f"run/{folder}/{name}: {_apart(name, one, other)}" for name in names]
        faults = [fault for fault in faults if not fault.endswith(": ")]
        yield from _faults(what, faults)
        if not faults:
            yield Line(True, what, f"{len(names)} files, the same bytes as made anew")


def _apart(name: str, one: Mapping[str, bytes], other: Mapping[str, bytes]) -> str:
    if name not in one:
        return "it is missing"
    if name not in other:
        return "the run made anew has no such file"
    return "" if one[name] == other[name] else "it is not what comes out anew"


def _files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.glob("*")) if path.is_file()}


def _faults(what: str, faults: list[str]) -> Iterator[Line]:
    for fault in faults[:_TOLD]:
        yield Line(False, what, fault)
    if len(faults) > _TOLD:
        yield Line(False, what, f"and {len(faults) - _TOLD} more")


def _text(path: Path) -> str:
    return path.read_bytes().decode("utf-8", errors="replace")
