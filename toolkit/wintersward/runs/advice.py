"""Advice on a plan before it is frozen: what it can see, what is wrong with it, how to block."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from wintersward.errors import WinterswardError
from wintersward.paths import study_folder
from wintersward.trial import read_definition

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["VALUES", "Advice", "advice", "known_values"]

# What is known of each plot before any treatment, written by the person.
VALUES = "plot_values.csv"


@dataclass(frozen=True)
class Advice:
    """What to think about before a plan is frozen; none of it stops anything.

    Parameters
    ----------
    expected : list of str
        How large a difference the trial can be expected to see.
    concerns : list of str
        What is wrong with the plan, and what to do instead; what the plots have no room for last.
    blocking : list of str
        Which blocks would make the plots more alike; empty without ``plan/plot_values.csv``.
    """

    expected: list[str]
    concerns: list[str]
    blocking: list[str]


def advice(folder: str | Path = "") -> Advice:
    """Advise on the plan of a study.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the definition, the plots or their values.
    """
    from wintersward import analysis, design

    study = study_folder(folder or Path.cwd())
    definition, problems = read_definition(study)
    if definition is None:
        raise WinterswardError(problems)
    plots = values = None
    blocking: list[str] = []
    rooms: list[str] = []
    path = study / "plan" / "plots.csv"
    if path.is_file():
        plots, problems = design.read_plots(path, definition)
        if plots is None:
            raise WinterswardError(problems)
        rooms = design.place_concerns(plots, definition)
        values = known_values(study, plots)
        if values is not None:
            blocking = analysis.blocking_words(definition, plots, values)
    concerns = analysis.plan_concerns(definition, plots, values)
    expected = analysis.expectation_words(definition, plots=plots)
    return Advice(expected, [*map(str, concerns), *rooms], blocking)


def known_values(study: Path, plots: pd.DataFrame) -> pd.DataFrame | None:
    """Read what is known of each plot of a study.

    Parameters
    ----------
    study : Path
        The study folder.
    plots : DataFrame
        ``plan/plots.csv``, drawn or about to be written.

    Returns
    -------
    DataFrame or None
        None where there is no ``plan/plot_values.csv``.

    Raises
    ------
    WinterswardError
        With everything that is wrong in it.
    """
    from wintersward import design

    values, problems = design.read_plot_values(study / "plan" / VALUES, plots)
    if problems:
        raise WinterswardError(problems)
    return values
