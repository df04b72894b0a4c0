"""What a stage notebook calls: pictures of a study, and tables and pictures on the screen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import pandas as pd

from wintersward.report.covers import spells_of
from wintersward.report.figures import (
    crossed_picture,
    deciding_picture,
    differences_picture,
    pictures,
    progress_picture,
)
from wintersward.report.picture import Picture
from wintersward.report.supporting_figures import arrivals_picture, residuals_picture

if TYPE_CHECKING:
    from wintersward.study import Trial

__all__ = [
    "plot_answer",
    "plot_arrivals",
    "plot_combinations",
    "plot_differences",
    "plot_means",
    "plot_residuals",
    "study_pictures",
]

Tables = Mapping[str, pd.DataFrame]


def plot_answer(trial: Trial, tables: Tables) -> Picture:
    """Draw the answer to the primary question.

    Parameters
    ----------
    trial : Trial
        The study.
    tables : mapping of str to DataFrame
        Results, in SI.

    Returns
    -------
    Picture
        Its ``name``, ``figure``, ``alt`` and ``caption`` go to ``record.save_figure``.
    """
    return deciding_picture(tables, trial.definition)


def plot_means(trial: Trial, tables: Tables, measure: str) -> Picture:
    """Draw a measure over the season: every unit, and the treatments' means on top."""
    return progress_picture(tables, trial.definition, measure, spells_of(trial))


def plot_combinations(trial: Trial, tables: Tables, measure: str) -> Picture:
    """Draw the treatments of one factor within every treatment of the other."""
    return crossed_picture(tables, trial.definition, measure)


def plot_differences(trial: Trial, tables: Tables, measure: str) -> Picture:
    """Draw the differences between treatments on every date, against zero."""
    return differences_picture(tables, trial.definition, measure)


def plot_arrivals(trial: Trial, tables: Tables) -> Picture:
    """Draw the day on which every unit reached the stated level."""
    return arrivals_picture(tables, trial.definition)


def plot_residuals(trial: Trial, tables: Tables, measure: str) -> Picture:
    """Draw what the models of a measure leave unexplained."""
    return residuals_picture(tables, trial.definition, measure)


def study_pictures(trial: Trial, tables: Tables, measure: str = "") -> list[Picture]:
    """Draw everything that a report shows of a measure, or of all measures and the answer.

    Returns
    -------
    list of Picture
        None that compares treatments before the primary question has data.
    """
    return pictures(tables, trial.definition, measure, spells_of(trial))
