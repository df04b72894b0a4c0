"""Temperature and light on the plots: what was declared, what came in, and what was made of it."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.report.climate_arrived import arrived_table
from wintersward.report.climate_gained import gained_table, gained_words
from wintersward.report.climate_growth import growth_by_plot, growth_table
from wintersward.report.climate_light import (
    basis_words,
    cover_light_words,
    factor_words,
    light_table,
    lost_words,
    turf_light_table,
)
from wintersward.report.climate_read import flag_words, read_words, removed_words
from wintersward.report.climate_removal import removal_words, rule_words
from wintersward.report.climate_risks import (
    counted_by_plot,
    dollar_spot_words,
    limit_words,
    risks_table,
    snow_days,
    unseen_words,
)
from wintersward.report.climate_sums import air_words, counting_words, degree_days_table
from wintersward.report.climate_words import left_out_words, under_cover_table, under_cover_words
from wintersward.report.views import in_sentence, measure_view, picture_name
from wintersward.trial.schema import Definition, LoggerMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["climate_context", "temperature_measures", "unmeasured_words"]

Context = dict[str, Any]
_FOLDER = "loggers/"


def climate_context(page: Page) -> Context:
    """Fill the section on temperature and light; empty where nothing of either was to be had.

    Parameters
    ----------
    page : Page
        Its tables of `wintersward.analysis.climate_columns.CLIMATE`.

    Returns
    -------
    dict
        Words, tables and pictures; each empty where there is nothing to tell. Before the primary
        question has its data nothing tells treatments apart.

    Notes
    -----
    The daily weather of the season is told elsewhere: it is that of the station, not of the plots.
    """
    definition = page.definition
    sums, flags = page.table("logger_sums"), page.table("logger_flags")
    return {
        "loggers": _loggers(page),
        "read": read_words(sums, flags),
        "removed": removed_words(sums),
        "flags": flag_words(flags),
        "measures": [
            in_sentence(measure_view(definition, name).label)
            for name in temperature_measures(definition)
            if not isinstance(definition.measures[name], LoggerMeasure)
        ],
        "weather": page.weather in page.provenance.files,
        "under": _under(page),
        "days": _degree_days(page),
        "gained": _gained(page),
        "sun": _sun(page),
        "risk": _risk(page),
        "rule": _rule(page),
    }


def _under(page: Page) -> Context:
    """Tell what it was like under the covers."""
    means, definition = page.table("under_cover_means"), page.definition
    pictures = [
        picture
        for name in temperature_measures(definition)
        for kind in ("diurnal", "trace")
        if (picture := page.figure(picture_name(kind, name)))
    ]
    return {
        "words": under_cover_words(means, definition),
        "table": under_cover_table(
            means, definition, left_out_words(page.table("under_cover"), definition), _tested(page)
        ),
        "pictures": pictures,
        "there": bool(pictures) or not means.empty,
    }


def _tested(page: Page) -> dict[str, int]:
    """Count the dates on which each measure from loggers was tested."""
    differences = page.table("differences")
    told = differences[differences["lower"].notna()] if "lower" in differences else differences
    return {
        str(name): int(days) for name, days in told.groupby("measure")["date"].nunique().items()
    }


def _degree_days(page: Page) -> Context:
    """Tell the degree days, and growth beside them."""
    definition, by_level = page.definition, page.table("degree_days_by_level")
    sums = page.table("degree_day_sums")
    ends = pd.to_datetime(sums.loc[sums["sum"].notna(), "date"])
    # Values of single plots wait with the comparison.
    growth: Markup | str = (
        "" if page.waiting else growth_table(page.table("growth_by_level"), definition)
    )
    if not definition.layout.tested and not page.waiting:
        growth = growth_by_plot(page.table("growth"), definition)
    return {
        "there": not sums.empty,
        "how": counting_words(definition),
        "air": air_words(sums, definition),
        "table": degree_days_table(
            by_level, definition, _off(page), ends.max().date() if len(ends) else None
        ),
        "picture": page.figure("degree_days"),
        "growth": growth,
    }


def _off(page: Page) -> dt.date | None:
    """Give the day on which the covers came off."""
    return page.covered[-1][1] if page.covered else None


def _gained(page: Page) -> Context:
    """Tell the days gained on the thermometer; of a demonstration when each plot got there."""
    definition, gained = page.definition, page.table("thermometer_gained")
    tested = definition.layout.tested
    shown = not tested and not page.waiting
    return {
        "words": gained_words(gained, page.table("thermometer"), definition, _off(page)),
        "table": gained_table(gained, definition),
        "arrived": arrived_table(page.table("thermometer")) if shown else "",
    }


def _sun(page: Page) -> Context:
    """Tell the sun and the light of the plots."""
    hours, definition = page.table("sun_hours"), page.definition
    plots = None if page.waiting else page.plots
    snow = snow_days(page.table("cover_events"), page.covered)
    return {
        "basis": basis_words(hours),
        "words": lost_words(hours, definition),
        "factor": factor_words(hours),
        "table": light_table(hours),
        "turf": turf_light_table(hours, plots, definition),
        "covers": cover_light_words(hours, plots, definition, snow),
        "picture": page.figure("sun_hours", "map"),
    }


def _risk(page: Page) -> Context:
    """Tell the risks that were counted, and by which limits."""
    counts, definition = page.table("risks"), page.definition
    by_plot = "" if definition.layout.tested else counted_by_plot(counts, definition)
    snow = snow_days(page.table("cover_events"), page.covered)
    return {
        "limits": limit_words(counts),
        "unseen": unseen_words(counts, definition, snow),
        "spot": dollar_spot_words(page.table("dollar_spot"), definition),
        "table": risks_table(page.table("risks_by_level"), definition) or by_plot,
        "picture": page.figure("risks"),
    }


def _rule(page: Page) -> Context:
    """Tell the rule for taking covers off."""
    words = removal_words(page.table("removal"), page.definition, page.table("under_cover"))
    return {"asked": rule_words(page.definition) if words else "", "words": words}


def temperature_measures(definition: Definition) -> list[str]:
    """Name the measures that are temperatures, in the definition's order."""
    return [
        name for name in definition.measures if measure_view(definition, name).kind == "temperature"
    ]


def unmeasured_words(definition: Definition) -> str:
    """Say among the limits that nobody measured what covers do to warmth and light.

    Parameters
    ----------
    definition : Definition
        The trial.

    Returns
    -------
    str
        Empty where a temperature is among the measures.
    """
    if temperature_measures(definition):
        return ""
    return (
        "No measure of this trial is a temperature or the light on the plots, so it cannot tell "
        "how much warmer or darker it was under a cover."
    )


def _loggers(page: Page) -> list[str]:
    """List the logger files that came in, without the file of the season's weather."""
    return [
        name for name in page.provenance.files if name.startswith(_FOLDER) and name != page.weather
    ]
