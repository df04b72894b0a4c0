"""Measures that told nothing in a trial, and what they could have told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd

from wintersward.analysis.share_columns import NOW
from wintersward.decisions.rows import held
from wintersward.study import Trial

__all__ = ["AT_AN_END", "silent_measures"]

Tables = Mapping[str, pd.DataFrame]
Row = dict[str, Any]

AT_AN_END = 80.0
"""Share of the units at one end of a scale from which on it tells little; common practice [%]."""

_NAN = float("nan")
# Nearer to an end than this share of the scale counts as at the end.
_NEAR = 0.01


def silent_measures(trial: Trial, tables: Tables) -> Iterator[Row]:
    """Find measures that told nothing of treatments.

    Parameters
    ----------
    trial : Trial
        The study, whose primary question has its data.
    tables : mapping of str to DataFrame
        ``plot_means``, and of a tested trial ``differences``, ``variance_plans`` and
        ``agreement``.

    Yields
    ------
    dict
        Rows of ``next_trial``: ``no spread``, ``at an end``, ``not told apart``,
        ``unlike the photo``.

    Notes
    -----
    Looked at are the dates after the covers went on. What was not told apart may differ all the
    same: the row names the difference that would have been seen with a chance of 80 %.
    """
    means = held(tables, "plot_means")
    start = pd.Timestamp(trial.date("covers_on"))
    for name in trial.definition.measures:
        own = means[(means["measure"] == name) & (pd.to_datetime(means["date"]) > start)]
        yield from _flat(trial, name, own)
        if trial.definition.layout.tested:
            yield from _not_told_apart(trial, name, tables)
            yield from _unlike(name, tables)


def _flat(trial: Trial, name: str, means: pd.DataFrame) -> Iterator[Row]:
    """Find dates on which all units had the same value, or nearly all the end of the scale."""
    low, high = trial.measure(name).limits
    for date, rows in means.groupby("date", sort=True):
        values = rows["value"].dropna()
        told = _told(name, date, values)
        if len(values) > 1 and values.max() == values.min():
            text = "of the units had the same value: nothing could be told apart"
            yield {**told, "advice": "no spread", "value": 100.0, "text": text}
        elif len(values) > 1 and low is not None and high is not None:
            whole = list(_at_an_end(values, low, high, told))
            yield from whole
            yield from () if whole else _one_factor(trial, rows, (low, high), name, date)


def _one_factor(
    trial: Trial, rows: pd.DataFrame, scale: tuple[float, float], name: str, date: object
) -> list[Row]:
    """Tell which treatments stood at an end, of that factor alone which tells most of it."""
    found: list[Row] = []
    for factor in trial.factors:
        made: list[Row] = []
        for level in trial.factors[factor].levels:
            own = rows.loc[_of_level(rows, factor, level), "value"].dropna()
            if len(own) > 1:
                made += _at_an_end(own, *scale, {**_told(name, date, own), "level": level})
        if sum(one["value"] for one in made) > sum(one["value"] for one in found):
            found = made
    return found


def _told(name: str, date: object, values: pd.Series) -> Row:
    """Give what all rows of one measure and date have in common."""
    return {
        "measure": name,
        "date": pd.Timestamp(str(date)),
        "now": float(len(values)),
        "cautious": _NAN,
        "unit": "%",
    }


def _of_level(rows: pd.DataFrame, factor: str, level: str) -> pd.Series:
    """Tell which units of a date had one treatment; none before its factor was applied."""
    if factor not in rows:
        return pd.Series(False, index=rows.index)
    return rows[factor].astype(str) == level


def _at_an_end(values: pd.Series, low: float, high: float, told: Row) -> Iterator[Row]:
    """Tell where nearly all values lie at one end of the scale."""
    near = _NEAR * (high - low)
    ends = {"lower": (values <= low + near), "upper": (values >= high - near)}
    for end, there in ends.items():
        if (share := 100 * float(there.mean())) >= AT_AN_END:
            text = f"of the units were at the {end} end of the scale, where none can differ"
            yield {**told, "advice": "at an end", "value": share, "text": text}


def _not_told_apart(trial: Trial, name: str, tables: Tables) -> Iterator[Row]:
    """Find a measure of which no interval against a control left out zero on any date."""
    rows = held(tables, "differences")
    controls = [factor.control for factor in trial.factors.values()]
    with_control = rows["left"].isin(controls) | rows["right"].isin(controls)
    rows = rows[(rows["measure"] == name) & with_control & rows["lower"].notna()]
    if rows.empty or ((rows["lower"] > 0) | (rows["upper"] < 0)).any():
        return
    plans = held(tables, "variance_plans")
    seen = plans[(plans["measure"] == name) & (plans["plan"] == NOW)]
    yield {
        "advice": "not told apart",
        "measure": name,
        "date": pd.NaT,
        "value": float(seen["smallest"].iloc[0]) if len(seen) else _NAN,
        "now": float(rows["date"].nunique()),
        "cautious": _NAN,
        "unit": "measure",
        "text": "difference that would have been seen with a chance of 80 %; on none of the dates "
        "('now') did an interval against a control leave out zero",
    }


def _unlike(name: str, tables: Tables) -> Iterator[Row]:
    """Find a rating that did not follow the photo from plot to plot."""
    rows = held(tables, "agreement")
    rows = rows[(rows["measure"] == name) & (rows["form"] == "between plots, within dates")]
    for _, row in rows.iterrows():
        if float(row["lower"]) <= 0:
            yield {
                "advice": "unlike the photo",
                "measure": name,
                "date": pd.NaT,
                "value": float(row["value"]),
                "now": float(row["n"]),
                "cautious": _NAN,
                "unit": "correlation",
                "text": f"with {row['against']} from plot to plot on one date; its interval holds "
                "zero: the two do not tell the same",
            }
