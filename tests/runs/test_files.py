from __future__ import annotations

from pathlib import Path

import pytest

from wintersward.runs import files


def test_text_is_written_with_the_line_ends_it_has(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "er" / "a.txt"
    files.write_whole(path, "größer\r\nzwei\n")
    assert path.read_bytes() == "größer\r\nzwei\n".encode()


def test_a_file_that_cannot_be_finished_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.json"
    files.write_json(path, {"a": 1})

    def fail(*_: object) -> None:
        raise OSError("no room")

    monkeypatch.setattr(files.os, "replace", fail)
    with pytest.raises(OSError, match="no room"):
        files.write_json(path, {"a": 2})
    assert files.read_json(path) == {"a": 1}
    assert [*tmp_path.iterdir()] == [path]


def test_two_that_write_one_file_at_once_do_not_share_its_part(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, replace = tmp_path / "a.txt", files.os.replace
    moved: list[str] = []

    def meanwhile(part: Path, target: Path) -> None:
        monkeypatch.setattr(files.os, "replace", replace)
        files.write_whole(path, "other")
        moved.append(Path(part).read_text())
        replace(part, target)

    monkeypatch.setattr(files.os, "replace", meanwhile)
    files.write_whole(path, "mine")
    assert moved == ["mine"]
    assert path.read_text() == "mine"
    assert [*tmp_path.iterdir()] == [path]


def test_json_is_the_same_for_the_same_content(tmp_path: Path) -> None:
    one, two = tmp_path / "1.json", tmp_path / "2.json"
    files.write_json(one, {"b": [1, 2], "a": "é"})
    files.write_json(two, {"a": "é", "b": [1, 2]})
    assert one.read_bytes() == two.read_bytes()
    assert one.read_text(encoding="utf-8") == '{\n  "a": "é",\n  "b": [\n    1,\n    2\n  ]\n}\n'


def test_json_refuses_what_is_no_json(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        files.write_json(tmp_path / "a.json", {"a": float("nan")})


def test_a_file_that_is_not_there_is_an_empty_object(tmp_path: Path) -> None:
    assert files.read_json(tmp_path / "a.json") == {}


def test_sha256_of_abc(tmp_path: Path) -> None:
    # NIST, Cryptographic Standards and Guidelines, example values, SHA-256 of "abc".
    path = tmp_path / "abc"
    path.write_bytes(b"abc")
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert files.sha256(path) == expected
