"""What a bundle tells in the words of open standards, held against its inventory and its tables."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterator, Mapping
from itertools import chain
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from wintersward.handin.inventory_check import INVENTORY, Entry, Listed
from wintersward.handin.verified import MISSHAPEN, Line
from wintersward.report.numbers import counted

__all__ = ["CHECKLIST", "CRATE", "DATA_PACKAGE", "standards_lines"]

CRATE = "ro-crate-metadata.json"
DATA_PACKAGE = "datapackage.json"
CHECKLIST = "miappe.csv"
_HEADINGS = ["field", "value", "present", "where"]
_RESULTS = "run/results/"
_TOLD = ("study/", "run/")


def standards_lines(folder: Path, listed: Listed) -> list[Line]:
    """Check the crate, the data package and the checklist of a bundle.

    Parameters
    ----------
    folder : Path
        The unpacked bundle.
    listed : Listed
        What the inventory says.

    Returns
    -------
    list of Line
        For each of the three a line for everything that does not agree, or one that it does.
    """
    checks = {CRATE: _crate, DATA_PACKAGE: _data_package, CHECKLIST: _checklist}
    lines = [_checked(folder, name, listed, check) for name, check in checks.items()]
    return list(chain.from_iterable(lines))


_Check = Callable[[Path, str, Listed], tuple[list[str], str]]


def _checked(folder: Path, name: str, listed: Listed, check: _Check) -> list[Line]:
    try:
        text = (folder / name).read_text(encoding="utf-8")
        faults, said = check(folder, text, listed)
    except OSError:
        faults, said = ["it is missing"], ""
    except MISSHAPEN as error:
        reason = " ".join(str(error).split()) or type(error).__name__
        faults, said = [f"it cannot be read ({reason})"], ""
    return [Line(False, name, fault) for fault in faults] or [Line(True, name, said)]


def _crate(_folder: Path, text: str, listed: Listed) -> tuple[list[str], str]:
    told: dict[str, Mapping[str, Any]] = {}
    for entity in json.loads(text)["@graph"]:
        kinds = entity["@type"]
        name = unquote(entity["@id"]).removeprefix("./")
        if "File" in ([kinds] if isinstance(kinds, str) else kinds) and "://" not in name:
            told[name] = entity
    known = {**listed.left_out, **listed.files}
    faults = []
    for name, entity in told.items():
        if name not in known and name not in (INVENTORY, CRATE):
            faults.append(f"it tells of {name}, which the inventory does not list")
        elif name in known:
            size, digits = entity.get("contentSize"), entity.get("sha256")
            faults += _apart(name, known[name], size, digits)
    faults += [f"it does not tell of {name}" for name in _to_tell(listed) if name not in told]
    return faults, f"{counted(len(told), 'file')}, each as in the inventory"


def _to_tell(listed: Listed) -> Iterator[str]:
    return (name for name in listed.files if name.startswith(_TOLD))


def _apart(name: str, entry: Entry, size: object, digits: object) -> list[str]:
    """Tell where size and hash, as far as they are given, are not those of the inventory."""
    told = []
    if size is not None and str(size) != str(entry.size):
        told.append(f"{name}: {size} bytes; the inventory says {entry.size}")
    if digits is not None and str(digits).removeprefix("sha256:") != entry.sha256:
        told.append(f"{name}: another SHA-256 than in the inventory")
    return told


def _data_package(folder: Path, text: str, listed: Listed) -> tuple[list[str], str]:
    resources = {one["path"]: one for one in json.loads(text)["resources"]}
    described = json.loads((folder / _RESULTS / "tables.json").read_text(encoding="utf-8"))
    faults = []
    for path, one in resources.items():
        if path not in listed.files:
            faults.append(f"it tells of {path}, which the inventory does not list")
            continue
        faults += _apart(path, listed.files[path], one.get("bytes"), one.get("hash"))
        entry = described.get(Path(path).stem) if path.startswith(_RESULTS) else None
        if entry is not None and (folder / path).is_file():
            faults += [f"{path}: {fault}" for fault in _schema_faults(folder / path, one, entry)]
    tables = [n for n in listed.files if n.startswith(_RESULTS) and n.endswith(".csv")]
    faults += [f"it does not tell of {name}" for name in tables if name not in resources]
    return faults, f"{counted(len(resources), 'table')}, each as in the inventory and tables.json"


def _schema_faults(
    table: Path, resource: Mapping[str, Any], entry: Mapping[str, Any]
) -> Iterator[str]:
    schema = resource["schema"]
    fields = [field["name"] for field in schema["fields"]]
    with table.open(encoding="utf-8", newline="") as stream:
        heading = next(csv.reader(stream), [])
    if fields != heading:
        yield "its fields are not the headings of the table"
    # A key in which a number or a date may be missing is told as a unique one.
    key = schema["primaryKey"] if "primaryKey" in schema else schema["uniqueKeys"][0]
    if ([key] if isinstance(key, str) else list(key)) != list(entry["key"]):
        yield "its key is not that of run/results/tables.json"


def _checklist(_folder: Path, text: str, _listed: Listed) -> tuple[list[str], str]:
    rows = list(csv.reader(io.StringIO(text, newline="")))
    if not rows or rows[0] != _HEADINGS:
        return [f"its headings are not {', '.join(_HEADINGS)}"], ""
    faults = []
    for line, row in enumerate(rows[1:], 2):
        if len(row) != len(_HEADINGS) or row[2] not in ("yes", "no"):
            faults.append(f"line {line}: allowed are a field, a value, yes or no, and where")
        elif (row[2] == "yes") != bool(row[1].strip()):
            faults.append(f"line {line}: {row[0]} is told as present: {row[2]}, value {row[1]!r}")
    present = sum(row[2:3] == ["yes"] for row in rows[1:])
    return faults, f"{present} of {counted(len(rows) - 1, 'field')} present"
