"""Observations that the diary declares missing, and that are there all the same."""

from __future__ import annotations

import pandas as pd

from wintersward.errors import Problem
from wintersward.records.observations import first_looks
from wintersward.trial.dates import dates_meant
from wintersward.trial.diary import Lost
from wintersward.trial.schema import Definition, Diary, SheetMeasure

__all__ = ["found_after_all"]

# What a planned value is of: measure, plot, sample, rater.
_Planned = tuple[str, str, int, str]


def found_after_all(
    observations: pd.DataFrame, definition: Definition, diary: Diary, plots: pd.DataFrame
) -> list[Problem]:
    """Tell the entries under ``missing`` of which every value was observed.

    Parameters
    ----------
    observations : DataFrame
        Columns of `wintersward.records.COLUMNS`; excluded ones are there all the same.
    definition, diary : Definition, Diary
        What was planned, and what the diary declares missing.
    plots : DataFrame
        Columns plot and whole_plot, one row a plot.

    Returns
    -------
    list of Problem
        One for each entry. An entry that means photos is not looked at, since a photo that is
        there may show nothing that can be scored.

    Notes
    -----
    An entry that names no sample, rater or measure means those that were not taken: it holds as
    long as one of them is not there.
    """
    first = first_looks(observations)
    problems = []
    for number, entry in enumerate(diary.missing, 1):
        wanted = _meant(entry, definition, plots)
        here = first[first["date"] == pd.Timestamp(entry.date)]
        seen: dict[_Planned, str] = {}
        for measure, plot, sample, rater, source in here[
            ["measure", "plot", "sample", "rater", "source"]
        ].itertuples(index=False):
            who = rater if getattr(definition.measures[measure], "raters", []) else ""
            seen[(measure, plot, sample, who)] = source
        if wanted and wanted <= seen.keys():
            one = min(wanted)
            table, _, row = seen[one].rpartition(":")
            found = f"{one[0]} of plot {one[1]} on this date in {table}, row {row}"
            hint = "remove the entry; a value that is not to be used belongs under exclusions"
            problems.append(
                Problem("diary.yaml", field=f"missing.{number}", found=found, hint=hint)
            )
    return problems


def _meant(entry: Lost, definition: Definition, plots: pd.DataFrame) -> set[_Planned]:
    """List the planned values that an entry means; none where it means photos or loggers."""
    wanted: set[_Planned] = set()
    for name, measure in definition.measures.items():
        planned = entry.date in dates_meant(definition.dates, measure.dates)
        if not planned or entry.measure not in (None, name):
            continue
        if not isinstance(measure, SheetMeasure):
            return set()
        for plot, whole in zip(plots["plot"], plots["whole_plot"], strict=True):
            for sample in range(1, measure.per_plot + 1):
                for rater in measure.raters or [""]:
                    if entry.sample not in (None, sample):
                        continue
                    if entry.means(name, entry.date, (plot, whole), sample, rater):
                        wanted.add((name, plot, sample, rater))
    return wanted
