"""The data package as frictionless reads it, the reference library of that standard, offline.

Frictionless Standards, Data Package 2.0 and Table Schema 2.0, by frictionless-py of the registry.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest

from handin.handed_in import completed
from wintersward.handin.bundle import bundle

# In a process of its own: it warns of what lies within itself, and must not reach out.
_VALIDATED = """
import json, socket, sys
def refused(*_, **__):
    raise AssertionError("asked for the network")
socket.getaddrinfo = socket.socket.connect = refused
from frictionless import validate
found = validate(sys.argv[1])
rows = found.flatten(["type", "fieldName", "rowNumber", "note"])
print(json.dumps({"valid": found.valid, "tasks": len(found.tasks), "errors": rows}))
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("frictionless")
    with zipfile.ZipFile(bundle(completed(place / "our trial"))) as archive:
        archive.extractall(place / "unpacked")
    return place / "unpacked"


def validated(folder: Path) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, "-c", _VALIDATED, "datapackage.json"],
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found


def test_a_bundle_is_valid(folder: Path) -> None:
    found = validated(folder)
    assert found["errors"] == []
    assert found["valid"]
    package = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    assert found["tasks"] == len(package["resources"]) > 4


def test_a_value_of_another_type_is_seen(folder: Path, tmp_path: Path) -> None:
    changed = tmp_path / "changed"
    shutil.copytree(folder, changed)
    path = changed / "run" / "results" / "counts.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    cells = lines[1].split(",")
    cells[lines[0].split(",").index("used")] = "many"
    path.write_text("\n".join([lines[0], ",".join(cells), *lines[2:]]) + "\n", encoding="utf-8")
    found = validated(changed)
    assert not found["valid"]
    assert ["type-error", "used"] in [error[:2] for error in found["errors"]]
