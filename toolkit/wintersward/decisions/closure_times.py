"""When each unit had closed its holes, or was green again, and how many days treatments gained.

Notes
-----
Each experimental unit has one day of arrival, found and bounded as every other is
(`wintersward.analysis.arrivals`), and these days are compared by the layout's own model
(`wintersward.analysis.days_gained`). With two factors a treatment of the one is compared within
each treatment of the other by itself, since holes of two tines close at such unlike times that a
mean over both tells of neither. Whether one factor changes the other's difference is judged by one
value of every unit of the first: its days with a treatment of the second less those with that
factor's control. They are compared as days are.

A day is read off a straight line between two visits; all that was seen is that the unit was not
there at the one and was at the other. Units seen on the same visits come out alike however they
closed between them, so that an interval from their spread is too narrow where visits lie far
apart. What the visits allow is therefore told beside it.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pandas as pd

from wintersward.analysis.arrivals import AFTER, NOT_KNOWN, ON_OR_BEFORE, unit_arrivals
from wintersward.analysis.days_gained import gains, notes_about
from wintersward.analysis.model import model_for
from wintersward.analysis.skeleton import Skeleton, skeleton_for
from wintersward.analysis.units import unit_means
from wintersward.decisions.closure import CLOSED, values_on
from wintersward.study import Trial

__all__ = ["closure_gained", "closure_times"]

_CANNOT = "cannot be told"
_BOTH = "both"
_NUMBERS = ("days", "se", "df", "lower", "upper", "p", "visits_low", "visits_high", "apart")
_UNPAIRED = "no blocks that hold each combination once, so that nothing pairs its days"
_BOUNDS = "too many days are bounds"


def closure_times(trial: Trial, measure: str, on: dt.date, holes: bool) -> pd.DataFrame:
    """Find the day on which each unit had closed its holes, or was as green as before.

    Parameters
    ----------
    trial : Trial
        The study.
    measure : str
        A measure in percent.
    on : date
        Day of the aeration; what was seen that day counts as before it.
    holes : bool
        Whether it tells the closed share of holes. If not, the level is that share of the unit's
        own value at the last visit before the aeration.

    Returns
    -------
    DataFrame
        Columns measure, unit_name, block, level [%], goal [%], days [day], censored, last_below
        and first_there [day], what the units lie in, and one a factor; one row a unit that was
        seen. A unit without a value before the aeration is ``not known``.
    """
    dates = [date for date in trial.dates(measure) if date > on]
    if not dates:
        return pd.DataFrame()
    skeleton = skeleton_for(trial.definition, dates[-1])
    frames = []
    for date in dates:
        model = model_for(trial, measure, date)
        if model.skeleton.unit_column == skeleton.unit_column and not model.data.empty:
            frames.append(model.data.assign(day=float((date - on).days)))
    if not frames:
        return pd.DataFrame()
    seen = pd.concat(frames, ignore_index=True)
    keep = [c for c in seen.columns if c not in ("unit_name", "unit_kind", "n", "value", "day")]
    seen = seen.astype(dict.fromkeys(keep, "str"))
    goal = pd.Series(CLOSED, index=pd.unique(seen["unit_name"]))
    if not holes:
        goal = goal * _before(trial, measure, on, skeleton).reindex(goal.index) / 100
    known = goal[goal > 0].index
    share = seen["value"] / seen["unit_name"].map(goal) * CLOSED
    told = seen.assign(value=share)[seen["unit_name"].isin(known)]
    arrived, _ = unit_arrivals(told, CLOSED, keep=keep)
    lost = seen[~seen["unit_name"].isin(known)].drop_duplicates("unit_name")[["unit_name", *keep]]
    found = pd.concat([arrived, lost.assign(days=np.nan, censored=NOT_KNOWN)], ignore_index=True)
    around = _visits_around(told, arrived).reindex(found["unit_name"]).reset_index(drop=True)
    found = pd.concat([found, around], axis=1)
    return found.assign(measure=measure, level=CLOSED, goal=found["unit_name"].map(goal))


def _visits_around(told: pd.DataFrame, arrived: pd.DataFrame) -> pd.DataFrame:
    """Give the visit at which each unit was last below the level, and that which found it there."""
    own = arrived.set_index("unit_name")
    seen = told[told["value"].notna()].assign(at=told["unit_name"].map(own["days"]))
    early = told["unit_name"].map(own["censored"]).reindex(seen.index) == ON_OR_BEFORE
    late = told["unit_name"].map(own["censored"]).reindex(seen.index) == AFTER
    there = seen[~late & (seen["day"] >= seen["at"])].groupby("unit_name")["day"].min()
    below = seen[~early & (late | (seen["day"] < seen["at"]))].groupby("unit_name")["day"].max()
    return pd.DataFrame({"last_below": below, "first_there": there}, dtype=float)


def _before(trial: Trial, measure: str, on: dt.date, skeleton: Skeleton) -> pd.Series:
    """Give the value of each unit at the last visit before the aeration, if it has one."""
    dates = [date for date in trial.dates(measure) if date <= on]
    if not dates:
        return pd.Series(dtype=float)
    values = values_on(trial, measure, dates[-1])
    return unit_means(values, trial.plots, skeleton).set_index("unit_name")["value"]


def closure_gained(trial: Trial, times: pd.DataFrame, on: dt.date) -> pd.DataFrame:
    """Compare the days of a measure between treatments, by the layout's own model.

    Parameters
    ----------
    trial : Trial
        The study; a demonstration compares nothing.
    times : DataFrame
        As `closure_times` gives them, of one measure.
    on : date
        Day of the aeration.

    Returns
    -------
    DataFrame
        Columns of the table ``closure_gained``.
    """
    known = times[times["censored"] != NOT_KNOWN] if len(times) else times
    if known.empty or not trial.definition.layout.tested:
        return pd.DataFrame()
    measure = str(times["measure"].iloc[0])
    last = max(date for date in trial.dates(measure) if date > on)
    skeleton = skeleton_for(trial.definition, last)
    known = known.assign(
        earliest=known["last_below"],
        latest=known["first_there"],
        apart=known["first_there"] - known["last_below"],
    )
    parts = []
    for factor in skeleton.factors:
        others = [name for name in skeleton.factors if name != factor]
        for other, level in [(o, lv) for o in others for lv in trial.factors[o].levels] or [
            ("", "")
        ]:
            own = known[known[other] == level] if other else known
            made = _compared(trial, own, factor, skeleton.around(factor), skeleton)
            parts.append(made.assign(effect=factor, within=f"{other}={level}" if other else ""))
    if len(skeleton.factors) == 2:
        parts.append(_crossed(trial, known, skeleton))
    filled = [part for part in parts if len(part)]
    if not filled:
        return pd.DataFrame()
    return pd.concat(filled, ignore_index=True).assign(measure=measure, level=CLOSED)


def _compared(
    trial: Trial, own: pd.DataFrame, factor: str, around: tuple[str, ...], skeleton: Skeleton
) -> pd.DataFrame:
    """Compare the treatments of one factor with its control, within what surrounds its units."""
    control, levels = trial.factors[factor].control, list(trial.factors[factor].levels)
    grounds = [f"{factor}:ground"] if skeleton.grounds else []
    units = own.reset_index(drop=True)
    units[factor] = pd.Categorical(units[factor], levels)
    fixed = " + ".join([factor, *around, *grounds])
    level = 1 - trial.definition.analysis.alpha
    found, notes = gains(units, factor, control, fixed, level)
    told: list[dict[Any, Any]] = [
        row | _allowed(row, units, factor) | {"note": notes_about(notes, str(row["left"]))}
        for row in found.to_dict("records")
    ]
    for left in levels:
        if left != control and left not in set(found["left"]):
            told.append(_untold(units, factor, left, control, notes_about(notes, left)))
    return pd.DataFrame(told)


def _allowed(row: dict[Any, Any], units: pd.DataFrame, factor: str) -> dict[str, float]:
    """Tell between which ends the visits alone leave a lead, and how far they lie apart.

    Notes
    -----
    Each unit got there between two visits; the lead is longest where all of the left did right
    after the earlier one and all of the right at the later one. Units weigh alike.
    """
    if row["says"] != "exactly":
        return dict.fromkeys(("visits_low", "visits_high", "apart"), np.nan)
    left, right = (units[units[factor].astype(str) == str(row[s])] for s in ("left", "right"))
    sooner = {s: own["days"] - own["earliest"] for s, own in (("left", left), ("right", right))}
    later = {s: own["latest"] - own["days"] for s, own in (("left", left), ("right", right))}
    low = row["days"] - _mean(sooner["right"]) - _mean(later["left"])
    high = row["days"] + _mean(later["right"]) + _mean(sooner["left"])
    # Whole days add up to whole days, but for the last digits.
    ends = {"visits_low": round(low, 6), "visits_high": round(high, 6)}
    return ends | {"apart": float(pd.concat([left["apart"], right["apart"]]).max())}


def _mean(values: pd.Series) -> float:
    return float(values.mean(skipna=False))


def _crossed(trial: Trial, known: pd.DataFrame, skeleton: Skeleton) -> pd.DataFrame:
    """Compare how many days longer one factor's treatment took, between treatments of the other."""
    outer, inner = skeleton.factors
    control = trial.factors[inner].control
    parts = []
    for level in (one for one in trial.factors[inner].levels if one != control):
        units = _longer(known, outer, inner, (level, control))
        reference = trial.factors[outer].control
        both = set(units.loc[units["censored"] == _BOTH, outer])
        sure = units[~units[outer].isin(both)]
        found = _compared(trial, sure, outer, ("block",), skeleton)
        told = []
        for row in found.to_dict("records"):
            if units.empty or both & {row["left"], reference}:
                why = _UNPAIRED if units.empty else _BOUNDS
                row = _untold(units, outer, str(row["left"]), reference, why)
            told.append(row)
        pair, rows = f"{level}-{control}", pd.DataFrame(told)
        for side in ("left", "right"):
            rows[side] = rows[side] + f":{pair}"
        parts.append(rows.assign(effect=f"{outer}:{inner}", within=""))
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame()


def _longer(known: pd.DataFrame, outer: str, inner: str, pair: tuple[str, str]) -> pd.DataFrame:
    """Give each unit of the outer factor its days with one inner treatment less those with another.

    Empty where a block does not hold each combination just once, so that nothing pairs them.
    """
    keys = ["block", outer, *(["ground"] if "ground" in known else [])]
    used = known[known[inner].isin(pair)]
    if used.empty or (used["block"] == "").any() or used.duplicated([*keys, inner]).any():
        return used.iloc[:0]
    sides = [used[used[inner] == name].drop(columns=inner) for name in pair]
    joined = sides[0].merge(sides[1], on=keys, suffixes=("", "_less"))
    told = [_way(a, b) for a, b in zip(joined["censored"], joined["censored_less"], strict=True)]
    return joined[keys].assign(
        days=joined["days"] - joined["days_less"],
        censored=told,
        earliest=joined["earliest"] - joined["latest_less"],
        latest=joined["latest"] - joined["earliest_less"],
        apart=joined[["apart", "apart_less"]].max(axis=1, skipna=False),
    )


def _way(first: str, second: str) -> str:
    """Tell on which side the true difference of two days lies, seen from the one found."""
    ways = {AFTER if first == AFTER else ON_OR_BEFORE} if first else set()
    ways |= {ON_OR_BEFORE if second == AFTER else AFTER} if second else set()
    return _BOTH if len(ways) == 2 else next(iter(ways), "")


def _untold(units: pd.DataFrame, factor: str, left: str, control: str, note: str) -> dict[Any, Any]:
    """Give the row of a treatment of which nothing can be told, with what was seen of it."""
    row: dict[Any, Any] = {"left": left, "right": control, "says": _CANNOT, "note": note}
    row |= dict.fromkeys(_NUMBERS, np.nan)
    for side, name in (("left", left), ("right", control)):
        own = units.loc[units[factor].astype(str) == name, "censored"]
        row[f"{side}_before"] = int((own == ON_OR_BEFORE).sum())
        row[f"{side}_after"] = int((own == AFTER).sum())
        row[f"units_{side}"] = len(own)
    return row
