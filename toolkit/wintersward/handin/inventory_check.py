"""A bundle held against its inventory: what is missing, added, swapped or changed."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wintersward.errors import WinterswardError
from wintersward.handin.changes_check import change_fault
from wintersward.handin.verified import MISSHAPEN, Line, faults_told
from wintersward.report.numbers import counted
from wintersward.runs.files import sha256

__all__ = ["INVENTORY", "Entry", "Listed", "inventory_lines", "read_inventory"]

INVENTORY = "inventory.json"
_WHAT = "inventory"
_VERSION = 1
_HASH = re.compile("[0-9a-f]{64}")
# What a bundle holds at its top.
_FOLDERS = ("study", "run")
_FILES = (
    *("README.txt", "report.html", "brief.html", "miappe.csv"),
    *(INVENTORY, "ro-crate-metadata.json", "datapackage.json"),
)


@dataclass(frozen=True)
class Entry:
    """A file as an inventory tells of it.

    Parameters
    ----------
    size : int [bytes]
    sha256 : str
        64 hexadecimal digits.
    """

    size: int
    sha256: str


@dataclass(frozen=True)
class Listed:
    """What an inventory says.

    Parameters
    ----------
    run : str
        Number of the run.
    made_by : str
        Program and version that made the bundle.
    files, left_out : dict of str to Entry
        From the bundle's own folder on.
    changed_on_request : tuple of str
        What was changed before the run that was handed in, in words.
    """

    run: str
    made_by: str
    files: dict[str, Entry]
    left_out: dict[str, Entry]
    changed_on_request: tuple[str, ...]


def read_inventory(folder: Path) -> Listed:
    """Read the inventory of an unpacked bundle.

    Raises
    ------
    WinterswardError
        Where it is missing or is no inventory, in one line.
    """
    try:
        text = (folder / INVENTORY).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise WinterswardError(f"{INVENTORY}: it is missing, or no text") from None
    try:
        held = json.loads(text)
        if held["inventory"] != _VERSION:
            raise ValueError(f"version {held['inventory']}; allowed: {_VERSION}")
        return Listed(
            run=str(held["run"]),
            made_by=str(held["made_by"]),
            files=_entries(held["files"]),
            left_out=_entries(held.get("left_out", {})),
            changed_on_request=tuple(str(one) for one in held.get("changed_on_request", ())),
        )
    except MISSHAPEN as error:
        said = f"it lacks {error}" if isinstance(error, KeyError) else " ".join(str(error).split())
        raise WinterswardError(f"{INVENTORY}: it is no inventory of a bundle ({said})") from None


def _entries(held: Mapping[str, Any]) -> dict[str, Entry]:
    made = {}
    for name, told in held.items():
        size, digits = told["bytes"], told["sha256"]
        if type(size) is not int or size < 0 or not _HASH.fullmatch(str(digits)):
            raise ValueError(f"{name}: bytes {size!r}, sha256 {digits!r}")
        made[name] = Entry(size, digits)
    return made


def inventory_lines(folder: Path, names: list[str], listed: Listed) -> list[Line]:
    """Compare the files of a bundle with its inventory.

    Parameters
    ----------
    folder : Path
        The unpacked bundle.
    names : list of str
        Its files, from the folder on.
    listed : Listed
        What the inventory says.

    Returns
    -------
    list of Line
        One for each file that is missing, added, swapped or changed, in the order of the names,
        and for what it says was changed on request in other words than wintersward's; one in all
        where there is none.
    """
    there = {name: _found(folder / name) for name in names if name != INVENTORY}
    meant: dict[str, list[str]] = {}
    for name, entry in listed.files.items():
        meant.setdefault(entry.sha256, []).append(name)
    told = []
    for name in sorted({*there, *listed.files}):
        said = _said(name, there.get(name), listed, there, meant)
        told += [Line(False, _WHAT, f"{name}: {said}")] if said else []
    for name in sorted({*there} & {*listed.left_out}):
        told.append(Line(False, _WHAT, f"{name}: it is there and listed as left out"))
    tops = sorted({name.partition("/")[0] for name in names if not _belongs(name)})
    told += [Line(False, _WHAT, f"{top}: no bundle holds it") for top in tops]
    asked = [change_fault(line, listed.files) for line in listed.changed_on_request]
    told += faults_told(_WHAT, [fault for fault in asked if fault])
    if told:
        return told
    size = sum(entry.size for entry in there.values())
    said = f"{counted(len(there), 'file')} of {size} bytes, each as listed"
    if listed.left_out:
        said += f"; {counted(len(listed.left_out), 'file')} left out"
    return [Line(True, _WHAT, "; ".join((said, *listed.changed_on_request)))]


def _belongs(name: str) -> bool:
    top, inside, _ = name.partition("/")
    return top in _FOLDERS if inside else name in _FILES


def _found(path: Path) -> Entry:
    return Entry(path.stat().st_size, sha256(path))


def _said(
    name: str,
    found: Entry | None,
    listed: Listed,
    there: Mapping[str, Entry],
    meant: Mapping[str, list[str]],
) -> str:
    """Say what is wrong with one file; nothing where it is as listed."""
    wanted = listed.files.get(name)
    if found is None:
        return "it is missing"
    others = [other for other in meant.get(found.sha256, ()) if other != name]
    if wanted is None:
        told = "it was added; the inventory does not list it"
        return f"{told}; it holds what {others[0]} should hold" if others else told
    if found == wanted:
        return ""
    for other in others:
        if other in there and there[other].sha256 == wanted.sha256:
            return f"it was swapped with {other}"
    if others:
        return f"it was changed; it holds what {others[0]} should hold"
    if found.sha256 == wanted.sha256:
        return f"its hash fits, but it has {found.size} bytes and is listed with {wanted.size}"
    return (
        f"it was changed; it has {found.size} bytes with the SHA-256 {found.sha256[:12]}..., "
        f"listed are {wanted.size} with {wanted.sha256[:12]}..."
    )
