"""What the loggers of a run gave: sums of rows, flags, and what every day was like."""

from __future__ import annotations

import pandas as pd

from wintersward import records
from wintersward.analysis.logged_plots import excluded_days
from wintersward.climate.daily import hours_in_band
from wintersward.climate.held import SERIES
from wintersward.climate.local_days import local_times
from wintersward.study import Trial
from wintersward.trial.schema import LoggerMeasure

__all__ = ["FACTS", "day_facts", "logger_tables", "measures_of", "used_readings"]

FACTS = ["minimum", "mean", "maximum", "amplitude"]
_ROUNDING = 1e-9
_SAME = ["file", "column", "measure", "plot", "position"]


def logger_tables(trial: Trial) -> dict[str, pd.DataFrame]:
    """Give what became of the files of loggers, and what every sensor saw of every day.

    Parameters
    ----------
    trial : Trial
        The study.

    Returns
    -------
    dict of str to DataFrame
        ``logger_sums``, ``logger_flags`` and ``daily_facts``, with the columns of
        `wintersward.analysis.results.TABLES`; no treatment is told.

    Raises
    ------
    WinterswardError
        With everything that is wrong in what was gathered.
    """
    logged = trial.logged
    sums = records.logger_sums_table(logged.sums)
    sums["again"] = sums.groupby(_SAME).cumcount()
    facts = logged.facts.drop(columns="source")
    facts = facts.assign(
        completeness=100 * facts["completeness"], excluded=excluded_days(trial, facts)
    )
    facts = facts.merge(_band_hours(trial), on=["date", *SERIES], how="left")
    return {"logger_sums": sums, "logger_flags": _flags(trial), "daily_facts": facts}


def _band_hours(trial: Trial) -> pd.DataFrame:
    """Count the hours of each day that every sensor saw within the band of its measure."""
    readings = trial.logged.readings
    parts = [
        hours_in_band(readings[readings["measure"] == name], *one.band)
        for name, one in measures_of(trial).items()
        if one.band is not None and (readings["measure"] == name).any()
    ]
    named = {"hours": "band_hours"}
    if not parts:
        kinds = {"date": "datetime64[us]", **dict.fromkeys(SERIES, "str"), "band_hours": "float64"}
        return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in kinds.items()})
    return pd.concat(parts, ignore_index=True).rename(columns=named)[
        ["date", *SERIES, "band_hours"]
    ]


def _flags(trial: Trial) -> pd.DataFrame:
    flags = records.logger_flag_table(trial.logged.flags)
    for end in ("from", "to"):
        times = flags[end].dt.tz_convert(trial.definition.site.time_zone or "UTC")
        told = ["" if pd.isna(one) else one.isoformat(timespec="minutes") for one in times]
        flags[end] = pd.Series(told, flags.index, dtype="str")
    return flags.drop_duplicates(["kind", "file", "measure", "plot", "from", "to", "found"])


def measures_of(trial: Trial, what: str = "") -> dict[str, LoggerMeasure]:
    """Give the measures from loggers, by name: all, or those of one thing.

    Parameters
    ----------
    trial : Trial
        The study.
    what : str
        Such as ``soil temperature``; empty for all.
    """
    measures = trial.definition.measures.items()
    logged = {name: one for name, one in measures if isinstance(one, LoggerMeasure)}
    return {name: one for name, one in logged.items() if what in ("", one.what)}


def day_facts(trial: Trial) -> pd.DataFrame:
    """Give the days that are used: enough of them seen, and not excluded.

    Returns
    -------
    DataFrame
        Columns date, plot (as the diary names it), measure, minimum, mean, maximum, amplitude
        [degC]; the mean over the sensors of a plot; sorted by measure, plot, date.
    """
    facts = trial.logged.facts
    least = {name: one.complete for name, one in measures_of(trial).items()}
    known = 100 * facts["completeness"] >= facts["measure"].map(least) - _ROUNDING
    used = facts[known & (excluded_days(trial, facts) == "")]
    found = used.groupby(["measure", "plot", "date"], as_index=False)[FACTS].mean()
    return found[["date", "plot", "measure", *FACTS]]


def used_readings(trial: Trial) -> pd.DataFrame:
    """Give the readings of days that are not excluded.

    Returns
    -------
    DataFrame
        Columns plot, measure, position, time (by the clock of the site), value [degC], date.
    """
    readings = trial.logged.readings.drop(columns="source")
    dates = local_times(readings["time"]).tz_localize(None).normalize()
    readings = readings.assign(date=dates)
    if not trial.diary.exclusions:
        return readings
    return readings[excluded_days(trial, readings) == ""].reset_index(drop=True)
