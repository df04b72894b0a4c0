"""Bundles that somebody forged with care, run again for real: each is found out."""

from __future__ import annotations

import csv
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

import wintersward
from e2e.example import CHECKOUT
from e2e.repacking import digits, files_of, repacked
from e2e.small_trial import small_trial
from wintersward.handin.bundle import bundle
from wintersward.handin.verifying import Verified, verify
from wintersward.photos.cache import _check as check_of

pytestmark = pytest.mark.e2e


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small trial and its run."""
    folder = small_trial(tmp_path_factory.mktemp("forged") / "small trial")
    wintersward.run(folder)
    return folder


@pytest.fixture(scope="module")
def handed(study: Path) -> Path:
    return bundle(study)


@pytest.fixture
def marker(tmp_path: Path) -> Iterator[Path]:
    """A file that a program of the bundle would write; nobody may have written it."""
    yield tmp_path / "it ran"
    assert not (tmp_path / "it ran").exists()


def failed(found: Verified) -> list[str]:
    return [str(line) for line in found.lines if not line.passed]


def program(marker: Path) -> bytes:
    return f"open({str(marker)!r}, 'w').write('x')\n".encode()


def test_no_program_of_a_bundle_runs(study: Path, tmp_path: Path, marker: Path) -> None:
    """A module beside the kernel, and what Python itself would import from a home."""
    place = bundle_without_photos(study, tmp_path)
    names = {
        "study/runs/001/notebooks/wintersward.py",
        "home/.local/lib/python3.11/site-packages/usercustomize.py",
    }
    forged = repacked(
        place, tmp_path / "b.zip", lambda files: files.update(dict.fromkeys(names, program(marker)))
    )
    found = verify(forged)
    assert failed(found) == [
        "FAIL inventory: home: no bundle holds it",
        "FAIL inputs: study/runs/001/notebooks/wintersward.py: no run reads it",
    ]
    assert "NOT compared" not in found.said


def bundle_without_photos(study: Path, folder: Path) -> Path:
    """Pack another bundle of the run; the one that lies there is not overwritten."""
    there = study / "bundle-001.zip"
    aside = there.rename(folder / "aside.zip") if there.exists() else None
    made = bundle(study, photos=False).rename(folder / "without.zip")
    if aside:
        aside.rename(there)
    return made


def test_a_notebook_slipped_in_is_not_executed(handed: Path, tmp_path: Path, marker: Path) -> None:
    name = "30-statistics.ipynb"
    notebook = json.loads((CHECKOUT / "templates" / "notebooks" / name).read_text("utf-8"))
    cell = next(one for one in notebook["cells"] if "parameters" in str(one["metadata"]))
    cell["source"] = [program(marker).decode(), *cell["source"]]

    def slip(files: dict[str, bytes]) -> None:
        files[f"study/notebooks/{name}"] = json.dumps(notebook).encode()

    assert failed(verify(repacked(handed, tmp_path / "b.zip", slip))) == [
        f"FAIL inputs: study/notebooks/{name}: a copy of the study's own that the run did not use"
    ]

    def tell(files: dict[str, bytes]) -> None:
        slip(files)
        told = json.loads(files["run/inputs.json"])
        told["templates"][f"notebooks/{name}"].update(
            {"from": "the study's own copy", "sha256": digits(files[f"study/notebooks/{name}"])}
        )
        files["run/inputs.json"] = json.dumps(told).encode()

    (line,) = failed(verify(repacked(handed, tmp_path / "c.zip", tell)))
    assert line.startswith(
        f"FAIL own copies: notebooks/{name}: programs of whoever made the bundle; not executed, so "
        "that nothing was run again; read them, then: "
    )
    assert line.endswith("c.zip --with-own-copies")


def test_kept_scores_that_were_forged_decide_nothing(study: Path, tmp_path: Path) -> None:
    forged = Path(
        shutil.copytree(
            study, tmp_path / "trial", ignore=shutil.ignore_patterns("runs", "bundle-*")
        )
    )
    with (forged / "plan" / "plots.csv").open(encoding="utf-8", newline="") as stream:
        covers = {row["plot"]: row["cover"] for row in csv.DictReader(stream)}
    photos = {digits(path.read_bytes()): path for path in forged.glob("photos/2026-03-24/*.jpg")}
    for path in (forged / ".cache").rglob("*.json"):
        kept = json.loads(path.read_text(encoding="utf-8"))
        score = kept.get("score", {})
        photo = photos.get(score.get("sha256", ""))
        if photo and covers[photo.name.partition("_")[0]] == "fleece":
            score["green_pixels"] = int(score["green_pixels"] + 0.2 * score["pixels"])
            score["cover"] = 100 * score["green_pixels"] / score["pixels"]
            kept["check"] = check_of(score)
            path.write_text(json.dumps(kept, indent=1, sort_keys=True), encoding="utf-8")
    run = wintersward.run(forged)
    assert answer(run) > answer(study / "runs" / "001") + 15

    def bring(files: dict[str, bytes]) -> None:
        for path in (forged / ".cache").rglob("*"):
            if path.is_file():
                files[f"study/{path.relative_to(forged).as_posix()}"] = path.read_bytes()

    told = failed(verify(repacked(bundle(forged), tmp_path / "b.zip", bring)))
    assert told[0].startswith("FAIL inputs: study/.cache/")
    assert any(line.startswith("FAIL table photo_scores: ") for line in told)
    assert any(line.startswith("FAIL table primary: ") for line in told)


def answer(run: Path) -> float:
    with (run / "results" / "primary.csv").open(encoding="utf-8", newline="") as stream:
        return float(next(csv.DictReader(stream))["difference"])


def test_pictures_and_notebooks_are_compared_on_another_computer(
    handed: Path, tmp_path: Path
) -> None:
    elsewhere = json.loads(files_of(handed)["run/provenance.json"])
    elsewhere["host"] = "turf-office-pc"

    def away(files: dict[str, bytes]) -> None:
        files["run/provenance.json"] = json.dumps(elsewhere).encode()

    found = verify(repacked(handed, tmp_path / "b.zip", away))
    assert failed(found) == []
    assert found.said == f"verified: all {len(found.lines)} lines passed"

    def forge(files: dict[str, bytes]) -> None:
        away(files)
        page = files["report.html"].decode()
        drawn = re.findall(r'src="data:image/svg[^"]*"', page)
        files["report.html"] = page.replace(drawn[1], drawn[2]).encode()
        files["run/figures/answer.svg"] = files["run/figures/plot_map.svg"]
        empty = {"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}
        files["run/notebooks/30-statistics.ipynb"] = json.dumps(empty).encode()

    told = failed(verify(repacked(handed, tmp_path / "c.zip", forge)))
    assert any(
        re.fullmatch(r"FAIL report\.html: picture \d+ is .*; made anew, .*", t) for t in told
    )
    assert "FAIL pictures: run/figures/answer.svg: it is not what comes out anew" in told
    assert told[-1] == (
        "FAIL notebooks: run/notebooks/30-statistics.ipynb: its cells are not those that were "
        "executed anew"
    )


def test_one_hash_switches_no_check_off(handed: Path, tmp_path: Path) -> None:
    def forge(files: dict[str, bytes]) -> None:
        told = json.loads(files["run/inputs.json"])
        style = next(name for name in told["templates"] if name.endswith("study/style.css"))
        told["templates"][style]["sha256"] = "0" * 64
        files["run/inputs.json"] = json.dumps(told).encode()
        tied = re.compile(rb'(<data [^>]*title="primary\.csv:2"[^>]*>)[^<]*(</data>)')
        files["report.html"] = tied.sub(rb"\g<1>99\2", files["report.html"])

    told = failed(verify(repacked(handed, tmp_path / "b.zip", forge)))
    assert told[0].startswith("FAIL versions: run/inputs.json tells another templates/reports/")
    assert any("primary.csv:2 is shown as '99'; made anew, as " in line for line in told)


def test_a_photo_changed_with_every_list_is_found_by_its_scores(
    handed: Path, tmp_path: Path
) -> None:
    def forge(files: dict[str, bytes]) -> None:
        one, other = sorted(name for name in files if name.startswith("study/photos/2026-03-24"))[
            :2
        ]
        files[one] = files[other] + b"\0"
        told = json.loads(files["run/inputs.json"])
        told["files"][one.removeprefix("study/")].update(
            bytes=len(files[one]), sha256=digits(files[one])
        )
        files["run/inputs.json"] = json.dumps(told).encode()

    told = failed(verify(repacked(handed, tmp_path / "b.zip", forge)))
    assert any(line.startswith("FAIL table photo_scores: ") for line in told)
