"""Verify a bundle: unpack it, check what it holds, run it anew, compare what comes out."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wintersward.errors import WinterswardError
from wintersward.errors import listed as joined
from wintersward.handin.anew_check import page_lines, table_lines
from wintersward.handin.described_check import DESCRIBED, described_lines
from wintersward.handin.inputs_check import (
    Sameness,
    input_lines,
    is_photo,
    used_copies,
    version_lines,
)
from wintersward.handin.inventory_check import Listed, inventory_lines, read_inventory
from wintersward.handin.rerunning import Rerun, laid_out, rerun
from wintersward.handin.rest_check import rest_lines
from wintersward.handin.standards_check import standards_lines
from wintersward.handin.unpacking import unpack
from wintersward.handin.verified import MISSHAPEN, Line, Verified, misshapen
from wintersward.paths import command
from wintersward.report.numbers import counted
from wintersward.runs.failure import StageFailed

__all__ = ["Line", "Verified", "verify"]

_PAGES = ("report.html", "brief.html")

_PROGRAMS = (
    "programs of whoever made the bundle; not executed, so that nothing was run again; read them, "
    "then: "
)

Progress = Callable[[str], None]


def verify(
    bundle: str | Path, progress: Progress | None = None, own_copies: bool = False
) -> Verified:
    """Verify a bundle.

    Parameters
    ----------
    bundle : str or Path
        The zip file, as it was handed in.
    progress : callable, optional
        Called with one line a step that takes long.
    own_copies : bool
        Whether notebooks and templates that the bundle brings along may be executed. They are
        programs of whoever made it; where the run used some and this is not allowed, nothing is
        run again, and the bundle does not pass.

    Returns
    -------
    Verified
        A line for each thing that was looked at: the archive; the inventory, with each file that
        is missing, added, swapped or changed; what is told in the words of standards; the inputs
        of the run; the versions; the rerun; each table; the numbers of each page; the pages, the
        pictures, the notebooks and the other files of the run. What cannot be looked at since
        something before it failed has no line; what cannot be compared on this computer is told.

    Raises
    ------
    WinterswardError
        Where there is no such file, or a folder in its place.

    Notes
    -----
    Nothing is fetched, and nothing is written but in a temporary folder, which is removed. The
    study is run again in a folder that holds the input files alone, so that nothing else of the
    bundle is read or executed. The notebooks and templates are those of this installation but
    for the own copies, which have no walls around them: whoever allows them reads them before.
    """
    archive = Path(bundle)
    if archive.is_dir():
        raise WinterswardError(
            f"{archive.as_posix()}: a folder; allowed: the zip file as it was handed in, which "
            "verify unpacks by itself: what unpacks it for you may add files or rename some"
        )
    if not archive.is_file():
        raise WinterswardError(f"{archive.as_posix()}: no such file; allowed: the zip file")
    with tempfile.TemporaryDirectory(prefix="wintersward-", ignore_cleanup_errors=True) as made:
        place = Path(made).resolve()
        lines = _lines(archive, place, progress or _silent, own_copies)
        return Verified(tuple(lines))


def _silent(line: str) -> None:
    """Take a line and say nothing."""


def _lines(archive: Path, place: Path, tell: Progress, allowed: bool) -> Iterator[Line]:
    folder = place / "bundle"
    tell("unpacking")
    try:
        names = unpack(archive, folder)
    except WinterswardError as error:
        yield from (Line(False, "archive", str(problem)) for problem in error.problems)
        return
    said = f"{counted(len(names), 'file')}, none of which lies outside, hides another or is a link"
    yield Line(True, "archive", said)
    try:
        listed = read_inventory(folder)
    except WinterswardError as error:
        yield Line(False, "inventory", str(error))
        return
    yield from inventory_lines(folder, names, listed)
    standards = standards_lines(folder, listed)
    yield from standards
    try:
        run = _handed_in(folder, listed)
        yield from input_lines(run.study, run.made_from, run.told, listed)
        versions, same = version_lines(run.made_from, run.told, not run.photos)
    except WinterswardError as error:
        yield from (Line(False, "inputs", str(problem)) for problem in error.problems)
        return
    except MISSHAPEN as error:
        yield misshapen("inputs", "run/inputs.json or run/provenance.json", error)
        return
    yield from versions
    if not same.installed:
        return
    if same.wintersward:
        yield from _described(run, [line.what for line in standards if not line.passed])
    else:
        yield Line(True, DESCRIBED, "not made anew: another wintersward made them", DESCRIBED)
    copies = used_copies(run.study, run.made_from)
    if copies and not allowed:
        yield Line(False, "own copies", f"{joined(copies)}: {_PROGRAMS}{_typed(archive)}")
        return
    study = laid_out(run.study, place, copies)
    yield from _made_anew(run, study, same, tell)


def _described(run: _Handed, wrong: list[str]) -> list[Line]:
    """Hold what describes the bundle against what would be made of it here."""
    about = {"inputs": run.made_from, "provenance": run.told}
    try:
        return described_lines(run.folder, about, wrong)
    except MISSHAPEN as error:
        return [misshapen(DESCRIBED, "inventory.json or a file of the run", error)]


def _typed(archive: Path) -> str:
    return f"{command('verify', archive)} --with-own-copies"


@dataclass(frozen=True)
class _Handed:
    """The run that was handed in.

    Parameters
    ----------
    folder, study, run : Path
        The bundle, the study in it and the folder of the run in it.
    made_from, told : mapping
        Its ``inputs.json`` and ``provenance.json``.
    photos : dict of str to str
        Photos that were left out, from the study folder on, with their SHA-256.
    """

    folder: Path
    study: Path
    run: Path
    made_from: Mapping[str, Any]
    told: Mapping[str, Any]
    photos: dict[str, str]


def _handed_in(folder: Path, listed: Listed) -> _Handed:
    photos = {
        name.removeprefix("study/"): entry.sha256
        for name, entry in listed.left_out.items()
        if is_photo(name.removeprefix("study/"))
    }
    study, run = folder / "study", folder / "run"
    made_from = _json(folder, "run/inputs.json", ("files", "templates", "own_copies", "versions"))
    told = _json(folder, "run/provenance.json", ("run",))
    return _Handed(folder, study, run, made_from, told, photos)


def _json(folder: Path, name: str, wanted: tuple[str, ...]) -> dict[str, Any]:
    try:
        held = json.loads((folder / name).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        raise WinterswardError(f"{name}: it is missing, or no JSON") from None
    told = held if isinstance(held, dict) else {}
    if lost := [one for one in wanted if one not in told]:
        raise WinterswardError(f"{name}: it does not tell {', '.join(lost)}")
    return told


def _made_anew(run: _Handed, study: Path, same: Sameness, tell: Progress) -> Iterator[Line]:
    """Run the study anew, and compare."""
    try:
        made = rerun(study, run.run, run.photos, tell)
    except StageFailed as error:
        # Its folder is gone by then, and what it advises is for who made the study.
        reasons = error.failure.reason.splitlines() or ["it stopped"]
        yield from (Line(False, "rerun", f"{error.failure.place}: {one}") for one in reasons)
        return
    except WinterswardError as error:
        yield from (Line(False, "rerun", str(problem)) for problem in error.problems)
        return
    except MISSHAPEN as error:
        yield misshapen("rerun", "a file of the run", error)
        return
    yield Line(True, "rerun", _rerun_said(run, made), "scores of photos" if made.taken else "")
    there = run.run, made.folder
    tables = table_lines(*there, same, made.taken)
    try:
        yield from tables
    except MISSHAPEN as error:
        yield misshapen("tables", "run/results/tables.json or a table", error)
        return
    for name in _PAGES:
        page = page_lines(name, run.folder / name, *there, same)
        yield from _guarded(name, "the page, or a table of the run,", page)
    rest = rest_lines(*there, same)
    yield from _guarded("rest of the run", "a picture, a notebook or another file of the run", rest)


def _guarded(what: str, files: str, lines: Iterator[Line]) -> Iterator[Line]:
    """Give lines until a file turns out to be of another shape, and then one that fails."""
    try:
        yield from lines
    except MISSHAPEN as error:
        yield misshapen(what, files, error)


def _rerun_said(run: _Handed, made: Rerun) -> str:
    said = f"{counted(len(made.stages), 'stage')} executed: {', '.join(made.stages)}"
    if not made.taken:
        return said
    return (
        f"{said}; {counted(len(run.photos), 'photo')} left out, so that photos were not scored "
        f"again and these were taken from the bundle: {', '.join(made.taken)}"
    )
