"""A study run again without names or without its exact place, in a folder of its own."""

from __future__ import annotations

import html
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wintersward.errors import Problem, WinterswardError
from wintersward.handin.discretion import Discretion, still_there
from wintersward.handin.holdings import study_holdings
from wintersward.handin.named_people import StandIn, places_in
from wintersward.records.logger_text import decoded
from wintersward.runs.files import read_json, write_json

__all__ = ["DiscreetRun", "discreet_run"]

_HOST = "left out"


@dataclass(frozen=True)
class DiscreetRun:
    """A run that may be handed in.

    Parameters
    ----------
    study, run : Path
        Study folder and run.
    changed : tuple of str
        What was changed, a line each.
    """

    study: Path
    run: Path
    changed: tuple[str, ...]


@contextmanager
def discreet_run(
    study: Path, run: Path, told: Discretion, people: bool, tell: Callable[[str], None]
) -> Iterator[DiscreetRun]:
    """Copy a study without what is to be left out, and run it there.

    Parameters
    ----------
    study, run : Path
        The study folder, which is only read, and the run whose number the new one gets.
    told : Discretion
        The files that change.
    people : bool
        Whether the name of the computer stays.
    tell : callable
        Called with lines that say how far it is.

    Yields
    ------
    DiscreetRun
        There until the end of the block.

    Raises
    ------
    WinterswardError
        Where a file goes on naming a person, also one that the new run wrote: an own notebook may
        print a name, or the folder that it runs in.
    """
    from wintersward.runs.runner import run as run_study

    made_from = read_json(run / "inputs.json")
    # Within the study, so that photos can be linked and need no room.
    with tempfile.TemporaryDirectory(
        prefix=".discreet-", dir=study, ignore_cleanup_errors=True
    ) as place:
        copy = Path(place) / study.name
        _copied(study, copy, made_from, told)
        problems = still_there(copy, sorted(made_from["files"]), told.people)
        if problems:
            raise WinterswardError(problems)
        _continued(copy, int(run.name))
        tell("running the study again from files without what is to be left out")
        made = run_study(copy, tell)
        if not people and (problems := _told_by(made, told.people, [study, Path.home()])):
            raise WinterswardError(problems)
        changed = [*told.changed, "run: made again from the changed files"]
        if not people:
            path = made / "provenance.json"
            write_json(path, {**read_json(path), "host": _HOST})
            changed.append("run/provenance.json: name of the computer left out")
        yield DiscreetRun(copy, made, tuple(changed))


def _told_by(made: Path, people: Sequence[StandIn], folders: Sequence[Path]) -> list[Problem]:
    """Tell where a run names a person, or a folder of this computer.

    Notes
    -----
    A name of a single word may be a word of any page, such as a month, and is not looked for.
    """
    names = [one.name for one in people if len(one.name.split()) > 1]
    # A home that is the root of the disk names nobody.
    names += [str(folder) for folder in folders if folder.name]
    wanted = [StandIn(form, "") for name in names for form in {name, html.escape(name)}]
    problems = []
    for path in sorted(made.rglob("*")):
        if path.is_file() and decoded(content := path.read_bytes()) is not None:
            problems += places_in(content, f"run/{path.relative_to(made).as_posix()}", wanted)
    return problems


def _copied(study: Path, copy: Path, made_from: dict[str, Any], told: Discretion) -> None:
    """Copy what a run reads, the changed files in place of the others; photos are linked."""
    for one in study_holdings(study, made_from):
        name = one.name.removeprefix("study/")
        target = copy / name
        target.parent.mkdir(parents=True, exist_ok=True)
        if name in told.files:
            target.write_bytes(told.files[name])
        elif one.role == "photo":
            _linked(study / name, target)
        else:
            shutil.copyfile(study / name, target)
    if (study / ".cache").is_dir():
        shutil.copytree(study / ".cache", copy / ".cache")


def _linked(source: Path, target: Path) -> None:
    try:
        os.link(source, target)
    except OSError:
        # Not every file system has links.
        shutil.copyfile(source, target)


def _continued(copy: Path, number: int) -> None:
    """Let the next run have this number."""
    (copy / "runs").mkdir()
    if number > 1:
        (copy / "runs" / f".unfinished-{number - 1:03d}").mkdir()
