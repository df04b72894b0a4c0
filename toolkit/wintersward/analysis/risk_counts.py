"""Risks counted on every plot, and the days on which the rule for taking covers off was met."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from wintersward.analysis.climate_facts import day_facts, measures_of, used_readings
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.results import empty
from wintersward.climate.own_limits import own_risks
from wintersward.climate.removal import days_fired, means_of_extremes
from wintersward.climate.risk import hours_at_risk
from wintersward.study import Trial
from wintersward.trial.covering import all_off

__all__ = ["removal", "risk_counts", "risks_by_level"]

_KEYS = ["risk", "measure", "plot", "position", "covered"]


def risk_counts(trial: Trial, plots: LoggedPlots) -> pd.DataFrame:
    """Count the hours, or days, of each risk on every plot with a logger of the canopy.

    Parameters
    ----------
    trial : Trial
        The study.
    plots : LoggedPlots
        Its plots, and the covers on them.

    Returns
    -------
    DataFrame
        The table ``risks``; empty without loggers of the canopy. Treatments are told once the
        primary question has its data.

    Notes
    -----
    From the day on which covers went on to the last day that counts as soon after they came off:
    later in spring every canopy is warm. Days under a cover and open ones are counted apart; a
    plot that has none of either has no row. Frost after uncovering counts from the last time that
    a cover came off, and on the control on the same days.
    """
    none = empty("risks")
    names = list(measures_of(trial, "canopy temperature"))
    risks = own_risks(trial.definition.climate, names)
    soon = max(risk.within for risk in risks.values())
    last = plots.ended + dt.timedelta(days=soon)
    readings = used_readings(trial)
    inside = readings["date"].between(
        pd.Timestamp(trial.date("covers_on")), pd.Timestamp(last), inclusive="left"
    )
    readings = readings[inside & readings["measure"].isin(names)].drop(columns="date")
    if readings.empty:
        return none
    days = hours_at_risk(readings, plots.spans, risks)
    by_plot = days.groupby(_KEYS, as_index=False)
    found = by_plot.agg(
        counted=("counted", "sum"),
        unit=("unit", "first"),
        marked_days=("marked", "sum"),
        days=("date", "size"),
        hours_seen=("hours_seen", "sum"),
    )
    units, every = trial.definition.units, _every(readings)
    said = {name: risk.sentence(units, every) for name, risk in risks.items()}
    sources = {name: risk.source_for(units) for name, risk in risks.items()}
    found["limit"], found["source"] = found["risk"].map(said), found["risk"].map(sources)
    found["covered"] = found["covered"].map({True: "yes", False: "no"})
    found["level"] = found["plot"].map(plots.levels).fillna("") if trial.ready else ""
    return found[list(none.columns)]


def _every(readings: pd.DataFrame) -> str:
    """Say how often loggers were read, as most of them were."""
    steps = readings.sort_values("time").groupby(["measure", "plot", "position"])["time"].diff()
    minutes = float(steps.dt.total_seconds().median()) / 60
    if not minutes > 0:
        return ""
    return "each hour" if round(minutes) == 60 else f"every {minutes:.0f} minutes"


def risks_by_level(risks: pd.DataFrame) -> pd.DataFrame:
    """Sum up the counts of risks by treatment.

    Parameters
    ----------
    risks : DataFrame
        As `risk_counts` gives them; rows without a treatment are left out.

    Returns
    -------
    DataFrame
        The table ``risks_by_level``. Of several sensors in a plot it is the mean.
    """
    told = risks[risks["level"] != ""]
    told = told.assign(under=told["counted"].where(told["covered"] == "yes", 0.0))
    keys = ["risk", "measure", "level", "unit"]
    counts = ["days", "counted", "under", "marked_days"]
    by_sensor = told.groupby([*keys, "plot", "position"], as_index=False)[counts].sum()
    by_plot = by_sensor.groupby([*keys, "plot"], as_index=False)[counts].mean()
    found = by_plot.groupby(keys, as_index=False).agg(
        plots=("plot", "nunique"),
        fewest=("counted", "min"),
        most=("counted", "max"),
        **{name: (name, "mean") for name in counts},
    )
    return found[list(empty("risks_by_level").columns)]


def removal(trial: Trial, plots: LoggedPlots) -> pd.DataFrame:
    """Tell on which days the definition's rule for taking covers off was met.

    Parameters
    ----------
    trial : Trial
        The study.
    plots : LoggedPlots
        Its plots, and the covers on them.

    Returns
    -------
    DataFrame
        The table ``removal``; empty without a rule. The record is the mean of the soil, of the
        first measure of it, over the plots that were drawn for a cover, from covers on to the last
        day that was seen. The forecast is the middle of the lowest and highest temperature of the
        air that the diary has for a day, and its days in a row are counted among themselves.
    """
    none = empty("removal")
    decided = trial.definition.decisions
    rule = decided.covers_off_when if decided else None
    if rule is None:
        return none
    last = trial.date(rule.not_after)
    asked = (rule.soil_temperature.value, rule.days_in_a_row, last)
    parts = []
    record = _record(trial, plots)
    if not record.empty:
        parts.append(_until_seen(days_fired(record, *asked), record).assign(source="record"))
    forecast = pd.DataFrame([one.model_dump() for one in trial.diary.forecast])
    if not forecast.empty:
        means = means_of_extremes(forecast).sort_index()
        ahead = days_fired(means, *asked, measured="air", forecast_from=means.index[0].date())
        parts.append(_until_seen(ahead, means).assign(source="forecast"))
    parts = [part for part in parts if not part.empty]
    if not parts:
        return none
    found, off = pd.concat(parts, ignore_index=True), all_off(trial.diary.covers)
    found = found.rename(columns={"mean": "value"})
    found = found.assign(threshold=asked[0], days_needed=asked[1])
    found["came_off"] = pd.Series([off] * len(found), dtype="datetime64[us]")
    found["fired"] = found["fired"].map({True: "yes", False: ""})
    return found[list(none.columns)]


def _record(trial: Trial, plots: LoggedPlots) -> pd.Series:
    """Average the soil of every day over the plots that were drawn for a cover."""
    names = list(measures_of(trial, "soil temperature"))[:1]
    facts = day_facts(trial)
    drawn = facts["plot"].map(plots.levels).fillna(plots.control) != plots.control
    since = facts["date"] >= pd.Timestamp(trial.date("covers_on"))
    own = facts[facts["measure"].isin(names) & drawn & since]
    return own.groupby("date")["mean"].mean()


def _until_seen(days: pd.DataFrame, means: pd.Series) -> pd.DataFrame:
    """Leave out the days after the last one that is known: they are still to come."""
    return days[days["date"] <= means.dropna().index.max()]
