from __future__ import annotations

import stat
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.errors import WinterswardError
from wintersward.handin.unpacking import Limits, unpack

INSIDE = "allowed: a path below the bundle's own folder, such as study/trial.yaml"
_COMPOSED = "na\N{LATIN SMALL LETTER I WITH DIAERESIS}ve"
_PARTED = "nai\N{COMBINING DIAERESIS}ve"
Packed = Callable[..., Path]


@pytest.fixture
def packed(tmp_path: Path) -> Packed:
    """Pack entries, each a name or a ZipInfo with its content, into a zip file."""

    def pack(*entries: tuple[str | zipfile.ZipInfo, str]) -> Path:
        path = tmp_path / "in" / "bundle-001.zip"
        path.parent.mkdir(exist_ok=True)
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as held:
            for name, content in entries:
                held.writestr(name, content)
        return path

    return pack


def refused(path: Path, limits: Limits | None = None) -> list[str]:
    """Unpack what must be refused; nothing may be written, inside or outside."""
    around = path.parents[1]
    before = sorted(around.rglob("*"))
    with pytest.raises(WinterswardError) as caught:
        unpack(path, around / "out", *([limits] if limits else []))
    assert sorted(around.rglob("*")) == before
    return [str(problem) for problem in caught.value.problems]


def test_files_come_out_as_they_went_in(packed: Packed, tmp_path: Path) -> None:
    path = packed(("study/trial.yaml", "title: x\n"), ("run/", ""), ("run/a b.csv", "1\n"))
    assert unpack(path, tmp_path / "out") == ["run/a b.csv", "study/trial.yaml"]
    assert (tmp_path / "out" / "run" / "a b.csv").read_bytes() == b"1\n"


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("../evil.txt", "a path that climbs out of its folder"),
        ("study/../../evil.txt", "a path that climbs out of its folder"),
        ("/etc/evil.txt", "an absolute path"),
        ("//server/share/evil.txt", "an absolute path"),
        ("C:/evil.txt", "a path that begins with a drive"),
        ("C:evil.txt", "a path that begins with a drive"),
        ("study/trial.yaml:hidden", "a path with a colon"),
        ("study\\..\\evil.txt", "a path with a backslash"),
        ("study//evil.txt", "a path with an empty part"),
        ("./evil.txt", "a path with an empty part"),
    ],
)
def test_paths_that_lead_elsewhere(packed: Packed, name: str, found: str) -> None:
    told = refused(packed((name, "x"), ("study/trial.yaml", "x")))
    assert told == [f"{name}: found {found}; {INSIDE}"]


def test_a_name_with_a_control_character_is_told_in_letters(packed: Packed) -> None:
    told = refused(packed(("study/a\nb.csv", "x")))
    rule = "allowed: letters, digits and signs"
    assert told == [f"study/a\\nb.csv: found a name with a control character; {rule}"]


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("study/trial.yaml.", "a name that ends in a dot or a space"),
        ("study/trial.yaml ", "a name that ends in a dot or a space"),
        ("study/NUL", "a name that Windows keeps for a device"),
        ("study/aux.csv", "a name that Windows keeps for a device"),
        ("study/a*?.csv", 'a name with one of <>"|?*'),
        ("study/" + "a" * 201, "a name of more than 200 bytes, or a path of more than 1000"),
        ("/".join("a" * 600), "a name of more than 200 bytes, or a path of more than 1000"),
    ],
)
def test_names_that_some_computer_cannot_write(packed: Packed, name: str, found: str) -> None:
    rule = "allowed: letters, digits and signs"
    assert refused(packed((name, "x"), ("study/b", "x"))) == [f"{name}: found {found}; {rule}"]


def test_a_name_that_hides_its_ending(packed: Packed) -> None:
    assert refused(packed(("study/\u202egpj.csv", "x"))) == [
        "study/\\u202egpj.csv: found a name with a control character; allowed: letters, digits and "
        "signs"
    ]


def test_something_before_the_first_file(packed: Packed) -> None:
    path = packed(("study/a", "x"))
    path.write_bytes(b"#!/bin/sh\nexit\n" + path.read_bytes())
    assert refused(path) == [
        "bundle-001.zip: found something before its first file, so that another program may see "
        "other files in it; allowed: a zip file alone; ask for the file again"
    ]


@pytest.mark.parametrize("comment", [b"", b"from the ground"])
def test_something_after_the_end(packed: Packed, comment: bytes) -> None:
    path = packed(("study/a", "x"))
    with zipfile.ZipFile(path, "a") as held:
        held.comment = comment
    assert unpack(path, path.parent / "out") == ["study/a"]
    path.write_bytes(path.read_bytes() + b"one more")
    assert refused(path) == [
        "bundle-001.zip: found something after its end, so that another program may see other "
        "files in it; allowed: a zip file alone; ask for the file again"
    ]


def test_what_the_disk_does_not_take_is_a_line(
    packed: Packed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("shutil.copyfileobj", full)
    with pytest.raises(WinterswardError) as caught:
        unpack(packed(("study/a", "x")), tmp_path / "out")
    assert str(caught.value) == (
        "bundle-001.zip: found files that this computer cannot write (the disk: no space left on "
        "device)"
    )


@pytest.mark.parametrize(
    ("kind", "found"),
    [(stat.S_IFLNK, "a link"), (stat.S_IFIFO, "neither a file nor a folder")],
)
def test_what_is_no_file(packed: Packed, kind: int, found: str) -> None:
    entry = zipfile.ZipInfo("study/plan")
    entry.external_attr = (kind | 0o777) << 16
    assert refused(packed((entry, "/etc"))) == [f"study/plan: found {found}; allowed: files"]


def test_names_that_some_systems_take_for_one(packed: Packed) -> None:
    path = packed(
        ("study/Photos/a.jpg", "1"),
        ("study/photos/a.jpg", "2"),
        (f"study/{_COMPOSED}.csv", "3"),
        (f"study/{_PARTED}.csv", "4"),
    )
    rule = "in case or in accents only; allowed: names that differ"
    assert refused(path) == [
        f"study/{_PARTED}.csv: found a name that differs from study/{_COMPOSED}.csv " + rule,
        "study/photos: found a name that differs from study/Photos " + rule,
    ]


def test_one_name_twice_and_a_file_that_is_a_folder_too(packed: Packed) -> None:
    with pytest.warns(UserWarning, match="Duplicate name"):
        path = packed(("a.csv", "1"), ("a.csv", "2"), ("b", "3"), ("b/c", "4"))
    assert refused(path) == [
        "a.csv: found the same name twice",
        "b: found a file and a folder of one name",
    ]


def test_everything_is_told_together(packed: Packed) -> None:
    assert len(refused(packed(("../a", "x"), ("/b", "x"), ("C:/c", "x")))) == 3


def test_a_bomb(packed: Packed) -> None:
    path = packed(("study/zeros.csv", "0" * 20_000_000))
    size = path.stat().st_size
    assert refused(path) == [
        f"bundle-001.zip: found 20000000 bytes unpacked out of {size}, "
        f"{20_000_000 / size:.0f} times as much; allowed: at most 100 times"
    ]


@pytest.mark.parametrize(
    ("limits", "told"),
    [
        (Limits(files=2), "found 3 files; allowed: at most 2"),
        (Limits(size=5), "found 6 bytes unpacked; allowed: at most 5"),
    ],
)
def test_more_than_is_allowed(packed: Packed, limits: Limits, told: str) -> None:
    path = packed(("a", "12"), ("b", "34"), ("c", "56"))
    assert refused(path, limits) == [f"bundle-001.zip: {told}"]


def test_no_room_on_the_disk(packed: Packed, monkeypatch: pytest.MonkeyPatch) -> None:
    path = packed(("a", "1234"))
    usage = type("Usage", (), {"free": 3})
    monkeypatch.setattr("shutil.disk_usage", lambda _: usage)
    told = "found 4 bytes unpacked; allowed: what the disk has room for: 3"
    assert refused(path) == [f"bundle-001.zip: {told}"]


def test_other_methods_and_passwords(tmp_path: Path) -> None:
    path = tmp_path / "in" / "bundle-001.zip"
    path.parent.mkdir()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_BZIP2) as held:
        held.writestr("a", "1")
    assert refused(path) == ["a: found a file packed by method 12; allowed: deflate, or none"]
    with zipfile.ZipFile(path, "w") as held:
        held.writestr("a", "1")
    content = bytearray(path.read_bytes())
    for mark in (b"PK\x03\x04", b"PK\x01\x02"):
        content[content.index(mark) + (6 if mark[2] == 3 else 8)] |= 1
    path.write_bytes(content)
    assert refused(path) == ["a: found an encrypted file; allowed: files without a password"]


@pytest.mark.parametrize("where", ["cut", "changed", "no zip file"])
def test_a_damaged_file(packed: Packed, tmp_path: Path, where: str) -> None:
    path = packed(("study/trial.yaml", "title: our own trial\n" * 20))
    content = path.read_bytes()
    if where == "changed":
        content = content[:60] + b"\xff\xff\xff" + content[63:]
    path.write_bytes({"cut": content[:-30], "no zip file": b"a report"}.get(where, content))
    with pytest.raises(WinterswardError) as caught:
        unpack(path, tmp_path / "out")
    (told,) = caught.value.problems
    assert str(told).startswith("bundle-001.zip: found a damaged zip file, or none (")
    assert str(told).endswith("); ask for the file again")
