"""Temperature and light on the plots: what was declared, what came in, and what was made of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.report.climate_gained import arrived_table, gained_table, gained_words
from wintersward.report.climate_light import (
    basis_words,
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
)
from wintersward.report.climate_sums import (
    air_words,
    counting_words,
    degree_days_table,
    growth_table,
)
from wintersward.report.climate_words import under_cover_table, under_cover_words
from wintersward.report.numbers import listed_words
from wintersward.report.views import in_sentence, level_label, measure_view, picture_name
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
        "share": _light(definition),
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
        "table": under_cover_table(means, definition),
        "pictures": pictures,
        "there": bool(pictures) or not means.empty,
    }


def _degree_days(page: Page) -> Context:
    """Tell the degree days, and growth beside them."""
    definition, by_level = page.definition, page.table("degree_days_by_level")
    off = page.covered[-1][1] if page.covered else None
    sums = page.table("degree_day_sums")
    return {
        "there": not sums.empty,
        "how": counting_words(definition),
        "air": air_words(sums, definition),
        "table": degree_days_table(by_level, definition, off),
        "picture": page.figure("degree_days"),
        # Values of single plots wait with the comparison.
        "growth": "" if page.waiting else growth_table(page.table("growth"), definition),
    }


def _gained(page: Page) -> Context:
    """Tell the days gained on the thermometer; of a demonstration when each plot got there."""
    definition, gained = page.definition, page.table("thermometer_gained")
    tested = definition.layout.tested
    shown = not tested and not page.waiting
    return {
        "words": gained_words(gained, definition),
        "table": gained_table(gained, definition),
        "arrived": arrived_table(page.table("thermometer")) if shown else "",
    }


def _sun(page: Page) -> Context:
    """Tell the sun and the light of the plots."""
    hours, definition = page.table("sun_hours"), page.definition
    by_treatment = "" if page.waiting else turf_light_table(hours, page.plots, definition)
    return {
        "basis": basis_words(hours),
        "words": lost_words(hours, definition),
        "factor": factor_words(hours),
        "table": light_table(hours),
        "turf": by_treatment,
        "picture": page.figure("sun_hours", "map"),
    }


def _risk(page: Page) -> Context:
    """Tell the risks that were counted, and by which limits."""
    counts, definition = page.table("risks"), page.definition
    by_plot = "" if definition.layout.tested else counted_by_plot(counts, definition)
    return {
        "limits": limit_words(counts),
        "spot": dollar_spot_words(page.table("dollar_spot"), definition),
        "table": risks_table(page.table("risks_by_level"), definition) or by_plot,
        "picture": page.figure("risks"),
    }


def _rule(page: Page) -> Context:
    """Tell the rule for taking covers off."""
    words = removal_words(page.table("removal"), page.definition)
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


def _light(definition: Definition) -> str:
    """Say which treatments the definition gives a share of light; empty where it gives none."""
    shares = [
        f"{in_sentence(level_label(definition, name))} {level.light:g} %"
        for factor in definition.treatments.values()
        for name, level in factor.levels.items()
        if level.light is not None
    ]
    return listed_words(shares) if shares else ""
