"""What else to look at in a next trial, when and for how long: read off this one's own visits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd

from wintersward.analysis.arrivals import AFTER, NOT_KNOWN
from wintersward.decisions.closure import CLOSED
from wintersward.decisions.rows import held
from wintersward.decisions.timing import COMPARED
from wintersward.errors import listed
from wintersward.study import Trial
from wintersward.trial.applied import cover_factor
from wintersward.trial.catalogue import kinds_not_measured
from wintersward.trial.schema import SheetMeasure

__all__ = ["MOST_DAYS_APART", "next_visits"]

Tables = Mapping[str, pd.DataFrame]
Row = dict[str, Any]

MOST_DAYS_APART = 4.0
"""Days between visits from which on holes close unseen; common practice, no source."""

_NONE: Row = {"date": pd.NaT, "now": float("nan"), "cautious": float("nan"), "level": ""}


def next_visits(trial: Trial, tables: Tables) -> Iterator[Row]:
    """Say what this trial ended too early for, came by too seldom for, or did not look at.

    Parameters
    ----------
    trial : Trial
        The study, whose primary question has its data.
    tables : mapping of str to DataFrame
        ``thermometer``, ``arrivals``, ``closure`` and ``cover_timing``; those that are not there
        count as empty.

    Yields
    ------
    dict
        Rows of ``next_trial``: ``loggers longer``, ``a later visit``, ``closer visits``,
        ``removal day``, ``more measures``, ``light under covers``.
    """
    yield from _loggers(held(tables, "thermometer"))
    yield from _later(held(tables, "arrivals"), held(tables, "plot_means"))
    yield from _closer(trial, held(tables, "closure"))
    yield from _not_looked_at(trial, held(tables, "cover_timing"))


def _loggers(seen: pd.DataFrame) -> Iterator[Row]:
    """Find what most plots were not known to have reached when their loggers were taken in."""
    late = seen[seen["state"] == AFTER]
    if late.empty:
        return
    open_ = seen[seen["state"].isin([AFTER, NOT_KNOWN])]
    # Where all is known of a criterion's plots, a longer time would change nothing.
    open_ = open_[open_["criterion"].isin(late["criterion"])]
    name, many = next(iter(open_["criterion"].value_counts().items()))
    own = late[late["criterion"] == name]
    last = (pd.to_datetime(own["start"]) + pd.to_timedelta(own["day"].round(), unit="D")).max()
    yield {
        **_NONE,
        "advice": "loggers longer",
        "measure": "",
        "date": last,
        "value": float(many),
        "now": float((seen["criterion"] == name).sum()),
        "unit": "plots",
        "text": f"were not known to have reached by then: {name}",
    }


def _later(seen: pd.DataFrame, means: pd.DataFrame) -> Iterator[Row]:
    """Count the units that had not reached the level of the days gained at the last visit."""
    for name, own in seen.groupby("measure", sort=False):
        late = own["censored"] == AFTER
        visits = pd.to_datetime(means.loc[means["measure"] == name, "date"])
        if late.any():
            yield {
                **_NONE,
                "advice": "a later visit",
                "measure": str(name),
                "date": visits.max(),
                "value": float(late.sum()),
                "now": float(len(own)),
                "unit": "units",
                "text": f"had not reached {float(own['level'].iloc[0]):g} at the last visit",
            }


def _closer(trial: Trial, seen: pd.DataFrame) -> Iterator[Row]:
    """Find the longest time between two visits within which the holes of a plot closed."""
    if seen.empty:
        return
    for name, measure in trial.definition.measures.items():
        if not isinstance(measure, SheetMeasure) or measure.kind != "hole_closure":
            continue
        own = seen[(seen["measure"] == name) & (seen["days"] > 0)].sort_values("days")
        gaps = [gap for _, plot in own.groupby("plot") if (gap := _within(plot)) is not None]
        if gaps and max(gaps) > MOST_DAYS_APART:
            longest = max(gaps)
            yield {
                **_NONE,
                "advice": "closer visits",
                "measure": name,
                "value": longest,
                "now": float(sum(gap == longest for gap in gaps)),
                "unit": "days",
                "text": f"between the visits within which holes became {CLOSED:g} % closed; now: "
                "plots of which that is so",
            }


def _within(plot: pd.DataFrame) -> float | None:
    """Give the days between the visits before and after a plot was there; None where unseen."""
    there = (plot["value"] >= CLOSED).to_numpy()
    if not there.any() or there[0]:
        return None
    at = int(there.argmax())
    return float(plot["days"].iloc[at] - plot["days"].iloc[at - 1])


def _not_looked_at(trial: Trial, timing: pd.DataFrame) -> Iterator[Row]:
    """Name what the trial was not laid out for, and what it did not measure."""
    factor = cover_factor(trial.definition)
    told = {**_NONE, "measure": ""}
    if factor is not None and len(timing) and not (timing["kind"] == COMPARED).any():
        text = "not dealt out by chance, so that this trial cannot tell of it"
        yield {**told, "advice": "removal day", "value": float("nan"), "unit": "", "text": text}
    missing = kinds_not_measured(trial.definition.measures.values())
    if missing:
        yield {
            **told,
            "advice": "more measures",
            "value": float(len(missing)),
            "unit": "measures",
            "text": listed(missing),
        }
    levels = trial.factors[factor].levels.values() if factor is not None else ()
    stated = sum(level.light is not None for level in levels)
    if stated:
        yield {
            **told,
            "advice": "light under covers",
            "value": float(stated),
            "unit": "covers",
            "text": "whose light is stated by the definition and was not measured",
        }
