"""The tables of a demonstration: what its run may hold, in one place; nothing that judges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pandas as pd

from wintersward.analysis.columns import DATE, MEASURE, Column, Table
from wintersward.analysis.results import TABLES
from wintersward.analysis.skeleton import DEMONSTRATION
from wintersward.errors import WinterswardError, listed
from wintersward.trial.schema import Definition

__all__ = ["DEMONSTRATION_TABLES", "described", "tables_of"]

# Tables of every run that say what was gathered, seen and done; none of them compares.
_AS_THEY_ARE = (
    "observations",
    "photo_scores",
    "plot_means",
    "counts",
    "notes",
    "exclusions",
    "deviations",
    "frozen",
    "changes",
    "sheet_sums",
    "flags",
    "cover_events",
    "management",
    "mishaps",
    "weather_months",
    "weather_gaps",
    "arrivals",
    "raters",
    "eye_and_photo",
    "point_counts",
    "green_windows",
    "window_covers",
    "logger_sums",
    "logger_flags",
    "daily_facts",
    "degree_day_sums",
    "thermometer",
    "dollar_spot",
    "pin_counts",
    "closure",
    "closure_times",
    "aeration_options",
    "budget_items",
    "budget",
    "break_even",
    "next_trial",
    "growth",
    "sun_hours",
    "risks",
    "removal",
)
# Columns that hold an error, or what rests on one.
_JUDGING = ("se", "df", "lower", "upper", "letters", "f", "t", "statistic", "p", "p_value")
# Columns that set one area against another.
_SETTING_OFF = ("more", "more_mean", "more_minimum", "more_maximum")
_TEXTS = {"mean": "average of the plots", "units": "plots in the average"}
# The terms of a model that a demonstration does not have.
_NEVER_TOLD = ("skeleton",)


def _unjudged(table: Table) -> Table:
    out = (*_JUDGING, *_SETTING_OFF)
    columns = tuple(column for column in table.columns if column.name not in out)
    return replace(table, columns=columns)


def _means(table: Table) -> Table:
    kept = _unjudged(table).columns
    columns = tuple(replace(one, text=_TEXTS.get(one.name, one.text)) for one in kept)
    told = "Averages of the plots of each treatment, described."
    return replace(table, description=told, columns=columns)


def _described(name: str, told: str) -> Table:
    return replace(_unjudged(TABLES[name]), description=told)


_RATER_COUNTS = Table(
    "How often two looks at one plot gave the same: two raters, or one rater twice.",
    ("measure", "date", "rater", "against"),
    (
        MEASURE,
        DATE,
        Column("rater", "text", "", "initials of who rated; empty where nobody is named"),
        Column("against", "text", "", "initials of the other rater, or 'second look'"),
        Column("plots", "integer", "", "plots that both looks saw"),
        Column("same", "integer", "", "of them, plots with the same value in both"),
        Column("near", "integer", "", "of them, plots at most one mark apart; empty: no marks"),
        Column("furthest", "number", "measure", "the furthest that two looks at a plot lie apart"),
    ),
)

DEMONSTRATION_TABLES: dict[str, Table] = {
    **{name: table for name, table in TABLES.items() if name in _AS_THEY_ARE},
    "means": _means(TABLES["means"]),
    "point_agreement": _unjudged(TABLES["point_agreement"]),
    "under_cover": _described("under_cover", "Every day by treatment, since the covers went on."),
    "diurnal": _described("diurnal", "The course of a day under covers, and beside them."),
    "degree_days_by_level": _described(
        "degree_days_by_level", "Sums of degree days by treatment: means over plots."
    ),
    "cover_timing": _described("cover_timing", "When covers came off, against the rule."),
    "rater_counts": _RATER_COUNTS,
}


def tables_of(definition: Definition) -> Mapping[str, Table]:
    """Give the tables that a run of a trial may hold.

    Returns
    -------
    mapping of str to Table
        `wintersward.analysis.results.TABLES`, or for a demonstration `DEMONSTRATION_TABLES`.
    """
    return TABLES if definition.layout.tested else DEMONSTRATION_TABLES


class _Held(dict[str, pd.DataFrame]):
    """Tables of a demonstration; one that only a tested trial has is refused with the reason."""

    def __missing__(self, name: str) -> pd.DataFrame:
        raise WinterswardError(
            f"a demonstration has no table {name!r}; it has: {listed(self)}. {DEMONSTRATION}"
        )


def described(tables: Mapping[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """Keep of the tables of an analysis what a demonstration may hold.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Of a demonstration, with the columns of a tested trial.

    Returns
    -------
    dict of str to DataFrame
        With the columns of `DEMONSTRATION_TABLES`; a column a treatment factor stays.

    Raises
    ------
    ValueError
        Where something that would be left out is filled in: that is a fault, never data.

    Examples
    --------
    >>> sorted(described({"tests": pd.DataFrame(), "counts": pd.DataFrame()}))
    ['counts']
    """
    made = _Held()
    for name, frame in tables.items():
        table = DEMONSTRATION_TABLES.get(name)
        if table is None:
            if not frame.empty and name not in _NEVER_TOLD:
                raise ValueError(f"the table {name} of a demonstration is filled in")
            continue
        left_out = [column for column in frame.columns if column in _JUDGING]
        if not frame[left_out].replace("", float("nan")).isna().all(axis=None):
            raise ValueError(f"{listed(left_out)} of {name} are filled in for a demonstration")
        made[name] = frame.drop(columns=left_out)
    return made
