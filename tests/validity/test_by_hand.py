"""Every stage of a small trial, executed without the runner: by plain papermill, and by hand."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import wintersward
from e2e.example import CHECKOUT
from e2e.small_trial import small_trial
from wintersward.runs.stages import STAGES

pytestmark = pytest.mark.e2e

NOTEBOOKS = CHECKOUT / "templates" / "notebooks"
PLAIN = {
    **os.environ,
    "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
}


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A run of a small trial, by the runner."""
    return wintersward.run(small_trial(tmp_path_factory.mktemp("by hand") / "small trial"))


def tables(run: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (run / "results").glob("*.csv")}


def test_each_stage_runs_by_plain_papermill(run: Path, tmp_path: Path) -> None:
    study, made = run.parents[1], tmp_path / "by papermill"
    for stage in STAGES:
        command = [sys.executable, "-m", "papermill", "--no-progress-bar", "-k", "python3"]
        command += [str(NOTEBOOKS / stage.file), str(tmp_path / stage.file)]
        command += ["-p", "study", str(study), "-p", "run_folder", str(made)]
        subprocess.run(command, check=True, capture_output=True, env=PLAIN)
    assert "primary.csv" in tables(run)
    assert tables(made) == tables(run)


def test_each_stage_runs_by_hand_in_the_study_folder(run: Path) -> None:
    study = run.parents[1]
    (study / "notebooks").mkdir()
    for stage in STAGES:
        own = shutil.copy(NOTEBOOKS / stage.file, study / "notebooks")
        command = [sys.executable, "-m", "nbconvert", "--to", "notebook", "--execute", "--stdout"]
        subprocess.run([*command, own], check=True, capture_output=True, env=PLAIN, cwd=study)
    assert tables(study / "runs" / ".by-hand") == tables(run)
