from __future__ import annotations

from pathlib import Path

import pytest

from wintersward.errors import WinterswardError
from wintersward.paths import template_folder
from wintersward.runs.notebooks import prepared
from wintersward.runs.stages import REPORT, STAGES, Stage, own_page


def test_the_numbers_give_the_order() -> None:
    names = [stage.name for stage in STAGES]
    assert names == sorted(names)
    assert names[-1] == REPORT.name == "50-report"


@pytest.mark.parametrize("stage", STAGES, ids=lambda stage: stage.name)
def test_every_stage_takes_what_the_runner_passes(stage: Stage, tmp_path: Path) -> None:
    path = stage.notebook(tmp_path)
    assert path == template_folder("notebooks") / stage.file
    notebook = prepared(path, {"study": "a", "run_folder": "b"}, stage.file)
    assert len(notebook.cells) > 1


def test_the_own_copy_of_a_study_goes_first(tmp_path: Path) -> None:
    own = tmp_path / "notebooks" / REPORT.file
    own.parent.mkdir()
    own.write_text("{}")
    assert REPORT.notebook(tmp_path) == own


def test_a_stage_without_a_notebook(tmp_path: Path) -> None:
    with pytest.raises(WinterswardError, match="no template '60-nothing.ipynb'"):
        Stage("60-nothing", "nothing").notebook(tmp_path)


def put(path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("{{ mistake")


def test_a_stage_is_the_study_s_own_by_its_notebook(study: Path) -> None:
    assert not any(stage.own(study) for stage in STAGES)
    put(study / "notebooks" / STAGES[0].file)
    assert [stage.own(study) for stage in STAGES] == [True, False, False]


def test_the_report_is_the_study_s_own_by_its_page_too(study: Path) -> None:
    put(study / "templates" / "reports" / ".DS_Store")
    put(study / "templates" / "starter" / "trial.yaml")
    assert not own_page(study)
    put(study / "templates" / "reports" / "study" / "index.html.j2")
    assert own_page(study)
    assert [stage.own(study) for stage in STAGES] == [False, False, True]
    assert REPORT.own(study)
