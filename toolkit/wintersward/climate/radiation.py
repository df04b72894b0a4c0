"""Radiation of the sun: above the air, and under a clear sky.

References
----------
Allen RG, Pereira LS, Raes D, Smith M (1998) Crop evapotranspiration. FAO Irrigation and Drainage
Paper 56, Rome; chapter 3, equations 21 to 25 and 34.
Ineichen P, Perez R (2002) A new airmass independent formulation for the Linke turbidity
coefficient. Solar Energy 73:151-157.
Remund J et al. (2003) Worldwide Linke turbidity information. Proceedings of the ISES Solar World
Congress, Goteborg.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.climate.local_days import local_times
from wintersward.climate.sun import check_place, sun_position

__all__ = ["clear_sky", "extraterrestrial"]

# FAO-56: solar constant [MJ m-2 min-1] of equation 21; equation 23, the distance; equation 24, the
# declination [rad].
_SOLAR_CONSTANT = 0.0820
_DISTANCE = 0.033
_TILT = 0.409
_PHASE = 1.39
_YEAR = 365
_MINUTES = 24 * 60


def extraterrestrial(days: Iterable[dt.date], latitude: float) -> pd.DataFrame:
    """Compute the radiation on a level surface above the air, by FAO-56.

    Parameters
    ----------
    days : (n,) of date
        Calendar days.
    latitude : float [degrees]
        Of the site; north is positive.

    Returns
    -------
    DataFrame
        Columns date, distance [1] (inverse, relative to the mean), declination, sunset_angle
        [degrees], radiation [MJ m-2 d-1], daylight_hours [h] (sun's centre above a level horizon,
        without refraction); one row a day, in the order given.

    Raises
    ------
    WinterswardError
        The latitude is beyond 90 degrees.

    Notes
    -----
    Equations 21 to 25 and 34, J being the day of the year, p the latitude: d = 1 + 0.033 cos(2 pi
    J/365); s = 0.409 sin(2 pi J/365 - 1.39); w = arccos(-tan p tan s); R = (24 x 60/pi) 0.0820 d
    (w sin p sin s + cos p cos s sin w); daylight 24 w/pi. Where the sun does not rise w is 0, where
    it does not set w is pi.

    References
    ----------
    Allen et al. (1998); see the module.

    Examples
    --------
    >>> round(extraterrestrial([dt.date(2026, 9, 3)], -20)["radiation"].item(), 1)
    32.2
    """
    check_place(latitude, 0.0)
    dates = pd.DatetimeIndex(list(days)).as_unit("us")
    turn = 2 * np.pi * dates.day_of_year.to_numpy() / _YEAR
    distance = 1 + _DISTANCE * np.cos(turn)
    declination = _TILT * np.sin(turn - _PHASE)
    place = np.radians(latitude)
    sunset = np.arccos(np.clip(-np.tan(place) * np.tan(declination), -1.0, 1.0))
    risen = sunset * np.sin(place) * np.sin(declination)
    risen += np.cos(place) * np.cos(declination) * np.sin(sunset)
    found = {
        "date": dates,
        "distance": distance,
        "declination": np.degrees(declination),
        "sunset_angle": np.degrees(sunset),
        "radiation": np.maximum(_MINUTES / np.pi * _SOLAR_CONSTANT * distance * risen, 0.0),
        "daylight_hours": 24 * sunset / np.pi,
    }
    return pd.DataFrame(found)


def clear_sky(
    times: Any,
    latitude: float,
    longitude: float,
    elevation: float = 0.0,
    turbidity: float | None = None,
) -> pd.DataFrame:
    """Estimate the radiation under a sky without clouds.

    Parameters
    ----------
    times : (n,) of times with a zone
        Instants.
    latitude, longitude : float [degrees]
        Of the site; north and east are positive.
    elevation : float [m]
        Of the site above sea level.
    turbidity : float, optional [1]
        Linke turbidity; unless given, the monthly means of Remund et al. (2003) for the place, as
        pvlib holds them, in a straight line from the middle of a month to that of the next.

    Returns
    -------
    DataFrame
        Columns azimuth, elevation [degrees] (of the sun), total, diffuse (on a level surface) and
        direct (square to the beam) [W m-2]; indexed by time. At night they are 0.

    Raises
    ------
    WinterswardError
        Times have no zone, or the place is not on the earth.

    Notes
    -----
    Model of Ineichen and Perez (2002) as pvlib has it; total = diffuse + direct sin(elevation). An
    estimate of what a clear day could bring, and no measurement of any day.
    """
    from pvlib.atmosphere import alt2pres, get_absolute_airmass, get_relative_airmass
    from pvlib.clearsky import ineichen
    from pvlib.irradiance import get_extra_radiation

    index = local_times(times)
    sun = sun_position(index, latitude, longitude, elevation)
    day_of_year = index.day_of_year.to_numpy()
    haze = _turbidity(day_of_year, latitude, longitude) if turbidity is None else turbidity
    haze = np.broadcast_to(haze, len(index))
    up = sun["elevation"].to_numpy() > 0
    zenith = 90.0 - sun["elevation"].to_numpy()[up]
    mass = get_absolute_airmass(get_relative_airmass(zenith), alt2pres(elevation))
    above = get_extra_radiation(day_of_year[up])
    sky = ineichen(zenith, mass, haze[up], altitude=elevation, dni_extra=above)
    for name, part in (("total", "ghi"), ("direct", "dni"), ("diffuse", "dhi")):
        by_day = np.zeros(len(index))
        by_day[up] = sky[part]
        sun[name] = by_day
    return sun


def _turbidity(day_of_year: NDArray[Any], latitude: float, longitude: float) -> NDArray[np.float64]:
    """Give the Linke turbidity of each day of a year from the twelve means of the place."""
    from pvlib.clearsky import lookup_linke_turbidity

    middles = pd.DatetimeIndex([f"2026-{month:02}-15" for month in range(1, 13)], tz="UTC")
    means = lookup_linke_turbidity(middles, latitude, longitude, interp_turbidity=False)
    found = np.interp(day_of_year, middles.day_of_year, means.to_numpy(), period=_YEAR)
    return np.asarray(found, dtype=float)
