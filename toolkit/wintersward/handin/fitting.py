"""Whether a study's files are still those that a run was made from."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from wintersward.errors import Problem
from wintersward.photos.hashes import KeptHashes
from wintersward.records.photo_files import PHOTO_ENDINGS
from wintersward.runs.files import sha256
from wintersward.runs.provenance import input_files

__all__ = ["unfit"]


def unfit(
    study: Path, run: str, made_from: Mapping[str, Any], trust: bool = False
) -> list[Problem]:
    """List the files of a study that a run does not fit any more.

    Parameters
    ----------
    study : Path
        The study folder.
    run : str
        Number of the run, for the messages.
    made_from : mapping
        ``inputs.json`` of the run.
    trust : bool
        Whether a photo is believed to be the same where size and times of change are; for who
        reads it afterwards anyway.

    Returns
    -------
    list of Problem
        Input files and own copies of notebooks and templates that came, went or changed since.
    """
    told = {name: one["sha256"] for name, one in made_from["files"].items()}
    there = {path.relative_to(study).as_posix(): path for path in input_files(study)}
    copies, own = _own_copies(study, made_from)
    told, there = {**told, **copies}, {**there, **own}
    known = KeptHashes(study / ".cache" if trust else None)
    problems = []
    for name in {*told, *there}:
        found = ""
        if name not in there:
            found = f"a file of run {run} that is gone"
        elif name not in told:
            found = f"a file that came after run {run}"
        elif told[name] != _hash(there[name], known):
            found = f"another content than in run {run}"
        if found:
            problems.append(Problem(name, found=found))
    return sorted(problems)


def _own_copies(
    study: Path, made_from: Mapping[str, Any]
) -> tuple[dict[str, str], dict[str, Path]]:
    """Give the hashes of the own copies that a run was made from, and those that are there."""
    templates = made_from["templates"]
    told = {
        name: str(one["sha256"]) for name, one in templates.items() if one["from"] != "wintersward"
    }
    there = {name: study / name for name in templates if (study / name).is_file()}
    for path in (study / "templates" / "reports").rglob("*"):
        if path.is_file() and not path.name.startswith("."):
            there[path.relative_to(study).as_posix()] = path
    return told, there


def _hash(path: Path, known: KeptHashes) -> str:
    kept = known.get(path) if path.suffix.lower() in PHOTO_ENDINGS else None
    return kept or sha256(path)
