"""Draw the plots of a study, once, and their maps; or check plots that were laid by hand."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from wintersward.errors import WinterswardError
from wintersward.paths import command, study_folder
from wintersward.runs.advice import written_values
from wintersward.runs.files import write_whole
from wintersward.trial import Definition, read_definition
from wintersward.trial.reading import read_yaml

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["TO_FILL_IN", "Planned", "plan"]

# What a person fills in whose plots were laid by hand.
TO_FILL_IN = "plots_to_fill_in.csv"
_NUMBERS = ("x_m", "y_m", "width_m", "length_m")


@dataclass(frozen=True)
class Planned:
    """A plan that agrees with its definition, or one that waits for a person to fill it in.

    Parameters
    ----------
    study : Path
        The study folder.
    plots : int
        Number of plots.
    drawn : bool
        Whether they were drawn now; otherwise they were there and stay as they are, or they
        were laid by hand.
    seed : int
        Seed of the randomisation.
    said : str
        What was done with the plots, and what to do next; a line or more.
    written : dict of str to str
        Other files of ``plan``, and what each of them is.
    complete : bool
        False while plots laid by hand have no table.
    """

    study: Path
    plots: int
    drawn: bool
    seed: int
    said: str
    written: dict[str, str] = field(default_factory=dict)
    complete: bool = True


def plan(folder: str | Path = "") -> Planned:
    """Draw the plots of a study and its maps; plots that are drawn are never drawn again.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.

    Returns
    -------
    Planned
        ``plan/plots.csv`` and the maps are written. Plots laid by hand are checked and mapped;
        while their table is missing, one to fill in is written instead.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the definition, with every plot that cannot lie where
        the definition puts it, or with every difference between the definition and the plots
        that are there already, or in ``plan/plot_values.csv``. Nothing is written then.
    """
    from wintersward import design
    from wintersward.runs.plan_maps import map_concerns

    study = study_folder(folder or Path.cwd())
    definition, problems = read_definition(study)
    if definition is None:
        raise WinterswardError(problems)
    path = study / "plan" / "plots.csv"
    there, seed = path.exists(), definition.layout.seed
    by_hand = definition.layout.laid_by_hand is not None
    if by_hand and not there:
        return _to_fill_in(study, definition, folder)
    if there:
        plots = _agreeing(path, definition, folder)
        said = f"plan/plots.csv agrees with trial.yaml and stays as it is: {len(plots)} plots"
        said += ", laid by hand" if by_hand else ""
        written_values(study, plots)
    else:
        _stop_for_faults(study, definition)
        plots = design.draw(definition)
        written_values(study, plots)
        design.write_plots(plots, path)
        said = f"plan/plots.csv: {len(plots)} plots, drawn with the seed {seed}"
    said = "\n".join([said, *map_concerns(plots, definition)])
    written = _write_maps(path.parent, plots, definition)
    return Planned(study, len(plots), not there, seed, said, written)


def _stop_for_faults(study: Path, definition: Definition) -> None:
    """Tell of plots that cannot lie where the definition puts them, by its lines."""
    from wintersward import design

    faults = design.layout_faults(definition)
    if faults:
        source = read_yaml(study / "trial.yaml", "trial.yaml")
        raise WinterswardError([source.problem(*fault) for fault in faults])


def _to_fill_in(study: Path, definition: Definition, folder: str | Path) -> Planned:
    """Write the table that a person fills in; what was filled in already stays."""
    from wintersward import design

    path = study / "plan" / TO_FILL_IN
    frame = design.plots_to_fill_in(definition)
    there = path.exists()
    if not there:
        text = frame.to_csv(index=False, lineterminator="\n", float_format="%.10g")
        write_whole(path, text)
    factors = " and ".join(definition.treatments)
    said = (
        f"the plots were laid by hand: put the treatments ({factors}) into plan/{TO_FILL_IN}, "
        "correct what lies elsewhere or has another size, save it as plan/plots.csv, and run: "
        f"{command('plan', folder)}"
    )
    what = f"{len(frame)} plots as the definition places them, without treatments"
    what = "stays as it is" if there else what
    seed = definition.layout.seed
    return Planned(study, len(frame), False, seed, said, {TO_FILL_IN: what}, complete=False)


def _agreeing(path: Path, definition: Definition, folder: str | Path) -> pd.DataFrame:
    """Read the plots that are there, as long as the definition would draw or allow them."""
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


def _write_maps(folder: Path, plots: pd.DataFrame, definition: Definition) -> dict[str, str]:
    from wintersward.runs.plan_maps import plan_maps

    written = {}
    for name, (content, what) in plan_maps(plots, definition).items():
        write_whole(folder / name, content)
        written[name] = what
    return written
