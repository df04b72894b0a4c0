from __future__ import annotations

import ast
import datetime as dt
import importlib.metadata
import json
import os
import shutil
from pathlib import Path

import pytest

from wintersward.paths import template_folder
from wintersward.photos.hashes import KeptHashes
from wintersward.runs import provenance
from wintersward.runs.files import sha256
from wintersward.runs.provenance import (
    LIBRARIES,
    changed_inputs,
    circumstances,
    input_files,
    inputs,
    stamps,
)
from wintersward.runs.stages import STAGES

STAGE = STAGES[0]
NOTEBOOK = f"notebooks/{STAGE.file}"


@pytest.fixture
def filled(study: Path) -> Path:
    for name in (
        "diary.yaml",
        "plan/plots.csv",
        "sheets/pulls.csv",
        "sheets/march/ratings.xlsx",
        "photos/2026-03-10/101.jpg",
        "photos/index.csv",
        "loggers/soil.csv",
        # What is no input:
        "report.html",
        "brief.html",
        "plan/plot_map.svg",
        "runs/001/inputs.json",
        "sheets/.~lock.pulls.csv#",
        "sheets/~$ratings.xlsx",
        "photos/.trash/102.jpg",
        ".cache/scores.csv",
    ):
        (study / name).parent.mkdir(parents=True, exist_ok=True)
        (study / name).write_text(name)
    return study


INPUTS = [
    "diary.yaml",
    "loggers/soil.csv",
    "photos/2026-03-10/101.jpg",
    "photos/index.csv",
    "plan/plots.csv",
    "sheets/march/ratings.xlsx",
    "sheets/pulls.csv",
    "trial.yaml",
]


def test_input_files(filled: Path) -> None:
    found = [path.relative_to(filled).as_posix() for path in input_files(filled)]
    assert sorted(found) == INPUTS


def test_photos_that_were_hashed_need_not_be_hashed_to_be_scored(
    filled: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("wintersward.photos.hashes._SETTLED_NS", 0)
    shutil.rmtree(filled / ".cache")
    photo, sheet = filled / "photos/2026-03-10/101.jpg", filled / "sheets/pulls.csv"
    told = inputs(filled, [STAGE], {})["files"]
    known = KeptHashes(filled / ".cache")
    assert known.get(photo) == told["photos/2026-03-10/101.jpg"]["sha256"] == sha256(photo)
    assert known.get(sheet) is None
    photo.write_text("another picture")
    assert KeptHashes(filled / ".cache").get(photo) is None
    # What was kept is never what a run is told to be made from.
    assert inputs(filled, [STAGE], {})["files"]["photos/2026-03-10/101.jpg"]["bytes"] == 15


def test_without_photos_nothing_is_kept(study: Path) -> None:
    inputs(study, [STAGE], {})
    assert not (study / ".cache").exists()


def test_every_input_is_told_by_its_hash(filled: Path) -> None:
    told = inputs(filled, [STAGE], {"a": 1})
    assert sorted(told["files"]) == INPUTS
    path = filled / "sheets" / "pulls.csv"
    assert told["files"]["sheets/pulls.csv"] == {"bytes": 16, "sha256": sha256(path)}
    assert told["parameters"] == {"a": 1}
    assert list(told["versions"]) == list(LIBRARIES) == sorted(LIBRARIES)
    assert "not installed" not in told["versions"].values()
    json.dumps(told, allow_nan=False)


def test_nothing_of_this_computer_or_moment_is_in_it(filled: Path, tmp_path: Path) -> None:
    moved = tmp_path / "elsewhere"
    shutil.copytree(filled, moved)
    os.utime(moved / "trial.yaml", (1, 1))
    assert inputs(filled, [STAGE], {}) == inputs(moved, [STAGE], {})


def test_the_package_s_own_notebook(filled: Path) -> None:
    told = inputs(filled, [STAGE], {})
    shipped = template_folder("notebooks") / STAGE.file
    assert told["templates"][NOTEBOOK]["sha256"] == sha256(shipped)
    assert told["templates"][NOTEBOOK]["from"] == "wintersward"
    assert told["own_copies"] == []


def test_a_changed_notebook_is_named(filled: Path) -> None:
    shipped = template_folder("notebooks") / STAGE.file
    own = filled / "notebooks" / STAGE.file
    own.parent.mkdir()
    content = json.loads(shipped.read_text(encoding="utf-8"))
    content["metadata"]["title"] = "saved by JupyterLab"
    own.write_text(json.dumps(content))
    told = inputs(filled, [STAGE], {})
    assert told["templates"][NOTEBOOK]["from"] == "the study's own copy"
    assert told["own_copies"] == []
    content["cells"][-1]["source"] = "pass"
    own.write_text(json.dumps(content))
    told = inputs(filled, [STAGE], {})
    assert told["own_copies"] == [NOTEBOOK]
    assert told["templates"][NOTEBOOK]["changed"] is True


def test_a_changed_page_is_named(filled: Path) -> None:
    shipped = template_folder("reports") / "study"
    own = filled / "templates" / "reports" / "study"
    own.mkdir(parents=True)
    shutil.copy(shipped / "style.css", own)
    assert inputs(filled, [], {})["own_copies"] == []
    (own / "style.css").write_text("body { color: red }")
    (own / "more.css").write_text("")
    told = inputs(filled, [], {})
    names = ["templates/reports/study/more.css", "templates/reports/study/style.css"]
    assert told["own_copies"] == names
    assert told["templates"][names[1]]["sha256"] == sha256(own / "style.css")
    assert told["templates"]["templates/reports/study/index.html.j2"]["changed"] is False


def test_what_changed_meanwhile(filled: Path) -> None:
    before, hashes = stamps(filled), inputs(filled, [STAGE], {})["files"]
    assert changed_inputs(filled, before, hashes) == []
    os.utime(filled / "trial.yaml", (1, 1))
    assert changed_inputs(filled, before, hashes) == []
    (filled / "sheets" / "pulls.csv").write_text("other")
    (filled / "sheets" / "more.csv").write_text("new")
    (filled / "photos" / "index.csv").unlink()
    (filled / "report.html").write_text("no input")
    assert changed_inputs(filled, before, hashes) == [
        "photos/index.csv",
        "sheets/more.csv",
        "sheets/pulls.csv",
    ]


def test_circumstances() -> None:
    zone = dt.timezone(dt.timedelta(hours=-5))
    start = dt.datetime(2026, 3, 24, 9, 30, 15, 999, zone)
    told = circumstances("007", start, start + dt.timedelta(seconds=61), {"10-photos": 60.1234})
    assert told["run"] == "007"
    assert told["started"] == "2026-03-24T09:30:15-05:00"
    assert told["ended"] == "2026-03-24T09:31:16-05:00"
    assert told["seconds"] == {"10-photos": 60.12}
    assert set(told) == {"run", "started", "ended", "seconds", "host", "platform", "python"}


def test_only_libraries_that_are_imported_are_told() -> None:
    package = Path(provenance.__file__).parents[1]
    modules = set()
    for path in package.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                modules |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                modules.add(node.module.split(".")[0])
    homes = importlib.metadata.packages_distributions()
    found = {name.lower() for module in modules for name in homes.get(module, [])}
    imported = {name.replace("_", "-") for name in found}
    assert set(LIBRARIES) - imported == {"wintersward"}


def test_what_computes_sun_and_light_is_told() -> None:
    assert "pvlib" in LIBRARIES
