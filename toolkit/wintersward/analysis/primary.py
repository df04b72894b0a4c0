"""The primary question: its comparisons alone, in their own stratum, at alpha."""

from __future__ import annotations

import pandas as pd

from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.results import empty
from wintersward.analysis.strata import compare
from wintersward.errors import WinterswardError
from wintersward.study import Trial

__all__ = ["answered", "primary", "unanswered"]

_ESTIMATES = ("left_mean", "right_mean", "difference", "se", "df", "lower", "upper", "t", "p")


def primary(trial: Trial) -> pd.DataFrame:
    """Answer the primary question: as planned, and with excluded observations put back.

    Returns
    -------
    DataFrame
        Columns of the table ``primary``, one row a comparison; no rows before the question has
        data, nor in a demonstration; NaN where the data cannot answer it.
    """
    if not trial.ready or not trial.definition.layout.tested:
        return empty("primary")
    question = trial.definition.analysis.primary
    frames = []
    for which, put_back in (("as planned", False), ("with excluded observations", True)):
        model = model_for(trial, question.measure, trial.primary_date, put_back)
        try:
            rows = answered(trial, model)
        except WinterswardError:
            rows = unanswered(trial)
        rows.insert(0, "which", which)
        frames.append(rows)
    frame = pd.concat(frames, ignore_index=True)
    frame["measure"], frame["date"] = question.measure, pd.Timestamp(trial.primary_date)
    return frame[list(empty("primary").columns)]


def answered(trial: Trial, model: TrialModel) -> pd.DataFrame:
    """Compare the treatments of the primary question.

    Parameters
    ----------
    trial : Trial
        Its definition names the comparisons; several of them are one family.
    model : TrialModel
        The primary measure on the primary date.

    Returns
    -------
    DataFrame
        As `wintersward.analysis.strata.compare`, with alpha and matters_from.

    Raises
    ------
    WinterswardError
        Where the data cannot answer.
    """
    analysis = trial.definition.analysis
    asked = analysis.primary.pairs
    factor = trial.definition.factor_of(asked[0][0])
    there = set(model.data[factor].astype(str))
    left = [pair for pair in asked if there.issuperset(pair)]
    rows = compare(model, left or asked, model.level)
    lost = [i for i, pair in enumerate(asked) if pair not in left]
    if left and lost:
        counted = model.units([factor]).set_index(factor)["units"]
        rest = unanswered(trial).iloc[lost]
        for side in ("left", "right"):
            rest[f"units_{side}"] = rest[side].map(counted).fillna(0).astype(int)
        rows = pd.concat([rows, rest], ignore_index=True)
    return rows.assign(alpha=analysis.alpha, matters_from=analysis.primary.matters_from.value)


def unanswered(trial: Trial) -> pd.DataFrame:
    """Give the rows of a primary question that the data cannot answer: NaN for each estimate."""
    analysis = trial.definition.analysis
    rows = pd.DataFrame(analysis.primary.pairs, columns=["left", "right"])
    blank = dict.fromkeys(_ESTIMATES, float("nan")) | {"adjust": "", "method": "", "unit_kind": ""}
    return rows.assign(
        **blank,
        units_left=0,
        units_right=0,
        alpha=analysis.alpha,
        matters_from=analysis.primary.matters_from.value,
    )
