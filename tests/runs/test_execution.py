from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import nbformat
import pytest

from wintersward.runs import execution
from wintersward.runs.execution import Executed, execute
from wintersward.runs.kernels import surroundings
from wintersward.runs.stages import Stage

Make = Callable[..., Stage]


@pytest.fixture
def place(study: Path) -> Path:
    return study / "runs" / ".unfinished-001"


@pytest.fixture
def run(study: Path, place: Path) -> Callable[[Stage], Executed]:
    def one(stage: Stage) -> Executed:
        passed = {"study": str(study), "run_folder": str(place)}
        with surroundings():
            return execute(stage, study, place / "notebooks", passed)

    return one


def saved(place: Path, name: str) -> dict[str, Any]:
    content: dict[str, Any] = json.loads((place / "notebooks" / name).read_text(encoding="utf-8"))
    return content


def names(place: Path) -> list[str]:
    return sorted(path.name for path in (place / "notebooks").iterdir())


def test_a_sound_stage(
    stage: Make, run: Callable[[Stage], Executed], place: Path, study: Path
) -> None:
    assert run(stage("sound")) == Executed([], None)
    # The parameters arrived: the stage wrote the name of the study where the run is.
    assert (place / "results" / "given.csv").read_text() == f"study\n{study.name}\n"
    assert names(place) == ["sound.ipynb"]
    raw = (place / "notebooks" / "sound.ipynb").read_bytes()
    assert b"\r" not in raw
    assert str(study).encode() not in raw
    cells = saved(place, "sound.ipynb")["cells"]
    assert [cell["id"] for cell in cells] == [f"sound-{n}" for n in range(1, 6)]
    assert cells[-1]["outputs"][0]["data"] == {"text/plain": ["2"]}


@pytest.mark.parametrize("name", ["no_parameters", "other_parameters", "other_language"])
def test_a_notebook_that_would_not_get_its_parameters_is_not_started(
    stage: Make, run: Callable[[Stage], Executed], place: Path, name: str
) -> None:
    failure = run(stage(name)).failure
    assert failure is not None
    assert failure.kind == "study"
    assert failure.reason.startswith(f"notebooks/{name}.ipynb: ")
    assert names(place) == []


def test_a_failing_cell(stage: Make, run: Callable[[Stage], Executed], place: Path) -> None:
    failure = run(stage("failing")).failure
    assert failure is not None
    assert failure.kind == "own copy"
    assert failure.place == "stage failing, cell 3 of 4 (# the first plot)"
    assert failure.reason == "IndexError: list index out of range"
    assert names(place) == ["failing.failed.ipynb"]
    cells = saved(place, "failing.failed.ipynb")["cells"]
    assert len(cells) == 4
    assert cells[2]["outputs"][0]["ename"] == "IndexError"
    assert cells[3]["execution_count"] is None


def test_a_problem_of_the_study_is_told_whole(
    stage: Make, run: Callable[[Stage], Executed]
) -> None:
    failure = run(stage("study_problem")).failure
    assert failure is not None
    assert failure.kind == "study"
    assert failure.reason == (
        "sheets/pulls.csv, row 3, column plot: found '999'; allowed: a plot\n"
        "sheets/pulls.csv, row 5, column force: found 'x'; allowed: a number"
    )


def test_a_full_disk_is_no_fault_of_a_notebook(
    stage: Make, run: Callable[[Stage], Executed]
) -> None:
    failure = run(stage("full_disk")).failure
    assert failure is not None
    assert failure.kind == "disk"
    assert failure.reason == "OSError: [Errno 28] No space left on device: 'given.csv'"


def test_a_dying_kernel(
    stage: Make,
    run: Callable[[Stage], Executed],
    place: Path,
    capfd: pytest.CaptureFixture[str],
) -> None:
    failure = run(stage("dying")).failure
    assert failure is not None
    assert failure.kind == "memory"
    assert failure.place == "stage dying, cell 3 of 3 (os._exit(3))"
    assert names(place) == ["dying.failed.ipynb"]
    assert capfd.readouterr() == ("", "")


def test_a_cell_that_takes_too_long(
    stage: Make, run: Callable[[Stage], Executed], place: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    failure = run(stage("slow", 1)).failure
    assert failure is not None
    assert failure.kind == "time"
    assert failure.place == "stage slow, cell 2 of 2 (import time)"
    assert failure.reason == "the cell took longer than 1 s"
    assert names(place) == ["slow.failed.ipynb"]
    assert capfd.readouterr() == ("", "")


def test_a_cell_that_leaves_is_no_good_end(
    stage: Make, run: Callable[[Stage], Executed], place: Path
) -> None:
    failure = run(stage("leaving")).failure
    assert failure is not None
    assert failure.reason == "SystemExit"
    assert failure.cell == 2
    assert names(place) == ["leaving.failed.ipynb"]


def test_what_is_written_to_stderr_is_told_and_not_stored(
    stage: Make, run: Callable[[Stage], Executed], place: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    done = run(stage("noisy"))
    assert done.failure is None
    assert len(done.noise) == 1
    assert done.noise[0].startswith("cell 2: cell:4: UserWarning: something is old\n")
    assert done.noise[0].endswith("half done")
    assert [cell["outputs"] for cell in saved(place, "noisy.ipynb")["cells"]] == [[], []]
    assert capfd.readouterr() == ("", "")


def test_the_kernel_that_was_saved_is_not_looked_for(
    stage: Make, run: Callable[[Stage], Executed], place: Path
) -> None:
    assert run(stage("other_kernel")).failure is None
    assert saved(place, "other_kernel.ipynb")["metadata"]["kernelspec"]["name"] == "python3"


def test_the_person_s_own_settings_stay_outside(
    stage: Make,
    run: Callable[[Stage], Executed],
    place: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # A kernel of the same name that the person installed, and start-up files of their own.
    kernel = tmp_path / "jupyter" / "kernels" / "python3"
    kernel.mkdir(parents=True)
    (kernel / "kernel.json").write_text(
        json.dumps({"argv": ["false"], "display_name": "Mine", "language": "python"})
    )
    startup = tmp_path / "ipython" / "profile_default" / "startup"
    startup.mkdir(parents=True)
    (startup / "00.py").write_text("raise SystemExit('my own settings')")
    (tmp_path / "start.py").write_text("raise SystemExit('my own settings')")
    monkeypatch.setenv("JUPYTER_DATA_DIR", str(tmp_path / "jupyter"))
    monkeypatch.setenv("JUPYTER_PATH", str(tmp_path / "jupyter"))
    monkeypatch.setenv("JUPYTER_PREFER_ENV_PATH", "0")
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    monkeypatch.setenv("PYTHONSTARTUP", str(tmp_path / "start.py"))
    assert run(stage("surroundings")) == Executed([], None)
    outputs = saved(place, "surroundings.ipynb")["cells"][1]["outputs"]
    assert outputs[0]["text"] == ["['1', '1', '0', None] True\n"]


def test_another_python_is_refused(
    stage: Make,
    run: Callable[[Stage], Executed],
    place: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    check = execution.check_cell()
    check.source = check.source.replace("sys.prefix", "'/elsewhere'")
    monkeypatch.setattr(execution, "check_cell", lambda: check)
    failure = run(stage("sound")).failure
    assert failure is not None
    assert (failure.kind, failure.cell) == ("kernel", 0)
    assert "is the Python in /elsewhere with wintersward" in failure.reason
    assert not (place / "results").exists()


@pytest.mark.parametrize(
    ("error", "kind", "reason"),
    [
        (OSError(28, "No space left on device"), "disk", "OSError: [Errno 28] No space left"),
        (RuntimeError("Kernel died before replying"), "kernel", "RuntimeError: Kernel died"),
        (KeyboardInterrupt(), "stopped", "stopped from the keyboard"),
    ],
)
def test_what_happens_before_the_first_cell(
    stage: Make,
    run: Callable[[Stage], Executed],
    place: Path,
    monkeypatch: pytest.MonkeyPatch,
    error: BaseException,
    kind: str,
    reason: str,
) -> None:
    def fail(*_: object) -> None:
        raise error

    monkeypatch.setattr(execution, "_papermill", fail)
    failure = run(stage("sound")).failure
    assert failure is not None
    assert (failure.kind, failure.cell) == (kind, 0)
    assert failure.reason.startswith(reason)
    kept = nbformat.read(str(place / "notebooks" / "sound.failed.ipynb"), as_version=4)
    assert len(kept.cells) == 5


@pytest.mark.parametrize("looked_at", [True, False])
def test_a_bar_is_for_who_looks_at_a_terminal(
    monkeypatch: pytest.MonkeyPatch, looked_at: bool
) -> None:
    monkeypatch.setattr(execution.sys.stderr, "isatty", lambda: looked_at)
    bar = execution._bar(Stage("sound", "try"))
    assert bool(bar) is looked_at
    assert not isinstance(bar, dict) or (bar["desc"], bar["leave"]) == ("sound", False)
