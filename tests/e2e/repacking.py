"""Bundles changed by whoever made them: every list of them is made to fit."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import quote

from wintersward.errors import WinterswardError
from wintersward.handin.described_check import made_anew
from wintersward.handin.holdings import media_type

__all__ = ["digits", "files_of", "repacked", "replaced"]

_LIST, _CRATE, _PACKAGE = "inventory.json", "ro-crate-metadata.json", "datapackage.json"


def digits(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def files_of(archive: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(archive) as held:
        return {name: held.read(name) for name in held.namelist()}


def replaced(files: dict[str, bytes], name: str, before: str, after: str) -> None:
    assert files[name].count(before.encode()) >= 1, before
    files[name] = files[name].replace(before.encode(), after.encode(), 1)


def _described(files: dict[str, bytes]) -> dict[str, bytes]:
    """Describe the files as wintersward itself would, as far as their study can be opened."""
    with TemporaryDirectory() as place:
        folder = Path(place)
        for name, content in files.items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(content)
        told = {n: json.loads(files[f"run/{n}.json"]) for n in ("inputs", "provenance")}
        with suppress(WinterswardError, OSError):
            return {one.name: one.content for one in made_anew(folder, told)}
    return {}


def _written(content: object) -> bytes:
    """Write JSON as bundles hold it, so that its form gives nobody away."""
    text = json.dumps(content, indent=2, sort_keys=True, ensure_ascii=False)
    return f"{text}\n".encode()


def repacked(source: Path, target: Path, change: Callable[[dict[str, bytes]], object]) -> Path:
    """Change, add or take out files of a bundle, list them anew and pack them again."""
    files = files_of(source)
    change(files)
    package, crate = (json.loads(files[name]) for name in (_PACKAGE, _CRATE))
    for resource in package["resources"]:
        content = files[resource["path"]]
        resource.update(bytes=len(content), hash=f"sha256:{digits(content)}")
    files[_PACKAGE] = _written(package)
    entities = {entity["@id"]: entity for entity in crate["@graph"]}
    for name, content in files.items():
        if name not in (_LIST, _CRATE):
            if quote(name) not in entities:
                crate["@graph"].append(entities.setdefault(quote(name), {"@id": quote(name)}))
            entity = entities[quote(name)]
            entity.setdefault("@type", "File")
            if entity["@type"] == "File" or "sha256" in entity:
                entity.update(contentSize=str(len(content)), sha256=digits(content))
    files[_CRATE] = _written(crate)
    listing = json.loads(files[_LIST])
    for name, content in files.items():
        if name != _LIST:
            new = {"role": "other", "about": "", "media": media_type(name)}
            told = listing["files"].setdefault(name, new)
            told.update(bytes=len(content), sha256=digits(content))
    listing["files"] = {name: told for name, told in listing["files"].items() if name in files}
    files[_LIST] = _written(listing)
    files |= _described(files)
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in files.items():
            made.writestr(name, content)
    return target
