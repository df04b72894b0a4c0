"""A bundle of a study that is run again, so that it names nobody and no exact place."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import zipfile
from pathlib import Path

import pytest

import wintersward
from e2e.repacking import files_of
from e2e.small_trial import small_trial
from e2e.somebody_else import run_as_another
from handin.handed_in import TEXT, finish, gathered
from wintersward.errors import WinterswardError
from wintersward.handin.bundle import bundle

pytestmark = pytest.mark.e2e


def test_a_study_run_again_names_nobody_and_no_exact_place(tmp_path: Path) -> None:
    study = gathered(tmp_path / "our {trial} 1", TEXT)
    finish(study, "003")
    before = {path for path in study.rglob("*") if ".cache" not in path.parts}
    archive = bundle(study, people=False, exact_place=False)
    after = {path for path in study.rglob("*") if ".cache" not in path.parts}
    assert after - before == {study / "bundle-003.zip"}
    with zipfile.ZipFile(archive) as held:
        content = {name: held.read(name) for name in held.namelist()}
    for name, data in content.items():
        for word in (b"R. Example", b"43.1234", b"77.5678"):
            assert word not in data, name
    assert b"person 1 (groundskeeper)" in content["report.html"]
    told = json.loads(content["inventory.json"])
    assert told["run"] == "003"
    assert told["changed_on_request"] == [
        "study/diary.yaml: names of people left out",
        "study/trial.yaml: position rounded to 0.1 degree",
        "study/trial.yaml: names of people left out",
        "run: made again from the changed files",
        "run/provenance.json: name of the computer left out",
    ]
    provenance = json.loads(content["run/provenance.json"])
    assert (provenance["run"], provenance["host"]) == ("003", "left out")
    inputs = json.loads(content["run/inputs.json"])["files"]
    for name, one in inputs.items():
        assert told["files"][f"study/{name}"]["sha256"] == one["sha256"]
    page = " ".join(content["README.txt"].decode().split())
    assert "Names of people were left out" in page
    assert "The position of the site was rounded to 0.1 degree" in page
    # It has a clock of its own, so that a second one would be another file.
    with pytest.raises(WinterswardError, match="nothing is overwritten"):
        bundle(study, people=False)


def test_two_runs_differ_where_the_clock_is_told_and_nowhere_else(tmp_path: Path) -> None:
    first = small_trial(tmp_path / "trial")
    second = tmp_path / "trial of {another} person"
    shutil.copytree(first, second)
    home = tmp_path / "home"
    home.mkdir()
    wintersward.run(first)
    made = run_as_another(second, home)
    # As if it had been run on a later day.
    path = made / "provenance.json"
    told = json.loads(path.read_text(encoding="utf-8"))
    for when in ("started", "ended"):
        later = dt.datetime.fromisoformat(told[when]) + dt.timedelta(days=40)
        told[when] = later.isoformat(timespec="seconds")
    path.write_text(json.dumps(told), encoding="utf-8")
    one, other = (files_of(bundle(study)) for study in (first, second))
    assert [*one] == [*other]
    assert [name for name in one if one[name] != other[name]] == [
        "README.txt",
        "datapackage.json",
        "inventory.json",
        "ro-crate-metadata.json",
        "run/provenance.json",
    ]
