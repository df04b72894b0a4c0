"""What a bundle says was changed on request, held against the sentences that wintersward writes."""

from __future__ import annotations

import re
from collections.abc import Collection
from pathlib import PurePosixPath

from wintersward.handin.discretion import (
    AUTHOR_LEFT_OUT,
    NO_PLACE,
    PEOPLE_LEFT_OUT,
    PLACE_ROUGH,
    PLACE_ROUNDED,
)

__all__ = ["change_fault"]

_STUDY = "study/"
_DEFINITION = "trial.yaml"
_RECORD = "study/plan/frozen/frozen.json"
_WRITTEN = ("study/diary.yaml", "study/plan/frozen/protocol.html")
_OF_THE_RUN = {
    "run": "made again from the changed files",
    "run/provenance.json": "name of the computer left out",
}
_SEALED = re.compile(
    "hashes of the changed copies made again; the printed protocol begins with [0-9a-f]{12}"
)
_SHOWN = 100


def change_fault(line: str, names: Collection[str]) -> str:
    """Say what is wrong with a line of ``changed_on_request``.

    Parameters
    ----------
    line : str
        As the inventory holds it.
    names : collection of str
        Files that the inventory lists.

    Returns
    -------
    str
        Empty where wintersward writes such a line about a file of such a name, and the file is
        listed. Whether it is true cannot be told from the bundle alone.

    Examples
    --------
    >>> change_fault("study/diary.yaml: names of people left out", ["study/diary.yaml"])
    ''
    >>> change_fault("checked by the university", [])
    "changed_on_request: wintersward writes no such line: 'checked by the university'"
    """
    name, _, said = line.partition(": ")
    if _OF_THE_RUN.get(name) == said or (name in names and _of_the_study(name, said)):
        return ""
    shown = line if len(line) <= _SHOWN else f"{line[:_SHOWN]}..."
    return f"changed_on_request: wintersward writes no such line: {shown!r}"


def _of_the_study(name: str, said: str) -> bool:
    if not name.startswith(_STUDY):
        return False
    defines = PurePosixPath(name).name == _DEFINITION
    if said in (PEOPLE_LEFT_OUT, PLACE_ROUNDED):
        return defines or name in _WRITTEN
    if said in (NO_PLACE, PLACE_ROUGH):
        return name == f"{_STUDY}{_DEFINITION}"
    if said == AUTHOR_LEFT_OUT:
        return name.lower().endswith(".xlsx")
    return name == _RECORD and _SEALED.fullmatch(said) is not None
