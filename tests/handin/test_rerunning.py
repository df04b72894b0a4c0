from __future__ import annotations

import json
import os
import site
import tempfile
from pathlib import Path

import pytest

from handin.made_bundle import a_source
from wintersward.errors import WinterswardError
from wintersward.handin.rerunning import laid_out, rerun, secluded, take_pictures, take_tables
from wintersward.runs.execution import Executed
from wintersward.runs.failure import Failure


def test_what_is_started_keeps_its_files_in_the_folder(tmp_path: Path) -> None:
    before, temporary = dict(os.environ), tempfile.gettempdir()
    home = tmp_path / "home"
    with secluded(home):
        assert Path.home() == home
        assert Path(tempfile.gettempdir()) == home
        for name in ("JUPYTER_RUNTIME_DIR", "MPLCONFIGDIR", "XDG_CACHE_HOME", "TMPDIR"):
            assert Path(os.environ[name]).is_relative_to(home)
        # What a person installed for themselves alone stays where it was.
        assert os.environ["PYTHONUSERBASE"] == site.getuserbase()
        assert not Path(os.environ["PYTHONUSERBASE"]).is_relative_to(home)
    assert dict(os.environ) == before
    assert tempfile.gettempdir() == temporary


def test_a_home_that_somebody_filled_is_refused(tmp_path: Path) -> None:
    (tmp_path / "home").mkdir()
    with pytest.raises(FileExistsError), secluded(tmp_path / "home"):
        pass


def test_only_what_a_run_reads_is_laid_out(study: Path, tmp_path: Path) -> None:
    a_source(study)
    meant = {
        "trial.yaml",
        "plan/plots.csv",
        "photos/2026-03-10/101_1.jpg",
        "photos/2026-03-10/102_1.jpg",
        "sheets/pulls.csv",
        "notebooks/own.ipynb",
    }
    for name in (
        *("notebooks/own.ipynb", "notebooks/other.ipynb", "sheets/.hidden.csv", "wintersward.py"),
        *(".cache/scores/a.json", "runs/001/notebooks/wintersward.py", "templates/a.j2"),
    ):
        (study / name).parent.mkdir(parents=True, exist_ok=True)
        (study / name).write_text("brought along")
    clean = laid_out(study, tmp_path / "place", ["notebooks/own.ipynb"])
    assert clean == tmp_path / "place" / "anew" / "study"
    there = {path.relative_to(clean).as_posix() for path in clean.rglob("*") if path.is_file()}
    assert there - {"diary.yaml"} == meant
    assert [path.name for path in clean.parent.iterdir()] == ["study"]


@pytest.mark.parametrize("left_out", [{}, {"photos/a.jpg": "0" * 64}])
def test_a_study_without_a_definition_is_not_looked_for_around(
    study: Path, left_out: dict[str, str]
) -> None:
    (study / "inside").mkdir()
    with pytest.raises(WinterswardError, match=r"study/trial\.yaml: it is missing"):
        rerun(study / "inside", study, left_out)


def test_a_stop_from_the_keyboard_is_no_failure(
    study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stopped = Executed([], Failure("30-statistics", "stopped", "stopped from the keyboard"))
    monkeypatch.setattr("wintersward.runs.execution.execute", lambda *_: stopped)
    monkeypatch.setattr("wintersward.handin.kept_scores.lay_out_scores", lambda *_: None)
    handed = study.parent / "handed"
    handed.mkdir()
    (handed / "inputs.json").write_text("{}")
    with pytest.raises(KeyboardInterrupt):
        rerun(study, handed, {"photos/a.jpg": "0" * 64})


def test_a_study_that_cannot_be_run_is_told(study: Path) -> None:
    with pytest.raises(WinterswardError, match="the plots are not drawn yet"):
        rerun(study, study, {})
    (study.parent / "home").rmdir()
    (study / "trial.yaml").write_text("title: [x\n", encoding="utf-8")
    with pytest.raises(WinterswardError, match=r"trial\.yaml:1:8"):
        rerun(study, study, {"photos/a.jpg": "0" * 64})


@pytest.fixture
def two(tmp_path: Path) -> tuple[Path, Path]:
    """Folders of a run that was handed in and of one made anew."""
    handed, anew = tmp_path / "handed", tmp_path / "anew"
    for folder in (handed, anew):
        folder.mkdir()
    return handed, anew


def test_tables_that_need_photos_are_taken_over(two: tuple[Path, Path]) -> None:
    handed, anew = two
    for name in ("photo_scores", "window_covers", "means"):
        (handed / f"{name}.csv").write_text("handed")
        (anew / f"{name}.csv").write_text("anew")
    names = ("photo_scores", "window_covers", "means", "window_answers")
    (handed / "tables.json").write_text(json.dumps({name: "handed" for name in names}))
    (anew / "tables.json").write_text(json.dumps({"means": "anew", "window_covers": "anew"}))
    assert take_tables(handed, anew) == ["photo_scores", "window_covers"]
    assert (anew / "means.csv").read_text() == "anew"
    assert (anew / "window_covers.csv").read_text() == "handed"
    assert json.loads((anew / "tables.json").read_text()) == {
        "means": "anew",
        "photo_scores": "handed",
        "window_covers": "handed",
    }


def test_pictures_of_photos_are_taken_over(two: tuple[Path, Path]) -> None:
    handed, anew = two
    for name in ("photo_overlay.jpg", "thresholds.svg", "answer.svg"):
        (handed / name).write_text("handed")
    (anew / "answer.svg").write_text("anew")
    files = {"photo_overlay": "photo_overlay.jpg", "thresholds": "thresholds.svg"}
    told = {name: {"file": file} for name, file in (*files.items(), ("answer", "answer.svg"))}
    (handed / "figures.json").write_text(json.dumps(told))
    made = {name: {"file": f"{name}.svg"} for name in ("answer", "thresholds")}
    (anew / "figures.json").write_text(json.dumps(made))
    assert take_pictures(handed, anew) == ["photo_overlay", "thresholds"]
    assert (anew / "answer.svg").read_text() == "anew"
    assert (anew / "photo_overlay.jpg").read_text() == "handed"


@pytest.mark.parametrize("file", ["../../secret.jpg", "/etc/passwd", "nothing.jpg"])
def test_a_picture_from_elsewhere_is_refused(two: tuple[Path, Path], file: str) -> None:
    handed, anew = two
    (handed / "figures.json").write_text(json.dumps({"photo_overlay": {"file": file}}))
    with pytest.raises(WinterswardError, match=f"no such picture: {file}"):
        take_pictures(handed, anew)
