"""Start a study folder from the starter."""

from __future__ import annotations

import datetime as dt
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from wintersward.errors import WinterswardError
from wintersward.paths import command, template_folder
from wintersward.runs.files import write_whole
from wintersward.trial import read_definition, read_diary
from wintersward.trial.reading import Place

__all__ = [
    "FOLDERS",
    "SEED",
    "SEED_WRITTEN",
    "fresh_folder",
    "fresh_seed",
    "new_study",
    "put_starter",
    "sound",
]

FOLDERS = ("photos", "sheets")
SEED: Place = ("layout", "seed")
SEED_WRITTEN = r"[-+]?\d+"
# What stands in the starter for the seed that is drawn, and for the year of the trial.
_SEED, _YEAR = "{{ seed }}", "{{ year }}"
# And for the command that checks it: FOLDER stays, since a next season has another one.
_CHECK = "{{ check }}"
_HIGHEST_SEED = 10**8


def new_study(folder: str | Path, today: dt.date | None = None) -> Path:
    """Start a study: the starter's files, a freshly drawn seed, folders for what comes in.

    Parameters
    ----------
    folder : str or Path
        A folder that is not there yet, or an empty one.
    today : date, optional
        Day from which the next winter is counted: the dates of the starter, which are there to
        be changed, begin in the January after it.

    Returns
    -------
    Path
        The study folder, absolute.

    Raises
    ------
    WinterswardError
        Where there is something in the folder. Nothing is changed then.
    """
    with fresh_folder(folder) as (place, target):
        put_starter(place)
        path = place / "trial.yaml"
        text = path.read_bytes().decode("utf-8")
        year = (today or dt.date.today()).year + 1
        text = text.replace(_YEAR, str(year)).replace(_SEED, str(fresh_seed("")))
        text = text.replace(_CHECK, command("check", "FOLDER"))
        write_whole(path, text)
        sound(place)
    return target


@contextmanager
def fresh_folder(folder: str | Path) -> Iterator[tuple[Path, Path]]:
    """Make a folder that is there whole, at the end, or not at all.

    Parameters
    ----------
    folder : str or Path
        A folder that is not there yet, or an empty one.

    Yields
    ------
    place : Path
        Where to put the files.
    target : Path
        Where they will be, absolute.

    Raises
    ------
    WinterswardError
        Where there is something in the folder, or a file of that name.
    """
    target = Path(folder).resolve()
    shown = Path(folder).as_posix()
    if target.exists() and not target.is_dir():
        raise WinterswardError(f"{shown}: a file of that name is there; choose another name")
    if target.is_dir() and any(target.iterdir()):
        raise WinterswardError(
            f"{shown}: there is something in this folder; nothing was changed; "
            "name a folder that is not there yet"
        )
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        made = Path(tempfile.mkdtemp(prefix=".wintersward-", dir=target.parent))
    except OSError as error:
        # The name that was tried means nothing to a person.
        raise OSError(error.errno, error.strerror, str(target.parent)) from error
    try:
        place = made / target.name
        place.mkdir()
        yield place, target
        # An empty folder is filled, not replaced: a person may stand in it.
        if target.is_dir():
            for entry in sorted(place.iterdir()):
                entry.rename(target / entry.name)
        else:
            place.rename(target)
    finally:
        shutil.rmtree(made, ignore_errors=True)


def put_starter(place: Path, leave_out: tuple[str, ...] = ()) -> None:
    """Put the starter's files and the folders for what comes in into a study folder."""
    starter = template_folder("starter")
    for source in sorted(starter.iterdir()):
        if source.is_file() and not source.name.startswith(".") and source.name not in leave_out:
            shutil.copyfile(source, place / source.name)
    for name in FOLDERS:
        (place / name).mkdir(exist_ok=True)


def fresh_seed(old: str) -> int:
    """Draw a seed for a randomisation, other than one that was used."""
    while True:
        seed = 1 + secrets.randbelow(_HIGHEST_SEED - 1)
        if str(seed) != old:
            return seed


def sound(place: Path) -> None:
    """Make sure that nothing is wrong in a definition and diary that were just put in place."""
    definition, problems = read_definition(place)
    if definition is not None:
        _, problems = read_diary(place, definition)
    if problems:
        raise WinterswardError(problems)
