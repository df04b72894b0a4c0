"""The pictures of the stage on decisions."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from wintersward.decisions.closure import closure_measures
from wintersward.decisions.rows import held
from wintersward.report.aerating_figures import aeration_pictures
from wintersward.report.budgeting_figures import budget_picture
from wintersward.report.picture import Picture
from wintersward.report.readiness_figures import readiness_pictures
from wintersward.report.recovering_figures import closure_picture
from wintersward.trial.schema import Definition

__all__ = ["decision_pictures"]


def decision_pictures(tables: Mapping[str, pd.DataFrame], definition: Definition) -> list[Picture]:
    """Make every picture of decisions that has something to show.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables of a run, in SI; those of the stage on decisions among them.
    definition : Definition
        The trial.

    Returns
    -------
    list of Picture
        Before the primary question has data none compares treatments: its tables are empty.
    """
    made, holes = readiness_pictures(tables, definition), closure_measures(definition)
    if held(tables, "closure").get("measure", pd.Series(dtype=str)).isin(holes).any():
        made.append(closure_picture(tables, definition))
    if not held(tables, "aeration_options").empty:
        made += aeration_pictures(dict(tables), definition)
    if not held(tables, "budget").empty:
        made.append(budget_picture(tables["budget"], definition))
    return made
