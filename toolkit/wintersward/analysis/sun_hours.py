"""Sun and light of a clear sky on every plot: what stands around, and what covers let through."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd

from wintersward.analysis.dollar_spot import weather_days
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.results import empty
from wintersward.analysis.sun_values import horizons_of
from wintersward.climate.covers import lay
from wintersward.climate.light import light_of_radiation, plot_light, under_cover
from wintersward.study import Trial

__all__ = ["CLEAR", "MEASURED", "sun_hours"]

CLEAR, MEASURED = "clear sky", "radiation of the weather file"


def sun_hours(trial: Trial, plots: LoggedPlots) -> pd.DataFrame:
    """Estimate sun and light of every plot, month by month.

    Parameters
    ----------
    trial : Trial
        The study.
    plots : LoggedPlots
        Its plots, and the covers on them.

    Returns
    -------
    DataFrame
        The table ``sun_hours``; empty where the definition tells neither of shade nor of light
        through covers, or not where the site lies and by which clock.

    Notes
    -----
    Means over the days of a month from the first date of the definition to the last. The sky is
    clear on all of them: an estimate of what the place can give, and no measurement of a season.
    In a month of which the weather file has the radiation of every day, that takes the place of the
    clear sky for the light, each plot having the share of it that it would have of a clear sky.
    Through a cover that lay comes the share that the definition names; where it names none, nothing
    is told of the turf.
    """
    none = empty("sun_hours")
    site = trial.definition.site
    told = [level.light for factor in trial.factors.values() for level in factor.levels.values()]
    asked = bool(site.shade) or any(share is not None for share in told)
    if not asked or site.latitude is None or site.longitude is None or site.time_zone is None:
        return none
    light = plot_light(
        _days(trial),
        horizons_of(trial.definition, trial.plots),
        site.latitude,
        site.longitude,
        site.time_zone,
        site.elevation or 0.0,
    )
    light["month"] = light["date"].dt.to_period("M").dt.start_time
    light = _measured(trial, light)
    light["turf_light"], light["covered"] = _on_turf(trial, plots, light)
    by_month = light.groupby(["month", "plot"], as_index=False)
    found = by_month.agg(
        days=("date", "size"),
        sun_hours=("sun_hours", "mean"),
        open_sun_hours=("open_sun_hours", "mean"),
        open_light=("open_light", "mean"),
        light=("light", "mean"),
        turf_light=("turf_light", _whole_mean),
        covered_days=("covered", "sum"),
        factor=("conversion", "first"),
        light_from=("light_from", "first"),
    )
    found["lost"] = 100 * (1 - found["light"] / found["open_light"].where(found["open_light"] > 0))
    return found[list(none.columns)]


def _days(trial: Trial) -> list[dt.date]:
    named = trial.definition.dates.values()
    dates = [day for days in named for day in (days if isinstance(days, list) else [days])]
    count = (max(dates) - min(dates)).days + 1
    return [min(dates) + dt.timedelta(days=at) for at in range(count)]


def _measured(trial: Trial, light: pd.DataFrame) -> pd.DataFrame:
    """Put measured light in the place of a clear sky's, in months of which all days have it."""
    days = weather_days(trial)
    known = days.loc[days["radiation"].notna(), ["date", "radiation"]]
    made = light_of_radiation(known["date"].dt.date if len(known) else [], known["radiation"])
    opened = light["date"].map(made.set_index("date")["light"])
    whole = opened.notna().groupby(light["month"]).transform("all")
    found = light.assign(light_from=np.where(whole, MEASURED, CLEAR))
    found["open_light"] = found["open_light"].where(~whole, opened)
    found["light"] = found["light"].where(~whole, opened * found["share"].fillna(1.0))
    return found


def _on_turf(trial: Trial, plots: LoggedPlots, light: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """Give the light on the turf of every day, and whether a cover lay."""
    levels = trial.factors[plots.factor].levels
    turf = light["light"].to_numpy(dtype=float).copy()
    covered = np.zeros(len(light), dtype=bool)
    for plot, at in light.groupby("plot").indices.items():
        under = lay(light["date"].iloc[at], plots.spans.get(str(plot), []))
        covered[at] = under
        share = levels[plots.levels[str(plot)]].light
        if share is None:
            turf[at[under]] = np.nan
        else:
            turf[at] = under_cover(turf[at], under, share)
    return pd.Series(turf, light.index), pd.Series(covered, light.index)


def _whole_mean(values: pd.Series) -> float:
    """Average the days of a month, if all are known."""
    return float(values.mean(skipna=False))
