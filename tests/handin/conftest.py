"""The small study folder of the runs, from which bundles are made, and one laid out by hand."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from handin.made_bundle import Laid, a_source, lay_out, stand_in
from runs.conftest import study

__all__ = ["anew", "laid", "source", "study"]


@pytest.fixture
def source(study: Path) -> Path:
    return a_source(study)


@pytest.fixture
def laid(source: Path, tmp_path: Path) -> Laid:
    return lay_out(source, source / "runs" / "001", tmp_path / "bundle-001")


@pytest.fixture
def anew(source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """What a rerun is said to give: the run as it was, whatever became of the bundle since."""
    made = tmp_path / "anew"
    shutil.copytree(source / "runs" / "001", made)
    stand_in(made, monkeypatch)
    return made
