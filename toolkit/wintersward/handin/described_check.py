"""The files of a bundle that describe the others, made anew from its inventory, and compared."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from wintersward.errors import WinterswardError
from wintersward.handin.describing import describing, description_names
from wintersward.handin.holdings import Holding
from wintersward.handin.inventory_check import INVENTORY
from wintersward.handin.verified import Line
from wintersward.report.numbers import counted
from wintersward.study import open_study

__all__ = ["DESCRIBED", "described_lines", "made_anew"]

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
    try:
        made = made_anew(folder, told)
    except (WinterswardError, OSError):
        return []
    spared = {*failed}
    apart = [
        one.name
        for one in made
        if one.name not in spared
        and (not (folder / one.name).is_file() or (folder / one.name).read_bytes() != one.content)
    ]
    found = "it is not what wintersward makes of this inventory, this study and this run"
    return [Line(False, name, found) for name in apart] or [
        Line(True, DESCRIBED, f"{counted(len(made), 'file')} made anew, the same byte for byte")
    ]


def made_anew(folder: Path, told: Mapping[str, Mapping[str, Any]]) -> list[Holding]:
    """Make the files anew that describe an unpacked bundle, from its own inventory.

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
    listing = json.loads((folder / INVENTORY).read_text(encoding="utf-8"))
    names = description_names()
    held = [
        Holding(name, one["role"], one["about"], one["bytes"], one["sha256"], folder / name)
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
