"""Recovery after an aeration: closed holes, turf that is green again, and what covers change."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from wintersward.analysis.decision_columns_recovery import RECOVERY
from wintersward.decisions.closure import aerated_on, closure, closure_measures, cover_measure
from wintersward.decisions.closure_contrast import closure_contrast
from wintersward.decisions.closure_times import closure_gained, closure_times
from wintersward.decisions.rows import framed
from wintersward.study import Trial

__all__ = ["recovery_tables"]


def recovery_tables(trial: Trial, tables: Mapping[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """Make the tables of recovery.

    Parameters
    ----------
    trial : Trial
        The study.
    tables : mapping of str to DataFrame
        Of the run, in SI: ``degree_day_sums``, ``differences`` and ``plot_means``, where they are
        there.

    Returns
    -------
    dict of str to DataFrame
        ``closure``, ``closure_times``, ``closure_gained`` and ``closure_contrast``, as
        `wintersward.analysis.decision_columns_recovery.RECOVERY` has them. Empty where the
        definition names no aeration, and until the primary question has its data. Of a
        demonstration only the first two hold rows, which compare nothing.

    Raises
    ------
    WinterswardError
        With everything that is wrong in what was gathered.
    """
    made = {name: _typed(name, pd.DataFrame(), ()) for name in RECOVERY}
    on = aerated_on(trial.definition)
    if on is None or not trial.ready:
        return made
    holes, green = closure_measures(trial.definition), cover_measure(trial.definition)
    measures = [*holes, *([green] if green else [])]
    sums = tables.get("degree_day_sums", pd.DataFrame())
    sums = sums if len(sums) else pd.DataFrame(columns=["date", "plot", "sum"])
    times = [closure_times(trial, name, on, name in holes) for name in measures]
    found = {
        "closure": [closure(trial, measures, on, sums)],
        "closure_times": times,
        "closure_gained": [closure_gained(trial, one, on) for one in times],
        "closure_contrast": [closure_contrast(trial, tables, on)],
    }
    for name, parts in found.items():
        filled = [part for part in parts if len(part)]
        if filled:
            made[name] = _typed(name, pd.concat(filled, ignore_index=True), tuple(trial.factors))
    return made


def _typed(name: str, frame: pd.DataFrame, factors: tuple[str, ...]) -> pd.DataFrame:
    """Give a table its columns with their types, in the order of its key; factors come last."""
    table = RECOVERY[name]
    more = [factor for factor in factors if table.open_ended and factor in frame]
    rows: list[dict[Any, Any]] = frame.to_dict("records")
    made = framed(table, rows, more)
    return made.sort_values(list(table.key), kind="stable", ignore_index=True)
