from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import start
from setup.ready import Ready
from start_environment import NAMED, Stop
from wintersward.cli import main
from wintersward.paths import SAYS

ROOT = Path(__file__).resolve().parents[2]


class TestMain:
    @pytest.mark.parametrize("argv", [[], ["help"], ["--help"]])
    def test_help_names_every_recipe(
        self, argv: list[str], capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert start.main(argv) == 0
        told = capsys.readouterr().out
        for name in start.RECIPES:
            assert f"  {name}" in told
        assert NAMED in told

    def test_an_unknown_recipe(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert start.main(["reprot"]) == 2
        assert "no recipe 'reprot'; there are: report, new" in capsys.readouterr().err

    def test_an_interrupt_is_told_in_a_line(
        self, home: Ready, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        def interrupted(extra: str) -> None:
            raise KeyboardInterrupt

        monkeypatch.setattr(home, "prepare", interrupted)
        assert start.main(["report"], home) == 130
        assert capsys.readouterr().err == "stopped; run it again to go on\n"

    def test_an_old_python_is_refused_without_a_traceback(
        self, checkout: Path, interpreter: Callable[..., Path]
    ) -> None:
        for name in ("start.py", "start_browser.py", "start_environment.py"):
            shutil.copy(ROOT / "toolkit" / name, checkout / "toolkit")
        old = interpreter("3.6 ?")
        done = subprocess.run(
            [sys.executable, str(checkout / "toolkit" / "start.py"), "report"],
            env={**os.environ, NAMED: str(old)},
            capture_output=True,
            text=True,
        )
        assert done.returncode == 2
        assert f"needs Python 3.11 or newer; {NAMED} names {old}, which is 3.6." in done.stderr
        assert "Traceback" not in done.stderr
        assert not (checkout / ".venv").exists()


class TestCall:
    def test_the_code_is_handed_back(self) -> None:
        assert start.call([sys.executable, "-c", "raise SystemExit(7)"]) == 7

    def test_folder_and_settings_reach_the_child(self, tmp_path: Path) -> None:
        told = "import os, pathlib; pathlib.Path('told').write_text(os.environ['MPLBACKEND'])"
        assert start.call([sys.executable, "-c", told], tmp_path, MPLBACKEND="Agg") == 0
        assert (tmp_path / "told").read_text() == "Agg"


class TestMe:
    def test_it_is_found_from_where_the_person_stands(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        script = tmp_path / "our field" / "toolkit" / "start.py"
        monkeypatch.setattr(start, "__file__", str(script))
        monkeypatch.setattr(start, "ON_WINDOWS", False)
        script.parent.mkdir(parents=True)
        monkeypatch.chdir(script.parents[1])
        assert start.me() == "python3 toolkit/start.py"
        monkeypatch.chdir(tmp_path)
        assert start.me() == "python3 'our field/toolkit/start.py'"

    @pytest.mark.parametrize("argv", [["check", "my_trial"], ["lab", "."], ["wintersward", "-h"]])
    def test_wintersward_is_told(
        self, home: Ready, monkeypatch: pytest.MonkeyPatch, argv: list[str]
    ) -> None:
        told: list[dict[str, str]] = []
        monkeypatch.setattr(start, "call", lambda *_, **settings: told.append(settings) or 0)
        assert start.main(argv, home) == 0
        assert told == [{SAYS: start.me()}]


class TestReadme:
    TEXT = (ROOT / "README.md").read_text(encoding="utf-8")

    def test_every_command_is_a_recipe(self) -> None:
        makes = re.findall(r"^`{0,1}make (\w+)", self.TEXT, re.MULTILINE)
        starts = re.findall(r"python toolkit/start\.py (\w+)", self.TEXT)
        assert {"report", "test", "new"} <= set(makes)
        assert {"check", "plan", "run", "lab", "season"} <= set(starts)
        assert {*makes, *starts} - set(start.RECIPES) == set()

    def test_the_next_season_as_it_stands_there(
        self, home: Ready, calls: list[tuple[list[str], Path | None]]
    ) -> None:
        (told,) = re.findall(r"python toolkit/start\.py (season .*?)`", self.TEXT)
        assert start.main(told.split(), home) == 0
        assert calls == [([str(home.program("wintersward")), *told.split()], None)]
        command = main.commands["season"]
        context = command.make_context("season", told.split()[1:], resilient_parsing=False)
        assert context.params["new_folder"] == "next_trial"


class TestPytest:
    def write(self, home: Ready, text: str) -> None:
        (home.root / "test_some.py").write_text(text)

    def test_passing(self, home: Ready) -> None:
        self.write(home, "def test_one():\n    assert 1 + 1 == 2\n")
        assert start.pytest(home, "-q") == 0

    def test_failing(self, home: Ready) -> None:
        self.write(home, "def test_one():\n    assert 1 + 1 == 3\n")
        assert start.pytest(home, "-q") == 1

    def test_no_test(self, home: Ready) -> None:
        with pytest.raises(Stop, match="no test ran") as stop:
            start.pytest(home, "-q")
        assert stop.value.code == 5

    def test_only_skipped_tests(self, home: Ready) -> None:
        self.write(home, "import pytest\n\n@pytest.mark.skip\ndef test_one():\n    pass\n")
        with pytest.raises(Stop, match="no test ran"):
            start.pytest(home, "-q")

    def test_tests_listed_and_not_run(self, home: Ready) -> None:
        self.write(home, "def test_one():\n    assert 1 + 1 == 2\n")
        with pytest.raises(Stop, match="no test ran"):
            start.pytest(home, "-q", "--collect-only")


class TestRecipes:
    def test_report_says_where_it_is_and_how_to_go_on(
        self,
        home: Ready,
        calls: list[tuple[list[str], Path | None]],
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        page = home.root / "example_study" / "report.html"
        page.parent.mkdir()
        page.write_text("")
        assert start.main(["report", "--jobs", "1"], home) == 0
        assert home.prepared == ["run"]
        assert calls == [
            (
                [str(home.program("wintersward")), "run", "example_study", "--jobs", "1"],
                home.root,
            )
        ]
        last = capsys.readouterr().out.splitlines()[-2:]
        assert last[0].endswith(str(page))
        assert "toolkit/start.py new my_trial" in last[1]
        assert "make new DIR=my_trial" in last[1]

    def test_report_whose_run_failed(
        self, home: Ready, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        monkeypatch.setattr(start, "call", lambda *args, **settings: 3)
        assert start.main(["report"], home) == 3
        assert capsys.readouterr().out == ""

    def test_report_that_is_not_there(
        self, home: Ready, calls: list[object], capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert start.main(["report"], home) == 1
        assert "report.html is not there" in capsys.readouterr().err

    @pytest.mark.parametrize("name", ["new", "check", "plan", "run", "runs", "bundle", "season"])
    def test_a_folder_must_be_named(
        self,
        home: Ready,
        name: str,
        calls: list[object],
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        assert start.main([name], home) == 2
        assert re.search(rf"start\.py {name} \w+_trial", capsys.readouterr().err)
        assert calls == []

    @pytest.mark.parametrize("name", ["new", "check", "plan", "run", "runs", "bundle", "season"])
    def test_arguments_are_passed_on_where_the_person_stands(
        self, home: Ready, name: str, calls: list[tuple[list[str], Path | None]]
    ) -> None:
        assert start.main([name, "my trial", "--debug"], home) == 0
        program = str(home.program("wintersward"))
        assert calls == [([program, name, "my trial", "--debug"], None)]

    def test_a_bundle_must_be_named(
        self, home: Ready, calls: list[object], capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert start.main(["verify"], home) == 2
        told = capsys.readouterr().err
        assert told == f"name the bundle:  {start.me()} verify bundle-001.zip\n"
        assert calls == []

    def test_a_bundle_is_verified_where_the_person_stands(
        self, home: Ready, calls: list[tuple[list[str], Path | None]]
    ) -> None:
        assert start.main(["verify", "my trial/bundle-001.zip"], home) == 0
        program = str(home.program("wintersward"))
        assert calls == [([program, "verify", "my trial/bundle-001.zip"], None)]

    def test_any_other_command(
        self, home: Ready, calls: list[tuple[list[str], Path | None]]
    ) -> None:
        assert start.main(["wintersward", "check", "--help"], home) == 0
        assert calls[0][0][1:] == ["check", "--help"]

    def test_lab_opens_the_example_or_the_named_study(
        self, home: Ready, calls: list[tuple[list[str], Path | None]], tmp_path: Path
    ) -> None:
        (home.root / "example_study").mkdir()
        assert start.main(["lab", "--no-browser"], home) == 0
        assert start.main(["lab", str(tmp_path)], home) == 0
        lab = [sys.executable, "-m", "jupyterlab"]
        assert calls == [
            ([*lab, "--no-browser"], home.root / "example_study"),
            (lab, tmp_path),
        ]

    def test_lab_without_such_a_folder(
        self, home: Ready, calls: list[object], capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert start.main(["lab", "no_such_trial"], home) == 2
        assert "no_such_trial is not a folder" in capsys.readouterr().err
        assert calls == []


class TestChecks:
    @pytest.fixture
    def failing(self, monkeypatch: pytest.MonkeyPatch) -> set[str]:
        """Choose what fails by a word of its command."""
        words: set[str] = set()

        def call(command: list[object], cwd: Path | None = None, **settings: str) -> int:
            return int(bool(words.intersection(str(part) for part in command)))

        monkeypatch.setattr(start, "call", call)
        monkeypatch.setattr(start, "count_run", lambda counts: 1)
        return words

    def test_all_well(self, home: Ready, failing: set[str]) -> None:
        assert start.main(["test"], home) == 0
        assert start.main(["lint"], home) == 0
        assert set(home.prepared) == {"dev"}

    @pytest.mark.parametrize(
        ("word", "told"),
        [("check", "ruff check"), ("--check", "ruff format --check"), ("mypy", "mypy")],
    )
    def test_one_check_fails_both(
        self,
        home: Ready,
        failing: set[str],
        word: str,
        told: str,
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        failing.add(word)
        assert start.main(["test"], home) == 1
        assert f"failed before the tests: {told}\n" == capsys.readouterr().err
        assert start.main(["lint"], home) == 1
        assert f"failed: {told}\n" == capsys.readouterr().err

    def test_the_tests_fail(self, home: Ready, failing: set[str]) -> None:
        failing.add("pytest")
        assert start.main(["test"], home) == 1
        assert start.main(["bench"], home) == 1
        assert start.main(["validity"], home) == 1
        assert start.main(["lint"], home) == 0


class TestClean:
    @pytest.fixture
    def littered(self, home: Ready) -> Ready:
        for name in (
            "toolkit/wintersward/__pycache__",
            ".pytest_cache/v",
            "build",
            "dist",
            "wintersward.egg-info",
            ".venv/lib/__pycache__",
            "tests",
            "my_trial/notebooks/.ipynb_checkpoints",
            "my_trial/.cache",
            "my_trial/build",
        ):
            (home.root / name).mkdir(parents=True)
            (home.root / name / "file").write_text("")
        (home.root / "my_trial" / "trial.yaml").write_text("")
        return home

    def left(self, home: Ready) -> set[str]:
        return {
            path.relative_to(home.root).as_posix()
            for path in home.root.rglob("file")
            if path.is_file()
        }

    def test_caches_go_and_studies_stay(
        self, littered: Ready, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert start.main(["clean"], littered) == 0
        assert self.left(littered) == {
            ".venv/lib/__pycache__/file",
            "tests/file",
            "my_trial/notebooks/.ipynb_checkpoints/file",
            "my_trial/.cache/file",
            "my_trial/build/file",
        }
        told = capsys.readouterr().out
        assert "removed toolkit/wintersward/__pycache__\n" in told
        assert "kept .venv" in told
        assert littered.prepared == []

    def test_the_environment_goes_when_asked(self, littered: Ready) -> None:
        assert start.main(["clean", "--venv"], littered) == 0
        assert not littered.folder.exists()

    def test_anything_else_is_refused(self, littered: Ready) -> None:
        before = self.left(littered)
        assert start.main(["clean", "my_trial"], littered) == 2
        assert self.left(littered) == before


class TestPinned:
    def test_a_build_of_one_machine_is_refused(self) -> None:
        with pytest.raises(Stop, match=r"cannot pin 'array-maths==2\.1\+cpu'"):
            start.pinned([("array.maths", "2.1+cpu")])

    def test_sorted_by_name(self) -> None:
        assert start.pinned([("a-b", "1"), ("a", "2!1.0.post1"), ("B_c", "3")]) == [
            "a==2!1.0.post1",
            "a-b==1",
            "b-c==3",
        ]
