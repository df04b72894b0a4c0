"""A demonstration: one area of each treatment, counted, averaged and described, never tested."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations

import pandas as pd

from wintersward.analysis.agreement import agreement
from wintersward.analysis.days_gained import days_gained
from wintersward.analysis.demonstration_tables import described
from wintersward.analysis.model import TrialModel
from wintersward.analysis.rater_counts import rater_counts
from wintersward.analysis.results import empty
from wintersward.analysis.scopes import notes_table
from wintersward.analysis.skeleton import DEMONSTRATION
from wintersward.errors import WinterswardError
from wintersward.study import Trial

__all__ = ["demonstrated", "shown_means", "shown_tables"]


def shown_means(model: TrialModel) -> pd.DataFrame:
    """Average the plots of each treatment, without any error: there is nothing to tell it by.

    Parameters
    ----------
    model : TrialModel
        One measure on one date of a demonstration.

    Returns
    -------
    DataFrame
        Columns effect, level, mean [unit of the measure], se, df, lower, upper (all NaN), units
        (plots in the mean), letters (all empty); `described` takes those without a value away.
    """
    frames = []
    for size in range(1, len(model.skeleton.factors) + 1):
        for chosen in combinations(model.skeleton.factors, size):
            values = model.data.groupby(list(chosen), observed=True)["value"]
            held = values.agg(mean="mean", units="size")
            level = [":".join(key) if isinstance(key, tuple) else str(key) for key in held.index]
            frames.append(held.reset_index(drop=True).assign(effect=":".join(chosen), level=level))
    stacked = pd.concat(frames, ignore_index=True)
    stacked[["se", "df", "lower", "upper"]] = float("nan")
    return stacked[["effect", "level", "mean", "se", "df", "lower", "upper", "units"]].assign(
        letters=""
    )


def demonstrated(trial: Trial) -> dict[str, pd.DataFrame]:
    """Give what a demonstration can show beside its values and means.

    Parameters
    ----------
    trial : Trial
        Its layout is a demonstration.

    Returns
    -------
    dict of str to DataFrame
        ``raters`` and ``eye_and_photo``; once the primary question has its data ``arrivals``;
        and ``notes``, which say in one sentence why nothing is compared.
    """
    question = trial.definition.analysis.primary
    why = notes_table(question.measure, trial.primary_date, [("demonstration", DEMONSTRATION)])
    seen = agreement(trial)
    kept = [name for name in seen if name in ("raters", "eye_and_photo")]
    made = {name: seen[name] for name in kept}
    notes = [why]
    arrivals = empty("arrivals")
    if trial.ready:
        try:
            found = days_gained(trial)
            arrivals = found["arrivals"]
            notes.append(found["notes"])
        except WinterswardError as error:
            said = [("days gained", f"no days of arrival: {error}")]
            notes.append(notes_table(question.measure, trial.primary_date, said))
    filled = [frame for frame in notes if not frame.empty]
    return {**made, "arrivals": arrivals, "notes": pd.concat(filled, ignore_index=True)}


def shown_tables(trial: Trial, tables: Mapping[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """Hand over what a demonstration may hold, and no table or column beyond it.

    Parameters
    ----------
    trial : Trial
        Its layout is a demonstration.
    tables : mapping of str to DataFrame
        As the loop over its measures made them.

    Returns
    -------
    dict of str to DataFrame
        The tables of `wintersward.analysis.demonstration_tables.DEMONSTRATION_TABLES`, without
        photo_scores.
    """
    made = described(tables)
    made["rater_counts"] = rater_counts(trial)
    return made
