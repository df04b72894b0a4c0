"""What the crate tells; tests/reference/runs holds it against the standard."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from handin.handed_in import TEXT
from wintersward.handin.crate import ro_crate
from wintersward.handin.holdings import Holding
from wintersward.handin.inventory import inventory
from wintersward.trial import Definition, read_definition

HASH = "0" * 64
VERSIONS = {"numpy": "2.4.6", "wintersward": "0.1.0"}
PROVENANCE = {
    "started": "2026-03-25T08:00:00-05:00",
    "ended": "2026-03-25T08:01:15-05:00",
    "seconds": {"10-photos": 20.4, "30-statistics": 39.2, "50-report": 9.5},
}
HELD = {
    "report.html": "page",
    "run/figures/answer.svg": "figure",
    "run/figures/photo_overlay.jpg": "figure",
    "run/notebooks/10-photos.ipynb": "notebook",
    "run/notebooks/30-statistics.ipynb": "notebook",
    "run/notebooks/50-report.ipynb": "notebook",
    "run/results/means.csv": "results",
    "run/results/photo_scores.csv": "results",
    "study/notebooks/30-statistics.ipynb": "notebook",
    "study/photos/2026-03-24/101 (1) ä.jpg": "photo",
    "study/trial.yaml": "definition",
}


@pytest.fixture
def definition(tmp_path: Path) -> Definition:
    (tmp_path / "trial.yaml").write_text(TEXT, encoding="utf-8")
    found = read_definition(tmp_path)[0]
    assert found is not None
    return found


def entities(definition: Definition, provenance: Any = PROVENANCE) -> dict[str, Any]:
    held = [Holding(name, role, "it", 3, HASH) for name, role in HELD.items()]
    listing = inventory(definition.title, "002", held)
    crate = ro_crate(listing, definition, {"versions": VERSIONS}, provenance)
    return {entity["@id"]: entity for entity in crate["@graph"]}


def ids(found: list[dict[str, str]]) -> list[str]:
    return [one["@id"] for one in found]


def test_times_of_the_stages_are_summed_up(definition: Definition) -> None:
    told = entities(definition)
    times = [
        (told[f"#stage-{name}"]["startTime"][11:19], told[f"#stage-{name}"]["endTime"][11:19])
        for name in PROVENANCE["seconds"]
    ]
    assert times == [("08:00:00", "08:00:20"), ("08:00:20", "08:00:59"), ("08:00:59", "08:01:15")]
    assert told["#stage-10-photos"]["startTime"].endswith("-05:00")


def test_a_stage_takes_what_lay_there_and_makes_what_it_writes(definition: Definition) -> None:
    told = entities(definition)
    photos, middle, report = (told[f"#stage-{name}"] for name in PROVENANCE["seconds"])
    assert ids(photos["result"]) == [
        "run/figures/photo_overlay.jpg",
        "run/notebooks/10-photos.ipynb",
        "run/results/photo_scores.csv",
    ]
    assert ids(middle["result"]) == [
        "run/figures/answer.svg",
        "run/notebooks/30-statistics.ipynb",
        "run/results/means.csv",
    ]
    assert ids(report["result"]) == ["report.html", "run/notebooks/50-report.ipynb"]
    assert "study/trial.yaml" in ids(photos["object"])
    assert {*ids(photos["result"]), *ids(middle["result"])} < {*ids(report["object"])}
    assert photos["name"] == "10-photos: score the photos"


def test_names_become_addresses(definition: Definition) -> None:
    told = entities(definition)
    photo = told["study/photos/2026-03-24/101%20%281%29%20%C3%A4.jpg"]
    assert photo["name"] == "101 (1) ä.jpg"
    assert (photo["contentSize"], photo["sha256"]) == ("3", HASH)
    assert "sha256" not in told["inventory.json"]


def test_people_place_and_software(definition: Definition) -> None:
    told = entities(definition)
    assert told["#person-1"]["name"] == "R. Example"
    assert told["#site-position"]["latitude"] == "43.1234"
    assert told["#wintersward"]["softwareRequirements"] == [{"@id": "#numpy"}]
    assert told["#numpy"]["softwareVersion"] == "2.4.6"
    nowhere = definition.site.model_copy(update={"latitude": None})
    told = entities(definition.model_copy(update={"site": nowhere}))
    assert "#site-position" not in told
    assert "geo" not in told["#site"]


def test_a_demonstration_has_other_stages(definition: Definition) -> None:
    seconds = {"10-photos": 1.0, "30-description": 2.0, "50-report": 80.0}
    told = entities(definition, {**PROVENANCE, "seconds": seconds})
    action = told["#stage-30-description"]
    assert action["name"] == "30-description: describe what was seen"
    assert "run/results/means.csv" in ids(action["result"])
    # Never later than the run ended.
    assert told["#stage-50-report"]["endTime"] == PROVENANCE["ended"]
