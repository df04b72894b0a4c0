"""A small study whose plots are drawn, made once, and a copy of it for each case."""

from __future__ import annotations

from pathlib import Path

import pytest

from wintersward.runs.planning import plan

TRIAL = Path(__file__).parent / "trial.yaml"


@pytest.fixture(scope="session")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The definition and the plots, drawn once."""
    folder = tmp_path_factory.mktemp("drawn")
    (folder / "trial.yaml").write_bytes(TRIAL.read_bytes())
    plan(folder)
    return {name: (folder / name).read_bytes() for name in ("trial.yaml", "plan/plots.csv")}


@pytest.fixture
def study(tmp_path: Path, drawn: dict[str, bytes]) -> Path:
    """A study folder with its plots drawn, and nothing gathered yet."""
    for name, content in drawn.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(content)
    return tmp_path
