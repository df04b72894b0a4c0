"""The primary question by other windows of green: does its answer hang on where green begins?

Notes
-----
The window of the definition stays the only one that answers. The others show how far the answer
would have moved with limits that somebody else might have chosen; they are no further evidence,
since all of them look at the same photos.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from scipy import stats

from wintersward.analysis.equivalence import verdict
from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.primary import answered, unanswered
from wintersward.analysis.results import empty
from wintersward.analysis.threshold_columns import THRESHOLDS
from wintersward.analysis.units import plot_values, unit_means
from wintersward.errors import WinterswardError
from wintersward.scored import window_of
from wintersward.study import Trial

__all__ = ["thresholds"]

Row = dict[str, Any]
_LIMITS = ["window", "hue_low", "hue_high", "saturation_low"]


def thresholds(trial: Trial) -> dict[str, pd.DataFrame]:
    """Ask the primary question once with every window of a grid around that of the definition.

    Parameters
    ----------
    trial : Trial
        The study.

    Returns
    -------
    dict of str to DataFrame
        Tables ``green_windows`` (the window of each measure from photos), ``window_covers``
        (mean, lowest and highest cover over the plots of all treatments) and
        ``window_answers``. The last two are empty where the primary measure is no cover from
        photos, or has no photo on its date yet; the last also before the primary question has
        its data, and in a demonstration.
    """
    covers: list[Row] = []
    answers: list[pd.DataFrame] = []
    found = trial.window_grid()
    if not found.empty:
        covers, answers = _by_window(trial, found)
    return {
        "green_windows": _table("green_windows", pd.DataFrame(_in_use(trial))),
        "window_covers": _table("window_covers", pd.DataFrame(covers)),
        "window_answers": _table(
            "window_answers", pd.concat(answers) if answers else pd.DataFrame()
        ),
    }


def _table(name: str, frame: pd.DataFrame) -> pd.DataFrame:
    none = empty(name)
    if frame.empty:
        return none
    ordered = frame.sort_values(list(THRESHOLDS[name].key), kind="stable", ignore_index=True)
    return ordered[list(none.columns)].astype(none.dtypes)


def _in_use(trial: Trial) -> list[Row]:
    """Give the window of every measure from photos."""
    rows: list[Row] = []
    for name, measure in trial.photo_measures.items():
        window = window_of(measure)
        row: Row = {"measure": name, "window": window.hash()}
        for limits, kind in (
            (window.hue, "hue"),
            (window.saturation, "saturation"),
            (window.value, "value"),
        ):
            row |= {f"{kind}_low": limits[0], f"{kind}_high": limits[1]}
        rows.append(row)
    return rows


def _by_window(trial: Trial, found: pd.DataFrame) -> tuple[list[Row], list[pd.DataFrame]]:
    """Average the plots by every window and, where treatments may be compared, compare them."""
    question = trial.definition.analysis.primary
    declared = window_of(trial.photo_measures[question.measure]).hash()
    model = model_for(trial, question.measure, trial.primary_date)
    compared = trial.ready and trial.definition.layout.tested
    covers: list[Row] = []
    answers: list[pd.DataFrame] = []
    # Windows that see the same in every photo have the same answer.
    known: dict[bytes, pd.DataFrame] = {}
    for limits, rows in found.groupby(_LIMITS, sort=False):
        named: Row = {"measure": question.measure, "date": pd.Timestamp(trial.primary_date)}
        named |= dict(zip(_LIMITS, limits, strict=True))
        named["declared"] = "yes" if named["window"] == declared else ""
        used = rows[rows["excluded"] == ""].rename(columns={"cover": "value"})
        on_plots, _ = plot_values(used.assign(rater=""))
        covers.append(named | _covers(on_plots["value"]))
        if not compared:
            continue
        seen = on_plots["value"].to_numpy(dtype=float).tobytes()
        if seen not in known:
            data = unit_means(on_plots, trial.plots, model.skeleton)
            known[seen] = _answer(trial, replace(model, data=data))
        answers.append(known[seen].assign(**named))
    return covers, answers


def _covers(values: pd.Series) -> Row:
    return {
        "plots": len(values),
        "mean": values.mean(),
        "lowest": values.min(),
        "highest": values.max(),
    }


def _answer(trial: Trial, model: TrialModel) -> pd.DataFrame:
    """Answer the primary question, with the verdict on each comparison."""
    try:
        rows = answered(trial, model)
    except WinterswardError:
        rows = unanswered(trial)
    reach = stats.t.isf(trial.definition.analysis.alpha, rows["df"].astype(float)) * rows["se"]
    inner = zip(rows["difference"] - reach, rows["difference"] + reach, strict=True)
    outer = zip(rows["lower"], rows["upper"], strict=True)
    said = [
        verdict((float(a), float(b)), (float(c), float(d)), float(margin))
        for (a, b), (c, d), margin in zip(outer, inner, rows["matters_from"], strict=True)
    ]
    return rows.assign(verdict=np.array(said, dtype=object))
