"""What a run was made from, held against the study in a bundle and against this computer."""

from __future__ import annotations

import platform
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from wintersward.errors import listed as joined
from wintersward.handin.inventory_check import Listed
from wintersward.handin.verified import Line
from wintersward.paths import template_folder
from wintersward.records.photo_files import PHOTO_ENDINGS
from wintersward.report.numbers import counted
from wintersward.runs.files import sha256
from wintersward.runs.provenance import NOT_INSTALLED, input_files, installed_version

__all__ = [
    "OWN_COPY",
    "Sameness",
    "input_lines",
    "is_photo",
    "own_copies",
    "used_copies",
    "version_lines",
]

_INPUTS, _VERSIONS = "inputs", "versions"
_PROGRAM = "wintersward"
OWN_COPY = "the study's own copy"
"""How ``inputs.json`` tells where such a notebook or template came from."""

_TOLD = 5


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
    installed : bool
        Whether every library that was used is there at all.
    there, here : mapping of str to str
        Versions of libraries where the run was made, and on this computer.
    """

    versions: bool
    wintersward: bool
    machine: bool
    scored: bool = True
    installed: bool = True
    there: Mapping[str, str] = field(default_factory=dict)
    here: Mapping[str, str] = field(default_factory=dict)

    @property
    def exact(self) -> bool:
        """Whether every number has to come out the same, digit for digit."""
        return self.versions and self.machine and self.scored

    @property
    def program(self) -> str:
        """What the run was made with."""
        return f"{_PROGRAM} {self.there.get(_PROGRAM, '')}".strip()


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
        elif fault := _file_fault(study, name, files[name], name in there, listed):
            faults.append(f"study/{name}: {fault}")
    faults += _phantoms(files, listed)
    faults += _copy_faults(study, made_from["templates"])
    faults += _summed(_unread(study, {*there, *own_copies(study)}))
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


def _phantoms(files: Mapping[str, Any], listed: Listed) -> Iterator[str]:
    """Tell which files are said to be left out that the run was not made from."""
    known = {f"study/{name}" for name in files}
    faults = [name for name in sorted(listed.left_out) if name not in known]
    yield from (f"{name}: listed as left out; the run knew no such file" for name in faults[:_TOLD])
    if len(faults) > _TOLD:
        yield f"and {len(faults) - _TOLD} more that the run did not know"


def _file_fault(
    study: Path, name: str, told: Mapping[str, Any], there: bool, listed: Listed
) -> str:
    left = listed.left_out.get(f"study/{name}")
    if not there and left is None:
        return "the run was made from it, and it is missing"
    if left is not None and not is_photo(name):
        return "left out, and no photo: nothing else may be"
    found = sha256(study / name) if there else left.sha256 if left else ""
    if found != str(told["sha256"]):
        return "not the file that the run was made from"
    if left is not None and left.size != told["bytes"]:
        return f"left out with {left.size} bytes; the run was made from {told['bytes']}"
    return ""


def is_photo(name: str) -> bool:
    """Tell whether a file, named from the study folder on, may be left out of a bundle.

    Examples
    --------
    >>> is_photo("photos/2026-03-10/101_1.JPG"), is_photo("sheets/pulls.jpg")
    (True, False)
    """
    return name.startswith("photos/") and name.lower().endswith(PHOTO_ENDINGS)


def _unread(study: Path, read: set[str]) -> list[str]:
    """Tell which files lie in the study of a bundle and are nothing that a run reads."""
    found = (path for path in study.rglob("*") if path.is_file())
    names = sorted(path.relative_to(study).as_posix() for path in found)
    return [f"study/{name}: no run reads it" for name in names if name not in read]


def _summed(faults: list[str]) -> list[str]:
    more = len(faults) - _TOLD
    return faults if more <= 0 else [*faults[:_TOLD], f"and {more} more that no run reads"]


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
    used = _used(templates)
    there = own_copies(study)
    for name in sorted({*used, *there}):
        if name not in used:
            yield f"study/{name}: a copy of the study's own that the run did not use"
        elif name not in there or sha256(study / name) != used[name]:
            yield f"study/{name}: not the study's own copy that the run used"


def _used(templates: Mapping[str, Mapping[str, Any]]) -> dict[str, str]:
    return {name: str(one["sha256"]) for name, one in templates.items() if one["from"] == OWN_COPY}


def used_copies(study: Path, made_from: Mapping[str, Any]) -> list[str]:
    """List the own copies of a study that a run used, and that are still those.

    Parameters
    ----------
    study : Path
        The study folder of the bundle.
    made_from : mapping
        ``inputs.json`` of the run.
    """
    used = _used(made_from["templates"])
    return [name for name in own_copies(study) if used.get(name) == sha256(study / name)]


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
        One that fails for each package that is missing here, and for each template that is told
        to be another than the same version of wintersward has; else one, which tells what
        differs and how numbers are compared.
    sameness : Sameness
    """
    versions: Mapping[str, str] = made_from["versions"]
    here = {name: installed_version(name) for name in versions}
    missing = [n for n in versions if here[n] == NOT_INSTALLED and versions[n] != NOT_INSTALLED]
    others = [
        f"{name} {versions[name]} there, {here[name]} here"
        for name in versions
        if here[name] not in (versions[name], NOT_INSTALLED)
    ]
    own, changed = installed_version(_PROGRAM), list(_other_templates(made_from["templates"]))
    known = versions.get(_PROGRAM) == own
    if _PROGRAM not in versions:
        others.append(f"the version of {_PROGRAM} is not told")
    if changed and not known:
        others.append(f"{counted(len(changed), 'template')} of wintersward, such as {changed[0]}")
    python = platform.python_version()
    if told.get("python") != python:
        others.append(f"Python {told.get('python')} there, {python} here")
    system = (platform.node(), platform.platform())
    same = Sameness(
        versions=not others and not missing and not changed,
        wintersward=not changed and known,
        machine=(told.get("host"), told.get("platform")) == system,
        scored=scored,
        installed=not missing,
        there=dict(versions),
        here=here,
    )
    faults = [f"{name} {versions[name]} was used and is not installed here" for name in missing]
    if known:
        faults += [f"run/inputs.json tells another {n} than wintersward {own} has" for n in changed]
    if faults:
        return [Line(False, _VERSIONS, fault) for fault in faults], same
    return [Line(True, _VERSIONS, _said(others, same))], same


def _said(others: list[str], same: Sameness) -> str:
    by_tolerance = "so that numbers are compared by tolerance"
    if others:
        pages = "words" if same.wintersward else "numbers alone"
        said = f"not all the same, {by_tolerance} and pages by their {pages}"
        return f"{said}: {'; '.join(others)}"
    if not same.scored:
        return f"all the same; photos were left out, {by_tolerance}"
    if same.machine:
        return "all the same, on the same computer, so that numbers are compared digit for digit"
    return f"all the same, but not known to be the same computer, {by_tolerance}"


def _other_templates(templates: Mapping[str, Mapping[str, Any]]) -> Iterator[str]:
    """Name the templates of wintersward that are not here as they were for the run."""
    for name, used in templates.items():
        if used["from"] == OWN_COPY:
            continue
        kind, _, rest = name.removeprefix("templates/").partition("/")
        path = template_folder("reports" if kind == "reports" else "notebooks") / rest
        if not path.is_file() or sha256(path) != used["sha256"]:
            yield name
