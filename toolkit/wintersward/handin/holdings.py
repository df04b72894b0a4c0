"""What a bundle holds: every file with its name there, its role and its hash."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from wintersward.records.photo_files import PHOTO_ENDINGS
from wintersward.records.point_counts import KEY
from wintersward.runs.files import read_json, sha256

__all__ = ["PAGES", "ROLES", "Holding", "made", "media_type", "run_holdings", "study_holdings"]

ROLES = {
    "definition": "what was decided before the first observation",
    "diary": "what happened since, and how the files are read",
    "plots": "where every plot lies and what was drawn for it",
    "frozen": "the plan as it was frozen",
    "sheet": "a table that was filled in by hand",
    "logger": "a file that a sensor or a weather station wrote",
    "photo": "a photo of a plot",
    "photo_index": "which photo shows which plot",
    "notebook": "a stage of the run",
    "template": "the study's own copy of a template of the page",
    "page": "a page for a reader",
    "results": "a table of results",
    "figure": "a picture of the report",
    "inputs": "hashes of everything that the run was made from, and versions",
    "provenance": "when, where and how long the run went",
    "crate": "the bundle described as an RO-Crate",
    "data_package": "the tables described as a Data Package",
    "checklist": "the fields of MIAPPE 1.2, with their values",
    "readme": "how to verify the bundle",
    "other": "a file that belongs to the study",
}
"""What a file of a bundle is, and a line that says so."""

PAGES = {"report.html": "the study report", "brief.html": "the report on one page"}
"""Pages of a run, which lie at the top of a bundle."""

_MEDIA = {
    ".css": "text/css",
    ".csv": "text/csv",
    ".heic": "image/heic",
    ".heif": "image/heif",
    ".hif": "image/heif",
    ".html": "text/html",
    ".ipynb": "application/x-ipynb+json",
    ".j2": "text/plain",
    ".jpeg": "image/jpeg",
    ".jpg": "image/jpeg",
    ".json": "application/json",
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".tif": "image/tiff",
    ".tiff": "image/tiff",
    ".txt": "text/plain",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".yaml": "application/yaml",
}
_STUDY_FILES = {
    "trial.yaml": "definition",
    "diary.yaml": "diary",
    "plan/plots.csv": "plots",
    "plan/plot_values.csv": "plots",
    KEY: "other",
}
_STUDY_FOLDERS = {"plan/frozen/": "frozen", "sheets/": "sheet", "loggers/": "logger"}
_ABOUT = {
    "plan/plot_values.csv": "what is known of the plots from before the trial",
    KEY: "which photos were drawn for the point count",
}


@dataclass(frozen=True)
class Holding:
    """One file of a bundle.

    Parameters
    ----------
    name : str
        In the bundle, with forward slashes.
    role : str
        One of `ROLES`.
    about : str
        What it is, in a line.
    size : int [bytes]
        Of the file.
    sha256 : str
        64 hexadecimal digits.
    path : Path or None
        Where it lies; None where `content` holds it.
    content : bytes
        Of a file that is made for the bundle.
    """

    name: str
    role: str
    about: str
    size: int
    sha256: str
    path: Path | None = None
    content: bytes = b""


def made(name: str, role: str, content: str) -> Holding:
    """Describe a file that is made for the bundle; it is written as UTF-8."""
    data = content.encode("utf-8")
    return Holding(name, role, ROLES[role], len(data), hashlib.sha256(data).hexdigest(), None, data)


def media_type(name: str) -> str:
    """Name the media type of a file by its ending.

    Examples
    --------
    >>> media_type("study/photos/2026-03-10/101_1.JPG"), media_type("a.xyz")
    ('image/jpeg', 'application/octet-stream')
    """
    return _MEDIA.get(PurePosixPath(name).suffix.lower(), "application/octet-stream")


def run_holdings(run: Path) -> list[Holding]:
    """List the files of a run: its pages at the top of the bundle, the rest in ``run/``.

    Parameters
    ----------
    run : Path
        A complete run.
    """
    tables = read_json(run / "results" / "tables.json")
    figures = read_json(run / "figures" / "figures.json").values()
    told = {f"results/{name}.csv": table["description"] for name, table in tables.items()}
    told |= {f"figures/{figure['file']}": figure["caption"] for figure in figures}
    told |= {
        **PAGES,
        "results/tables.json": "columns, keys and units of the tables of results",
        "figures/figures.json": "captions and alternative texts of the pictures",
        "warnings.txt": "what the stages warned of",
    }
    held = []
    for path in sorted(run.rglob("*")):
        name = path.relative_to(run).as_posix()
        if path.is_file() and not any(part.startswith(".") for part in name.split("/")):
            role = _run_role(name)
            where = name if name in PAGES else f"run/{name}"
            held.append(_found(where, role, told.get(name, ROLES[role]), path))
    return held


def study_holdings(study: Path, made_from: Mapping[str, Any]) -> list[Holding]:
    """List the files of a study that a run was made from, as it tells them.

    Parameters
    ----------
    study : Path
        The study folder.
    made_from : mapping
        ``inputs.json`` of the run: its input files, and the study's own copies of notebooks and
        templates.
    """
    held = []
    for name, told in made_from["files"].items():
        role = _study_role(name)
        about = _ABOUT.get(name, ROLES[role])
        held.append(_told(study, name, role, about, told))
    for name, told in made_from["templates"].items():
        if told["from"] != "wintersward":
            role = "notebook" if name.startswith("notebooks/") else "template"
            about = f"the study's own copy of a {role}"
            held.append(_told(study, name, role, about, told))
    return held


def _run_role(name: str) -> str:
    if name in PAGES:
        return "page"
    folder = name.partition("/")[0]
    known = {
        "figures": "figure",
        "inputs.json": "inputs",
        "notebooks": "notebook",
        "provenance.json": "provenance",
        "results": "results",
    }
    return known.get(folder, "other")


def _study_role(name: str) -> str:
    if name in _STUDY_FILES:
        return _STUDY_FILES[name]
    if name.startswith("photos/"):
        path = PurePosixPath(name)
        if path.suffix.lower() in PHOTO_ENDINGS:
            return "photo"
        if path.parent == PurePosixPath("photos") and path.stem == "index":
            return "photo_index"
        return "sheet" if path.suffix.lower() in (".csv", ".xlsx") else "other"
    return next((role for start, role in _STUDY_FOLDERS.items() if name.startswith(start)), "other")


def _found(name: str, role: str, about: str, path: Path) -> Holding:
    return Holding(name, role, about, path.stat().st_size, sha256(path), path)


def _told(study: Path, name: str, role: str, about: str, told: Mapping[str, Any]) -> Holding:
    return Holding(
        f"study/{name}", role, about, int(told["bytes"]), str(told["sha256"]), study / name
    )
