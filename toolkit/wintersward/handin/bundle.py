"""The bundle that is handed in: one zip file with a run and all that it was made from."""

from __future__ import annotations

import os
import re
import secrets
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wintersward.errors import Problem, WinterswardError
from wintersward.handin.describing import describing
from wintersward.handin.fitting import unfit
from wintersward.handin.holdings import Holding, run_holdings, study_holdings
from wintersward.handin.inventory import unfit_names
from wintersward.handin.packing import pack
from wintersward.paths import command, study_folder
from wintersward.runs.damage import damage
from wintersward.runs.files import read_json, sha256
from wintersward.runs.latest import latest_run

__all__ = ["bundle"]

Progress = Callable[[str], None]


@dataclass(frozen=True)
class _Source:
    """A run and the study folder that it was made in."""

    study: Path
    run: Path
    changed: tuple[str, ...] = ()


def bundle(
    folder: str | Path = "",
    photos: bool = True,
    people: bool = True,
    exact_place: bool = True,
    progress: Progress | None = None,
) -> Path:
    """Put the newest complete run of a study, and what it was made from, into one zip file.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.
    photos : bool
        Whether the photos are packed; those left out are listed with their hashes.
    people : bool
        Whether names of people stay. Without them the study is run again from files that hold
        none, in a folder of its own, and that run is packed.
    exact_place : bool
        Whether the position of the site stays as it is; else it is rounded to 0.1 degree, in the
        same way.
    progress : callable, optional
        Called with lines that say how far it is.

    Returns
    -------
    Path
        ``bundle-NNN.zip`` in the study folder, NNN the number of the run.

    Raises
    ------
    WinterswardError
        Where there is no complete run, where it is damaged, where the study is another one since,
        where a file has a name that not every computer can write, where what is to be left out
        also stands where it cannot be taken out, or where another bundle of this name is there.

    Notes
    -----
    The same run with the same options gives the same bytes; a run that is made again has a clock
    of its own.
    """
    study = study_folder(folder or Path.cwd())
    run = _newest(study, folder)
    made_from = read_json(run / "inputs.json")
    _refuse_another(study, run, made_from, folder, photos)
    target, tell = study / f"bundle-{run.name}.zip", progress or _silent
    for name in _without_page(study, run.name):
        tell(f"runs/{name} is damaged, it lacks report.html; run {run.name} is bundled")
    if people and exact_place:
        _put(_Source(study, run), target, photos, tell)
        return target
    from wintersward.handin.discreet_run import discreet_run
    from wintersward.handin.discretion import discretion

    told = discretion(study, made_from, people, exact_place, photos)
    for line in told.look:
        tell(line)
    if people and not told.files:
        _put(_Source(study, run, told.changed), target, photos, tell)
        return target
    # A run that is made again has a clock of its own: this would be another file.
    if target.exists():
        raise _there_already(target)
    with discreet_run(study, run, told, people, tell) as made:
        _put(_Source(made.study, made.run, made.changed), target, photos, tell)
    return target


def _silent(line: str) -> None:
    """Take a line and say nothing."""


def _newest(study: Path, folder: str | Path) -> Path:
    run = latest_run(study / "runs")
    if run is None:
        raise WinterswardError(
            f"runs: there is no complete run to bundle yet; run: {command('run', folder)}"
        )
    faults = damage(run)
    if faults:
        raise WinterswardError(
            [
                Problem(
                    f"runs/{run.name}/{fault.name}",
                    found=fault.found or "a run without this file",
                    hint=f"run again: {command('run', folder)}",
                )
                for fault in faults
            ]
        )
    return run


def _without_page(study: Path, newest: str) -> list[str]:
    """Name the runs after the newest complete one: they have lost their page."""
    names = [path.name for path in (study / "runs").iterdir() if path.is_dir()]
    return sorted(n for n in names if re.fullmatch("[0-9]+", n) and int(n) > int(newest))


def _refuse_another(
    study: Path, run: Path, made_from: dict[str, Any], folder: str | Path, photos: bool
) -> None:
    """Stop where the study is not what the run was made from any more."""
    problems: list[Problem | str] = [*unfit(study, run.name, made_from, trust=photos)]
    if problems:
        said = f"the study is not what run {run.name} was made from any more"
        raise WinterswardError([*problems, f"{said}; run it again: {command('run', folder)}"])


def _put(source: _Source, target: Path, photos: bool, tell: Progress) -> None:
    """Write the bundle under another name first, and give it its own where it is whole."""
    held = _everything(source, photos)
    # A name of its own, since another bundle may be made just now.
    part = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    try:
        wrong = pack(part, held, tell)
        if wrong:
            found = "another content than the run was made from, or none"
            names = [name.removeprefix("study/") for name in wrong]
            raise WinterswardError(
                [
                    Problem(
                        name, found=found, hint="run again, and leave the files alone meanwhile"
                    )
                    for name in names
                ]
            )
        if not _named(part, target):
            if sha256(target) != sha256(part):
                raise _there_already(target)
            tell(f"{target.name}: the same bundle was there already")
            return
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
    tell(f"{target.name}: {len(held)} files, {target.stat().st_size / 1e6:.1f} MB")


def _named(part: Path, target: Path) -> bool:
    """Give a whole file its name, unless another has it."""
    if target.exists():
        return False
    try:
        # Refused where the name was taken meanwhile.
        os.link(part, target)
    except FileExistsError:
        return False
    except OSError:
        # Not every file system has links.
        os.replace(part, target)
    return True


def _there_already(target: Path) -> WinterswardError:
    return WinterswardError(
        Problem(
            target.name,
            found="another file of this name, such as a bundle made with other options",
            hint="move it away or give it another name; nothing is overwritten",
        )
    )


def _everything(source: _Source, photos: bool) -> list[Holding]:
    """List every file of the bundle, those that describe it made from the others."""
    from wintersward.study import open_study

    trial = open_study(source.study)
    told = {
        "inputs": read_json(source.run / "inputs.json"),
        "provenance": read_json(source.run / "provenance.json"),
        "tables": read_json(source.run / "results" / "tables.json"),
    }
    given = study_holdings(source.study, told["inputs"])
    left_out = [one for one in given if one.role == "photo" and not photos]
    held = [*run_holdings(source.run), *(one for one in given if one not in left_out)]
    problems = unfit_names([*(one.name for one in held), *(one.name for one in left_out)])
    if problems:
        raise WinterswardError(problems)

    def read(name: str) -> str:
        path = next(one.path for one in held if one.name == name)
        return path.read_text(encoding="utf-8-sig") if path else ""

    more = describing(trial, source.run.name, held, left_out, source.changed, told, read)
    return [*held, *more]
