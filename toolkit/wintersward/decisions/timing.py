"""The day on which covers came off: compared only where chance decided it, else described.

Notes
-----
Whether an earlier day would have been better can be told only where the days were dealt out by
chance: where treatments of the cover factor are alike in all but the day on which their covers came
off. Then the difference between them, of the primary question's measure on its day, is that of the
layout's own analysis. Everywhere else the day lies together with all else that happened, and is
only set beside the rule that the definition holds.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from wintersward.analysis.decision_columns_readiness import TIMING
from wintersward.climate.removal import HELD
from wintersward.decisions.rows import framed
from wintersward.study import Trial
from wintersward.trial.applied import cover_factor
from wintersward.trial.covering import all_off, covered_spans

__all__ = ["COMPARED", "DESCRIBED", "cover_timing"]

COMPARED, DESCRIBED = "compared", "described"
_NUMBERS = ("difference", "se", "df", "lower", "upper")
_STILL_ON = dt.date.max
Spans = tuple[tuple[dt.date, dt.date], ...]
_FAMILY = "the interval holds together with those of all pairs and dates of this measure"


def cover_timing(trial: Trial, tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Compare or describe the day on which covers came off.

    Parameters
    ----------
    trial : Trial
        Its diary tells when covers came off, plot by plot.
    tables : mapping of str to DataFrame
        Of a run, in SI: ``differences`` and ``removal``.

    Returns
    -------
    DataFrame
        The table ``cover_timing``: one row a pair of treatments that differ only in the day their
        covers came off, kind ``compared``, once the primary question has its data and never for a
        demonstration; and one row ``described``, of the last cover against the rule. Empty where
        the diary tells of no covers.
    """
    if not trial.diary.covers:
        return framed(TIMING["cover_timing"])
    rows = []
    if trial.ready and trial.definition.layout.tested:
        days = _spans_by_plot(trial)
        for factor in trial.factors:
            rows += _compared(trial, factor, days, tables["differences"])
    return framed(TIMING["cover_timing"], [*rows, _described(trial, tables["removal"])])


def _spans_by_plot(trial: Trial) -> dict[str, Spans]:
    """Give the times for which covers lay on each plot that had one, the last one last."""
    factor = cover_factor(trial.definition)
    drawn = pd.Series(False, index=trial.plots.index)
    if factor is not None:
        drawn = trial.plots[factor].astype(str) != trial.factors[factor].control
    found = {}
    for plot, whole, own in zip(trial.plots["plot"], trial.plots["whole_plot"], drawn, strict=True):
        spans = covered_spans(
            trial.diary.covers,
            trial.diary.cover_events,
            (str(plot), str(whole)),
            bool(own),
            lambda _: _STILL_ON,
        )
        if spans:
            found[str(plot)] = tuple(sorted(spans, key=lambda span: span[1]))
    return found


def _compared(
    trial: Trial, factor: str, days: Mapping[str, Spans], differences: pd.DataFrame
) -> list[dict[str, Any]]:
    """Take the differences between treatments that differ only in the day their covers came off."""
    spans = _spans_by_level(trial, factor, days)
    offs = {level: own[-1][1] for level, own in spans.items()}
    question = trial.definition.analysis.primary
    there = (differences["measure"] == question.measure) & (differences["effect"] == factor)
    there &= pd.to_datetime(differences["date"]) == pd.Timestamp(trial.primary_date)
    rows = []
    for one, two in combinations(offs, 2):
        if offs[one] == offs[two] or _before_end(spans[one]) != _before_end(spans[two]):
            continue
        if not _else_alike(trial, factor, one, two):
            continue
        both = differences["left"].isin([one, two]) & differences["right"].isin([one, two])
        own = differences[there & both]
        own = own[[_under_covers(trial, factor, (one, two), str(w), days) for w in own["within"]]]
        # The answer to the primary question goes before the same pair in the family of all.
        own = own.sort_values("role", kind="stable").drop_duplicates("within")
        rows += [_pair(factor, row, offs) for row in own.to_dict("records")]
    return rows


def _spans_by_level(trial: Trial, factor: str, days: Mapping[str, Spans]) -> dict[str, Spans]:
    """Give these times for each treatment whose covered plots share them, and are bare now."""
    found = {}
    for level in trial.factors[factor].levels:
        own = {days[plot] for plot in _plots(trial, {factor: level}) if plot in days}
        if len(own) == 1 and (spans := own.pop())[-1][1] != _STILL_ON:
            found[level] = spans
    return found


def _before_end(spans: Spans) -> tuple[Any, ...]:
    """Give all that a cover did but the day on which it came off for good."""
    return (*spans[:-1], spans[-1][0])


def _plots(trial: Trial, levels: Mapping[str, str]) -> list[str]:
    """List the plots that have all of some treatments."""
    here = pd.Series(True, index=trial.plots.index)
    for factor, level in levels.items():
        here &= trial.plots[factor].astype(str) == level
    return [str(plot) for plot in trial.plots.loc[here, "plot"]]


def _else_alike(trial: Trial, factor: str, one: str, two: str) -> bool:
    """Tell whether two treatments are alike in all but the day, as far as the definition tells."""
    first, second = (trial.factors[factor].levels[name] for name in (one, two))
    alike = all(getattr(first, name) == getattr(second, name) for name in ("mass", "light", "tine"))
    told = first.mass is not None or first.light is not None
    # Two covers of which nothing is told may be unlike ones.
    return alike and (told or factor != cover_factor(trial.definition))


def _under_covers(
    trial: Trial, factor: str, pair: tuple[str, str], within: str, days: Mapping[str, Spans]
) -> bool:
    """Tell whether a comparison is one of plots that all lay under covers."""
    other, _, level = within.partition("=")
    inside = {other: level} if within else {}
    plots = [plot for one in pair for plot in _plots(trial, {factor: one, **inside})]
    return all(plot in days for plot in plots)


def _pair(factor: str, row: Mapping[Any, Any], offs: Mapping[str, dt.date]) -> dict[str, Any]:
    left, right = str(row["left"]), str(row["right"])
    return {
        "kind": COMPARED,
        "factor": factor,
        "left": left,
        "right": right,
        "within": str(row["within"]),
        "left_off": pd.Timestamp(offs[left]),
        "right_off": pd.Timestamp(offs[right]),
        "rule_day": pd.NaT,
        "last_day": pd.NaT,
        "days": float((offs[left] - offs[right]).days),
        "measure": row["measure"],
        "date": pd.Timestamp(row["date"]),
        **{name: float(row[name]) for name in _NUMBERS},
        "text": "" if row["role"] == "primary" else _FAMILY,
    }


def _described(trial: Trial, removal: pd.DataFrame) -> dict[str, Any]:
    """Set the day on which the last cover came off beside the rule of the definition."""
    off = all_off(trial.diary.covers)
    decided = trial.definition.decisions
    rule = decided.covers_off_when if decided else None
    last = trial.date(rule.not_after) if rule else None
    record = removal[removal["source"] == "record"]
    held = record[(record["fired"] == "yes") & (record["why"] == HELD)]
    first = pd.Timestamp(str(held["date"].min())).date() if len(held) else None
    due = min((day for day in (first, last) if day is not None), default=None)
    text = ""
    if rule is None:
        text = "the definition holds no rule for taking covers off"
    elif record.empty:
        text = "no logger of the soil was read: only the last day of the rule is known"
    return {
        "kind": DESCRIBED,
        **dict.fromkeys(("factor", "left", "right", "within", "measure"), ""),
        "left_off": pd.Timestamp(off) if off else pd.NaT,
        "right_off": pd.NaT,
        "rule_day": pd.Timestamp(first) if first else pd.NaT,
        "last_day": pd.Timestamp(last) if last else pd.NaT,
        "days": float((off - due).days) if off and due else np.nan,
        "date": pd.NaT,
        **dict.fromkeys(_NUMBERS, np.nan),
        "text": text,
    }
