from __future__ import annotations

import datetime as dt
import os
from pathlib import Path

import pytest

from wintersward.errors import WinterswardError
from wintersward.paths import SAYS, template_folder
from wintersward.runs import new
from wintersward.runs.new import fresh_folder, fresh_seed, new_study
from wintersward.trial import read_definition, read_diary


def test_a_new_study_is_sound(tmp_path: Path) -> None:
    made = new_study(tmp_path / "deep" / "my trial", dt.date(2026, 9, 1))
    assert made == (tmp_path / "deep" / "my trial").resolve()
    definition, problems = read_definition(made)
    assert problems == []
    assert definition is not None
    assert definition.dates["covers_on"].year == 2027
    diary, problems = read_diary(made, definition)
    assert problems == []
    assert diary.covers == []
    names = {path.name for path in template_folder("starter").iterdir()}
    assert {path.name for path in made.iterdir()} == names | {"photos", "sheets"}
    assert [path.name for path in made.parent.iterdir()] == ["my trial"]


def test_nothing_of_the_starter_but_what_is_to_be_filled_in_is_changed(tmp_path: Path) -> None:
    made = new_study(tmp_path / "trial", dt.date(2026, 9, 1))
    definition, _ = read_definition(made)
    assert definition is not None
    starter = (template_folder("starter") / "trial.yaml").read_text(encoding="utf-8")
    filled = starter.replace("{{ year }}", "2027")
    filled = filled.replace("{{ seed }}", str(definition.layout.seed))
    filled = filled.replace("{{ check }}", "wintersward check FOLDER")
    assert (made / "trial.yaml").read_text(encoding="utf-8") == filled
    assert "{{" not in filled


def test_the_command_that_checks_it_is_the_one_that_is_typed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(SAYS, "python3 toolkit/start.py")
    text = (new_study(tmp_path / "trial") / "trial.yaml").read_text(encoding="utf-8")
    assert "#     python3 toolkit/start.py check FOLDER\n" in text


def test_a_folder_that_cannot_be_written_to_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def denied(**_: object) -> str:
        raise PermissionError(13, "Permission denied", ".wintersward-x1")

    monkeypatch.setattr(new.tempfile, "mkdtemp", denied)
    with pytest.raises(PermissionError) as caught:
        new_study(tmp_path / "trial")
    assert caught.value.filename == str(tmp_path)


def test_each_study_has_its_own_seed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = iter([41, 42])
    monkeypatch.setattr(new.secrets, "randbelow", lambda _: next(drawn))
    seeds = []
    for name in ("one", "two"):
        definition, _ = read_definition(new_study(tmp_path / name))
        assert definition is not None
        seeds.append(definition.layout.seed)
    assert seeds == [42, 43]


def test_a_fresh_seed_is_another_one(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = iter([41, 41, 7])
    monkeypatch.setattr(new.secrets, "randbelow", lambda _: next(drawn))
    assert fresh_seed("42") == 8


def test_an_empty_folder_is_filled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    inode = tmp_path.stat().st_ino
    assert new_study(".") == tmp_path.resolve()
    assert (tmp_path / "trial.yaml").is_file()
    assert tmp_path.stat().st_ino == inode
    assert Path(os.getcwd()) == tmp_path.resolve()


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    folder.mkdir()
    (folder / "notes.txt").write_text("mine")
    with pytest.raises(WinterswardError, match="there is something in this folder; nothing was"):
        new_study(folder)
    assert [path.name for path in folder.iterdir()] == ["notes.txt"]
    assert [path.name for path in tmp_path.iterdir()] == ["trial"]


def test_a_file_of_that_name_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "trial").write_text("mine")
    with pytest.raises(WinterswardError, match="a file of that name is there"):
        new_study(tmp_path / "trial")
    assert (tmp_path / "trial").read_text() == "mine"


def test_what_fails_halfway_leaves_nothing(tmp_path: Path) -> None:
    def break_off() -> None:
        with fresh_folder(tmp_path / "trial") as (place, _):
            (place / "trial.yaml").write_text("half")
            raise ValueError("halfway")

    with pytest.raises(ValueError, match="halfway"):
        break_off()
    assert list(tmp_path.iterdir()) == []
