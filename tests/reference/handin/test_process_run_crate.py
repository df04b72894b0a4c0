"""The crate against RO-Crate 1.1 and Process Run Crate 0.5, offline.

Requirements: https://w3id.org/ro/wfrun/process/0.5, table "Requirements" (repository
ResearchObject/workflow-run-crate, docs/profiles/0.5/process_run_crate/index.md, commit
d910ee4da8e9522f028ce226f2a0dd8f72c84720), and RO-Crate 1.1, "Root Data Entity" (from memory).
"""

from __future__ import annotations

import datetime as dt
import zipfile
from pathlib import Path
from typing import Any

import pytest
from rocrate.rocrate import ROCrate

from handin.handed_in import completed
from wintersward.handin.bundle import bundle


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("crate")
    with zipfile.ZipFile(bundle(completed(place / "our {trial} 1"))) as archive:
        archive.extractall(place / "unpacked")
    return place / "unpacked"


@pytest.fixture(scope="module")
def crate(folder: Path) -> ROCrate:
    return ROCrate(folder)


def value(entity: Any, name: str) -> Any:
    return entity.properties()[name]


def test_the_descriptor_and_the_root(crate: ROCrate) -> None:
    descriptor, root = crate.metadata, crate.root_dataset
    assert value(descriptor, "conformsTo") == {"@id": "https://w3id.org/ro/crate/1.1"}
    assert value(descriptor, "about") == {"@id": "./"}
    # MUST: conformsTo references a CreativeWork with the profile's permalink.
    assert value(root, "conformsTo") == {"@id": "https://w3id.org/ro/wfrun/process/0.5"}
    assert crate.dereference("https://w3id.org/ro/wfrun/process/0.5").type == "CreativeWork"
    assert {"name", "description", "datePublished", "license"} <= set(root.properties())
    assert dt.date.fromisoformat(value(root, "datePublished")) == dt.date(2026, 3, 25)


def test_every_file_is_a_part_and_every_part_a_file(crate: ROCrate, folder: Path) -> None:
    files = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    parts = {one["@id"] for one in value(crate.root_dataset, "hasPart")}
    assert parts == files - {"ro-crate-metadata.json"}
    for part in parts:
        assert value(crate.dereference(part), "@type") == "File"


def test_every_action_has_a_tool_and_what_it_made(crate: ROCrate) -> None:
    actions = crate.get_by_type("CreateAction")
    assert [one.id for one in actions] == [
        "#stage-10-photos",
        "#stage-30-statistics",
        "#stage-50-report",
    ]
    # SHOULD: the root mentions its actions.
    assert [one["@id"] for one in value(crate.root_dataset, "mentions")] == [a.id for a in actions]
    for action in actions:
        # MUST: instrument; SHOULD: name, description, endTime, result; MAY: the others.
        tool = action["instrument"]
        assert tool.type == "SoftwareApplication"
        assert value(tool, "softwareVersion") == "0.1.0"
        assert "version" not in tool.properties()
        assert action["name"]
        assert action["description"]
        assert action["result"]
        assert action["object"]
        assert value(action, "actionStatus") == {"@id": "http://schema.org/CompletedActionStatus"}
        start, end = (dt.datetime.fromisoformat(action[key]) for key in ("startTime", "endTime"))
        assert start.utcoffset() is not None
        assert start < end


def test_nothing_points_nowhere(crate: ROCrate) -> None:
    graph = crate.metadata.generate()["@graph"]
    known = {entity["@id"] for entity in graph}
    assert len(known) == len(graph)

    def references(found: Any) -> set[str]:
        if isinstance(found, dict):
            return {found["@id"]} if set(found) == {"@id"} else set()
        return (
            {one for each in found for one in references(each)}
            if isinstance(found, list)
            else set()
        )

    pointed = {one for entity in graph for v in entity.values() for one in references(v)}
    outside = {one for one in pointed - known if not one.startswith("#")}
    assert outside == {"http://schema.org/CompletedActionStatus", "https://w3id.org/ro/crate/1.1"}
    assert pointed - known == outside
