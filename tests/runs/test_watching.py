from __future__ import annotations

import json
import os
import time
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest

from wintersward.photos.progress import VARIABLE, Left, read_left, tell_left
from wintersward.runs import watching
from wintersward.runs.kernels import surroundings
from wintersward.runs.runner import run_stages
from wintersward.runs.stages import Stage
from wintersward.runs.watching import watched

Lines = list[str]


@pytest.fixture
def fast(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(watching, "_LOOK_SECONDS", 0.01)
    monkeypatch.setattr(watching, "_LEAST_SECONDS", 0.02)
    monkeypatch.setattr(watching, "_MOST_SECONDS", 60.0)


def until(met: Callable[[], bool]) -> None:
    end = time.monotonic() + 20
    while not met():
        assert time.monotonic() < end
        time.sleep(0.01)


def test_a_line_comes_with_every_tenth(fast: None) -> None:
    lines: Lines = []
    with surroundings(), watched(lines.append):
        tell_left(9, 100, 95.0)
        time.sleep(0.1)
        assert lines == []
        tell_left(10, 100, 90.0)
        until(lambda: len(lines) == 1)
        tell_left(12, 100, 80.0)
        time.sleep(0.1)
        assert len(lines) == 1
        tell_left(99, 100, 1.0)
        until(lambda: len(lines) == 2)
        tell_left(100, 100, 0.0)
        time.sleep(0.1)
    assert lines == [
        "      photos: 10 of 100 scored, about 90 seconds left",
        "      photos: 99 of 100 scored, about 10 seconds left",
    ]


def test_a_line_comes_once_a_minute_anyway(fast: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(watching, "_MOST_SECONDS", 0.1)
    lines: Lines = []
    with surroundings(), watched(lines.append):
        tell_left(1, 100_000, 7200.0)
        until(lambda: len(lines) >= 2)
    assert set(lines) == {"      photos: 1 of 100000 scored, about 2 hours left"}


def test_scores_kept_from_earlier_are_not_told(fast: None) -> None:
    lines: Lines = []
    with surroundings(), watched(lines.append):
        tell_left(216, 216, 0.0)
        time.sleep(0.1)
    assert lines == []


def test_a_closed_terminal_stops_nothing(fast: None) -> None:
    tried: Lines = []

    def closed(line: str) -> None:
        tried.append(line)
        raise BrokenPipeError

    with surroundings(), watched(closed):
        for done in (20, 40):
            tell_left(done, 100, 10.0)
            until(lambda done=done: len(tried) == done // 20)  # type: ignore[misc]


def test_outside_a_run_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(VARIABLE, raising=False)
    monkeypatch.chdir(tmp_path)
    with watched(pytest.fail):
        tell_left(1, 2, 3.0)
    assert list(tmp_path.iterdir()) == []


def test_what_was_told_is_read_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "photos"
    monkeypatch.setenv(VARIABLE, str(path))
    assert read_left(path) is None
    tell_left(3, 8, 1.5)
    assert read_left(path) == Left(3, 8, 1.5)
    path.write_text("[1, 2", encoding="utf-8")
    assert read_left(path) is None
    monkeypatch.setenv(VARIABLE, str(tmp_path / "gone" / "photos"))
    tell_left(1, 2, 3.0)  # no score is lost for it


@pytest.mark.parametrize("looked_at", [True, False])
def test_the_bar_of_a_terminal_gives_way(
    fast: None, looked_at: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(watching.sys.stderr, "isatty", lambda: looked_at)
    lines: Lines = []
    with surroundings(), watched(lines.append):
        tell_left(50, 100, 10.0)
        until(lambda: bool(lines))
    wiped = capsys.readouterr().err
    assert (wiped.startswith("\r ") and wiped.endswith(" \r")) is looked_at


TELLING = """
import time
from wintersward.photos.progress import tell_left

for done in (20, 40, 100):
    tell_left(done, 100, 5.0)
    time.sleep(0.6)
"""


def test_nothing_of_it_lands_in_the_notebook(fast: None, study: Path) -> None:
    cells = [
        nbformat.v4.new_code_cell('study = ""\nrun_folder = ""', metadata={"tags": ["parameters"]}),
        nbformat.v4.new_code_cell(TELLING),
    ]
    about = {"kernelspec": {"name": "python3", "display_name": "Python 3"}, "title": "Telling"}
    notebook = nbformat.v4.new_notebook(cells=cells, metadata=about)
    (study / "notebooks").mkdir()
    nbformat.write(notebook, study / "notebooks" / "telling.ipynb")
    lines: Lines = []
    made = run_stages(study, [Stage("telling", "tell")], lines.append)
    assert lines == [
        "[1/1] telling: tell",
        "      photos: 20 of 100 scored, about 10 seconds left",
        "      photos: 40 of 100 scored, about 10 seconds left",
    ]
    executed = json.loads((made / "notebooks" / "telling.ipynb").read_text(encoding="utf-8"))
    assert all(not cell.get("outputs") for cell in executed["cells"])
    assert "of 100" not in "".join(
        path.read_text(encoding="utf-8") for path in made.rglob("*") if path.is_file()
    )
    assert VARIABLE not in os.environ
