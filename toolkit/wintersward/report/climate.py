"""Temperature and light on the plots: what was declared, what came in, and what no report read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.report.numbers import counted, listed_words
from wintersward.report.views import in_sentence, level_label, measure_view
from wintersward.trial.schema import Definition, LoggerMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["climate_context", "temperature_measures", "unmeasured_words"]

_FOLDER = "loggers/"


def climate_context(page: Page) -> dict[str, Any]:
    """Fill the section on temperature and light; empty where nothing of either was to be had.

    Notes
    -----
    The daily weather of the season is told elsewhere: it is that of the station, not of the plots.
    """
    definition = page.definition
    return {
        "loggers": _loggers(page),
        "read": _read(page),
        "measures": [
            in_sentence(measure_view(definition, name).label)
            for name in temperature_measures(definition)
            if not isinstance(definition.measures[name], LoggerMeasure)
        ],
        "light": _light(definition),
        "weather": page.weather in page.provenance.files,
    }


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


def _read(page: Page) -> str:
    """Say how much came in from loggers, and what of it was used; empty where nothing was read."""
    sums = page.table("logger_sums")
    if sums.empty:
        return ""
    files, columns = counted(sums["file"].nunique(), "file"), counted(len(sums), "column")
    flags = counted(len(page.table("logger_flags")), "flag")
    return (
        f"Loggers were read: {columns} of {files}, with {int(sums['used'].sum()):,} readings that "
        f"were used; {flags} of what looks odd."
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
