from __future__ import annotations

import json
import os
import subprocess
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from jinja2 import TemplateNotFound

from wintersward import study as study_module
from wintersward.errors import Problem, WinterswardError
from wintersward.runs import runner
from wintersward.runs.execution import Executed
from wintersward.runs.failure import Failure, StageFailed
from wintersward.runs.runner import NOISE, run, run_stages
from wintersward.runs.stages import REPORT, Stage

Make = Callable[..., Stage]


def inside(folder: Path) -> list[str]:
    return sorted(
        path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()
    )


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in inside(folder)}


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Let stages end at once, well or otherwise, without a kernel."""

    def set_up(failure: Failure | None = None, noise: tuple[str, ...] = ()) -> None:
        def execute(stage: Stage, _study: Path, folder: Path, _passed: object) -> Executed:
            folder.mkdir(parents=True, exist_ok=True)
            ending = ".failed.ipynb" if failure else ".ipynb"
            (folder / f"{stage.name}{ending}").write_text("{}")
            return Executed(list(noise), failure)

        monkeypatch.setattr("wintersward.runs.execution.execute", execute)

    return set_up


class TestStages:
    def test_two_runs_give_the_same_bytes_outside_of_provenance(
        self, study: Path, stage: Make
    ) -> None:
        stages = [stage("sound")]
        first, second = run_stages(study, stages), run_stages(study, stages)
        assert (first.name, second.name) == ("001", "002")
        one, two = contents(first), contents(second)
        assert list(one) == [
            "inputs.json",
            "notebooks/sound.ipynb",
            "provenance.json",
            "results/given.csv",
        ]
        del one["provenance.json"], two["provenance.json"]
        assert one == two

    def test_provenance_tells_when_and_how_long(
        self, study: Path, stage: Make, quick: Callable[..., None]
    ) -> None:
        quick()
        made = run_stages(study, [stage("sound")])
        told = json.loads((made / "provenance.json").read_text(encoding="utf-8"))
        assert told["run"] == "001"
        assert list(told["seconds"]) == ["sound"]

    def test_each_stage_is_named_once(
        self, study: Path, stage: Make, quick: Callable[..., None]
    ) -> None:
        quick()
        lines: list[str] = []
        run_stages(study, [stage("sound"), stage("noisy")], lines.append)
        assert lines == ["[1/2] sound: try sound", "[2/2] noisy: try noisy"]

    def test_what_a_stage_wrote_to_stderr_is_told_and_kept(
        self, study: Path, stage: Make, quick: Callable[..., None]
    ) -> None:
        quick(noise=("cell 2: UserWarning: old\n  warn()", "cell 5: half done"))
        lines: list[str] = []
        made = run_stages(study, [stage("noisy")], lines.append)
        assert (made / NOISE).read_text(encoding="utf-8") == (
            "noisy, cell 2: UserWarning: old\n  warn()\nnoisy, cell 5: half done\n"
        )
        assert lines[1:] == [
            f"      noisy warns, cell 2: UserWarning: old (runs/001/{NOISE})",
            f"      noisy warns, cell 5: half done (runs/001/{NOISE})",
        ]

    def test_what_a_failed_stage_wrote_is_told_where_it_is(
        self, study: Path, stage: Make, quick: Callable[..., None]
    ) -> None:
        quick(Failure("noisy", "fault", "x"), noise=("cell 5: half done",))
        lines: list[str] = []
        with pytest.raises(StageFailed):
            run_stages(study, [stage("noisy")], lines.append)
        assert lines[1:] == [f"      noisy warns, cell 5: half done (runs/.unfinished-001/{NOISE})"]
        assert (study / "runs" / ".unfinished-001" / NOISE).is_file()

    def test_a_failing_stage_leaves_an_unfinished_run_alone(
        self, study: Path, stage: Make, quick: Callable[..., None]
    ) -> None:
        quick(Failure("failing", "fault", "IndexError: no row", 3, 4, "a = rows[0]"))
        with pytest.raises(StageFailed, match="cell 3 of 4.*IndexError: no row") as caught:
            run_stages(study, [stage("failing"), stage("sound")])
        assert caught.value.folder == "runs/.unfinished-001"
        assert inside(study / "runs") == [
            ".unfinished-001/failure.txt",
            ".unfinished-001/inputs.json",
            ".unfinished-001/notebooks/failing.failed.ipynb",
        ]
        text = (study / "runs" / ".unfinished-001" / "failure.txt").read_text(encoding="utf-8")
        assert "stage failing, cell 3 of 4 (a = rows[0])" in text

    def test_the_finish_sees_the_run_before_it_is_complete(
        self, study: Path, stage: Make, quick: Callable[..., None]
    ) -> None:
        quick()
        seen: list[Path] = []

        def finish(of: Path, place: Path) -> None:
            seen.extend([of, place])
            (place / "report.html").write_text("page")

        made = run_stages(study, [stage("sound")], finish=finish)
        assert seen == [study, study / "runs" / ".unfinished-001"]
        assert (made / "report.html").read_text() == "page"
        assert not (made / "failure.txt").exists()

    @pytest.mark.parametrize(
        ("error", "raised", "said"),
        [
            (WinterswardError("no results"), StageFailed, "reason:     no results"),
            (ValueError("odd"), StageFailed, "reason:     ValueError: odd"),
            (PermissionError(13, "Denied", "a.csv"), StageFailed, "reason:     a.csv: denied"),
            (KeyboardInterrupt(), KeyboardInterrupt, "reason:     stopped from the keyboard"),
        ],
    )
    def test_a_finish_that_fails(
        self,
        study: Path,
        stage: Make,
        quick: Callable[..., None],
        error: BaseException,
        raised: type[BaseException],
        said: str,
    ) -> None:
        quick()

        def finish(_study: Path, _place: Path) -> None:
            raise error

        with pytest.raises(raised) as caught:
            run_stages(study, [stage("sound")], finish=finish)
        if isinstance(caught.value, StageFailed):
            assert "see runs/.unfinished-001/failure.txt" in str(caught.value)
        names = [path.name for path in (study / "runs").iterdir()]
        assert names == [".unfinished-001"]
        text = (study / "runs" / ".unfinished-001" / "failure.txt").read_text(encoding="utf-8")
        assert said in text

    @pytest.mark.parametrize(
        ("error", "kind"),
        [
            (KeyError("covr"), "own copy"),
            (TemplateNotFound("study/sections/mine.html.j2"), "own copy"),
            (WinterswardError("no results"), "study"),
            (OSError(28, "No space left on device"), "disk"),
        ],
    )
    def test_a_mistake_in_the_study_s_own_page(
        self, study: Path, stage: Make, quick: Callable[..., None], error: Exception, kind: str
    ) -> None:
        quick()

        def finish(_study: Path, _place: Path) -> None:
            raise error

        with pytest.raises(StageFailed) as caught:
            run_stages(study, [stage("sound")], finish=finish)
        assert caught.value.failure.kind == ("fault" if kind == "own copy" else kind)
        own = study / "templates" / "reports" / "study"
        own.mkdir(parents=True)
        (own / "index.html.j2").write_text("{{ covr }}")
        with pytest.raises(StageFailed) as caught:
            run_stages(study, [stage("sound")], finish=finish)
        assert caught.value.failure.kind == kind

    def test_a_full_disk_is_told_though_nothing_can_be_written(
        self,
        study: Path,
        stage: Make,
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        write = Path.write_bytes

        def full(path: Path, content: bytes) -> int:
            if (path.parent / "notebooks").exists():
                raise OSError(28, "No space left on device")
            return write(path, content)

        def execute(_stage: Stage, _study: Path, folder: Path, _passed: object) -> Executed:
            folder.mkdir()
            return Executed([], None)

        monkeypatch.setattr("wintersward.runs.execution.execute", execute)
        monkeypatch.setattr(Path, "write_bytes", full)
        with pytest.raises(StageFailed, match="provenance.json: no space left") as caught:
            run_stages(study, [stage("sound")])
        assert "see runs/.unfinished-001/failure.txt" in str(caught.value)
        assert caught.value.failure.kind == "disk"
        text = (study / "runs" / ".unfinished-001" / "failure.txt").read_text(encoding="utf-8")
        assert "the run broke off in this stage" in text

    def test_inputs_that_change_meanwhile_stop_the_run(
        self, study: Path, stage: Make, quick: Callable[..., None]
    ) -> None:
        quick()

        def edit(of: Path, _place: Path) -> None:
            (of / "diary.yaml").write_text("exclusions: []\n")

        with pytest.raises(StageFailed, match="changed while the run went: diary.yaml"):
            run_stages(study, [stage("sound")], finish=edit)

    def test_the_inputs_are_written_before_the_first_stage(
        self, study: Path, stage: Make, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        seen: list[dict[str, Any]] = []

        def look(_stage: Stage, _study: Path, folder: Path, _passed: object) -> Executed:
            path = folder.parent / "inputs.json"
            seen.append(json.loads(path.read_text(encoding="utf-8")))
            return Executed([], None)

        monkeypatch.setattr("wintersward.runs.execution.execute", look)
        run_stages(study, [stage("sound")])
        assert list(seen[0]["files"]) == ["trial.yaml"]
        assert seen[0]["parameters"] == {
            "study": "the study folder",
            "run_folder": "the folder of the run",
        }


class TestNumbers:
    @pytest.mark.parametrize(
        ("there", "number"),
        [
            ([], "001"),
            (["001"], "002"),
            (["001", "007"], "008"),
            (["001", ".unfinished-002"], "003"),
            ([".unfinished-009", "003"], "010"),
            (["999"], "1000"),
            ([".by-hand", "old", "001 copy", ".unfinished-"], "001"),
        ],
    )
    def test_after_the_highest(
        self,
        study: Path,
        stage: Make,
        quick: Callable[..., None],
        there: list[str],
        number: str,
    ) -> None:
        quick()
        for name in there:
            (study / "runs" / name).mkdir(parents=True)
        assert run_stages(study, [stage("sound")]).name == number
        assert sorted(path.name for path in (study / "runs").iterdir()) == sorted([*there, number])


# As a person would press Ctrl-C, once the long cell has begun.
INTERRUPTED = """
    import _thread, json, signal, sys, threading, time
    from pathlib import Path
    from wintersward.runs.runner import run_stages
    from wintersward.runs.stages import Stage

    # What is started in the background may ignore it, and so do its children.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    study = Path(sys.argv[1])
    part = study / "runs" / ".unfinished-001" / "notebooks" / ".slow.ipynb"

    def begun():
        try:
            cell = json.loads(part.read_text(encoding="utf-8"))["cells"][-1]
            return bool(cell["metadata"]["papermill"]["start_time"])
        except (OSError, ValueError, KeyError):
            return False

    def press():
        while not begun():
            time.sleep(0.05)
        _thread.interrupt_main()

    threading.Thread(target=press, daemon=True).start()
    try:
        run_stages(study, [Stage("slow", "sleep")])
    except KeyboardInterrupt:
        print("interrupted")
"""


def test_an_interrupted_run_keeps_its_notebook_and_says_so(study: Path, stage: Make) -> None:
    stage("slow")
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(INTERRUPTED), str(study)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env={**os.environ, "PYTHONWARNINGS": "error"},
    )
    assert (done.stdout, done.stderr) == ("interrupted\n", "")
    assert inside(study / "runs") == [
        ".unfinished-001/failure.txt",
        ".unfinished-001/inputs.json",
        ".unfinished-001/notebooks/slow.failed.ipynb",
    ]
    text = (study / "runs" / ".unfinished-001" / "failure.txt").read_text(encoding="utf-8")
    assert text.startswith(
        "stopped in: stage slow, cell 2 of 2 (import time)\nreason:     stopped from the keyboard\n"
    )


class TestRun:
    @pytest.fixture
    def planned(self, study: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
        (study / "plan").mkdir()
        (study / "plan" / "plots.csv").write_text("plot\n101\n")
        monkeypatch.setattr(study_module, "record_problems", lambda _: [])

        def render(_study: Path, place: Path) -> None:
            (place / "report.html").write_text(f"page of {place.name}")

        monkeypatch.setattr(runner, "render_pages", render)
        return study

    def test_the_report_is_handed_out(self, planned: Path, quick: Callable[..., None]) -> None:
        quick()
        (planned / "report.html").write_text("page of the year before")
        made = run(planned)
        assert made == planned / "runs" / "001"
        assert (planned / "report.html").read_text() == "page of .unfinished-001"
        assert (made / "notebooks" / REPORT.file).exists()

    def test_a_failed_run_leaves_the_report_that_is_there(
        self, planned: Path, quick: Callable[..., None]
    ) -> None:
        quick(Failure("10-photos", "fault", "x"))
        (planned / "report.html").write_text("page of the year before")
        with pytest.raises(StageFailed):
            run(planned)
        assert (planned / "report.html").read_text() == "page of the year before"

    def test_an_older_run_leaves_the_report_of_a_newer_one(
        self, planned: Path, quick: Callable[..., None], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        quick()

        def overtaken(_study: Path, place: Path) -> None:
            (planned / "runs" / "002").mkdir()
            for page in (place, planned / "runs" / "002", planned):
                (page / "report.html").write_text(f"page of {page.name}")

        monkeypatch.setattr(runner, "render_pages", overtaken)
        assert run(planned).name == "001"
        assert (planned / "report.html").read_text() == "page of 002"

    def test_a_study_without_plots(self, study: Path) -> None:
        with pytest.raises(WinterswardError) as caught:
            run(str(study))
        assert str(caught.value).endswith(f"not drawn yet; run: wintersward plan '{study}'")
        assert not (study / "runs").exists()

    def test_a_study_with_problems_is_not_started(
        self, planned: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        problems = [Problem("sheets/a.csv", row=2, found="x"), Problem("sheets/b.csv", row=1)]
        monkeypatch.setattr(study_module, "record_problems", lambda _: problems)
        with pytest.raises(WinterswardError) as caught:
            run(planned)
        assert caught.value.problems == problems
        assert not (planned / "runs").exists()

    def test_no_study(self, tmp_path: Path) -> None:
        with pytest.raises(WinterswardError, match="nowhere: no such file or folder"):
            run(tmp_path / "nowhere")
