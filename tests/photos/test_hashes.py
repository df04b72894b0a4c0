import hashlib
import json
import os
import time

import pytest

from wintersward.errors import WinterswardError
from wintersward.photos import hashes as hashes_module
from wintersward.photos.hashes import KeptHashes


@pytest.fixture
def settled(tmp_path):
    """A file that has been left alone for long, as far as its entry can tell."""
    path = tmp_path / "photo.jpg"
    path.write_bytes(b"first")
    return path


@pytest.fixture
def later(monkeypatch):
    """A clock that runs an hour ahead, so that files count as settled."""
    ahead = time.time_ns
    monkeypatch.setattr(hashes_module.time, "time_ns", lambda: ahead() + 3600 * 10**9)


@pytest.fixture
def read(monkeypatch):
    """Files that were really read."""
    paths = []

    def counted(path):
        paths.append(path)
        return hashlib.sha256(path.read_bytes()).hexdigest()

    monkeypatch.setattr(hashes_module, "file_hash", counted)
    return paths


def test_a_file_is_read_once(settled, tmp_path, read, later):
    first = KeptHashes(tmp_path)
    assert first.get(settled) is None
    assert first.of(settled) == hashlib.sha256(b"first").hexdigest()
    first.save()
    again = KeptHashes(tmp_path)
    assert again.of(settled) == again.get(settled) == first.of(settled)
    assert read == [settled]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["hashes.json", "photo.jpg"]


def test_a_changed_file_is_read_again(settled, tmp_path, read, later):
    kept = KeptHashes(tmp_path)
    kept.of(settled)
    stamp = settled.stat()
    settled.write_bytes(b"other")  # as long as before
    os.utime(settled, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
    assert kept.of(settled) == hashlib.sha256(b"other").hexdigest()
    assert len(read) == 2


def test_a_file_in_the_making_is_not_believed(settled, tmp_path, read, monkeypatch):
    just_after = settled.stat().st_mtime_ns + 10**9
    monkeypatch.setattr(hashes_module.time, "time_ns", lambda: just_after)
    kept = KeptHashes(tmp_path)
    kept.of(settled)
    assert kept.get(settled) is None
    kept.save()
    assert not (tmp_path / "hashes.json").exists()


@pytest.mark.parametrize("text", ["", "[1]", "{", '{"a": 3}', "\xff"])
def test_a_damaged_store_is_not_used(settled, tmp_path, read, later, text):
    (tmp_path / "hashes.json").write_text(text, encoding="latin-1")
    kept = KeptHashes(tmp_path)
    assert kept.of(settled) == hashlib.sha256(b"first").hexdigest()
    kept.save()
    assert KeptHashes(tmp_path).get(settled) is not None


def test_an_entry_of_another_form_is_not_used(settled, tmp_path, read, later):
    entries = {os.path.abspath(settled): "ab" * 32}
    (tmp_path / "hashes.json").write_text(json.dumps(entries))
    assert KeptHashes(tmp_path).get(settled) is None


def test_without_a_folder_nothing_is_written(settled, read, later):
    kept = KeptHashes(None)
    kept.of(settled)
    kept.save()
    assert [path.name for path in settled.parent.iterdir()] == ["photo.jpg"]


def test_a_folder_that_cannot_be_written_is_no_error(settled, tmp_path, read, later):
    kept = KeptHashes(tmp_path / "gone")
    kept.of(settled)
    kept.save()
    assert not (tmp_path / "gone").exists()


def test_a_missing_file_is_said(tmp_path):
    kept = KeptHashes(tmp_path)
    assert kept.get(tmp_path / "none.jpg") is None
    with pytest.raises(WinterswardError, match="no such file"):
        kept.of(tmp_path / "none.jpg")
