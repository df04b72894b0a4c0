"""Pictures, notebooks and the other files of a run, held against the run made anew."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

from wintersward.errors import WinterswardError, listed
from wintersward.handin.alike import (
    LEVELS,
    PIXELS,
    SQUARE,
    SQUARE_LEVELS,
    notebook_apart,
    picture_apart,
)
from wintersward.handin.inputs_check import Sameness
from wintersward.handin.verified import Line, faults_told
from wintersward.paths import template
from wintersward.report.numbers import counted
from wintersward.runs.notebooks import same_cells
from wintersward.runs.table_compare import TOLERANCE

__all__ = ["rest_lines"]

_PICTURES, _NOTEBOOKS, _OTHERS = "pictures", "notebooks", "other files of the run"
_ELSEWHERE = ("results", "figures", "notebooks")
_TOLD = "figures/figures.json"
_WARNINGS, _CLOCK = "warnings.txt", "provenance.json"
_NOT_SO = "it is not what comes out anew"

_Apart = Callable[[str], str]


def rest_lines(handed: Path, anew: Path, same: Sameness) -> Iterator[Line]:
    """Compare what is neither table nor page.

    Parameters
    ----------
    handed, anew : Path
        Folders of the run that was handed in and of the run made anew.
    same : Sameness
        How alike the circumstances of the two are: on one computer all bytes are the same; with
        the same versions, pictures and what notebooks wrote are alike but for the last digits;
        with the same wintersward, notebooks have the same cells.

    Yields
    ------
    Line
        One for the pictures, one for the notebooks and one for the other files, or one for each
        file that differs; one that tells what cannot be compared here.
    """
    yield from _picture_lines(handed, anew, same)
    yield from _notebook_lines(handed, anew, same)
    yield from _other_lines(handed, anew, same)


def _picture_lines(handed: Path, anew: Path, same: Sameness) -> Iterator[Line]:
    if not same.versions:
        by = "other libraries" if same.wintersward else f"{same.program}, which is not here"
        yield Line(True, _PICTURES, f"not compared: they were drawn by {by}", _PICTURES)
        return
    names = _names(handed, anew, "figures")

    def apart(name: str) -> str:
        one, other = ((run / name).read_bytes() for run in (handed, anew))
        if name == _TOLD:
            return "" if json.loads(one) == json.loads(other) else _NOT_SO
        return picture_apart(name, one, other)

    within = (
        f"drawings within {PIXELS:g} px, photos within {LEVELS:g} of 255 levels on average and "
        f"{SQUARE_LEVELS:g} in every square of {SQUARE} px"
    )
    yield from _compared(_PICTURES, names, handed, anew, None if same.exact else apart, within)


def _notebook_lines(handed: Path, anew: Path, same: Sameness) -> Iterator[Line]:
    if not same.wintersward:
        said = f"not compared: they are those of {same.program}, which is not here"
        yield Line(True, _NOTEBOOKS, said, _NOTEBOOKS)
        return
    names = _names(handed, anew, "notebooks")
    if not same.scored:
        alone = [name for name in names if not (anew / name).is_file()]
        names = [name for name in names if name not in alone]
        faults = [f"run/{name}: {_NOT_SO}" for name in alone if not _of_a_stage(handed, anew, name)]
        yield from faults_told(_NOTEBOOKS, faults)

    # Without photos, what a stage shows of other windows of green is not made again.
    outputs = same.versions and same.scored

    def apart(name: str) -> str:
        return notebook_apart(handed / name, anew / name, outputs)

    within = f"cell by cell, with numbers within a relative {TOLERANCE.relative:g}"
    if not outputs:
        by = "other libraries wrote it" if not same.versions else "some of it comes from photos"
        within = f"cell by cell; what they wrote was not compared: {by}"
    lines = _compared(_NOTEBOOKS, names, handed, anew, None if same.exact else apart, within)
    left = "" if outputs else "what the notebooks wrote"
    yield from (Line(one.passed, one.what, one.found, left) for one in lines)


def _of_a_stage(handed: Path, anew: Path, name: str) -> bool:
    """Tell whether a notebook of a stage that was not executed has the cells of that stage."""
    try:
        meant = template("notebooks", Path(name).name, anew.parents[1])
    except WinterswardError:
        return False
    return same_cells(handed / name, meant)


def _other_lines(handed: Path, anew: Path, same: Sameness) -> Iterator[Line]:
    names = [name for name in _names(handed, anew) if not name.startswith(_ELSEWHERE)]
    names = [name for name in names if name != _CLOCK and not _page(name)]
    if not same.versions:
        said = f"not compared: run/{listed(names)}"
        yield Line(True, _OTHERS, said, _OTHERS)
        return
    # What a stage warns of may depend on the computer.
    left = [name for name in names if name == _WARNINGS and not same.exact]
    names = [*(name for name in names if name not in left), "results/tables.json"]
    yield from _compared(_OTHERS, names, handed, anew, None, "")
    if left:
        yield Line(True, _OTHERS, f"run/{_WARNINGS}: not compared on another computer", _WARNINGS)


def _page(name: str) -> bool:
    return name.endswith(".html") and "/" not in name


def _names(handed: Path, anew: Path, folder: str = "") -> list[str]:
    """List the files of both runs in a folder, from the folder of the run on."""
    found = {
        path.relative_to(run).as_posix()
        for run in (handed, anew)
        for path in (run / folder).rglob("*")
        if path.is_file()
    }
    return sorted(found)


def _said(apart: _Apart, name: str) -> str:
    try:
        return apart(name)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        return f"it cannot be read ({type(error).__name__})"


def _compared(
    what: str, names: list[str], handed: Path, anew: Path, apart: _Apart | None, within: str
) -> Iterator[Line]:
    """Compare files, byte for byte where there is no other way."""
    faults = []
    for name in names:
        if not (handed / name).is_file():
            faults.append(f"run/{name}: it is missing")
        elif not (anew / name).is_file():
            faults.append(f"run/{name}: the run made anew has no such file")
        elif apart is not None:
            faults += [f"run/{name}: {said}"] if (said := _said(apart, name)) else []
        elif (handed / name).read_bytes() != (anew / name).read_bytes():
            faults.append(f"run/{name}: {_NOT_SO}")
    yield from faults_told(what, faults)
    if not faults:
        how = "the same bytes as made anew" if apart is None else f"as made anew, {within}"
        yield Line(True, what, f"{counted(len(names), 'file')}, {how}")
