"""The frozen plan, ``plan/frozen``: what was decided, as it stood when it was frozen."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from wintersward.errors import Problem
from wintersward.trial.reading import read_yaml
from wintersward.trial.schema import Definition

__all__ = [
    "FILES",
    "FOLDER",
    "VALUES",
    "Frozen",
    "document_hash",
    "plot_rows",
    "read_frozen",
    "seal",
]

FOLDER = "plan/frozen"
FILES = ("trial.yaml", "plots.csv", "protocol.html")
# Kept besides where the person wrote one.
VALUES = "plot_values.csv"
_RECORD = "frozen.json"
_REPAIR = (
    "put back the folder as it was frozen, from a copy; "
    "until then nothing can be held against the frozen plan"
)


@dataclass(frozen=True)
class Frozen:
    """A plan as it was frozen; its files are still the same bytes.

    Parameters
    ----------
    folder : Path
        ``plan/frozen`` of the study folder.
    frozen_at : datetime
        When, in UTC.
    version : str
        Version of wintersward that froze it.
    files : mapping of str to str
        SHA-256 of each file of `FILES`, and of `VALUES` where there was one.
    late : tuple of str
        What had happened already, in words; empty where the plan was frozen in good time.
    definition : Definition
        The definition as it stood.
    """

    folder: Path
    frozen_at: dt.datetime
    version: str
    files: Mapping[str, str]
    late: tuple[str, ...]
    definition: Definition

    @property
    def when(self) -> str:
        """Time of the freeze for a reader, such as ``12 January 2026, 14:05 UTC``."""
        return f"{self.frozen_at.day} {self.frozen_at:%B %Y, %H:%M} UTC"

    @property
    def document(self) -> str:
        """Hash that stands on the printed protocol; see `document_hash`."""
        return document_hash(self.files)

    @property
    def short(self) -> str:
        """The first twelve digits of `document`."""
        return self.document[:12]

    @cached_property
    def content(self) -> dict[str, Any]:
        """The frozen ``trial.yaml`` as it is written: plain values."""
        found: dict[str, Any] = read_yaml(self.folder / "trial.yaml", "trial.yaml").content
        return found

    @cached_property
    def plots(self) -> dict[str, dict[str, str]]:
        """The frozen ``plots.csv`` as it is written: from plot to its cells."""
        return plot_rows(self.folder / "plots.csv")

    @cached_property
    def values(self) -> dict[str, dict[str, str]]:
        """The frozen ``plot_values.csv`` as it is written; empty where there was none."""
        return plot_rows(self.folder / VALUES) if VALUES in self.files else {}


def document_hash(files: Mapping[str, str]) -> str:
    """Give definition and plots one hash, to compare a printed protocol with a report.

    Parameters
    ----------
    files : mapping of str to str
        SHA-256 of ``trial.yaml`` and ``plots.csv``.

    Returns
    -------
    str
        64 hexadecimal digits: SHA-256 of the two hashes with their names.
    """
    text = "".join(f"{name} {files[name]}\n" for name in ("trial.yaml", "plots.csv"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def seal(record: Mapping[str, Any]) -> str:
    """Hash everything that ``frozen.json`` tells besides this hash itself.

    It shows a slip of the hand, as the hashes of the other files do; it is no signature.
    """
    told = {name: record[name] for name in sorted(record) if name != "seal"}
    text = json.dumps(told, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def read_frozen(study: Path) -> tuple[Frozen | None, list[Problem]]:
    """Read the frozen plan of a study, and see that it is whole.

    Parameters
    ----------
    study : Path
        The study folder.

    Returns
    -------
    frozen : Frozen or None
        None where the plan was never frozen, or where the freeze is damaged.
    problems : list of Problem
        What is damaged: a file that is missing, or not the one that was frozen.
    """
    folder = study / FOLDER
    if not folder.exists():
        return None, []
    record, problems = _record(folder)
    if not problems:
        problems = _damage(folder, record["files"])
    if problems:
        return None, problems
    # Imported only now: the package of this module reads it in turn.
    from wintersward.trial import read_definition

    definition, found = read_definition(folder)
    if definition is None:
        hint = "this version of wintersward reads definitions otherwise; install the older one"
        name = f"{FOLDER}/trial.yaml"
        return None, [Problem(name, found=f"what was frozen, not readable ({found[0]})", hint=hint)]
    made = Frozen(
        folder,
        dt.datetime.fromisoformat(record["frozen_at"]),
        str(record["wintersward"]),
        dict(record["files"]),
        tuple(record["late"]),
        definition,
    )
    return made, []


def _record(folder: Path) -> tuple[dict[str, Any], list[Problem]]:
    """Read ``frozen.json``; it is damaged where its own hash does not fit."""
    name = f"{FOLDER}/{_RECORD}"
    try:
        held = json.loads((folder / _RECORD).read_text(encoding="utf-8"))
        sound = held["seal"] == seal(held) and set(FILES) <= set(held["files"])
        dt.datetime.fromisoformat(held["frozen_at"])
    except FileNotFoundError:
        return {}, [Problem(name, found="a freeze without this file", hint=_REPAIR)]
    except (OSError, ValueError, TypeError, KeyError):
        sound = False
    if not sound:
        return {}, [Problem(name, found="another content than was frozen", hint=_REPAIR)]
    return held, []


def _damage(folder: Path, files: Mapping[str, str]) -> list[Problem]:
    """List the files that are missing or are not those that were frozen."""
    problems = []
    for name, expected in sorted(files.items()):
        try:
            found = hashlib.sha256((folder / name).read_bytes()).hexdigest()
        except OSError:
            problems.append(
                Problem(f"{FOLDER}/{name}", found="a freeze without this file", hint=_REPAIR)
            )
            continue
        if found != expected:
            said = "another content than was frozen (its SHA-256 differs)"
            problems.append(Problem(f"{FOLDER}/{name}", found=said, hint=_REPAIR))
    return problems


def plot_rows(path: Path) -> dict[str, dict[str, str]]:
    """Read a plots table as it is written.

    Returns
    -------
    dict
        From the name of each plot to its cells; empty where there is no such table.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return {}
    rows = {}
    for line in csv.DictReader(io.StringIO(text, newline="")):
        cells = {str(k).strip(): str(v or "").strip() for k, v in line.items() if k is not None}
        if cells.get("plot"):
            rows[cells["plot"]] = cells
    return rows
