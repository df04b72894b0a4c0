"""The one inventory of a bundle: every file in it, and every file that was left out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from wintersward import __version__
from wintersward.errors import Problem
from wintersward.handin.holdings import ROLES, Holding, media_type
from wintersward.handin.plain_names import folded, name_fault, printable

__all__ = ["MADE_BY", "NAME", "PHOTOS_LEFT_OUT", "ROLES", "inventory", "unfit_names"]

NAME = "inventory.json"
MADE_BY = f"wintersward {__version__}"
PHOTOS_LEFT_OUT = "photos left out on request"

_RENAME = "rename it, run again, and bundle then"


def inventory(
    study: str,
    run: str,
    held: Iterable[Holding],
    left_out: Iterable[Holding] = (),
    changed: Iterable[str] = (),
) -> dict[str, Any]:
    """Write down what a bundle holds.

    Parameters
    ----------
    study : str
        Title of the study.
    run : str
        Number of the run.
    held : iterable of Holding
        Every file of the bundle but this list itself.
    left_out : iterable of Holding
        Photos that the run was made from and that are not in the bundle.
    changed : iterable of str
        What was changed on request, a line each.

    Returns
    -------
    dict
        ``files`` and ``left_out`` by name, sizes in bytes.
    """
    return {
        "inventory": 1,
        "study": study,
        "run": run,
        "made_by": MADE_BY,
        "files": {
            one.name: {
                "bytes": one.size,
                "sha256": one.sha256,
                "role": one.role,
                "media": media_type(one.name),
                "about": one.about,
            }
            for one in held
        },
        "left_out": {
            one.name: {"bytes": one.size, "sha256": one.sha256, "why": PHOTOS_LEFT_OUT}
            for one in left_out
        },
        "changed_on_request": list(changed),
    }


def unfit_names(names: Iterable[str]) -> list[Problem]:
    """Tell which files could not be unpacked on every computer.

    Parameters
    ----------
    names : iterable of str
        In the bundle; those of the study begin with ``study/``.

    Returns
    -------
    list of Problem
        Names with a backslash or a drive in them, names that some computer cannot write, and
        names that differ from another in case or in how letters are composed only.

    Examples
    --------
    >>> print(unfit_names(["study/photos/a.jpg", "study/photos/A.JPG"])[0])
    photos/a.jpg: found a name that differs from photos/A.JPG in case or in accents only; allowed: \
names that every computer tells apart; rename it, run again, and bundle then
    """
    problems, seen = [], dict[str, str]()
    for name in sorted(names):
        shown = name.removeprefix("study/")
        first = seen.setdefault(folded(name), shown)
        if first != shown:
            found = f"a name that differs from {first} in case or in accents only"
            allowed = "names that every computer tells apart"
            problems.append(Problem(shown, found=found, allowed=allowed, hint=_RENAME))
        fault = name_fault(name)
        if fault or "\\" in name or ":" in name:
            why = fault or "a name with a backslash or a colon"
            found = f"a name that not every computer can write ({why})"
            allowed = "letters, digits, spaces and signs, without a colon or a backslash"
            problems.append(Problem(printable(shown), found=found, allowed=allowed, hint=_RENAME))
    return problems
