"""A run of a bundle, made anew in a folder of its own: by the very stages, from the very inputs."""

from __future__ import annotations

import os
import shutil
import site
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from wintersward.errors import WinterswardError
from wintersward.paths import DEFINITION
from wintersward.runs.failure import StageFailed
from wintersward.runs.files import read_json, write_json
from wintersward.runs.provenance import input_files
from wintersward.runs.stages import REPORT, Stage, stages_of

if TYPE_CHECKING:
    from wintersward.trial import Definition

__all__ = ["FROM_PHOTOS", "Rerun", "laid_out", "rerun", "secluded", "take_pictures", "take_tables"]

FROM_PHOTOS = ("photo_scores", "window_covers", "window_answers")
"""Tables that cannot be made without the photos themselves: scores, and counts by other windows."""

# The picture of the last two.
_WINDOWS_PICTURE = "thresholds"
_NUMBER = "001"

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Rerun:
    """A run that was made anew.

    Parameters
    ----------
    folder : Path
        Of the run.
    stages : tuple of str
        Names of the stages that were executed.
    taken : tuple of str
        What was taken over from the bundle instead, since photos were left out: tables and
        pictures, by name.
    """

    folder: Path
    stages: tuple[str, ...]
    taken: tuple[str, ...] = ()


def laid_out(study: Path, place: Path, copies: Iterable[str] = ()) -> Path:
    """Bring what a run reads, and nothing else of a bundle, into a study folder of its own.

    Parameters
    ----------
    study : Path
        The study folder of the bundle; its files are moved away.
    place : Path
        A folder on the same disk; ``anew/study`` is made in it.
    copies : iterable of str
        Own copies of notebooks and templates to bring along, from the study folder on.

    Returns
    -------
    Path
        The new study folder.

    Notes
    -----
    A bundle may hold anything beside the inputs: kept scores, modules where a notebook would
    import them, settings of programs. None of it comes along.
    """
    clean = place / "anew" / "study"
    clean.mkdir(parents=True)
    for path in [*input_files(study), *(study / name for name in copies)]:
        target = clean / path.relative_to(study)
        target.parent.mkdir(parents=True, exist_ok=True)
        os.replace(path, target)
    return clean


def rerun(
    study: Path, handed: Path, left_out: Mapping[str, str], progress: Progress | None = None
) -> Rerun:
    """Run a study of a bundle anew.

    Parameters
    ----------
    study : Path
        The study folder, as `laid_out` makes it; the run is made in it, and a folder ``home``
        beside it.
    handed : Path
        The folder of the run that was handed in; where photos were left out, their scores are
        taken from it.
    left_out : mapping of str to str
        From the study folder on, files that were left out of the bundle, with their SHA-256.
    progress : callable, optional
        Called with one line a stage.

    Returns
    -------
    Rerun

    Raises
    ------
    WinterswardError
        With everything that is wrong in the study, or what stopped a stage.

    Notes
    -----
    Nothing is written outside the folder around the study.
    """
    from wintersward.runs.runner import run

    # Else the run would look for a study in the folders around.
    if not (study / DEFINITION).is_file():
        raise WinterswardError(f"study/{DEFINITION}: it is missing")
    with secluded(study.parent / "home"):
        if left_out:
            return _without_photos(study, handed, left_out, progress or _silent)
        made = run(study, progress)
        return Rerun(made, tuple(stage.name for stage in stages_of(_definition(study))))


@contextmanager
def secluded(home: Path) -> Iterator[None]:
    """Let whatever is started inside keep its own files in a folder, not in the person's home.

    Parameters
    ----------
    home : Path
        The folder; it must not be there yet, so that nothing lies in it that nobody put there.
    """
    home.mkdir()
    before, temporary = dict(os.environ), tempfile.tempdir
    # Packages that were installed for this person alone lie in the home that is hidden now.
    os.environ["PYTHONUSERBASE"] = site.getuserbase()
    for name in ("HOME", "USERPROFILE", "TMPDIR", "TEMP", "TMP"):
        os.environ[name] = str(home)
    for name in ("JUPYTER_RUNTIME_DIR", "JUPYTER_DATA_DIR", "JUPYTER_CONFIG_DIR"):
        os.environ[name] = str(home / "jupyter")
    for name in ("MPLCONFIGDIR", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        os.environ[name] = str(home / name.lower())
    tempfile.tempdir = str(home)
    try:
        yield
    finally:
        tempfile.tempdir = temporary
        os.environ.clear()
        os.environ.update(before)


def _silent(line: str) -> None:
    """Take a line and say nothing."""


def _definition(study: Path) -> Definition:
    from wintersward.trial import read_definition

    definition, problems = read_definition(study)
    if definition is None:
        raise WinterswardError(problems)
    return definition


def _without_photos(
    study: Path, handed: Path, left_out: Mapping[str, str], tell: Progress
) -> Rerun:
    """Run the stages behind the photos; the photos' own tables and pictures are taken over.

    The inputs of the run are taken over too: the page names the hashes of the photos.
    """
    from wintersward.handin.kept_scores import lay_out_scores
    from wintersward.runs.runner import render_pages

    definition = _definition(study)
    lay_out_scores(study, definition, handed / "results", left_out)
    _, *others, report = stages_of(definition)
    made = study / "runs" / _NUMBER
    (made / "results").mkdir(parents=True)
    shutil.copyfile(handed / "inputs.json", made / "inputs.json")
    for stage in others:
        _execute(stage, study, made, tell)
    taken = take_tables(handed / "results", made / "results")
    taken += take_pictures(handed / "figures", made / "figures")
    _execute(report, study, made, tell)
    render_pages(study, made)
    return Rerun(made, tuple(stage.name for stage in (*others, REPORT)), tuple(taken))


def _execute(stage: Stage, study: Path, made: Path, tell: Progress) -> None:
    from wintersward.runs.execution import execute
    from wintersward.runs.kernels import surroundings

    tell(f"{stage.name}: {stage.does}")
    passed = {"study": str(study), "run_folder": str(made)}
    with surroundings():
        done = execute(stage, study, made / "notebooks", passed)
    if done.failure is not None:
        if done.failure.kind == "stopped":
            raise KeyboardInterrupt
        raise StageFailed(done.failure, f"runs/{made.name}")


def take_tables(handed: Path, made: Path) -> list[str]:
    """Take over the tables that need the photos, each with what describes it.

    Parameters
    ----------
    handed, made : Path
        Folders ``results`` of the run that was handed in and of the one made anew.

    Returns
    -------
    list of str
        Names of the tables.
    """
    described, held = read_json(made / "tables.json"), read_json(handed / "tables.json")
    taken = [name for name in FROM_PHOTOS if (handed / f"{name}.csv").is_file() and name in held]
    for name in taken:
        shutil.copyfile(handed / f"{name}.csv", made / f"{name}.csv")
        described[name] = held[name]
    write_json(made / "tables.json", described)
    return taken


def take_pictures(handed: Path, made: Path) -> list[str]:
    """Take over the pictures that the stages left to be made from photos.

    Parameters
    ----------
    handed, made : Path
        Folders ``figures`` of the run that was handed in and of the one made anew.

    Returns
    -------
    list of str
        Names of the pictures.

    Raises
    ------
    WinterswardError
        Where one of them is not there, or is said to lie elsewhere.
    """
    described, held = read_json(made / "figures.json"), read_json(handed / "figures.json")
    taken = [name for name in held if name not in described or name == _WINDOWS_PICTURE]
    for name in taken:
        file = held[name]["file"]
        if Path(file).name != file or not (handed / file).is_file():
            raise WinterswardError(f"figures/figures.json: no such picture: {file}")
        made.mkdir(exist_ok=True)
        shutil.copyfile(handed / file, made / file)
        described[name] = held[name]
    write_json(made / "figures.json", described)
    return taken
