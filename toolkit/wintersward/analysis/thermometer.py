"""Days gained on the thermometer: when plots reached a temperature, or a sum of degree days."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from wintersward.analysis.arrivals import AFTER, ON_OR_BEFORE
from wintersward.analysis.climate_facts import day_facts
from wintersward.analysis.days_gained import gains
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

__all__ = ["ONE_EACH", "REACHED", "criterion_words", "thermometer"]

REACHED = "reached"
ONE_EACH = "one logger a treatment: described"
_EXACTLY = "exactly"
_DAY = pd.Timedelta(days=1)
_DIGITS = 9


@dataclass(frozen=True)
class _Arrival:
    """When one plot got there: days since the start, the day itself, and how sure that is."""

    day: float
    reached: pd.Timestamp | None
    state: str


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
    A mean of n days has reached a temperature on the last of them. Where the mean up to the day
    before is not known, as on the first day on which there is one, the plot got there on that day
    or before. A sum is taken to grow evenly through a day.
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
    found = {}
    for plot, own in days.groupby("plot", sort=True):
        arrival = _of_mean(own, one.temperature, one.days, start)
        if arrival is not None:
            found[str(plot)] = arrival
    return found


def _of_sum(own: pd.DataFrame, level: float, start: dt.date) -> _Arrival:
    moment = reached(own["date"], own["sum"], level)
    if moment is None:
        # The sum of a day stood at its end.
        return _Arrival(_since(own["date"].max() + _DAY, start), None, AFTER)
    return _Arrival(_since(moment, start), moment.normalize(), REACHED)


def _of_mean(own: pd.DataFrame, level: float, over: int, start: dt.date) -> _Arrival | None:
    means = own.set_index("date")["mean"].asfreq("D").rolling(over).mean().dropna()
    if means.empty:
        return None
    day = mean_reached(own["date"], own["mean"], level, over)
    if day is None:
        return _Arrival(_since(means.index.max(), start), None, AFTER)
    seen_before = day - _DAY in means.index
    state = REACHED if seen_before else ON_OR_BEFORE
    return _Arrival(_since(day, start), day, state)


def _since(moment: pd.Timestamp, start: dt.date) -> float:
    return float((moment - pd.Timestamp(start)) / _DAY)


def _gained(trial: Trial, plots: LoggedPlots, found: dict[str, _Arrival]) -> pd.DataFrame:
    """Compare the days of arrival by the layout's own model, as days gained are."""
    factor = plots.factor
    first = trial.begins(factor) + dt.timedelta(days=1)
    skeleton = skeleton_for(trial.definition, first)
    unit_kind = skeleton.unit_of(factor)
    on_plots = _on_plots(trial, found)
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
    unseen = [
        _untested(plots, [name], unit_kind, "no logger of one of the two was seen")
        for name in _others(plots)
        if name not in set(rows["left"])
    ]
    return pd.concat([_told(rows, notes, unit_kind), *unseen], ignore_index=True)


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
    said = [
        "; ".join(
            [
                *([ONE_EACH] if alone else []),
                *([str(row.says)] if row.says != _EXACTLY else []),
                *(text for _, text in notes if _is_about(text, str(row.left)) and not alone),
            ]
        )
        for row, alone in zip(rows.itertuples(), few, strict=True)
    ]
    # Whole days that cancel out leave a last digit, which is another one on another machine.
    days = rows["days"].round(_DIGITS)
    told = rows.assign(note=said, unit_of_test=unit_kind, days=days)
    return told[
        ["left", "right", "days", "lower", "upper", "se", "df", "p", "unit_of_test", "note"]
    ]


def _is_about(text: str, left: str) -> bool:
    return text.startswith((f"days gained by {left}: ", f"days gained by {left} have "))


def _untested(plots: LoggedPlots, lefts: list[str], unit_kind: str, why: str) -> pd.DataFrame:
    """Give rows without a number, and say why."""
    made = pd.DataFrame({"left": lefts}).assign(
        right=plots.control, unit_of_test=unit_kind, note=why
    )
    return made.assign(**dict.fromkeys(("days", "lower", "upper", "se", "df", "p"), np.nan))
