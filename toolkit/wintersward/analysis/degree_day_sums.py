"""Degree days of every plot, as the definition counts them; and growth beside them."""

from __future__ import annotations

import pandas as pd

from wintersward.analysis.climate_facts import day_facts, used_readings
from wintersward.analysis.dollar_spot import weather_days
from wintersward.analysis.logged_blocks import blocks_of, whole_blocks
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.results import empty
from wintersward.analysis.under_cover import less_control, with_levels
from wintersward.analysis.units import plot_values
from wintersward.climate.degree_days import degree_days, from_readings, summed
from wintersward.study import Trial
from wintersward.trial.climate import DegreeDays
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import PhotoMeasure

__all__ = ["degree_day_sums", "growth", "growth_by_level", "sums_by_level"]

_DAYS = ["date", "plot", "degree_days"]
_NEVER = pd.Timestamp("1900-01-01")


def degree_day_sums(trial: Trial) -> pd.DataFrame:
    """Sum the degree days of every plot from the day that the definition names.

    Parameters
    ----------
    trial : Trial
        The study.

    Returns
    -------
    DataFrame
        The table ``degree_day_sums``; empty where the definition asks for none, or where nothing
        of it was measured. Without a measure they are those of the air, and have no plot.

    Raises
    ------
    WinterswardError
        With everything that is wrong in what was gathered.

    Notes
    -----
    From the first day that is missing or set aside on, a plot has no sum: one that left out a day
    would look like a cold spell. Of several sensors in a plot it is the mean.
    """
    none = empty("degree_day_sums")
    asked = trial.definition.climate.degree_days if trial.definition.climate else None
    if asked is None:
        return none
    days = _air(trial, asked) if asked.measure is None else _of_plots(trial, asked, asked.measure)
    start = trial.date(asked.from_)
    parts = []
    for plot, own in days.groupby("plot", sort=True):
        made = summed(own["date"], own["degree_days"], start)
        made = made.rename(columns={"value": "degree_days", "total": "sum"})
        parts.append(made.assign(plot=str(plot)))
    found = [part for part in parts if not part.empty]
    return pd.concat(found, ignore_index=True)[list(none.columns)] if found else none


def _of_plots(trial: Trial, asked: DegreeDays, measure: str) -> pd.DataFrame:
    """Give the degree days of every day of every plot, from readings or from extremes."""
    if asked.method != "integrated":
        days = day_facts(trial)
        days = days[days["measure"] == measure]
        found = degree_days(days["minimum"], days["maximum"], asked.base, asked.upper, asked.method)
        return days.assign(degree_days=found)[_DAYS]
    readings = used_readings(trial)
    readings = readings[readings["measure"] == measure]
    least = getattr(trial.measure(measure), "complete", 100.0) / 100
    parts = [
        from_readings(own["time"], own["value"], asked.base, asked.upper, least).assign(
            plot=str(plot)
        )
        for (plot, _), own in readings.groupby(["plot", "position"], sort=True)
    ]
    if not parts:
        return pd.DataFrame(columns=_DAYS)
    known = pd.concat(parts, ignore_index=True).dropna(subset=["degree_days"])
    return known.groupby(["plot", "date"])["degree_days"].mean().reset_index()[_DAYS]


def _air(trial: Trial, asked: DegreeDays) -> pd.DataFrame:
    """Give the degree days of the air, from the weather file."""
    days = weather_days(trial)
    found = degree_days(days["low"], days["high"], asked.base, asked.upper, asked.method)
    return days.assign(degree_days=found, plot="")[_DAYS]


def sums_by_level(trial: Trial, plots: LoggedPlots, sums: pd.DataFrame) -> pd.DataFrame:
    """Average the sums of degree days over the plots of each treatment.

    Parameters
    ----------
    trial : Trial
        The study.
    plots : LoggedPlots
        Its plots, and the covers on them.
    sums : DataFrame
        As `degree_day_sums` gives them.

    Returns
    -------
    DataFrame
        The table ``degree_days_by_level``; empty until the primary question has its data, and for
        degree days of the air, which all plots share.

    Notes
    -----
    All days are means over the same plots, so that a sum that ends moves no mean: a block of which
    a plot has no sum on the primary date is left out of every treatment, and the table ends with
    the last day on which all the others have one. Where no block has loggers of all treatments, it
    is plots that are left out, not blocks.
    """
    none = empty("degree_days_by_level")
    if not trial.ready:
        return none
    told = with_levels(sums, plots)
    known = told[told["sum"].notna()]
    if known.empty:
        return none
    told = told[told["level"].isin(known["level"])]
    kept, last = _seen_throughout(trial, told, known)
    known = known[known["plot"].isin(kept) & (known["date"] <= last)]
    by_level = known.groupby(["date", "level"], as_index=False)
    found = by_level.agg(sum=("sum", "mean"), plots=("plot", "nunique"))
    found["more"] = less_control(found, ["date"], "sum", plots.control)
    return found[list(none.columns)]


def _seen_throughout(
    trial: Trial, told: pd.DataFrame, known: pd.DataFrame
) -> tuple[list[str], pd.Timestamp]:
    """Choose the plots over which sums are averaged, and the last day on which all have one."""
    levels = told.drop_duplicates("plot").set_index("plot")["level"]
    blocks = blocks_of(trial.plots)
    whole = whole_blocks({str(plot): str(level) for plot, level in levels.items()}, blocks)
    if whole:
        levels = levels[levels.index.map(lambda plot: blocks.get(plot) in whole)]
    ends = known.groupby("plot")["date"].max().reindex(levels.index)
    ends = ends.fillna(_NEVER)
    groups = pd.Series([blocks[one] if whole else one for one in levels.index], levels.index)
    together = ends.groupby(groups).transform("min")
    furthest = together.groupby(levels).max().min()
    primary = trial.definition.analysis.primary.on
    asked = pd.Timestamp(dates_meant(trial.definition.dates, primary)[0])
    kept = together[together >= min(asked, furthest)]
    return [str(one) for one in kept.index], kept.min()


def growth(trial: Trial, sums: pd.DataFrame) -> pd.DataFrame:
    """Set the photo measure of every plot beside the sum of its degree days.

    Parameters
    ----------
    trial : Trial
        The study.
    sums : DataFrame
        As `degree_day_sums` gives them.

    Returns
    -------
    DataFrame
        The table ``growth``, of the primary measure where that comes from photos, else of the
        first that does. A plot without a logger of its own has the sum of its whole plot, or that
        of the air.
    """
    none = empty("growth")
    measures, asked = trial.definition.measures, trial.definition.analysis.primary.measure
    first = sorted(trial.photo_measures, key=lambda name: name != asked)[:1]
    if not first or sums.empty or not isinstance(measures[first[0]], PhotoMeasure):
        return none
    seen = trial.observations(first[0])
    seen = seen[seen["excluded"] == ""]
    parts = [plot_values(day)[0].assign(date=date) for date, day in seen.groupby("date")]
    if not parts:
        return none
    known = sums.set_index(["date", "plot"])["sum"]
    found = pd.concat(parts, ignore_index=True).assign(measure=first[0])
    wholes = dict(zip(trial.plots["plot"], trial.plots["whole_plot"], strict=True))
    found["degree_days"] = float("nan")
    for names in (found["plot"], found["plot"].map(wholes), pd.Series("", found.index)):
        keys = pd.MultiIndex.from_arrays([found["date"].astype("datetime64[us]"), names])
        own = pd.Series(known.reindex(keys).to_numpy(), found.index)
        found["degree_days"] = found["degree_days"].fillna(own)
    return found.dropna(subset=["degree_days"])[list(none.columns)].reset_index(drop=True)


def growth_by_level(trial: Trial, plots: LoggedPlots, found: pd.DataFrame) -> pd.DataFrame:
    """Average the photo measure and the degree days over the plots of each treatment.

    Parameters
    ----------
    trial : Trial
        The study.
    plots : LoggedPlots
        Its plots, and the covers on them.
    found : DataFrame
        As `growth` gives it.

    Returns
    -------
    DataFrame
        The table ``growth_by_level``; empty until the primary question has its data. A whole plot
        counts once. On a date on which a plot has one of the two alone, its block is left out of
        all treatments; where no block has all treatments on any date, no block is left out.
    """
    none = empty("growth_by_level")
    if not trial.ready or found.empty:
        return none
    wholes = dict(zip(trial.plots["plot"], trial.plots["whole_plot"], strict=True))
    level = found["plot"].map(plots.levels)
    own = found["plot"].map(lambda plot: wholes.get(plot) or plot)
    same = own.map(plots.levels).eq(level)
    told = found.assign(level=level, unit=own.where(same, found["plot"]))
    keys = ["measure", "date", "level"]
    units = told.groupby([*keys, "unit"], as_index=False)[["degree_days", "value"]].mean()
    units = units.assign(block=units["unit"].map(blocks_of(trial.plots)))
    day = units.groupby(["measure", "date", "block"])["level"]
    whole = day.transform("nunique") == units["level"].nunique()
    units = units[whole] if whole.any() else units
    by_level = units.groupby(keys, as_index=False)
    means = {name: (name, "mean") for name in ("degree_days", "value")}
    return by_level.agg(**means, plots=("unit", "nunique"))[list(none.columns)]
