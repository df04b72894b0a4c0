"""Temperature, light and risk on the plots: every table of the stage, from what loggers gave."""

from __future__ import annotations

import pandas as pd

from wintersward.analysis.climate_columns import CLIMATE
from wintersward.analysis.climate_facts import logger_tables
from wintersward.analysis.degree_day_sums import (
    degree_day_sums,
    growth,
    growth_by_level,
    sums_by_level,
)
from wintersward.analysis.demonstration_tables import tables_of
from wintersward.analysis.dollar_spot import dollar_spot
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.results import typed
from wintersward.analysis.risk_counts import removal, risk_counts, risks_by_level
from wintersward.analysis.sun_hours import sun_hours
from wintersward.analysis.thermometer import thermometer
from wintersward.analysis.under_cover import under_cover
from wintersward.study import Trial

__all__ = ["climate_tables"]


def climate_tables(trial: Trial) -> dict[str, pd.DataFrame]:
    """Make the tables of temperature, light and risk.

    Parameters
    ----------
    trial : Trial
        The study.

    Returns
    -------
    dict of str to DataFrame
        The tables of `wintersward.analysis.climate_columns.CLIMATE`; empty where nothing of
        theirs was measured or asked for. Until the primary question has its data nothing tells
        treatments apart. Of a demonstration only what it may hold, which compares nothing.

    Raises
    ------
    WinterswardError
        With everything that is wrong in what was gathered.
    """
    plots = LoggedPlots(trial)
    sums, risks = degree_day_sums(trial), risk_counts(trial, plots)
    grown = growth(trial, sums)
    made = {
        **logger_tables(trial),
        **under_cover(trial, plots),
        "degree_day_sums": sums,
        "degree_days_by_level": sums_by_level(trial, plots, sums),
        **thermometer(trial, plots, sums),
        "growth": grown,
        "growth_by_level": growth_by_level(trial, plots, grown),
        "sun_hours": sun_hours(trial, plots),
        "risks": risks,
        "risks_by_level": risks_by_level(risks),
        "dollar_spot": dollar_spot(trial),
        "removal": removal(trial, plots),
    }
    held = tables_of(trial.definition)
    return {
        name: typed(name, made[name])[[column.name for column in held[name].columns]]
        for name in CLIMATE
        if name in held
    }
