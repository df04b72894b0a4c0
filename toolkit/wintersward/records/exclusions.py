"""Exclusions of the diary: observations are marked with the reason, never dropped."""

from __future__ import annotations

import pandas as pd

from wintersward.errors import Problem
from wintersward.trial.schema import Diary, Exclusion

__all__ = ["excluded"]


def excluded(
    observations: pd.DataFrame, diary: Diary, plots: pd.DataFrame
) -> tuple[pd.DataFrame, list[Problem]]:
    """Mark the observations that the diary leaves out.

    Parameters
    ----------
    observations : DataFrame
        Columns of `wintersward.records.COLUMNS`.
    diary : Diary
        An exclusion names a plot or a whole plot, and may be narrowed to a measure, date,
        sample or rater.
    plots : DataFrame
        Columns plot and whole_plot, one row a plot.

    Returns
    -------
    observations : DataFrame
        The same rows in the same order; ``excluded`` holds the reason, or several joined
        by ``"; "``, and is empty for what is used.
    problems : list of Problem
        One for each exclusion that fits no observation.
    """
    marked = observations.copy()
    reasons: list[list[str]] = [[text] if text else [] for text in marked["excluded"]]
    problems = []
    for number, exclusion in enumerate(diary.exclusions, 1):
        hits = _hits(marked, exclusion, plots)
        if not hits:
            problems.append(_without_effect(number, exclusion))
        for position in hits:
            if exclusion.reason not in reasons[position]:
                reasons[position].append(exclusion.reason)
    marked["excluded"] = pd.Series(["; ".join(some) for some in reasons], marked.index, dtype=str)
    return marked, problems


def _hits(observations: pd.DataFrame, exclusion: Exclusion, plots: pd.DataFrame) -> list[int]:
    """List the positions of the observations that an exclusion means."""
    named = (plots["plot"] == exclusion.plot) | (plots["whole_plot"] == exclusion.plot)
    chosen = observations["plot"].isin(plots.loc[named, "plot"])
    if exclusion.date is not None:
        chosen &= observations["date"] == pd.Timestamp(exclusion.date)
    for column in ("measure", "sample", "rater"):
        wanted = getattr(exclusion, column)
        if wanted is not None:
            chosen &= observations[column] == wanted
    return [position for position, hit in enumerate(chosen) if hit]


def _without_effect(number: int, exclusion: Exclusion) -> Problem:
    parts = [f"plot {exclusion.plot}"]
    parts += [exclusion.measure] if exclusion.measure else []
    parts += [str(exclusion.date)] if exclusion.date else []
    parts += [f"sample {exclusion.sample}"] if exclusion.sample else []
    parts += [f"rater {exclusion.rater}"] if exclusion.rater else []
    return Problem(
        "diary.yaml",
        field=f"exclusions.{number}",
        found=f"no observation of {', '.join(parts)}",
        hint="correct the entry, or bring back the observation; if it was never made, it is "
        "missing by itself: remove the entry and tell why under deviations",
    )
