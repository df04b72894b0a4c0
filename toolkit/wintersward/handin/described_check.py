"""The files of a bundle that describe the others, made anew from its inventory, and compared."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from wintersward.errors import WinterswardError
from wintersward.handin.describing import describing, description_names
from wintersward.handin.holdings import PAGES, ROLES, Holding, run_holdings, study_holdings
from wintersward.handin.inventory_check import INVENTORY
from wintersward.handin.verified import Line, faults_told
from wintersward.report.numbers import counted
from wintersward.study import open_study

__all__ = ["DESCRIBED", "described_lines", "made_anew", "roles_told"]

DESCRIBED = "descriptions"


def described_lines(
    folder: Path, told: Mapping[str, Mapping[str, Any]], failed: Iterable[str]
) -> list[Line]:
    """Make the files anew that describe a bundle, and compare.

    Parameters
    ----------
    folder : Path
        The unpacked bundle; only its definition, diary and plots are read as a study.
    told : mapping of str to mapping
        ``inputs.json`` and ``provenance.json`` of the run, as ``inputs`` and ``provenance``.
    failed : iterable of str
        Files that something was found wrong with already.

    Returns
    -------
    list of Line
        One for each file that comes out otherwise, or one that none does; none where the study
        cannot be opened, which its rerun will tell.

    Raises
    ------
    ValueError, KeyError, TypeError, AttributeError
        Where a file is of another shape.
    """
    faults = [*faults_told("inventory", _told_otherwise(folder, told["inputs"]))]
    try:
        made = made_anew(folder, told)
    except (WinterswardError, OSError):
        return faults
    spared = {*failed}
    apart = [
        one.name
        for one in made
        if one.name not in spared
        and (not (folder / one.name).is_file() or (folder / one.name).read_bytes() != one.content)
    ]
    found = "it is not what wintersward makes of this inventory, this study and this run"
    faults += [Line(False, name, found) for name in apart]
    return faults or [
        Line(True, DESCRIBED, f"{counted(len(made), 'file')} made anew, the same byte for byte")
    ]


def roles_told(folder: Path, made_from: Mapping[str, Any]) -> dict[str, tuple[str, str]]:
    """Tell what each file of an unpacked bundle is, whatever its inventory says.

    Parameters
    ----------
    folder : Path
        The unpacked bundle.
    made_from : mapping
        ``inputs.json`` of the run.

    Returns
    -------
    dict
        Role and line about it, by name; of files that the run or its inputs tell of.
    """
    held = [*run_holdings(folder / "run"), *study_holdings(folder / "study", made_from)]
    pages = {name: ("page", about) for name, about in PAGES.items()}
    return {**{one.name: (one.role, one.about) for one in held}, **pages}


def _told_otherwise(folder: Path, made_from: Mapping[str, Any]) -> list[str]:
    """Tell which files the inventory takes for something else than they are."""
    roles, faults = roles_told(folder, made_from), []
    for name, one in _listing(folder)["files"].items():
        role, about = one["role"], one["about"]
        if name in roles and (role, about) != roles[name]:
            meant = "{}, {!r}".format(*roles[name])
            faults.append(f"{name}: told as {role}, {about!r}; it is {meant}")
    return faults


def _listing(folder: Path) -> dict[str, Any]:
    listing: dict[str, Any] = json.loads((folder / INVENTORY).read_text(encoding="utf-8"))
    return listing


def made_anew(folder: Path, told: Mapping[str, Mapping[str, Any]]) -> list[Holding]:
    """Make the files anew that describe an unpacked bundle.

    Parameters
    ----------
    folder, told
        As `described_lines` takes them.

    Raises
    ------
    WinterswardError
        Where the study in it cannot be opened.
    OSError, ValueError, KeyError, TypeError, AttributeError
        Where a file is missing or of another shape.
    """
    listing, roles = _listing(folder), roles_told(folder, told["inputs"])
    names, other = description_names(), ("other", ROLES["other"])
    held = [
        Holding(name, *roles.get(name, other), one["bytes"], one["sha256"], folder / name)
        for name, one in listing["files"].items()
        if name not in names
    ]
    gone = [
        Holding(name, "photo", "", one["bytes"], one["sha256"])
        for name, one in listing["left_out"].items()
    ]
    tables = json.loads((folder / "run" / "results" / "tables.json").read_text(encoding="utf-8"))
    return describing(
        open_study(folder / "study"),
        str(listing["run"]),
        held,
        gone,
        [str(one) for one in listing["changed_on_request"]],
        {**told, "tables": tables},
        lambda name: (folder / name).read_text(encoding="utf-8-sig"),
    )
