"""Stand-ins for interpreters and checkouts, so that no test needs a network."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

import start
import start_environment
from setup.ready import Ready


@pytest.fixture(autouse=True)
def _no_named_python(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(start_environment.NAMED, raising=False)


@pytest.fixture
def interpreter(tmp_path: Path) -> Callable[[str, int], Path]:
    """Write a program that answers as a Python of some version would, or fails."""

    def write(answer: str, code: int = 0) -> Path:
        folder = tmp_path / "interpreters"
        folder.mkdir(exist_ok=True)
        path = folder / f"python-{len(list(folder.iterdir()))}{'.bat' if os.name == 'nt' else ''}"
        if os.name == "nt":
            path.write_text(f"@echo {answer}\n@exit /b {code}\n")
        else:
            path.write_text(f"#!/bin/sh\necho '{answer}'\nexit {code}\n")
            path.chmod(0o755)
        return path

    return write


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """Make a folder with the two files that a set-up depends on."""
    root = tmp_path / "checkout"
    (root / "toolkit").mkdir(parents=True)
    (root / "pyproject.toml").write_text("[project]\n")
    (root / "toolkit" / "constraints.txt").write_text("numpy==2.4.6\n")
    return root


@pytest.fixture
def home(checkout: Path) -> Ready:
    return Ready(checkout)


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> list[tuple[list[str], Path | None]]:
    """Keep what would be called; every call succeeds."""
    kept: list[tuple[list[str], Path | None]] = []

    def call(command: list[object], cwd: Path | None = None, **settings: str) -> int:
        kept.append(([str(part) for part in command], cwd))
        return 0

    monkeypatch.setattr(start, "call", call)
    return kept
