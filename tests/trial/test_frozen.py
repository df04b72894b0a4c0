from __future__ import annotations

import datetime as dt
import hashlib
import json
from pathlib import Path

import pytest

from wintersward.trial.frozen import FILES, FOLDER, document_hash, plot_rows, read_frozen, seal

PLOTS = "plot,cover,walk\n101,open,1\n102,fleece,2\n"


@pytest.fixture
def study(tmp_path: Path, sound: str) -> Path:
    """A study with a freeze that was put there file by file."""
    place = tmp_path / FOLDER
    place.mkdir(parents=True)
    for name, text in zip(FILES, (sound, PLOTS, "<p>plan</p>"), strict=True):
        (place / name).write_text(text, encoding="utf-8", newline="")
    files = {n: hashlib.sha256((place / n).read_bytes()).hexdigest() for n in FILES}
    record = {
        "frozen_at": "2026-01-12T14:05:00+00:00",
        "wintersward": "0.1.0",
        "files": files,
        "late": [],
    }
    write(tmp_path, record)
    return tmp_path


def write(study: Path, record: dict[str, object]) -> None:
    (study / FOLDER / "frozen.json").write_text(json.dumps({**record, "seal": seal(record)}))


def test_a_whole_freeze(study: Path) -> None:
    frozen, problems = read_frozen(study)
    assert problems == []
    assert frozen is not None
    assert frozen.frozen_at == dt.datetime(2026, 1, 12, 14, 5, tzinfo=dt.UTC)
    assert frozen.when == "12 January 2026, 14:05 UTC"
    assert frozen.definition.layout.seed == 20260119
    assert frozen.content["dates"]["covers_on"] == "2026-01-19"
    assert frozen.plots["102"]["cover"] == "fleece"
    assert frozen.document.startswith(frozen.short)
    assert frozen.document == document_hash(frozen.files)


def test_a_study_that_was_never_frozen(tmp_path: Path) -> None:
    assert read_frozen(tmp_path) == (None, [])


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_was_touched_is_told(study: Path, name: str) -> None:
    path = study / FOLDER / name
    path.write_bytes(path.read_bytes() + b" ")
    frozen, problems = read_frozen(study)
    assert frozen is None
    assert len(problems) == 1
    assert str(problems[0]).startswith(f"plan/frozen/{name}: found another content than was frozen")


@pytest.mark.parametrize("name", [*FILES, "frozen.json"])
def test_a_file_that_is_missing_is_told(study: Path, name: str) -> None:
    (study / FOLDER / name).unlink()
    frozen, problems = read_frozen(study)
    assert frozen is None
    assert [problem.path for problem in problems] == [f"plan/frozen/{name}"]
    assert "without this file" in str(problems[0])


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "null", '{"seal": "0"}', '{"frozen_at": 1, "files": {}, "seal": ""}']
)
def test_a_record_that_is_none_is_told(study: Path, text: str) -> None:
    (study / FOLDER / "frozen.json").write_text(text)
    frozen, problems = read_frozen(study)
    assert frozen is None
    assert [problem.path for problem in problems] == ["plan/frozen/frozen.json"]


def test_a_time_that_was_set_back_is_told(study: Path) -> None:
    path = study / FOLDER / "frozen.json"
    path.write_text(path.read_text().replace("2026-01-12", "2025-12-12"))
    assert [problem.path for problem in read_frozen(study)[1]] == ["plan/frozen/frozen.json"]


def test_a_definition_that_this_version_cannot_read_is_told(study: Path) -> None:
    path = study / FOLDER / "trial.yaml"
    path.write_text(path.read_text(encoding="utf-8") + "newer: field\n", encoding="utf-8")
    record = json.loads((study / FOLDER / "frozen.json").read_text())
    record.pop("seal")
    record["files"]["trial.yaml"] = hashlib.sha256(path.read_bytes()).hexdigest()
    write(study, record)
    frozen, problems = read_frozen(study)
    assert frozen is None
    assert "install the older one" in str(problems[0])


def test_the_seal_does_not_hold_itself() -> None:
    record = {"a": 1, "b": [2]}
    assert seal(record) == seal({**record, "seal": seal(record)})
    assert seal(record) != seal({**record, "b": [3]})


def test_the_hash_of_a_document_by_hand() -> None:
    files = {"plots.csv": "b" * 64, "trial.yaml": "a" * 64, "protocol.html": "c" * 64}
    text = f"trial.yaml {'a' * 64}\nplots.csv {'b' * 64}\n"
    assert document_hash(files) == hashlib.sha256(text.encode()).hexdigest()


def test_rows_of_plots_with_a_mark_and_without_a_file(tmp_path: Path) -> None:
    (tmp_path / "plots.csv").write_bytes(b"\xef\xbb\xbf" + b"plot,cover\r\n 101 ,open\r\n,x\r\n")
    assert plot_rows(tmp_path / "plots.csv") == {"101": {"plot": "101", "cover": "open"}}
    assert plot_rows(tmp_path / "none.csv") == {}
