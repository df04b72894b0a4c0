"""Days gained on the thermometer: when plots reached a temperature, or a sum of degree days."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from wintersward.analysis.arrivals import AFTER, NOT_KNOWN, ON_OR_BEFORE, ONE_EACH, REACHED
from wintersward.analysis.climate_facts import day_facts
from wintersward.analysis.days_gained import gains, notes_about
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.model import TrialModel
from wintersward.analysis.results import empty
from wintersward.analysis.skeleton import skeleton_for
from wintersward.analysis.strata import Stratum, stratum
from wintersward.analysis.units import unit_means, unit_names
from wintersward.climate.arrivals import mean_reached, reached
from wintersward.errors import WinterswardError
from wintersward.logged import plots_within
from wintersward.study import Trial
from wintersward.trial.climate import Reaching
from wintersward.units import from_si

__all__ = ["criterion_words", "thermometer"]

_EXACTLY = "exactly"
_DAY = pd.Timedelta(days=1)
_DIGITS = 9
# Means of many readings come out a last digit beside the level.
_ROUNDING = 1e-9
# By how much a plot that was not seen may have been warmer than all that were [degC].
_WARMER = 1.0
_UNSEEN = "a plot of one of the two was not seen while it may have got there"


@dataclass(frozen=True)
class _Arrival:
    """When one plot got there: days since the start, the day itself, and how sure that is.

    The last is the last day that can be told.
    """

    day: float
    reached: pd.Timestamp | None
    state: str
    last: pd.Timestamp


def thermometer(trial: Trial, plots: LoggedPlots, sums: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """Tell when every plot reached what the definition names, and who was earlier.

    Parameters
    ----------
    trial : Trial
        The study.
    plots : LoggedPlots
        Its plots, and the covers on them.
    sums : DataFrame
        As `wintersward.analysis.degree_day_sums.degree_day_sums` gives them.

    Returns
    -------
    dict of str to DataFrame
        ``thermometer``, a row a plot, and ``thermometer_gained``, which is empty until the primary
        question has its data, and for a demonstration.

    Notes
    -----
    It is looked for from the day from which degree days are counted, or else from covers on.
    A mean of n days has reached a temperature on the last of them. A plot that has reached it with
    the first n days got there on that day or before. So did one that may have been there within a
    gap; and where it was not there on any day that was seen, but may have been within a gap, the
    day is not known. A day that was not seen is taken to have been at most 1 degC warmer than the
    warmest plot of that day, or of the days beside it where no plot was seen (an assumption of this
    toolkit): so a gap in the cold hides nothing. A sum is taken to grow evenly through a day.
    """
    asked = trial.definition.climate.thermometer if trial.definition.climate else []
    tables = {name: empty(name) for name in ("thermometer", "thermometer_gained")}
    start, facts = _start(trial), day_facts(trial)
    rows: list[dict[str, Any]] = []
    gained: list[pd.DataFrame] = []
    for one in asked:
        words = criterion_words(trial, one)
        found = _arrivals(one, facts, sums, start)
        rows += [
            {"criterion": words, "plot": plot, "start": pd.Timestamp(start), **vars(arrival)}
            | {"level": plots.levels.get(plot, "") if trial.ready else ""}
            for plot, arrival in found.items()
        ]
        if trial.ready and trial.definition.layout.tested and found:
            gained.append(_gained(trial, plots, found).assign(criterion=words))
    if rows:
        tables["thermometer"] = pd.DataFrame(rows)[list(tables["thermometer"].columns)]
    if gained:
        order = list(tables["thermometer_gained"].columns)
        tables["thermometer_gained"] = pd.concat(gained, ignore_index=True)[order]
    return tables


def criterion_words(trial: Trial, one: Reaching) -> str:
    """Say what is to be reached, in the reader's units."""
    us = trial.definition.units == "us"
    if one.temperature is not None:
        unit = "degF" if us else "degC"
        shown = f"{from_si(one.temperature, unit):.4g} °{unit[-1]}"
        days = "a day" if one.days == 1 else f"{one.days} days"
        return f"{trial.label(str(one.measure))}: mean of {days} at {shown} or more"
    degrees = "degF" if us else "degC"
    total = from_si(float(one.degree_days or 0.0), degrees, difference=True)
    return f"{total:.4g} degree days (°{degrees[-1]} d)"


def _start(trial: Trial) -> dt.date:
    asked = trial.definition.climate.degree_days if trial.definition.climate else None
    return trial.date(asked.from_ if asked else "covers_on")


def _arrivals(
    one: Reaching, facts: pd.DataFrame, sums: pd.DataFrame, start: dt.date
) -> dict[str, _Arrival]:
    """Find the arrival of each plot that has a logger and was seen since the start."""
    if one.temperature is None:
        known = sums[sums["sum"].notna() & (sums["plot"] != "")]
        return {
            str(plot): _of_sum(own, float(one.degree_days or 0.0), start)
            for plot, own in known.groupby("plot", sort=True)
        }
    days = facts[(facts["measure"] == one.measure) & (facts["date"] >= pd.Timestamp(start))]
    if days.empty:
        return {}
    every = pd.date_range(start, days["date"].max(), freq="D", unit="us")
    means = days.pivot(index="date", columns="plot", values="mean").reindex(every)
    warmest = means.max(axis=1)
    beside = pd.concat([warmest.ffill(), warmest.bfill()], axis=1).max(axis=1)
    found = {}
    for plot in sorted(map(str, means)):
        arrival = _of_mean(means[plot], beside, one.temperature, one.days, start)
        if arrival is not None:
            found[plot] = arrival
    return found


def _of_sum(own: pd.DataFrame, level: float, start: dt.date) -> _Arrival:
    moment, last = reached(own["date"], own["sum"], level), own["date"].max()
    if moment is None:
        # The sum of a day stood at its end.
        return _Arrival(_since(last + _DAY, start), None, AFTER, last)
    return _Arrival(_since(moment, start), moment.normalize(), REACHED, last)


def _of_mean(
    own: pd.Series, warmest: pd.Series, level: float, over: int, start: dt.date
) -> _Arrival | None:
    """Find the arrival of a plot; its days are all there, without a value where none was seen."""
    means = own.rolling(over).mean()
    known = means.dropna().index
    if not len(known):
        return None
    last = pd.Timestamp(known[-1])
    at_most = own.fillna(warmest + _WARMER).rolling(over).mean()
    hidden = means.isna() & (at_most >= level - _ROUNDING)
    day = mean_reached(own.index, own, level, over)
    if day is None:
        if hidden[:last].any():
            return _Arrival(float("nan"), None, NOT_KNOWN, last)
        return _Arrival(_since(last, start), None, AFTER, last)
    early = day == own.index[over - 1] or hidden[:day].any()
    return _Arrival(_since(day, start), day, ON_OR_BEFORE if early else REACHED, last)


def _since(moment: pd.Timestamp, start: dt.date) -> float:
    return float((moment - pd.Timestamp(start)) / _DAY)


def _gained(trial: Trial, plots: LoggedPlots, found: dict[str, _Arrival]) -> pd.DataFrame:
    """Compare the days of arrival by the layout's own model, as days gained are."""
    factor = plots.factor
    first = trial.begins(factor) + dt.timedelta(days=1)
    skeleton = skeleton_for(trial.definition, first)
    unit_kind = skeleton.unit_of(factor)
    hidden = _hidden_levels(plots, found)
    if plots.control in hidden:
        return _untested(plots, _others(plots), unit_kind, _UNSEEN)
    on_plots = _on_plots(trial, {n: one for n, one in found.items() if one.state != NOT_KNOWN})
    data = unit_means(on_plots.drop(columns="state"), trial.plots, skeleton)
    level = 1 - trial.definition.analysis.alpha
    model = TrialModel("", first, skeleton, data, level, unit="day")
    try:
        made = stratum(model, factor)
    except WinterswardError as error:
        return _untested(plots, _others(plots), unit_kind, str(error))
    states = _unit_states(trial, on_plots, skeleton.unit(factor))
    if (states == _BOTH).any():
        why = "plots of one unit are bounds to both sides"
        return _untested(plots, _others(plots), unit_kind, why)
    arrivals = _as_arrivals(trial, made, factor, states)
    rows, notes = gains(arrivals, factor, plots.control, made.fixed, level)
    rows = rows[~rows["left"].isin(hidden)]
    whys = dict.fromkeys(_others(plots), "no logger of one of the two was seen")
    whys |= dict.fromkeys(hidden, _UNSEEN)
    unseen = [
        _untested(plots, [name], unit_kind, why)
        for name, why in whys.items()
        if name not in set(rows["left"])
    ]
    return pd.concat([_told(rows, notes, unit_kind), *unseen], ignore_index=True)


def _hidden_levels(plots: LoggedPlots, found: dict[str, _Arrival]) -> set[str]:
    """Name the treatments of plots of which it is not known whether they got there."""
    hidden = [name for name, one in found.items() if one.state == NOT_KNOWN]
    within = [plot for name in hidden for plot in plots_within(plots.trial.plots, name)]
    return {plots.levels[plot] for plot in within}


def _others(plots: LoggedPlots) -> list[str]:
    levels = plots.trial.factors[plots.factor].levels
    return [name for name in levels if name != plots.control]


_BOTH = "both"


def _on_plots(trial: Trial, found: dict[str, _Arrival]) -> pd.DataFrame:
    """Give each plot the arrival of its own logger, or else that of its whole plot."""
    own = set(trial.plots["plot"].astype(str))
    rows = [
        (plot, arrival.day, 1, arrival.state)
        for name, arrival in sorted(found.items(), key=lambda item: item[0] not in own)
        for plot in plots_within(trial.plots, name)
    ]
    frame = pd.DataFrame(rows, columns=["plot", "value", "n", "state"])
    return frame.drop_duplicates("plot", ignore_index=True)


def _unit_states(trial: Trial, on_plots: pd.DataFrame, units: str) -> pd.Series:
    """Tell of each unit whether a day in it is a bound, and to which side."""
    joined = trial.plots.merge(on_plots, on="plot")
    by_unit = joined["state"].groupby(unit_names(joined, units))

    def one_of(states: pd.Series) -> str:
        bounds = set(states) - {REACHED}
        return _BOTH if len(bounds) > 1 else next(iter(bounds), "")

    return by_unit.agg(one_of)


def _as_arrivals(trial: Trial, made: Stratum, factor: str, states: pd.Series) -> pd.DataFrame:
    data = made.data.rename(columns={"value": "days"})
    text = {name: str for name in data if name != "days"}
    data = data.astype(text).assign(censored=data["unit"].map(states).fillna(""))
    data[factor] = pd.Categorical(data[factor], list(trial.factors[factor].levels))
    return data


def _told(rows: pd.DataFrame, notes: list[tuple[str, str]], unit_kind: str) -> pd.DataFrame:
    """Put what was found into the form of the table, with what is to be said about it."""
    blank = ["se", "df", "lower", "upper", "p"]
    few = rows[["units_left", "units_right"]].min(axis=1) < 2
    rows.loc[few, blank] = np.nan
    said = []
    for row, alone in zip(rows.itertuples(), few, strict=True):
        says = "" if row.says == _EXACTLY else str(row.says)
        about = "" if alone else notes_about(notes, str(row.left))
        said.append("; ".join(one for one in (ONE_EACH if alone else "", says, about) if one))
    # Whole days that cancel out leave a last digit, which is another one on another machine.
    days = rows["days"].round(_DIGITS)
    told = rows.assign(note=said, unit_of_test=unit_kind, days=days)
    return told[
        ["left", "right", "days", "lower", "upper", "se", "df", "p", "unit_of_test", "note"]
    ]


def _untested(plots: LoggedPlots, lefts: list[str], unit_kind: str, why: str) -> pd.DataFrame:
    """Give rows without a number, and say why."""
    made = pd.DataFrame({"left": lefts}).assign(
        right=plots.control, unit_of_test=unit_kind, note=why
    )
    return made.assign(**dict.fromkeys(("days", "lower", "upper", "se", "df", "p"), np.nan))
