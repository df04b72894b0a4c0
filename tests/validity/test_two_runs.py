"""The example study, run twice: here, and as somebody else elsewhere."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

import wintersward
from e2e.example import copied
from e2e.somebody_else import OFFSET, USER, run_as_another

pytestmark = pytest.mark.e2e

Runs = tuple[Path, Path]


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> Runs:
    study = copied(tmp_path_factory.mktemp("e2e") / "example_study")
    first = wintersward.run(study)
    elsewhere = tmp_path_factory.mktemp("elsewhere") / "trial of {another} person"
    shutil.copytree(study, elsewhere)
    return first, run_as_another(elsewhere, tmp_path_factory.mktemp("home"))


def test_they_give_the_same_bytes_outside_provenance(runs: Runs) -> None:
    first, second = runs
    assert [first.name, second.name] == ["001", "002"]
    names = {p.relative_to(first) for p in first.rglob("*") if p.is_file()}
    assert names == {p.relative_to(second) for p in second.rglob("*") if p.is_file()}
    assert Path("provenance.json") in names
    for name in names - {Path("provenance.json")}:
        assert (first / name).read_bytes() == (second / name).read_bytes(), name


def test_the_second_had_other_surroundings(runs: Runs) -> None:
    told = [json.loads((run / "provenance.json").read_text(encoding="utf-8")) for run in runs]
    assert [one["started"].endswith(OFFSET) for one in told] == [False, True]
    first, second = (run.parents[2] for run in runs)
    assert first != second
    words = {USER, str(first), str(second)}
    written = [path for path in runs[1].rglob("*") if path.is_file()]
    assert not [p for p in written if any(word.encode() in p.read_bytes() for word in words)]
