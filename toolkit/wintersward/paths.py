"""Where templates and study folders are, and how a command on one is typed."""

from __future__ import annotations

import os
import shlex
from pathlib import Path, PureWindowsPath

from wintersward.errors import WinterswardError, closest, listed

__all__ = [
    "DEFINITION",
    "KINDS",
    "SAYS",
    "command",
    "shown",
    "study_folder",
    "template",
    "template_folder",
]

DEFINITION = "trial.yaml"
KINDS = ("notebooks", "papers", "reports", "starter")
# Set by whatever starts wintersward for a person who types something else.
SAYS = "WINTERSWARD_SAYS"


def template(kind: str, name: str, study: Path | None = None) -> Path:
    """Find a template: the study's own copy, then the installed one, then the checkout's.

    Parameters
    ----------
    kind : str
        ``notebooks``, ``papers``, ``reports`` or ``starter``.
    name : str
        Name below the folder of that kind, with its ending: ``30-statistics.ipynb``.
    study : Path, optional
        Study folder whose own copy goes first: ``notebooks/NAME`` for a notebook,
        ``templates/KIND/NAME`` for the others.

    Returns
    -------
    Path
        A file, or a folder where the template is one.

    Raises
    ------
    WinterswardError
        Where there is none of that name, with the names there are.
    """
    folders = [_own_folder(kind, study)] if study is not None else []
    folders.append(template_folder(kind))
    # Read as Windows does, which knows both slashes and drives: a name must stay below the
    # folder on every system.
    wanted = PureWindowsPath(name)
    if wanted.parts and not wanted.anchor and ".." not in wanted.parts:
        for folder in folders:
            found = folder.joinpath(*wanted.parts)
            if found.exists():
                return found
    known = sorted({held for folder in folders for held in _names(folder)})
    hint = closest(name, known)
    raise WinterswardError(
        f"no template {name!r} among the {kind}; there are: {listed(known)}"
        + (f"; {hint}" if hint else "")
    )


def template_folder(kind: str) -> Path:
    """Find the folder of the shipped templates of one kind, installed or in the checkout.

    Parameters
    ----------
    kind : str
        ``notebooks``, ``papers``, ``reports`` or ``starter``.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    WinterswardError
        Where the kind is unknown or the installation lacks its templates.
    """
    if kind not in KINDS:
        raise WinterswardError(f"no templates of kind {kind!r}; there are: {listed(KINDS)}")
    package = Path(__file__).resolve().parent
    # A wheel holds them inside the package; a checkout has them beside toolkit/.
    for templates in (package / "templates", package.parents[1] / "templates"):
        if (templates / kind).is_dir():
            return templates / kind
    raise WinterswardError(
        f"the {kind} templates are missing from this installation of wintersward in {package}; "
        "install it again"
    )


def command(verb: str, study: str | Path = "") -> str:
    """Write a command as the person has to type it.

    Parameters
    ----------
    verb : str
        ``check``, ``plan``, ``run``, ...
    study : str or Path
        The study folder: a string as the person typed it, empty for the current folder; a
        Path, which nobody typed, as short as it can be from the current folder.

    Returns
    -------
    str
        With the words that ``WINTERSWARD_SAYS`` holds in place of ``wintersward``, and the
        folder quoted where a shell needs it.

    Examples
    --------
    >>> command("run", "our trial").partition(" run ")[2]
    "'our trial'"
    """
    says = os.environ.get(SAYS, "")
    name = study
    if isinstance(study, Path):
        here = Path.cwd()
        name = str(study.relative_to(here)) if study.is_relative_to(here) else str(study)
    elif not study and says:
        name = "."  # what is typed then asks for a folder
    return " ".join([says or "wintersward", verb, *([shlex.quote(str(name))] if name else [])])


def study_folder(start: Path | str) -> Path:
    """Find the study folder that a path lies in.

    Parameters
    ----------
    start : Path or str
        A study folder, or anything inside one.

    Returns
    -------
    Path
        The nearest folder, upward from `start`, that holds a ``trial.yaml``; absolute.

    Raises
    ------
    WinterswardError
        Where `start` does not exist or no folder above it is a study.
    """
    path = Path(start)
    if not path.exists():
        raise WinterswardError(
            f"{path.as_posix()}: no such file or folder; name a study folder, "
            f"or start one: {command('new', 'my_trial')}"
        )
    path = path.resolve()
    for folder in (path, *path.parents):
        if (folder / DEFINITION).is_file():
            return folder
    raise WinterswardError(
        f"{Path(start).as_posix()}: no {DEFINITION} in it or in any folder above it; "
        f"name a study folder, or start one: {command('new', 'my_trial')}"
    )


def shown(path: Path | str, study: Path | str) -> str:
    """Write a path as messages and tables show it.

    Parameters
    ----------
    path : Path or str
        A file or folder; a relative one is taken to lie in the study.
    study : Path or str
        Study folder.

    Returns
    -------
    str
        With forward slashes: relative to the study where it lies inside, else whole.

    Examples
    --------
    >>> shown("sheets/pulls.csv", "my_trial")
    'sheets/pulls.csv'
    """
    whole = (Path(study) / path).resolve()
    base = Path(study).resolve()
    if whole.is_relative_to(base):
        return whole.relative_to(base).as_posix()
    return whole.as_posix()


def _own_folder(kind: str, study: Path) -> Path:
    """Return where a study keeps its own copies of templates of one kind."""
    if kind == "notebooks":
        return Path(study) / "notebooks"
    return Path(study) / "templates" / kind


def _names(folder: Path) -> list[str]:
    """List the templates in a folder, leaving out what editors and Python put there."""
    if not folder.is_dir():
        return []
    return [
        found.name
        for found in folder.iterdir()
        if not found.name.startswith(".") and found.name != "__pycache__"
    ]
