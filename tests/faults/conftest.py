"""A small study whose plots are drawn, made once, and a copy of it for each case."""

from __future__ import annotations

from pathlib import Path

import pytest

from drawn_study import drawn_files, laid_out

TRIAL = Path(__file__).parent / "trial.yaml"


@pytest.fixture(scope="session")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The definition and the plots, drawn once."""
    return drawn_files(TRIAL, tmp_path_factory.mktemp("drawn"))


@pytest.fixture
def study(tmp_path: Path, drawn: dict[str, bytes]) -> Path:
    """A study folder with its plots drawn, and nothing gathered yet."""
    return laid_out(drawn, tmp_path)
