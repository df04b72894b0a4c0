"""The bundle described as an RO-Crate, with one action for each stage of the run.

References
----------
RO-Crate Metadata Specification 1.1, doi:10.5281/zenodo.4541002 (DOI from memory).
Process Run Crate 0.5, https://w3id.org/ro/wfrun/process/0.5: root ``conformsTo``; ``instrument``
of an action; name, description, ``endTime``, result and the version of the tool where known. What
it also asks for and is not known here is left out: who started the run, and an address of the tool.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any
from urllib.parse import quote

from wintersward.handin.inventory import NAME
from wintersward.runs.stages import DEMONSTRATION_STAGES, REPORT, STAGES
from wintersward.trial import Definition

__all__ = ["CRATE", "PROFILE", "ro_crate"]

CRATE = "ro-crate-metadata.json"
PROFILE = "https://w3id.org/ro/wfrun/process/0.5"

_SPECIFICATION = "https://w3id.org/ro/crate/1.1"
# The second one holds the meaning of sha256.
_CONTEXT = [f"{_SPECIFICATION}/context", "https://w3id.org/ro/terms/workflow-run/context"]
_DONE = {"@id": "http://schema.org/CompletedActionStatus"}
_TOOL = "#wintersward"
_PLACE = "#site"
_LICENCE = "None is stated. Ask the people of the study before you pass it on."
_SCORES = "10-photos"

Entity = dict[str, Any]


def ro_crate(
    listing: Mapping[str, Any],
    definition: Definition,
    made_from: Mapping[str, Any],
    provenance: Mapping[str, Any],
) -> dict[str, Any]:
    """Describe a bundle as an RO-Crate.

    Parameters
    ----------
    listing : mapping
        The inventory, as far as it is made; this file and the inventory itself need not be in it.
    definition : Definition
        The study.
    made_from, provenance : mapping
        ``inputs.json`` and ``provenance.json`` of the run.

    Returns
    -------
    dict
        For ``ro-crate-metadata.json``: every file with size and SHA-256, the people and the site,
        the software with its versions, and a CreateAction for each stage.

    Notes
    -----
    ``provenance.json`` holds the times of the run and the seconds of each stage; the times of a
    stage between the first and the last are summed up from these.
    """
    files = listing["files"]
    names = sorted({*files, NAME} - {CRATE})
    actions = [*_actions(files, provenance)]
    tools = [*_software(made_from["versions"])]
    people = [*_people(definition)]
    root = {
        "@id": "./",
        "@type": "Dataset",
        "conformsTo": {"@id": PROFILE},
        "name": f"{definition.title}, run {listing['run']}",
        "description": definition.question,
        "datePublished": provenance["ended"][:10],
        "license": _LICENCE,
        "contributor": _references(people),
        "contentLocation": {"@id": _PLACE},
        "hasPart": [{"@id": _address(name)} for name in names],
        "mentions": _references(actions),
    }
    graph = [
        {
            "@id": CRATE,
            "@type": "CreativeWork",
            "about": {"@id": "./"},
            "conformsTo": {"@id": _SPECIFICATION},
        },
        root,
        {"@id": PROFILE, "@type": "CreativeWork", "name": "Process Run Crate", "version": "0.5"},
        *(_file(name, files.get(name)) for name in names),
        *people,
        *_site(definition),
        *tools,
        *actions,
    ]
    return {"@context": _CONTEXT, "@graph": graph}


def _address(name: str) -> str:
    """Write a file's name as an address within the crate."""
    return quote(name)


def _references(entities: list[Entity]) -> list[dict[str, str]]:
    return [{"@id": entity["@id"]} for entity in entities]


def _file(name: str, told: Mapping[str, Any] | None) -> Entity:
    entity: Entity = {"@id": _address(name), "@type": "File", "name": name.rpartition("/")[2]}
    if told is None:
        words = "every file of the bundle with its size and SHA-256"
        return {**entity, "description": words, "encodingFormat": "application/json"}
    return {
        **entity,
        "description": told["about"],
        "encodingFormat": told["media"],
        "contentSize": str(told["bytes"]),
        "sha256": told["sha256"],
    }


def _people(definition: Definition) -> Iterator[Entity]:
    for number, person in enumerate(definition.people, 1):
        yield {
            "@id": f"#person-{number}",
            "@type": "Person",
            "name": person.name,
            "alternateName": person.initials,
            "jobTitle": person.role,
        }


def _site(definition: Definition) -> Iterator[Entity]:
    site = definition.site
    place: Entity = {
        "@id": _PLACE,
        "@type": "Place",
        "name": site.name,
        "address": site.country,
    }
    if site.latitude is None or site.longitude is None:
        yield place
        return
    yield {**place, "geo": {"@id": f"{_PLACE}-position"}}
    yield {
        "@id": f"{_PLACE}-position",
        "@type": "GeoCoordinates",
        "name": f"{site.latitude:g}, {site.longitude:g}",
        "latitude": f"{site.latitude:g}",
        "longitude": f"{site.longitude:g}",
    }


def _software(versions: Mapping[str, str]) -> Iterator[Entity]:
    """Describe wintersward and the libraries that may change a number or a page."""
    needed = {name: one for name, one in versions.items() if name != "wintersward"}
    yield {
        "@id": _TOOL,
        "@type": "SoftwareApplication",
        "name": "wintersward",
        "description": "a toolkit for winter-cover trials on sports turf",
        "softwareVersion": versions["wintersward"],
        "softwareRequirements": [{"@id": f"#{name}"} for name in needed],
    }
    for name, version in needed.items():
        yield {
            "@id": f"#{name}",
            "@type": "SoftwareApplication",
            "name": name,
            "softwareVersion": version,
        }


def _actions(files: Mapping[str, Any], provenance: Mapping[str, Any]) -> Iterator[Entity]:
    does = {stage.name: stage.does for stage in (*STAGES, *DEMONSTRATION_STAGES)}
    given = sorted(name for name in files if name.startswith("study/"))
    written = _written(files, list(provenance["seconds"]))
    for name, (start, end) in _times(provenance).items():
        took = [*given]
        if name == REPORT.name:
            took = sorted(
                {*given, *(one for key in written if key != name for one in written[key])}
            )
        yield {
            "@id": f"#stage-{name}",
            "@type": "CreateAction",
            "name": f"{name}: {does.get(name, 'a stage of the run')}",
            "description": f"The notebook {name}.ipynb, executed by wintersward as a stage of the "
            "run; its times are summed up from the durations in run/provenance.json.",
            "instrument": {"@id": _TOOL},
            "object": [{"@id": _address(one)} for one in took],
            "result": [{"@id": _address(one)} for one in written[name]],
            "startTime": start,
            "endTime": end,
            "actionStatus": _DONE,
        }


def _written(files: Mapping[str, Any], stages: list[str]) -> dict[str, list[str]]:
    """Tell which files each stage wrote: the first one scores, the last one makes the pages."""
    middle = next((name for name in stages if name not in (_SCORES, REPORT.name)), stages[0])
    written: dict[str, list[str]] = {name: [] for name in stages}
    for name in sorted(files):
        role, stem = files[name]["role"], name.rpartition("/")[2]
        if role == "notebook" and name.startswith("run/"):
            stage = stem.removesuffix(".ipynb")
        elif role == "page":
            stage = REPORT.name
        elif role in ("results", "figure"):
            of_photos = stem == "photo_scores.csv" or (role, stem[:6]) == ("figure", "photo_")
            stage = _SCORES if of_photos else middle
        else:
            continue
        if stage in written:
            written[stage].append(name)
    return written


def _times(provenance: Mapping[str, Any]) -> dict[str, tuple[str, str]]:
    """Give start and end of each stage, ISO 8601."""
    seconds = provenance["seconds"]
    start, end = (dt.datetime.fromisoformat(provenance[key]) for key in ("started", "ended"))
    times, at = {}, start
    for number, name in enumerate(sorted(seconds), 1):
        after = min(at + dt.timedelta(seconds=seconds[name]), end)
        if number == len(seconds):
            after = end
        times[name] = (at.isoformat(timespec="seconds"), after.isoformat(timespec="seconds"))
        at = after
    return times
