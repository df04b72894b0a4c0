"""Draw the plots of a study, once, and their maps."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from wintersward.errors import WinterswardError
from wintersward.paths import study_folder
from wintersward.runs.files import write_whole
from wintersward.trial import Definition, read_definition

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["MAPS", "Planned", "plan"]

# From the name of a map to whether it shows the treatments; raters get the one without.
MAPS = {"plot_map.svg": True, "plot_map_rater.svg": False}
_NUMBERS = ("x_m", "y_m", "width_m", "length_m")


@dataclass(frozen=True)
class Planned:
    """A plan that agrees with its definition.

    Parameters
    ----------
    study : Path
        The study folder.
    plots : int
        Number of plots.
    drawn : bool
        Whether they were drawn now; otherwise they were there and stay as they are.
    seed : int
        Seed of the randomisation.
    """

    study: Path
    plots: int
    drawn: bool
    seed: int


def plan(folder: str | Path = "") -> Planned:
    """Draw the plots of a study and its maps; plots that are drawn are never drawn again.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.

    Returns
    -------
    Planned
        ``plan/plots.csv`` and the maps are written.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the definition, or with every difference between it
        and the plots that are drawn already. Nothing is overwritten then.
    """
    from wintersward import design

    study = study_folder(folder or Path.cwd())
    definition, problems = read_definition(study)
    if definition is None:
        raise WinterswardError(problems)
    path = study / "plan" / "plots.csv"
    there = path.exists()
    if there:
        plots = _agreeing(path, definition, folder)
    else:
        plots = design.draw(definition)
        design.write_plots(plots, path)
    for name, treatments in MAPS.items():
        _draw_map(path.with_name(name), plots, definition, treatments)
    return Planned(study, len(plots), not there, definition.layout.seed)


def _agreeing(path: Path, definition: Definition, folder: str | Path) -> pd.DataFrame:
    """Read the plots that are drawn, as long as the definition would draw the same."""
    from wintersward import design

    plots, problems = design.read_plots(path, definition)
    loose = plots if plots is not None else _loose(path)
    changed = design.layout_changed(loose, definition) if loose is not None else []
    if changed:
        kept = "the plots were drawn from another definition and are not drawn again"
        told = [f"plan/plots.csv: {said}" for said in changed]
        raise WinterswardError([*told, f"{kept}; {design.redraw(folder)}"])
    if plots is None:
        raise WinterswardError(problems)
    return plots


def _loose(path: Path) -> pd.DataFrame | None:
    """Read plots that another definition drew; None where it is no such table at all."""
    import pandas as pd

    try:
        frame = pd.read_csv(path, dtype=str, keep_default_na=False)
        frame = frame.astype(dict.fromkeys(_NUMBERS, "float64"))
        known = {"plot", "whole_plot", "block", "row", "column", *_NUMBERS, "walk"}
        return frame if known <= set(frame.columns) and len(frame) else None
    except (ValueError, KeyError, OSError):
        return None


def _draw_map(path: Path, plots: pd.DataFrame, definition: Definition, treatments: bool) -> None:
    from wintersward import design
    from wintersward.runs.pictures import svg

    write_whole(path, svg(design.plot_map(plots, definition, treatments)))
