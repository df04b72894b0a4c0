"""Every stage has its notebook, all with the same frame; tests/test_tree.py tells the rest."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest

from wintersward.paths import template_folder
from wintersward.runs.stages import DEMONSTRATION_STAGES, STAGES

PATHS = sorted(template_folder("notebooks").glob("*.ipynb"))
TITLES = {
    "10-photos": "Photos",
    "20-climate": "Temperature, light and risk",
    "30-description": "Description",
    "30-statistics": "Statistics",
    "40-decisions": "Decisions",
    "50-report": "Report",
}


def test_every_stage_has_its_notebook_and_every_notebook_a_stage() -> None:
    stages = {stage.name for stage in (*STAGES, *DEMONSTRATION_STAGES)}
    assert stages == {path.stem for path in PATHS} == set(TITLES)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_it_has_its_title_and_two_parameters(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    assert notebook.metadata["title"] == TITLES[path.stem]
    tagged = [c.source for c in notebook.cells if "parameters" in c.metadata.get("tags", [])]
    assert tagged == ['study = ""\nrun_folder = ""']
    assert all(len(cell.source.splitlines()) <= 10 for cell in notebook.cells)
