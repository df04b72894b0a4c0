from __future__ import annotations

import logging
import os
import sys
from importlib import metadata
from pathlib import Path

import pytest

from wintersward.runs.kernels import check_cell, surroundings


def test_this_python_passes_the_check() -> None:
    exec(check_cell().source, {})


@pytest.mark.parametrize(
    ("what", "said"),
    [("prefix", "is the Python in /elsewhere with"), ("version", "with wintersward 0.0.1, but")],
)
def test_any_other_python_does_not(monkeypatch: pytest.MonkeyPatch, what: str, said: str) -> None:
    source = check_cell().source
    if what == "prefix":
        monkeypatch.setattr(sys, "prefix", "/elsewhere")
    else:
        monkeypatch.setattr(metadata, "version", lambda _: "0.0.1")
    with pytest.raises(RuntimeError, match=said):
        exec(source, {})


def test_a_python_without_the_package_does_not_pass(monkeypatch: pytest.MonkeyPatch) -> None:
    source = check_cell().source

    def missing(name: str) -> str:
        raise metadata.PackageNotFoundError(name)

    monkeypatch.setattr(metadata, "version", missing)
    with pytest.raises(RuntimeError, match="with wintersward none, but the run is"):
        exec(source, {})


def test_the_check_leaves_no_name_behind() -> None:
    names: dict[str, object] = {}
    exec(check_cell().source, names)
    assert set(names) == {"__builtins__"}


def test_surroundings_come_and_go(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("JUPYTER_PREFER_ENV_PATH", "0")
    monkeypatch.setenv("PYTHONSTARTUP", "/home/me/start.py")
    before = dict(os.environ)
    level = logging.getLogger("papermill").level
    with surroundings():
        assert os.environ["JUPYTER_PREFER_ENV_PATH"] == "1"
        assert os.environ["TQDM_DISABLE"] == "1"
        assert "PYTHONSTARTUP" not in os.environ
        place = Path(os.environ["IPYTHONDIR"]).parent
        assert place.is_dir()
    assert dict(os.environ) == before
    assert logging.getLogger("papermill").level == level
    assert not place.exists()


def test_surroundings_go_after_an_error_too() -> None:
    before = dict(os.environ)
    with pytest.raises(KeyboardInterrupt), surroundings():
        raise KeyboardInterrupt
    assert dict(os.environ) == before
