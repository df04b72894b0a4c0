"""The files of a bundle that describe the others, made from one inventory."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from wintersward.handin.bundle_readme import README, readme
from wintersward.handin.holdings import Holding, made
from wintersward.handin.inventory import NAME, inventory

if TYPE_CHECKING:
    from wintersward.study import Trial

__all__ = ["describing", "description_names"]


def description_names() -> tuple[str, ...]:
    """Name the files that `describing` makes."""
    from wintersward.handin.crate import CRATE
    from wintersward.handin.data_package import PACKAGE
    from wintersward.handin.miappe import CHECKLIST

    return (PACKAGE, CHECKLIST, README, CRATE, NAME)


def describing(
    trial: Trial,
    number: str,
    held: Iterable[Holding],
    left_out: Iterable[Holding],
    changed: Iterable[str],
    told: Mapping[str, Mapping[str, Any]],
    read: Callable[[str], str],
) -> list[Holding]:
    """Make the files that describe a bundle.

    Parameters
    ----------
    trial : Trial
        The study of the bundle.
    number : str
        Of the run.
    held : iterable of Holding
        Every file of the bundle but those that are made here.
    left_out : iterable of Holding
        Photos that the run was made from and that are not in the bundle.
    changed : iterable of str
        What was changed on request, a line each.
    told : mapping of str to mapping
        ``inputs.json``, ``provenance.json`` and ``results/tables.json`` of the run, by the names
        ``inputs``, ``provenance`` and ``tables``.
    read : callable
        Gives the text of a file of the bundle by its name there.

    Returns
    -------
    list of Holding
        Data package, checklist, the page of words, the crate and at last the inventory, each of
        which counts those before it.
    """
    from wintersward.handin.crate import CRATE, ro_crate
    from wintersward.handin.data_package import PACKAGE, data_package
    from wintersward.handin.miappe import CHECKLIST, checklist

    definition = trial.definition
    ended = told["provenance"]["ended"]
    known, gone, reasons = sorted(held, key=lambda one: one.name), [*left_out], [*changed]
    photos = sum(one.role == "photo" for one in known)
    added: list[Holding] = []

    def listing() -> dict[str, Any]:
        return inventory(definition.title, number, [*known, *added], gone, reasons)

    def add(name: str, role: str, content: str) -> None:
        added.append(made(name, role, content))

    package = data_package(listing(), told["tables"], definition, read, ended)
    add(PACKAGE, "data_package", _json(package))
    add(CHECKLIST, "checklist", checklist(definition, trial.diary, trial.plots, number))
    words = readme(f"bundle-{number}.zip", listing(), told["inputs"], ended, photos)
    add(README, "readme", words)
    crate = ro_crate(listing(), definition, told["inputs"], told["provenance"])
    add(CRATE, "crate", _json(crate))
    add(NAME, "other", _json(listing()))
    return added


def _json(content: Any) -> str:
    """Write JSON as `wintersward.runs.files.write_json` does."""
    text = json.dumps(content, indent=2, sort_keys=True, ensure_ascii=False, allow_nan=False)
    return f"{text}\n"
