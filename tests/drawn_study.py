"""Small studies whose plots are drawn: drawn once, and laid out anew for each test."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from wintersward.runs.planning import plan

__all__ = ["drawn_files", "laid_out"]


def drawn_files(definition: Path, folder: Path) -> dict[str, bytes]:
    """Draw the plots of a definition in a folder, and give the two files that matter."""
    (folder / "trial.yaml").write_bytes(definition.read_bytes())
    plan(folder)
    return {name: (folder / name).read_bytes() for name in ("trial.yaml", "plan/plots.csv")}


def laid_out(files: Mapping[str, bytes], folder: Path) -> Path:
    """Write a study in which nothing was gathered yet."""
    for name, content in files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)
    return folder
