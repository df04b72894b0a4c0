"""Planned dates of a measure for which its tables hold no mean, and why."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from wintersward.report.numbers import days_listed
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["unshown_words"]

_LATER = "not yet due"
_NONE = "no observation that is used"
_TOO_FEW = "observed, but no mean could be estimated"


def unshown_words(
    means: pd.DataFrame,
    notes: pd.DataFrame,
    counts: pd.DataFrame,
    definition: Definition,
    measure: str,
) -> str:
    """Say for which planned dates of a measure there is no mean.

    Parameters
    ----------
    means, notes, counts : DataFrame
        Tables of a run; the notes tell which dates were before the treatments.
    definition : Definition
        The trial.
    measure : str
        What was to be observed.

    Returns
    -------
    str
        One sentence with every such date; empty where every planned date is in the tables.
    """
    before = notes[(notes["measure"] == measure) & (notes["code"] == "baseline")]
    shown = _days(means.loc[means["measure"] == measure, "date"]) | _days(before["date"])
    own = counts[counts["measure"] == measure]
    why: dict[str, list[dt.date]] = {}
    for day in dates_meant(definition.dates, definition.measures[measure].dates):
        if day not in shown:
            why.setdefault(_reason(own, day), []).append(day)
    if not why:
        return ""
    told = [f"{days_listed(days)} ({reason})" for reason, days in why.items()]
    return f"Planned dates that the tables do not hold: {'; '.join(told)}."


def _days(dates: pd.Series) -> set[dt.date]:
    return {pd.Timestamp(str(day)).date() for day in dates.dropna()}


def _reason(counts: pd.DataFrame, day: dt.date) -> str:
    rows = counts[pd.to_datetime(counts["date"]).dt.date == day]
    if len(rows) and (rows.get("due", pd.Series("yes", rows.index)) == "not yet").all():
        return _LATER
    return _TOO_FEW if rows["used"].sum() > 0 else _NONE
