"""From results to decisions: every table of the stage, from what the trial found."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import pandas as pd

from wintersward.analysis.columns import Table
from wintersward.analysis.decision_columns import DECIDED
from wintersward.analysis.demonstration_tables import tables_of
from wintersward.analysis.results import typed
from wintersward.decisions.budget import budget_tables
from wintersward.decisions.closing_days import closing_days
from wintersward.decisions.next_trial import next_trial
from wintersward.decisions.pins import pin_counts
from wintersward.decisions.planner import aeration_options
from wintersward.decisions.readiness import readiness
from wintersward.decisions.recovery import recovery_tables
from wintersward.decisions.timing import cover_timing
from wintersward.study import Trial

__all__ = ["decision_tables"]


def decision_tables(trial: Trial, tables: Mapping[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """Make the tables that turn results into decisions.

    Parameters
    ----------
    trial : Trial
        The study.
    tables : mapping of str to DataFrame
        Of the stages before, in SI.

    Returns
    -------
    dict of str to DataFrame
        The tables of `wintersward.analysis.decision_columns.DECIDED`; empty where nothing was
        asked or observed for them, and, but for the pins, until the primary question has its
        data. Of a demonstration only what it may hold, which judges nothing.

    Raises
    ------
    WinterswardError
        With everything that is wrong in what was gathered.
    """
    recovery = recovery_tables(trial, tables)
    timing = {"cover_timing": cover_timing(trial, tables)}
    options = aeration_options(trial, {**tables, **recovery})
    made = {
        "readiness": readiness(trial),
        "pin_counts": pin_counts(trial),
        **timing,
        **recovery,
        "aeration_options": options,
        "aeration_days": closing_days(trial, options, recovery),
        **budget_tables(trial, tables),
        **next_trial(trial, {**tables, **recovery, **timing}),
    }
    held = tables_of(trial.definition)
    return {
        name: _kept(typed(name, made[name]), held[name], trial.factors)
        for name in DECIDED
        if name in held
    }


def _kept(frame: pd.DataFrame, table: Table, factors: Iterable[str]) -> pd.DataFrame:
    """Keep the columns of a table, and one a factor where it takes them."""
    named = [column.name for column in table.columns]
    return frame[[*named, *(f for f in factors if table.open_ended and f in frame)]]
