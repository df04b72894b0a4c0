from __future__ import annotations

import datetime as dt
import json
import re
from pathlib import Path

import pytest

from wintersward.errors import WinterswardError
from wintersward.runs.season import new_season
from wintersward.trial import read_definition

NEXT = dt.date(2027, 1, 18)


def test_every_date_moves_by_the_same_days(study: Path, tmp_path: Path) -> None:
    made = new_season(tmp_path / "next", study, NEXT)
    assert made.days == 364
    assert {(shift.field, str(shift.old), str(shift.new)) for shift in made.shifts} == {
        ("dates.baseline", "2026-01-15", "2027-01-14"),
        ("dates.covers_on", "2026-01-19", "2027-01-18"),
        ("dates.covers_off", "2026-03-09", "2027-03-08"),
        ("dates.visits.1", "2026-03-10", "2027-03-09"),
        ("dates.visits.2", "2026-03-24", "2027-03-23"),
        ("treatments.aeration.applied", "2026-03-12", "2027-03-11"),
        ("measures.colour.dates.3", "2026-02-28", "2027-02-27"),
        ("analysis.primary.on", "2026-03-24", "2027-03-23"),
    }
    definition, problems = read_definition(made.study)
    assert problems == []
    assert definition is not None
    assert definition.dates["covers_on"] == NEXT
    assert definition.analysis.primary.on == dt.date(2027, 3, 23)


def test_nothing_else_of_the_definition_changes(study: Path, tmp_path: Path) -> None:
    made = new_season(tmp_path / "next", study, NEXT)
    old = (study / "trial.yaml").read_text(encoding="utf-8").splitlines()
    new = (made.study / "trial.yaml").read_text(encoding="utf-8").splitlines()
    assert len(new) == len(old)
    blank = re.compile(r"\d{4}-\d{2}-\d{2}|seed: \d+")
    for before, after in zip(old, new, strict=True):
        assert blank.sub("*", after) == blank.sub("*", before)
    # What happened once stays where it was, and the title is the person's to change.
    assert "established: 2025-10-06" in "\n".join(new)
    assert made.title == "Covers on the Alder Road ground, 2026"


def test_the_seed_is_fresh(study: Path, tmp_path: Path) -> None:
    one = new_season(tmp_path / "one", study, NEXT)
    two = new_season(tmp_path / "two", study, NEXT)
    seeds = []
    for made in (one, two):
        definition, _ = read_definition(made.study)
        assert definition is not None
        seeds.append(definition.layout.seed)
    assert len({42, *seeds}) == 3


def test_what_was_gathered_is_left_behind(study: Path, tmp_path: Path) -> None:
    for name in ("diary.yaml", "plan/plots.csv", "sheets/a.csv", "photos/a.jpg", "runs/001/x"):
        (study / name).parent.mkdir(parents=True, exist_ok=True)
        (study / name).write_text("deviations: []  # of the season before")
    (study / "notebooks").mkdir()
    (study / "notebooks" / "50-report.ipynb").write_text("{}")
    before = sorted(path for path in study.rglob("*"))
    made = new_season(tmp_path / "next", study, NEXT)
    assert sorted(path.name for path in made.study.iterdir()) == [
        "diary.schema.json",
        "diary.yaml",
        "photos",
        "sheets",
        "trial.schema.json",
        "trial.yaml",
    ]
    assert "season before" not in (made.study / "diary.yaml").read_text(encoding="utf-8")
    assert json.loads((made.study / "trial.schema.json").read_text(encoding="utf-8"))
    assert made.own_notebooks == ["50-report.ipynb"]
    assert sorted(path for path in study.rglob("*")) == before


def test_a_folder_with_something_in_it_is_left_alone(study: Path) -> None:
    before = (study / "trial.yaml").read_bytes()
    with pytest.raises(WinterswardError, match="there is something in this folder"):
        new_season(study, study, NEXT)
    assert (study / "trial.yaml").read_bytes() == before


def test_an_old_definition_with_problems(study: Path, tmp_path: Path) -> None:
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    (study / "trial.yaml").write_text(text.replace("units: us", "units: yards"), encoding="utf-8")
    with pytest.raises(WinterswardError, match=r"trial.yaml:4:8: units: found 'yards'"):
        new_season(tmp_path / "next", study, NEXT)
    assert not (tmp_path / "next").exists()


def test_a_day_at_the_end_of_the_calendar(study: Path, tmp_path: Path) -> None:
    with pytest.raises(WinterswardError, match="cannot be shifted by"):
        new_season(tmp_path / "next", study, dt.date(9999, 12, 31))
    assert not (tmp_path / "next").exists()
