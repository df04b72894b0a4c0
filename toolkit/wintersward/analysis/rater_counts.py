"""How often two looks at a plot gave the same value: counted, without a measure of agreement."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
import pandas as pd

from wintersward.records import first_looks
from wintersward.study import Trial
from wintersward.trial.schema import SheetMeasure

__all__ = ["SECOND_LOOK", "rater_counts"]

SECOND_LOOK = "second look"
_COLUMNS = ("measure", "date", "rater", "against", "plots", "same", "near", "furthest")
_LOOK = ["date", "plot", "sample"]
# Values that a spreadsheet has rounded are the same up to this much, in their own unit.
_SAME = 1e-9


def rater_counts(trial: Trial) -> pd.DataFrame:
    """Count on how many plots two raters, or a rater's two looks, gave the same value.

    Parameters
    ----------
    trial : Trial
        The study. Treatments are not looked at, so nothing waits for the primary question.

    Returns
    -------
    DataFrame
        Columns measure, date, rater, against, plots, same, near (at most one mark apart; missing
        where the measure has no marks), furthest [unit of the measure]; one row a pair of looks
        and date. Excluded observations are left out. Several samples of a plot are compared one
        by one, and a plot counts as the same where all of them are.
    """
    rows: list[tuple[object, ...]] = []
    for name, measure in trial.definition.measures.items():
        if isinstance(measure, SheetMeasure):
            marks = measure.scale is not None
            rows += [(name, *row) for row in _pairs(trial.observations(name), marks)]
    frame = pd.DataFrame(rows, columns=list(_COLUMNS))
    kinds = {"date": "datetime64[us]", "plots": "int64", "same": "int64", "near": "Int64"}
    texts = dict.fromkeys(("measure", "rater", "against"), "str")
    return frame.astype({**kinds, **texts, "furthest": "float64"})


def _pairs(observations: pd.DataFrame, marks: bool) -> Iterator[tuple[object, ...]]:
    """Set every two raters side by side, then each rater beside the own second look."""
    used = observations[(observations["excluded"] == "") & observations["value"].notna()]
    first = first_looks(used)
    again = used.drop(first.index)
    by_rater = {str(rater): looks for rater, looks in first.groupby("rater")}
    for one, other in combinations(sorted(by_rater), 2):
        yield from _counted(one, other, by_rater[one], by_rater[other], marks)
    for rater, looks in again.groupby("rater"):
        if str(rater) in by_rater:
            yield from _counted(str(rater), SECOND_LOOK, by_rater[str(rater)], looks, marks)


def _counted(
    rater: str, against: str, left: pd.DataFrame, right: pd.DataFrame, marks: bool
) -> Iterator[tuple[object, ...]]:
    pairs = left.merge(right, on=_LOOK, suffixes=("", "_other"))
    pairs["apart"] = (pairs["value"] - pairs["value_other"]).abs()
    for date, here in pairs.groupby("date"):
        furthest = here.groupby("plot")["apart"].max()
        near = int((furthest <= 1 + _SAME).sum()) if marks else pd.NA
        same = int((furthest <= _SAME).sum())
        yield date, rater, against, len(furthest), same, near, float(np.max(furthest))
