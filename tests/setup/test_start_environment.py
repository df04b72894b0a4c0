from __future__ import annotations

import ast
import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import start_environment
from start_environment import NAMED, Environment, Stop, find_python, probe, run_quietly

TOOLKIT = Path(__file__).resolve().parents[2] / "toolkit"


def looking_at(monkeypatch: pytest.MonkeyPatch, *interpreters: Path) -> None:
    commands = [[str(path)] for path in interpreters]
    monkeypatch.setattr(start_environment, "candidates", lambda: commands)


class TestOldPython:
    @pytest.mark.parametrize("name", ["start.py", "start_browser.py", "start_environment.py"])
    def test_python_3_6_understands_the_script(self, name: str) -> None:
        source = (TOOLKIT / name).read_text(encoding="utf-8")
        tree = ast.parse(source, feature_version=(3, 6))
        evaluated = [
            annotation
            for node in ast.walk(tree)
            if isinstance(node, ast.FunctionDef)
            for annotation in [
                node.returns,
                *(arg.annotation for arg in ast.walk(node.args) if isinstance(arg, ast.arg)),
            ]
            if annotation is not None
        ]
        assert evaluated
        # Python 3.6 works out an annotation that is not in quotes: only plain names pass.
        assert [
            ast.unparse(annotation)
            for annotation in evaluated
            if not isinstance(annotation, (ast.Constant, ast.Name))
        ] == []

    def test_every_import_is_of_the_standard_library(self) -> None:
        for name in ("start.py", "start_browser.py", "start_environment.py"):
            tree = ast.parse((TOOLKIT / name).read_text(encoding="utf-8"))
            for node in ast.walk(tree):
                if isinstance(node, ast.Import):
                    names = [alias.name for alias in node.names]
                elif isinstance(node, ast.ImportFrom):
                    names = [node.module or ""]
                else:
                    continue
                tops = {found.split(".")[0] for found in names}
                tops -= {"start_browser", "start_environment"}
                assert tops <= sys.stdlib_module_names


class TestProbe:
    def test_the_running_python(self) -> None:
        answer = probe([sys.executable])
        assert answer is not None
        assert answer[0] == sys.version_info[:2]
        assert Path(answer[1]).is_file()

    def test_a_program_that_is_not_there(self, tmp_path: Path) -> None:
        assert probe([str(tmp_path / "python9")]) is None

    def test_a_program_that_is_no_python(self, interpreter: Callable[..., Path]) -> None:
        assert probe([str(interpreter("Which shop would you like to open?"))]) is None

    def test_a_python_that_fails(self, interpreter: Callable[..., Path]) -> None:
        assert probe([str(interpreter("3.12 /somewhere/python", 1))]) is None

    def test_a_path_that_does_not_exist_is_replaced_by_the_command(
        self, interpreter: Callable[..., Path]
    ) -> None:
        path = interpreter("3.12 /no/such/python")
        assert probe([str(path)]) == ((3, 12), str(path))


class TestFindPython:
    def test_the_running_python_is_asked_first(self) -> None:
        assert start_environment.candidates()[0] == [sys.executable]

    def test_a_named_python_is_the_only_one_asked(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv(NAMED, "/opt/python3.12")
        assert start_environment.candidates() == [["/opt/python3.12"]]

    def test_an_old_one_is_passed_over(
        self, interpreter: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        old, good = interpreter("3.9 ?"), interpreter("3.12 ?")
        looking_at(monkeypatch, old, good)
        assert find_python() == ((3, 12), str(good))

    def test_a_known_release_goes_before_a_newer_one(
        self, interpreter: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        newer, known = interpreter("3.99 ?"), interpreter("3.11 ?")
        looking_at(monkeypatch, newer, known)
        assert find_python() == ((3, 11), str(known))

    def test_a_newer_one_serves_when_it_is_the_only_one(
        self, interpreter: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        old, newer = interpreter("3.8 ?"), interpreter("3.99 ?")
        looking_at(monkeypatch, old, newer)
        assert find_python() == ((3, 99), str(newer))

    def test_none_that_is_new_enough(
        self, interpreter: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        first, second = interpreter("3.10 ?"), interpreter("2.7 ?")
        looking_at(monkeypatch, first, second)
        with pytest.raises(Stop) as stop:
            find_python()
        assert stop.value.code == 2
        assert f"needs Python 3.11 or newer; found: 3.10 ({first}), 2.7 ({second})." in str(
            stop.value
        )
        assert f"{NAMED}=" in str(stop.value)

    def test_none_at_all(self, monkeypatch: pytest.MonkeyPatch) -> None:
        looking_at(monkeypatch)
        with pytest.raises(Stop, match="found: none"):
            find_python()

    def test_a_named_one_that_is_too_old(
        self, interpreter: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        path = interpreter("3.10 ?")
        monkeypatch.setenv(NAMED, str(path))
        with pytest.raises(Stop) as stop:
            find_python()
        assert f"{NAMED} names {path}, which is 3.10." in str(stop.value)

    def test_a_named_one_that_does_not_start(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv(NAMED, str(tmp_path / "nothing"))
        with pytest.raises(Stop, match="which is no Python that starts"):
            find_python()

    def test_one_version_only(
        self, interpreter: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        newer, wanted = interpreter("3.13 ?"), interpreter("3.11 ?")
        looking_at(monkeypatch, newer, wanted)
        assert find_python((3, 11)) == ((3, 11), str(wanted))
        looking_at(monkeypatch, newer)
        with pytest.raises(Stop, match=r"needs Python 3\.11; found: 3\.13"):
            find_python((3, 11))


class TestRunQuietly:
    COUNT = "for i in range(20): print('line', i)"

    def test_returns_code_and_last_lines_and_keeps_all(self, tmp_path: Path) -> None:
        log = tmp_path / "all.log"
        code, tail = run_quietly([sys.executable, "-c", self.COUNT + "\nexit(3)"], log=log)
        assert code == 3
        assert tail.splitlines() == [f"line {i}" for i in range(5, 20)]
        assert log.read_text().splitlines() == [f"line {i}" for i in range(20)]

    def test_a_log_is_added_to(self, tmp_path: Path) -> None:
        log = tmp_path / "all.log"
        for _ in range(2):
            run_quietly([sys.executable, "-c", self.COUNT], log=log)
        assert len(log.read_text().splitlines()) == 40


class Workshop:
    """Stands for venv and pip: keeps the commands and makes the files they would make."""

    def __init__(self, home: Environment, monkeypatch: pytest.MonkeyPatch) -> None:
        self.home = home
        self.commands: list[list[str]] = []
        self.system = (3, 12)
        self.made_with: tuple[int, int] | None = None
        self.fails: dict[str, int | BaseException] = {}
        monkeypatch.setattr(start_environment, "run_quietly", self.run)
        monkeypatch.setattr(start_environment, "probe", self.probe)

    def probe(self, command: list[str]) -> tuple[tuple[int, int], str] | None:
        if command == [str(self.home.python)]:
            return (self.made_with, command[0]) if self.made_with else None
        return self.system, command[0]

    def run(self, command: list[str], cwd: object = None, log: object = None) -> tuple[int, str]:
        self.commands.append(command)
        for word, outcome in self.fails.items():
            if any(word in part for part in command):
                if isinstance(outcome, BaseException):
                    raise outcome
                return outcome, "the end of it"
        if "venv" in command:
            shutil.rmtree(self.home.folder, ignore_errors=True)
            self.home.python.parent.mkdir(parents=True)
            self.home.python.write_text("")
            (self.home.folder / "pyvenv.cfg").write_text("")
            self.made_with = self.system
        return 0, ""

    def did(self, word: str) -> bool:
        return any(word in command for command in self.commands)


@pytest.fixture
def workshop(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> Workshop:
    return Workshop(Environment(checkout), monkeypatch)


class TestPrepare:
    def test_first_makes_and_installs_to_the_pins(self, workshop: Workshop) -> None:
        workshop.home.prepare("run")
        assert workshop.did("venv")
        installs = [command for command in workshop.commands if "install" in command]
        assert [command[-1] for command in installs] == ["hatchling", "."]
        for command in installs:
            assert command[command.index("-c") + 1] == str(workshop.home.pins)
        assert workshop.home.ready("run")

    def test_a_second_call_does_nothing(
        self, workshop: Workshop, capsys: pytest.CaptureFixture[str]
    ) -> None:
        workshop.home.prepare("run")
        capsys.readouterr()
        workshop.commands.clear()
        workshop.home.prepare("run")
        assert workshop.commands == []
        assert capsys.readouterr().out == ""

    def test_dev_serves_for_run_and_not_the_other_way(self, workshop: Workshop) -> None:
        workshop.home.prepare("run")
        assert not workshop.home.ready("dev")
        workshop.home.prepare("dev")
        assert workshop.commands[-1][-1] == ".[dev]"
        assert workshop.home.ready("run")

    @pytest.mark.parametrize("changed", ["pyproject.toml", "toolkit/constraints.txt"])
    def test_a_changed_file_installs_again_on_top(self, workshop: Workshop, changed: str) -> None:
        workshop.home.prepare("dev")
        workshop.commands.clear()
        with (workshop.home.root / changed).open("a") as file:
            file.write("scipy==1.17.1\n")
        assert not workshop.home.ready("run")
        workshop.home.prepare("run")
        assert not workshop.did("venv")
        assert workshop.did("install")
        assert not workshop.home.stamp("dev").exists()

    def test_another_python_in_its_place_begins_afresh(self, workshop: Workshop) -> None:
        workshop.home.prepare("run")
        workshop.commands.clear()
        workshop.system = workshop.made_with = (3, 13)
        workshop.home.prepare("run")
        assert workshop.did("--clear")

    def test_naming_another_python_begins_afresh(
        self, workshop: Workshop, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        workshop.home.prepare("run")
        workshop.commands.clear()
        workshop.system = (3, 11)
        assert workshop.home.ready("run")
        monkeypatch.setenv(NAMED, "/opt/python3.11")
        workshop.home.prepare("run")
        assert workshop.did("/opt/python3.11")
        assert workshop.made_with == (3, 11)

    def test_a_python_that_is_gone_begins_afresh(self, workshop: Workshop) -> None:
        workshop.home.prepare("run")
        workshop.commands.clear()
        workshop.home.python.unlink()
        workshop.home.prepare("run")
        assert workshop.did("--clear")
        assert workshop.home.ready("run")

    def test_an_environment_without_pip_begins_afresh(self, workshop: Workshop) -> None:
        workshop.home.prepare("run")
        workshop.home.stamp("run").unlink()
        workshop.commands.clear()
        workshop.fails["--version"] = 1
        workshop.home.prepare("run")
        assert workshop.did("--clear")

    def test_a_copied_checkout_begins_afresh(
        self, workshop: Workshop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        workshop.home.prepare("run")
        shutil.copytree(workshop.home.root, tmp_path / "copy")
        copy = Workshop(Environment(tmp_path / "copy"), monkeypatch)
        copy.made_with = workshop.made_with
        assert not copy.home.ready("run")
        copy.home.prepare("run")
        assert copy.did("--clear")

    @pytest.mark.parametrize("step", ["hatchling", "--editable"])
    def test_an_interrupted_install_leaves_no_stamp(self, workshop: Workshop, step: str) -> None:
        workshop.home.prepare("run")
        workshop.fails[step] = KeyboardInterrupt()
        with pytest.raises(KeyboardInterrupt):
            workshop.home.prepare("dev")
        assert not workshop.home.ready("dev")
        assert not workshop.home.ready("run")
        workshop.fails.clear()
        workshop.commands.clear()
        workshop.home.prepare("dev")
        assert workshop.home.ready("dev")
        assert not workshop.did("venv")

    def test_a_failed_install_is_told_and_leaves_no_stamp(self, workshop: Workshop) -> None:
        workshop.fails["--editable"] = 1
        with pytest.raises(Stop) as stop:
            workshop.home.prepare("run")
        assert stop.value.code == 1
        assert "network" in str(stop.value)
        assert str(workshop.home.log) in str(stop.value)
        assert str(stop.value).endswith("the end of it")
        assert not workshop.home.ready("run")

    def test_a_failed_install_blames_a_python_that_is_too_new(self, workshop: Workshop) -> None:
        workshop.system = (3, 99)
        workshop.fails["--editable"] = 1
        with pytest.raises(Stop, match=f"Python 3.99 may be too new; {NAMED} can name"):
            workshop.home.prepare("run")

    def test_a_stamp_that_cannot_be_read_counts_for_nothing(self, workshop: Workshop) -> None:
        workshop.home.prepare("run")
        workshop.home.stamp("run").write_text("{")
        assert not workshop.home.ready("run")
        workshop.home.stamp("run").write_text("[]")
        assert not workshop.home.ready("run")


class TestMake:
    def test_missing_venv_parts_are_named(self, workshop: Workshop) -> None:
        workshop.fails["ensurepip"] = 1
        with pytest.raises(Stop, match=r"sudo apt install python3\.12-venv") as stop:
            workshop.home.prepare("run")
        assert stop.value.code == 2
        assert not workshop.home.folder.exists()

    def test_a_file_in_the_way_is_left_alone(self, workshop: Workshop) -> None:
        workshop.home.folder.write_text("mine")
        with pytest.raises(Stop, match="move that file away"):
            workshop.home.prepare("run")
        assert workshop.home.folder.read_text() == "mine"

    def test_a_folder_of_something_else_is_left_alone(self, workshop: Workshop) -> None:
        workshop.home.folder.mkdir()
        (workshop.home.folder / "notes.txt").write_text("mine")
        with pytest.raises(Stop, match="move that folder away"):
            workshop.home.prepare("run")
        assert (workshop.home.folder / "notes.txt").read_text() == "mine"

    def test_venv_failing_is_told(self, workshop: Workshop) -> None:
        workshop.fails["--clear"] = 1
        with pytest.raises(Stop, match="the end of it"):
            workshop.home.prepare("run")

    def test_a_real_one_works_and_its_pip_says_when_it_finds_nothing(
        self, checkout: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        home = Environment(checkout)
        home.make()
        assert home.usable()
        for name in [name for name in os.environ if name.startswith("PIP_")]:
            monkeypatch.delenv(name)
        monkeypatch.setenv("PIP_CONFIG_FILE", os.devnull)
        monkeypatch.setenv("PIP_NO_INDEX", "1")
        with pytest.raises(Stop, match="No matching distribution found for hatchling"):
            home.prepare("run")
        assert not home.ready("run")
        assert "hatchling" in home.log.read_text()
        home.python.unlink()
        assert not home.usable()
