"""Small studies whose plots are drawn: drawn once, and laid out anew for each test."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from wintersward import design
from wintersward.errors import WinterswardError
from wintersward.trial import read_definition

__all__ = ["draw_plots", "drawn_files", "laid_out"]


def draw_plots(folder: Path) -> None:
    """Draw the plots of a study as a plan does, without its maps."""
    definition, problems = read_definition(folder)
    if definition is None:
        raise WinterswardError(problems)
    path = folder / "plan" / "plots.csv"
    path.parent.mkdir(exist_ok=True)
    design.write_plots(design.draw(definition), path)


def drawn_files(definition: Path, folder: Path) -> dict[str, bytes]:
    """Draw the plots of a definition in a folder, and give the two files that matter."""
    (folder / "trial.yaml").write_bytes(definition.read_bytes())
    draw_plots(folder)
    return {name: (folder / name).read_bytes() for name in ("trial.yaml", "plan/plots.csv")}


def laid_out(files: Mapping[str, bytes], folder: Path) -> Path:
    """Write a study in which nothing was gathered yet."""
    for name, content in files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)
    return folder
