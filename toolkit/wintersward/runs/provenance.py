"""Where a run came from: inputs that are the same every time, and circumstances that are not."""

from __future__ import annotations

import datetime as dt
import importlib.metadata
import platform
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

from wintersward.paths import template, template_folder
from wintersward.photos.hashes import KeptHashes
from wintersward.records.photo_files import DRAFT, DRAFT_SHEET, PHOTO_ENDINGS
from wintersward.records.point_counts import KEY
from wintersward.runs.files import sha256
from wintersward.runs.notebooks import Parameter, same_cells
from wintersward.runs.stages import Stage

__all__ = ["LIBRARIES", "NOT_INSTALLED", "changed_inputs", "circumstances", "input_files"]
__all__ += ["inputs", "installed_version", "stamps"]

NOT_INSTALLED = "not installed"

# Whatever may change a number or a page.
LIBRARIES = (
    "formulaic",
    "jinja2",
    "joblib",
    "matplotlib",
    "nbclient",
    "nbconvert",
    "nbformat",
    "numpy",
    "openpyxl",
    "pandas",
    "papermill",
    "pillow",
    "pillow-heif",
    "pvlib",
    "pydantic",
    "ruamel.yaml",
    "scikit-image",
    "scipy",
    "threadpoolctl",
    "wintersward",
)
_ALWAYS = ("trial.yaml", "diary.yaml", "plan/plots.csv", "plan/plot_values.csv", KEY)
_FOLDERS = ("plan/frozen", "sheets", "photos", "loggers", "earlier")


def input_files(study: Path) -> list[Path]:
    """List what a run reads from a study folder.

    Returns
    -------
    list of Path
        Definition, diary, plots and what is known of them, the key of the point count, the
        frozen plan, every sheet, photo and logger file, and the earlier seasons; those that
        begin with a dot or ``~$``, which systems and spreadsheet programs put there, and a
        drafted list of photos, which no run reads, left out.
    """
    found = [study / name for name in _ALWAYS if (study / name).is_file()]
    for folder in _FOLDERS:
        found += [
            path
            for path in (study / folder).rglob("*")
            if path.is_file()
            and not any(
                part.startswith((".", "~$")) for part in path.relative_to(study / folder).parts
            )
        ]
    return sorted(path for path in found if path not in _drafts(study))


def _drafts(study: Path) -> set[Path]:
    return {study / "photos" / name for name in (DRAFT, DRAFT_SHEET)}


def inputs(
    study: Path, stages: Iterable[Stage], parameters: Mapping[str, Parameter]
) -> dict[str, Any]:
    """Tell what a run is made from, for ``inputs.json``.

    Parameters
    ----------
    study : Path
        The study folder.
    stages : iterable of Stage
        What will be run.
    parameters : mapping
        What is passed to every stage. The folders of study and run are left out: they tell
        where, not what.

    Returns
    -------
    dict
        ``files`` and ``templates`` with their SHA-256 and size [bytes], ``own_copies`` (the
        templates that the study changed), ``parameters``, ``versions``. The same for the
        same inputs, on every computer and at any time.
    """
    templates = {
        name: _template(used, shipped) for name, used, shipped in _templates(study, stages)
    }
    return {
        "files": _files(study),
        "templates": templates,
        "own_copies": sorted(name for name, t in templates.items() if t["changed"]),
        "parameters": dict(parameters),
        "versions": {name: installed_version(name) for name in LIBRARIES},
    }


def stamps(study: Path) -> dict[Path, tuple[int, int]]:
    """Take size [bytes] and time of change [ns] of every input file."""
    taken = {}
    for path in input_files(study):
        found = path.stat()
        taken[path] = (found.st_size, found.st_mtime_ns)
    return taken


def changed_inputs(
    study: Path, before: Mapping[Path, tuple[int, int]], hashes: Mapping[str, Any]
) -> list[str]:
    """List the input files that came, went or changed since a run began.

    Parameters
    ----------
    study : Path
        The study folder.
    before : mapping
        `stamps` from the beginning; only files whose stamp is another are hashed again.
    hashes : mapping
        ``files`` of `inputs` from the beginning.

    Returns
    -------
    list of str
        Relative to the study folder, sorted.
    """
    now = stamps(study)
    other = {path for path in {*before, *now} if before.get(path) != now.get(path)}
    return sorted(
        _name(path, study)
        for path in other
        if path not in now or hashes.get(_name(path, study), {}).get("sha256") != sha256(path)
    )


def circumstances(
    run: str, start: dt.datetime, end: dt.datetime, seconds: Mapping[str, float]
) -> dict[str, Any]:
    """Tell when, where and how long a run went, for ``provenance.json`` and nothing else.

    Parameters
    ----------
    run : str
        Number of the run.
    start, end : datetime
        With their offset from UTC.
    seconds : mapping of str to float
        Duration of each stage [s].
    """
    return {
        "run": run,
        "started": start.isoformat(timespec="seconds"),
        "ended": end.isoformat(timespec="seconds"),
        "seconds": {stage: round(took, 2) for stage, took in seconds.items()},
        "host": platform.node(),
        "platform": platform.platform(),
        "python": platform.python_version(),
    }


def _name(path: Path, study: Path) -> str:
    """Name a file by where it lies in the study, also where a folder is a link to elsewhere."""
    return path.relative_to(study).as_posix()


def _files(study: Path) -> dict[str, Any]:
    """Describe every input file; the scoring need not hash again the photos hashed here."""
    found, cache = input_files(study), study / ".cache"
    photos = {path for path in found if path.suffix.lower() in PHOTO_ENDINGS}
    if photos:
        # Where it cannot be made, photos are hashed again.
        with suppress(OSError):
            cache.mkdir(exist_ok=True)
    known, told = KeptHashes(cache), {}
    for path in found:
        before = path.stat()
        told[_name(path, study)] = described = _described(path)
        if path in photos:
            known.put(path, described["sha256"], before)
    known.save()
    return told


def _described(path: Path) -> dict[str, Any]:
    return {"bytes": path.stat().st_size, "sha256": sha256(path)}


def _templates(study: Path, stages: Iterable[Stage]) -> Iterator[tuple[str, Path, Path]]:
    """Name every template of a run as it lies in a study, with the file used and the shipped."""
    for stage in stages:
        yield (
            f"notebooks/{stage.file}",
            stage.notebook(study),
            template_folder("notebooks") / stage.file,
        )
    shipped = template_folder("reports")
    own = study / "templates" / "reports"
    names = {
        path.relative_to(folder).as_posix()
        for folder in (shipped, own)
        for path in folder.rglob("*")
        if path.is_file() and not path.name.startswith(".")
    }
    for name in sorted(names):
        yield f"templates/reports/{name}", template("reports", name, study), shipped / name


def _template(used: Path, shipped: Path) -> dict[str, Any]:
    described = _described(used)
    own = used.resolve() != shipped.resolve()
    same = not own or (shipped.is_file() and _same(used, shipped))
    return {
        **described,
        "from": "the study's own copy" if own else "wintersward",
        "changed": not same,
    }


def _same(used: Path, shipped: Path) -> bool:
    if used.suffix == ".ipynb":
        return same_cells(used, shipped)
    return used.read_bytes() == shipped.read_bytes()


@cache
def installed_version(library: str) -> str:
    """Tell the version of a library on this computer; `NOT_INSTALLED` where it is not there."""
    try:
        return importlib.metadata.version(library)
    except (importlib.metadata.PackageNotFoundError, ValueError):
        return NOT_INSTALLED
