"""What it was like under the covers: every day and every hour, beside the control."""

from __future__ import annotations

import numpy as np
import pandas as pd

from wintersward.analysis.climate_facts import FACTS, day_facts, used_readings
from wintersward.analysis.logged_blocks import blocks_of
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.results import empty
from wintersward.climate.covers import lay
from wintersward.study import Trial

__all__ = ["less_control", "under_cover", "with_levels"]

_TABLES = ("under_cover", "under_cover_means", "diurnal")

_MORE = ("mean", "minimum", "maximum")


def under_cover(trial: Trial, plots: LoggedPlots) -> dict[str, pd.DataFrame]:
    """Average what loggers saw over the plots of each treatment.

    Parameters
    ----------
    trial : Trial
        The study.
    plots : LoggedPlots
        Its plots, and the covers on them.

    Returns
    -------
    dict of str to DataFrame
        ``under_cover``, from the day after the covers went on, and ``under_cover_means`` and
        ``diurnal``, of days under cover; all empty until the primary question has its data.

    Notes
    -----
    On the day on which the covers went on nothing is compared yet, as everywhere. The control
    counts in ``diurnal`` on the days on which any plot with the same measure lay under a cover.
    Differences within blocks are those of the blocks in which both were seen on some of the days.
    Quartiles are those of the days, of means over the plots. An hour that was read on fewer than
    half of the days, as where the clocks changed, is left out.
    """
    if not trial.ready:
        return {name: empty(name) for name in _TABLES}
    facts = day_facts(trial)
    facts = facts[facts["date"] > pd.Timestamp(trial.date("covers_on"))]
    facts = with_levels(facts, plots).assign(block=lambda f: f["plot"].map(blocks_of(trial.plots)))
    daily = _daily(facts, plots)
    made = (daily, _over_days(daily, facts, plots.control), _hourly(trial, plots))
    return dict(zip(_TABLES, made, strict=True))


def with_levels(rows: pd.DataFrame, plots: LoggedPlots) -> pd.DataFrame:
    """Add the treatment and whether a cover lay; rows of whole plots with several are left out.

    Parameters
    ----------
    rows : DataFrame
        Columns date and plot.
    plots : LoggedPlots
        The plots, and the covers on them.
    """
    made = rows.assign(level=rows["plot"].map(plots.levels))
    made = made[made["level"].notna()].reset_index(drop=True)
    covered = np.zeros(len(made), dtype=bool)
    for plot, at in made.groupby("plot").indices.items():
        covered[at] = lay(made["date"].iloc[at], plots.spans.get(str(plot), []))
    return made.assign(covered=covered)


def less_control(found: pd.DataFrame, keys: list[str], column: str, control: str) -> pd.Series:
    """Take the control's value of the same keys off; the control itself has none.

    Parameters
    ----------
    found : DataFrame
        Columns level, those of `keys`, and `column`.
    keys : list of str
        What must be the same.
    column : str
        What is compared.
    control : str
        Level of the control.
    """
    own = found[found["level"] == control].set_index(keys)[column]
    named = pd.MultiIndex.from_frame(found[keys]) if len(keys) > 1 else pd.Index(found[keys[0]])
    less = found[column] - own.reindex(named).to_numpy()
    return less.where(found["level"] != control)


def _daily(facts: pd.DataFrame, plots: LoggedPlots) -> pd.DataFrame:
    by_level = facts.groupby(["date", "measure", "level"], as_index=False)
    means = {name: (name, "mean") for name in FACTS}
    found = by_level.agg(**means, plots=("plot", "nunique"), covered=("covered", "sum"))
    for name in _MORE:
        found[f"more_{name}"] = less_control(found, ["date", "measure"], name, plots.control)
    return found


def _over_days(daily: pd.DataFrame, facts: pd.DataFrame, control: str) -> pd.DataFrame:
    """Average the days on which all plots of a treatment lay under covers, beside the control."""
    none = empty("under_cover_means")
    own = daily[daily["level"] == control].set_index(["measure", "date"])
    under = daily[(daily["level"] != control) & (daily["covered"] == daily["plots"])]
    parts = []
    for fact in _MORE:
        known = under.dropna(subset=[f"more_{fact}"])
        if known.empty:
            continue
        beside = own[fact].reindex(pd.MultiIndex.from_frame(known[["measure", "date"]]))
        days = known.assign(
            value=known[fact], control=beside.to_numpy(), more=known[f"more_{fact}"]
        )
        by_level = days.groupby(["measure", "level"])
        found = by_level[["value", "control", "more"]].mean()
        ends = {"lower": by_level["more"].quantile(0.25), "upper": by_level["more"].quantile(0.75)}
        found = found.assign(**ends, days=by_level.size(), fact=fact)
        parts.append(found.join(_within_blocks(days, facts, fact, control)).reset_index())
    if not parts:
        return none
    whole = pd.concat(parts, ignore_index=True)
    return whole.fillna({"blocks": 0})[list(none.columns)]


def _within_blocks(
    days: pd.DataFrame, facts: pd.DataFrame, fact: str, control: str
) -> pd.DataFrame:
    """Give least and most of the differences within blocks, each a mean over the days."""
    keys = ["measure", "date", "block"]
    means = facts.dropna(subset=["block"]).groupby([*keys, "level"], as_index=False)[fact].mean()
    beside = means[means["level"] == control].rename(columns={fact: "control"})
    both = means.merge(days[["measure", "level", "date"]], on=["measure", "level", "date"])
    both = both.merge(beside[[*keys, "control"]], on=keys)
    more = (both[fact] - both["control"]).groupby([both["measure"], both["level"], both["block"]])
    by_level = more.mean().groupby(["measure", "level"])
    return pd.DataFrame(
        {"blocks": by_level.size(), "least": by_level.min(), "most": by_level.max()}
    )


def _hourly(trial: Trial, plots: LoggedPlots) -> pd.DataFrame:
    readings = used_readings(trial)
    readings = readings[readings["date"] > pd.Timestamp(trial.date("covers_on"))]
    readings = readings.assign(hour=readings["time"].dt.hour)
    spot = ["measure", "plot", "date", "hour"]
    sensors = readings.groupby([*spot, "position"])["value"].mean()
    hours = with_levels(sensors.groupby(spot).mean().reset_index(), plots)
    nights = hours.loc[hours["covered"], ["measure", "date"]].drop_duplicates()
    beside = hours[hours["level"] == plots.control].merge(nights, on=["measure", "date"])
    beside = beside[~beside["covered"]]
    under = hours[hours["covered"] & (hours["level"] != plots.control)]
    chosen = pd.concat([beside, under], ignore_index=True)
    keys = ["measure", "level", "hour"]
    days = chosen.groupby([*keys, "date"])["value"].mean().reset_index()
    by_hour = days.groupby(keys)["value"]
    quartiles = {"lower": by_hour.quantile(0.25), "upper": by_hour.quantile(0.75)}
    found = pd.DataFrame({"mean": by_hour.mean(), **quartiles, "days": by_hour.size()})
    found = found.reset_index()
    most = found.groupby(["measure", "level"])["days"].transform("max")
    return found.loc[2 * found["days"] >= most, list(empty("diurnal").columns)]
