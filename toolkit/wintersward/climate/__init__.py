"""Temperature, light and risk: from a logger's readings and a place to daily facts.

Values and frames in, values and frames out. Temperatures in degC, degree days in degC d,
radiation in MJ m-2 d-1, light in mol m-2 d-1, directions in degrees from north clockwise. Days are
local calendar days, hours are true hours.

The function `degree_days` is taken from its module of the same name, or from `wintersward`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.lazy import load

if TYPE_CHECKING:
    from wintersward.climate.arrivals import mean_reached, reached
    from wintersward.climate.daily import daily_facts, hours_in_band
    from wintersward.climate.degree_days import from_readings, summed
    from wintersward.climate.disease import dollar_spot
    from wintersward.climate.horizon import (
        Horizon,
        Obstacle,
        Stand,
        WithinBearings,
        plot_horizons,
    )
    from wintersward.climate.light import (
        CONVERSIONS,
        Conversion,
        light_of_photons,
        light_of_radiation,
        plot_light,
        under_cover,
    )
    from wintersward.climate.radiation import clear_sky, extraterrestrial
    from wintersward.climate.removal import days_fired, means_of_extremes
    from wintersward.climate.risk import RISKS, Risk, hours_at_risk, uncounted
    from wintersward.climate.sun import obstructed, sun_position

__all__ = [
    "CONVERSIONS",
    "RISKS",
    "Conversion",
    "Horizon",
    "Obstacle",
    "Risk",
    "Stand",
    "WithinBearings",
    "clear_sky",
    "daily_facts",
    "days_fired",
    "dollar_spot",
    "extraterrestrial",
    "from_readings",
    "hours_at_risk",
    "hours_in_band",
    "light_of_photons",
    "light_of_radiation",
    "mean_reached",
    "means_of_extremes",
    "obstructed",
    "plot_horizons",
    "plot_light",
    "reached",
    "summed",
    "sun_position",
    "uncounted",
    "under_cover",
]

_HOMES = {
    "CONVERSIONS": "light",
    "Conversion": "light",
    "Horizon": "horizon",
    "Obstacle": "horizon",
    "RISKS": "risk",
    "Risk": "risk",
    "Stand": "horizon",
    "WithinBearings": "horizon",
    "clear_sky": "radiation",
    "daily_facts": "daily",
    "days_fired": "removal",
    "dollar_spot": "disease",
    "extraterrestrial": "radiation",
    "from_readings": "degree_days",
    "hours_at_risk": "risk",
    "hours_in_band": "daily",
    "light_of_photons": "light",
    "light_of_radiation": "light",
    "mean_reached": "arrivals",
    "means_of_extremes": "removal",
    "obstructed": "sun",
    "plot_horizons": "horizon",
    "plot_light": "light",
    "reached": "arrivals",
    "summed": "degree_days",
    "sun_position": "sun",
    "uncounted": "risk",
    "under_cover": "light",
}


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)
