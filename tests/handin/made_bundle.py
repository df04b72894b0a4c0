"""Bundles made by hand: a small study and a run of it, laid out, listed and packed."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import json
import shutil
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from wintersward import design
from wintersward.handin import verifying
from wintersward.handin.described_check import roles_told
from wintersward.handin.describing import describing, description_names
from wintersward.handin.holdings import ROLES, Holding
from wintersward.handin.rerunning import Rerun
from wintersward.handin.verifying import Verified
from wintersward.runs.files import read_json
from wintersward.runs.provenance import circumstances, input_files, inputs
from wintersward.runs.stages import STAGES, Stage
from wintersward.study import open_study
from wintersward.trial import read_definition

__all__ = ["PAGE", "PHOTOS", "Laid", "a_run", "a_source", "edit_json", "failures", "lay_out"]
__all__ += ["stand_in", "write_json", "written"]

PHOTOS = ("study/photos/2026-03-10/101_1.jpg", "study/photos/2026-03-10/102_1.jpg")

PAGE = """\
<html><body>
<h1>Covers on the Alder Road ground, 2026</h1>
<p>Fleece had <data title="primary.csv:2" value="11.04">11</data> points more</p>
<p>(<data title="primary.csv:2" value="4.2">4</data> to
<data title="primary.csv:2" value="17.9">18</data>).</p>
<img src="data:image/svg+xml;base64,PHN2Zy8+">
</body></html>
"""
TABLES: dict[str, tuple[list[str], dict[str, str], list[list[str]]]] = {
    "primary": (
        ["which", "left", "right"],
        {"which": "text", "left": "text", "right": "text", "difference": "number"}
        | {"lower": "number", "upper": "number", "units_left": "integer"},
        [
            ["as planned", "fleece", "open", "11.04", "4.2", "17.9", "6"],
            ["with excluded observations", "fleece", "open", "10.91", "4.1", "17.72", "6"],
        ],
    ),
    "means": (
        ["measure", "date", "level"],
        {"measure": "text", "date": "date", "level": "text", "mean": "number", "df": "number"},
        [
            ["green_cover", "2026-03-10", "fleece", "46.25", "10"],
            ["green_cover", "2026-03-10", "open", "35.5", ""],
            ["green_cover", "2026-03-24", "fleece", "71.04166667", "10"],
            ["green_cover", "2026-03-24", "open", "60", "10"],
        ],
    ),
}


def holding(folder: Path, path: Path, roles: Mapping[str, tuple[str, str]]) -> Holding:
    """Describe a file of a bundle."""
    name, told = path.relative_to(folder).as_posix(), _entry(path)
    role = roles.get(name, ("other", ROLES["other"]))
    return Holding(name, *role, told["bytes"], told["sha256"], path)


@dataclass(frozen=True)
class Laid:
    """A bundle that is not packed yet.

    Parameters
    ----------
    folder : Path
        With everything that the zip file will hold.
    left_out : dict
        As the inventory tells it.
    """

    folder: Path
    left_out: dict[str, Any]

    def listed(self) -> Laid:
        """Write the files that describe the others, and the inventory, for what is there."""
        for name in description_names():
            (self.folder / name).unlink(missing_ok=True)
        paths = sorted(path for path in self.folder.rglob("*") if path.is_file())
        roles = roles_told(self.folder, read_json(self.folder / "run" / "inputs.json"))
        held = [holding(self.folder, path, roles) for path in paths]
        gone = [Holding(n, "photo", "", e["bytes"], e["sha256"]) for n, e in self.left_out.items()]
        run = self.folder / "run"
        told = {
            "inputs": read_json(run / "inputs.json"),
            "provenance": read_json(run / "provenance.json"),
            "tables": read_json(run / "results" / "tables.json"),
        }
        trial = open_study(self.folder / "study")

        def read(name: str) -> str:
            return (self.folder / name).read_text(encoding="utf-8")

        for one in describing(trial, "001", held, gone, [], told, read):
            (self.folder / one.name).write_bytes(one.content)
        return self

    def hashed(self, name: str) -> None:
        """Write size and hash of one file into the inventory alone."""

        def change(held: dict[str, Any]) -> None:
            held["files"][name].update(_entry(self.folder / name))

        edit_json(self.folder / "inventory.json", change)

    def packed(self, more: Mapping[str, bytes] | None = None) -> Path:
        """Pack it into a zip file beside it; ``more`` is added whatever it is called."""
        target = self.folder.with_name(f"{self.folder.name}.zip")
        with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as held:
            for path in sorted(self.folder.rglob("*")):
                if path.is_file():
                    held.write(path, path.relative_to(self.folder).as_posix())
            for name, content in (more or {}).items():
                held.writestr(name, content)
        return target

    def change(self, name: str, before: str, after: str) -> None:
        """Change a text of one file, which must be there once."""
        path = self.folder / name
        text = path.read_bytes().decode("utf-8")
        assert text.count(before) == 1, (name, text.count(before))
        path.write_bytes(text.replace(before, after).encode("utf-8"))


def written(run: Path, page: str = PAGE) -> None:
    """Write tables, a picture, a notebook and the page of a run."""
    described = {}
    for name, (key, kinds, rows) in TABLES.items():
        (run / "results").mkdir(parents=True, exist_ok=True)
        with (run / "results" / f"{name}.csv").open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream, lineterminator="\n").writerows([list(kinds), *rows])
        columns = [{"name": n, "type": k, "unit": "", "text": n} for n, k in kinds.items()]
        described[name] = {"description": name, "key": key, "columns": columns}
    write_json(run / "results" / "tables.json", described)
    for name, text in {"figures/answer.svg": "<svg/>", "notebooks/50-report.ipynb": "{}"}.items():
        (run / name).parent.mkdir(parents=True, exist_ok=True)
        (run / name).write_text(text, encoding="utf-8")
    write_json(run / "figures" / "figures.json", {"answer": {"file": "answer.svg", "caption": ""}})
    (run / "report.html").write_bytes(page.encode("utf-8"))


def a_run(study: Path, number: str = "001", stages: tuple[Stage, ...] = STAGES) -> Path:
    """Write a run of a study as if it had been made just now."""
    run = study / "runs" / number
    written(run)
    where = {"study": "the study folder", "run_folder": "the folder of the run"}
    write_json(run / "inputs.json", inputs(study, stages, where))
    shutil.rmtree(study / ".cache", ignore_errors=True)
    start = dt.datetime(2026, 4, 20, 18, 22, tzinfo=dt.timezone(dt.timedelta(hours=-4)))
    told = circumstances(number, start, start + dt.timedelta(minutes=1), {"10-photos": 2.0})
    write_json(run / "provenance.json", told)
    return run


def lay_out(study: Path, run: Path, folder: Path, photos: bool = True) -> Laid:
    """Lay out the bundle of a run, listed."""
    left_out = {}
    for path in input_files(study):
        name = f"study/{path.relative_to(study).as_posix()}"
        if not photos and path.suffix == ".jpg":
            left_out[name] = {**_entry(path), "why": "photos left out on request"}
            continue
        _copy(path, folder / name)
    for path in sorted(run.rglob("*")):
        if path.is_file():
            inside = path.relative_to(run).as_posix()
            _copy(path, folder / (inside if inside.endswith(".html") else f"run/{inside}"))
    return Laid(folder, left_out).listed()


def a_source(study: Path) -> Path:
    """Bring plots, two photos and a sheet into a study, and a run."""
    definition, _ = read_definition(study)
    assert definition is not None
    design.write_plots(design.draw(definition), study / "plan" / "plots.csv")
    for number, name in enumerate(PHOTOS):
        path = study / name.removeprefix("study/")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"photo %d" % number)
    (study / "sheets").mkdir()
    (study / "sheets" / "pulls.csv").write_text("date,plot\n", encoding="utf-8")
    a_run(study)
    return study


def stand_in(made: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the rerun give what stands in a folder, whatever became of the bundle since."""
    stages = tuple(stage.name for stage in STAGES)

    def rerun(_study: Path, _run: Path, left_out: Mapping[str, str], _tell: object) -> Rerun:
        return Rerun(made, stages[1:], ("means",)) if left_out else Rerun(made, stages)

    monkeypatch.setattr(verifying, "rerun", rerun)


def failures(found: Verified) -> list[str]:
    return [str(line) for line in found.lines if not line.passed]


def edit_json(path: Path, change: Callable[[dict[str, Any]], object]) -> None:
    held = json.loads(path.read_text(encoding="utf-8"))
    change(held)
    write_json(path, held)


def write_json(path: Path, content: Any) -> None:
    text = json.dumps(content, indent=2, sort_keys=True, ensure_ascii=False)
    path.write_bytes((text + "\n").encode("utf-8"))


def _copy(path: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(path, target)


def _entry(path: Path) -> dict[str, Any]:
    content = path.read_bytes()
    return {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
