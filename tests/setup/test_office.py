"""The recipe that has LibreOffice open the sheets; LibreOffice is stood in for."""

from __future__ import annotations

from pathlib import Path

import pytest

import start
from setup.ready import Ready


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch, calls: list[tuple[list[str], Path | None]]) -> set[str]:
    """Choose by a word what there is."""
    there = {"apt-get"}

    def call(command: list[object], cwd: Path | None = None, **settings: str) -> int:
        calls.append(([str(part) for part in command], cwd))
        return 0

    monkeypatch.setattr(start, "call", call)
    monkeypatch.setattr(start, "count_run", lambda counts: 1)
    monkeypatch.setattr(
        start.shutil, "which", lambda name: f"/bin/{name}" if name in there else None
    )
    monkeypatch.setattr(start.os, "geteuid", lambda: 0, raising=False)
    return there


def test_where_it_is_installed_the_tests_run_at_once(
    home: Ready, here: set[str], calls: list[tuple[list[str], Path | None]]
) -> None:
    here.add("soffice")
    assert start.main(["office", "-k", "pull"], home) == 0
    assert home.prepared == ["dev"]
    ((command, cwd),) = calls
    assert command[-4:] == ["tests/office", "-s", "-k", "pull"]
    assert cwd == home.root


def test_where_it_is_missing_it_is_installed_first(
    home: Ready, here: set[str], calls: list[tuple[list[str], Path | None]]
) -> None:
    assert start.main(["office"], home) == 0
    update, install, tests = [command for command, _ in calls]
    assert update[:2] == ["apt-get", "update"]
    assert install[-1] == "libreoffice-calc"
    assert tests[-2:] == ["tests/office", "-s"]


def test_where_it_cannot_be_installed_that_is_told(
    home: Ready, here: set[str], capsys: pytest.CaptureFixture[str]
) -> None:
    here.clear()
    assert start.main(["office"], home) != 0
    assert "needs LibreOffice" in capsys.readouterr().err
