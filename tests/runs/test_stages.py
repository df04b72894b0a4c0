from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.errors import WinterswardError
from wintersward.paths import template_folder
from wintersward.runs.execution import Executed
from wintersward.runs.notebooks import prepared
from wintersward.runs.runner import run
from wintersward.runs.stages import (
    DEMONSTRATION_STAGES,
    REPORT,
    STAGES,
    Stage,
    own_page,
    stages_of,
    unused_copies,
)
from wintersward.trial import read_definition

EVERY = tuple(dict.fromkeys((*STAGES, *DEMONSTRATION_STAGES)))
SPLIT = "kind: split plot\n  whole_plot: cover\n  subplot: aeration\n  blocks: 4"


@pytest.mark.parametrize("stages", [STAGES, DEMONSTRATION_STAGES], ids=["trial", "demonstration"])
def test_the_numbers_give_the_order(stages: tuple[Stage, ...]) -> None:
    names = [stage.name for stage in stages]
    assert names == sorted(names)
    assert names[-1] == REPORT.name == "50-report"


def test_every_notebook_is_a_stage_and_every_stage_has_one() -> None:
    files = {path.name for path in template_folder("notebooks").glob("[0-9]*.ipynb")}
    assert files == {stage.file for stage in EVERY}


@pytest.mark.parametrize("stage", EVERY, ids=lambda stage: stage.name)
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
    assert [stage.own(study) for stage in STAGES] == [True, False, False, False, False]


def test_the_report_is_the_study_s_own_by_its_page_too(study: Path) -> None:
    put(study / "templates" / "reports" / ".DS_Store")
    put(study / "templates" / "starter" / "trial.yaml")
    assert not own_page(study)
    put(study / "templates" / "reports" / "study" / "index.html.j2")
    assert own_page(study)
    assert [stage.own(study) for stage in STAGES] == [False, False, False, False, True]
    assert REPORT.own(study)


def shown(study: Path) -> Path:
    """Make the study a demonstration of its covers and tines."""
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8").replace("    applied: 2026-03-12\n", "")
    assert SPLIT in text
    path.write_text(text.replace(SPLIT, "kind: demonstration"), encoding="utf-8")
    return study


def names(stages: tuple[Stage, ...]) -> list[str]:
    return [stage.name for stage in stages]


def test_a_demonstration_is_described_and_a_trial_is_analysed(study: Path) -> None:
    tested, _ = read_definition(study)
    described, problems = read_definition(shown(study))
    assert tested is not None
    assert described is not None, problems
    assert names(stages_of(tested)) == [
        "10-photos",
        "20-climate",
        "30-statistics",
        "40-decisions",
        "50-report",
    ]
    assert names(stages_of(described)) == [
        "10-photos",
        "20-climate",
        "30-description",
        "40-decisions",
        "50-report",
    ]


def test_a_copy_that_no_run_uses_is_told(study: Path) -> None:
    for name in ("10-photos", "30-statistics", "30-description", "40-our-own"):
        put(study / "notebooks" / f"{name}.ipynb")
    assert unused_copies(study, STAGES) == ["notebooks/30-description.ipynb"]
    assert unused_copies(study, DEMONSTRATION_STAGES) == ["notebooks/30-statistics.ipynb"]
    assert unused_copies(study / "plan", STAGES) == []


@pytest.fixture
def quick(study: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[], list[str]]:
    """Run the study without kernels, and give what it said."""

    def execute(stage: Stage, _study: Path, folder: Path, _passed: object) -> Executed:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / stage.file).write_text("{}")
        return Executed([], None)

    def render(_study: Path, place: Path) -> None:
        (place / "report.html").write_text("page")

    (study / "plan").mkdir()
    (study / "plan" / "plots.csv").write_text("plot\n101\n")
    monkeypatch.setattr("wintersward.study.record_problems", lambda _: [])
    monkeypatch.setattr("wintersward.runs.execution.execute", execute)
    monkeypatch.setattr("wintersward.runs.runner.render_pages", render)

    def go() -> list[str]:
        lines: list[str] = []
        run(study, lines.append)
        return lines

    return go


def test_a_run_has_the_stages_of_its_layout(study: Path, quick: Callable[[], list[str]]) -> None:
    put(study / "notebooks" / "30-statistics.ipynb")
    assert [line for line in quick() if "30-" in line] == [
        "[3/5] 30-statistics: analyse the observations"
    ]
    shown(study)
    assert [line for line in quick() if "30-" in line] == [
        "not used, since layout.kind is 'demonstration': notebooks/30-statistics.ipynb; "
        "its stages are: 10-photos, 20-climate, 30-description, 40-decisions, 50-report",
        "[3/5] 30-description: describe what was seen",
    ]
    made = study / "runs" / "002" / "notebooks"
    assert sorted(path.name for path in made.iterdir()) == [
        "10-photos.ipynb",
        "20-climate.ipynb",
        "30-description.ipynb",
        "40-decisions.ipynb",
        "50-report.ipynb",
    ]
