"""What a run was made from, held against the study in a bundle and against this computer."""

from __future__ import annotations

import importlib.metadata
import platform
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wintersward.errors import listed as joined
from wintersward.handin.inventory_check import Listed
from wintersward.handin.verified import Line
from wintersward.paths import template_folder
from wintersward.report.numbers import counted
from wintersward.runs.files import sha256
from wintersward.runs.provenance import input_files

__all__ = ["Sameness", "input_lines", "own_copies", "version_lines"]

_INPUTS, _VERSIONS = "inputs", "versions"
_OWN = "the study's own copy"
_ABSENT = "not installed"


@dataclass(frozen=True)
class Sameness:
    """How much of this computer is as it was for the run that was handed in.

    Parameters
    ----------
    versions : bool
        Whether Python, every library and every template of wintersward is the same.
    wintersward : bool
        Whether wintersward itself is: its version and its templates.
    machine : bool
        Whether it is the same computer, with the same system.
    scored : bool
        Whether photos are scored again, so that scores have all their digits.
    """

    versions: bool
    wintersward: bool
    machine: bool
    scored: bool = True

    @property
    def exact(self) -> bool:
        """Whether every number has to come out the same, digit for digit."""
        return self.versions and self.machine and self.scored


def input_lines(
    study: Path, made_from: Mapping[str, Any], told: Mapping[str, Any], listed: Listed
) -> list[Line]:
    """Check that a study is what a run was made from.

    Parameters
    ----------
    study : Path
        The study folder of the bundle.
    made_from, told : mapping
        ``inputs.json`` and ``provenance.json`` of the run.
    listed : Listed
        What the inventory says, of files left out as well.

    Returns
    -------
    list of Line
        One for each file that does not fit; one in all where there is none.
    """
    there = {path.relative_to(study).as_posix() for path in input_files(study)}
    files: Mapping[str, Any] = made_from["files"]
    faults = []
    for name in sorted({*there, *files}):
        if name not in files:
            faults.append(f"study/{name}: the run knew no such file")
        elif fault := _file_fault(study, name, str(files[name]["sha256"]), name in there, listed):
            faults.append(f"study/{name}: {fault}")
    faults += _copy_faults(study, made_from["templates"])
    if str(told["run"]) != listed.run:
        faults.append(
            f"run/provenance.json is of run {told['run']}; the inventory says {listed.run}"
        )
    if faults:
        return [Line(False, _INPUTS, fault) for fault in faults]
    said = f"run {listed.run} was made from these {counted(len(files), 'file')}"
    return [
        Line(True, _INPUTS, said + (f" and {joined(own)}" if (own := own_copies(study)) else ""))
    ]


def _file_fault(study: Path, name: str, digits: str, there: bool, listed: Listed) -> str:
    left = listed.left_out.get(f"study/{name}")
    if not there and left is None:
        return "the run was made from it, and it is missing"
    found = sha256(study / name) if there else left.sha256 if left else ""
    return "" if found == digits else "not the file that the run was made from"


def own_copies(study: Path) -> list[str]:
    """List the notebooks and templates of a study's own, which a run takes in place of ours."""
    folders = study / "notebooks", study / "templates"
    return sorted(
        path.relative_to(study).as_posix()
        for folder in folders
        for path in folder.rglob("*")
        if path.is_file()
    )


def _copy_faults(study: Path, templates: Mapping[str, Mapping[str, Any]]) -> Iterator[str]:
    """Tell which of the study's own notebooks and templates are not those that a run used."""
    used = {name: str(one["sha256"]) for name, one in templates.items() if one["from"] == _OWN}
    there = own_copies(study)
    for name in sorted({*used, *there}):
        if name not in used:
            yield f"study/{name}: a copy of the study's own that the run did not use"
        elif name not in there or sha256(study / name) != used[name]:
            yield f"study/{name}: not the study's own copy that the run used"


def version_lines(
    made_from: Mapping[str, Any], told: Mapping[str, Any], scored: bool = True
) -> tuple[list[Line], Sameness]:
    """Compare what a run was made with and what is here.

    Parameters
    ----------
    made_from, told : mapping
        ``inputs.json`` and ``provenance.json`` of the run.
    scored : bool
        Whether photos are scored again. Where they were left out, their scores have the ten
        digits of a table, and what follows from them has no more.

    Returns
    -------
    lines : list of Line
        One that fails for each package that is missing here; else one, which tells what differs
        and how numbers are compared.
    sameness : Sameness
    """
    versions: Mapping[str, str] = made_from["versions"]
    here = {name: _version(name) for name in versions}
    missing = [n for n in versions if here[n] == _ABSENT and versions[n] != _ABSENT]
    others = [
        f"{name} {versions[name]} there, {here[name]} here"
        for name in versions
        if here[name] not in (versions[name], _ABSENT)
    ]
    changed = list(_other_templates(made_from["templates"]))
    if changed:
        others.append(f"{counted(len(changed), 'template')} of wintersward, such as {changed[0]}")
    python = platform.python_version()
    if told.get("python") != python:
        others.append(f"Python {told.get('python')} there, {python} here")
    system = (platform.node(), platform.platform())
    same = Sameness(
        versions=not others and not missing,
        wintersward=not changed and here.get("wintersward") == versions.get("wintersward"),
        machine=(told.get("host"), told.get("platform")) == system,
        scored=scored,
    )
    if missing:
        return [
            Line(False, _VERSIONS, f"{name} {versions[name]} was used and is not installed here")
            for name in missing
        ], same
    return [Line(True, _VERSIONS, _said(others, same))], same


def _said(others: list[str], same: Sameness) -> str:
    by_tolerance = "so that numbers are compared by tolerance"
    if others:
        said = f"not all the same, {by_tolerance} and pages by their numbers alone"
        return f"{said}: {'; '.join(others)}"
    if not same.scored:
        return f"all the same; photos were left out, {by_tolerance}"
    if same.machine:
        return "all the same, on the same computer, so that numbers are compared digit for digit"
    return f"all the same, but not known to be the same computer, {by_tolerance}"


def _version(name: str) -> str:
    try:
        return importlib.metadata.version(name)
    except (importlib.metadata.PackageNotFoundError, ValueError):
        return _ABSENT


def _other_templates(templates: Mapping[str, Mapping[str, Any]]) -> Iterator[str]:
    """Name the templates of wintersward that are not here as they were for the run."""
    for name, used in templates.items():
        if used["from"] == _OWN:
            continue
        kind, _, rest = name.removeprefix("templates/").partition("/")
        path = template_folder("reports" if kind == "reports" else "notebooks") / rest
        if not path.is_file() or sha256(path) != used["sha256"]:
            yield name
