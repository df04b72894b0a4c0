"""Advice on a plan before it is frozen: what it can see, what is wrong with it, how to block."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from wintersward.errors import WinterswardError
from wintersward.paths import study_folder
from wintersward.trial import Definition, read_definition

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["VALUES", "Advice", "advice", "known_values", "written_values"]

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
        Which blocks would make the plots more alike; empty where nothing is known of the
        plots: no ``plan/plot_values.csv``, and no shade declared.
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
    from wintersward.analysis.sun_values import FROM_SHADE, sun_words

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
        values = known_values(study, plots, definition)
        if values is not None:
            blocking = analysis.blocking_words(definition, plots, values)
            if blocking and FROM_SHADE in values:
                blocking.append(sun_words(definition))
    concerns = analysis.plan_concerns(definition, plots, values)
    expected = analysis.expectation_words(definition, plots=plots)
    return Advice(expected, [*map(str, concerns), *rooms], blocking)


def known_values(study: Path, plots: pd.DataFrame, definition: Definition) -> pd.DataFrame | None:
    """Give what is known of each plot of a study before any treatment.

    Parameters
    ----------
    study : Path
        The study folder.
    plots : DataFrame
        ``plan/plots.csv``.
    definition : Definition
        The trial.

    Returns
    -------
    DataFrame or None
        Index plot: the columns of ``plan/plot_values.csv``, and, where the definition declares
        shade and no column there is called ``sun_hours``, the hours of sun that
        `wintersward.analysis.sun_values.sun_values` works out, under the name ``FROM_SHADE`` of
        that module. None where neither is there.

    Raises
    ------
    WinterswardError
        With everything that is wrong in ``plan/plot_values.csv``.
    """
    from wintersward.analysis.sun_values import FROM_SHADE, SUN_HOURS, sun_values

    written = written_values(study, plots)
    if written is not None and SUN_HOURS in written:
        return written
    sun = sun_values(definition, plots)
    if sun is None:
        return written
    hours = sun.set_index("plot")[SUN_HOURS].rename(FROM_SHADE)
    return hours.to_frame() if written is None else written.join(hours)


def written_values(study: Path, plots: pd.DataFrame) -> pd.DataFrame | None:
    """Read what a person wrote of each plot of a study.

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
