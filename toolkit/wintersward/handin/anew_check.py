"""A run that was handed in, held against the same run made anew: tables, pages and the rest."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from wintersward.handin.inputs_check import Sameness
from wintersward.handin.page_numbers import (
    numbers_apart,
    numbers_of,
    shown_otherwise,
    unlike,
    untied,
    words_apart,
)
from wintersward.handin.page_words import (
    page_pictures,
    pictures_apart,
    programs_in,
    text_apart,
)
from wintersward.handin.verified import Line, faults_told
from wintersward.report.numbers import counted
from wintersward.runs.files import read_json
from wintersward.runs.table_compare import TOLERANCE, Compared, compare_tables

__all__ = ["page_lines", "table_lines"]

_REPORT = "report.html"
_WHERE = ("in the bundle", "made anew")
_NEAR = "; no more than is allowed on another computer: is this one of the same name, or changed?"


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
    """Check numbers and pictures of a page, and the page against one made anew.

    Parameters
    ----------
    name : str
        What the page is called.
    page : Path
        The page that was handed in.
    handed, anew : Path
        Folders of the run that was handed in and of the run made anew.
    same : Sameness
        How alike the circumstances of the two are: on one computer every byte is the same; with
        the same versions, every byte but raw values and pictures; with the same wintersward,
        every word and mark. Another wintersward writes other words: its numbers alone are
        compared, and may be rounded otherwise.

    Yields
    ------
    Line
        One for the numbers, or one for each that is wrong; one for each picture that is none of
        the run; then one for the page.
    """
    second = anew / name
    if not page.is_file():
        if second.is_file():
            optional = not same.wintersward and name != _REPORT
            yield Line(optional, name, "it is missing", name if optional else "")
        return
    here, numbers = _text(page), numbers_of(_text(page))
    there = _text(second) if second.is_file() else None
    tables = {path.stem: _text(path) for path in (handed / "results").glob("*.csv")}
    faults = untied(numbers, tables)
    if there is not None:
        compare = numbers_apart if same.wintersward else shown_otherwise
        faults += compare(numbers, numbers_of(there))
    yield from faults_told(f"numbers of {name}", faults)
    if not faults:
        said = f"{len(numbers)} numbers, each as in the line of the table that it names"
        yield Line(True, f"numbers of {name}", said)
    yield from faults_told(name, _strange(here, there, handed, anew, same))
    if there is None:
        yield Line(not same.wintersward, name, "the run made anew has no such page", name)
    else:
        yield _page_line(name, here, there, same)


def _strange(here: str, there: str | None, handed: Path, anew: Path, same: Sameness) -> list[str]:
    """Tell what a page holds that is none of its run: pictures, programs."""
    told = [f"{where}: no report holds one" for where in programs_in(here)]
    pictures = page_pictures(here, handed / "figures")
    told += [
        f"picture {number} is no picture of run/figures"
        for number, names in enumerate(pictures, 1)
        if not names
    ]
    if there is not None and same.wintersward:
        told += pictures_apart(pictures, page_pictures(there, anew / "figures"))
    return told


def _page_line(name: str, here: str, there: str, same: Sameness) -> Line:
    if here == there:
        return Line(True, name, "the same bytes as made anew")
    if not same.wintersward:
        said = "only its tied numbers were compared; its words and pictures were made by "
        return Line(True, name, f"{said}{same.program}, which is not here", "words of the pages")
    if same.versions:
        apart = unlike(here, there) if same.exact else words_apart(here, there)
    else:
        apart = text_apart(here, there, same.there, same.here)
    if apart:
        return Line(False, name, f"it is not what comes out anew; {apart}")
    return Line(True, name, "the same words and shown numbers as made anew, pictures apart")


def _text(path: Path) -> str:
    return path.read_bytes().decode("utf-8", errors="replace")
