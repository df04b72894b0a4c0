"""What the checklist tells of a study; tests/reference/runs holds its fields to the standard."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from handin.handed_in import TEXT, gathered
from wintersward.handin.miappe import checklist
from wintersward.study import open_study


def filled(study: Path) -> dict[str, tuple[str, str, str]]:
    trial = open_study(study)
    text = checklist(trial.definition, trial.diary, trial.plots, "003")
    rows = list(csv.reader(text.splitlines()))
    assert rows[0] == ["field", "value", "present", "where"]
    return {field: (value, present, where) for field, value, present, where in rows[1:]}


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[str, str, str]]:
    return filled(gathered(tmp_path_factory.mktemp("miappe") / "study"))


@pytest.mark.parametrize(
    ("field", "value", "where"),
    [
        ("investigation.miappeVersion", "1.2", ""),
        ("study.studyTitle", "Covers on the Alder Road ground, 2026", "study/trial.yaml: title"),
        ("study.studyStartDate", "2026-01-15", "study/trial.yaml: dates"),
        ("study.locationLatitude", "43.1234", "study/trial.yaml: site.latitude"),
        ("study.obsUnitLevelHierarchy", "block>whole plot>subplot", "study/trial.yaml: layout"),
        (
            "study.expeDesignDesc",
            "split plot; 4 blocks; whole plots: Cover; subplots: Aeration; drawn from the seed 42",
            "study/trial.yaml: layout",
        ),
        ("study.culturalPractice", "2026-03-20 mowing 1.5 in", "study/diary.yaml: management"),
        ("person.personName", "R. Example", "study/trial.yaml: people"),
        ("biologicalMaterial.genus", "Poa", "study/trial.yaml: site.turf.species"),
        ("event.eventType", "covers on; covers off; mowing", "study/diary.yaml"),
        ("event.eventDate", "2026-01-19; 2026-03-09; 2026-03-20", "study/diary.yaml"),
        ("event.eventDesc", "-; -; 1.5 in, R. Example, dry", "study/diary.yaml"),
        ("observedVariable.variableId", "colour; green; pull", "study/trial.yaml: measures"),
        ("observedVariable.scaleName", "rating 1-9; %; N", "study/trial.yaml: measures"),
        ("dataFile.dataFileVersion", "run 003", "inventory.json"),
    ],
)
def test_what_is_known_is_told_with_its_place(
    told: dict[str, tuple[str, str, str]], field: str, value: str, where: str
) -> None:
    assert told[field] == (value, "yes", where)


def test_what_is_not_known_is_listed_as_absent(told: dict[str, tuple[str, str, str]]) -> None:
    for field in ("study.contactInst", "person.personAffiliation", "sample.sampleId"):
        assert told[field] == ("", "no", "")
    assert all((present == "yes") == bool(value) for value, present, _ in told.values())


def test_values_of_one_section_are_in_one_order(told: dict[str, tuple[str, str, str]]) -> None:
    counts = {
        told[f"event.{name}"][0].count("; ") for name in ("eventType", "eventDesc", "eventDate")
    }
    assert counts == {2}
    assert len(told["observationUnit.obsUnitId"][0].split("; ")) == 16


def test_a_common_name_is_no_genus(tmp_path: Path) -> None:
    text = TEXT.replace("[Poa pratensis]", "[Kentucky bluegrass, Poa annua]")
    told = filled(gathered(tmp_path / "study", text))
    assert told["biologicalMaterial.organism"][0] == "Kentucky bluegrass; Poa annua"
    assert told["biologicalMaterial.genus"] == told["biologicalMaterial.species"] == ("", "no", "")
