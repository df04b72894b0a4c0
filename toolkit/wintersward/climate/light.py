"""Light for plants: what each plot gets of a clear day, and sums of measured light.

Notes
-----
Only light of 400 to 700 nm counts, in moles of photons. Weather stations measure energy of all
wavelengths; the number that turns one into the other is in use in two forms, which differ by 12 %.
Every result names the one that it rests on.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from wintersward.climate.horizon import OPEN, Horizon
from wintersward.climate.local_days import MICROSECONDS_AN_HOUR, day_starts, instants
from wintersward.climate.radiation import clear_sky, extraterrestrial
from wintersward.climate.sun import obstructed
from wintersward.errors import WinterswardError

__all__ = [
    "CONVERSIONS",
    "LIGHT_COLUMNS",
    "LOWER",
    "USUAL",
    "Conversion",
    "clear_sky",
    "extraterrestrial",
    "light_of_photons",
    "light_of_radiation",
    "plot_light",
    "under_cover",
]

Floats = NDArray[np.float64]
_STEP_MINUTES = 5
_SECONDS_AN_HOUR = 3600
_MICRO = 1e-6
LIGHT_COLUMNS = [
    "date",
    "plot",
    "sun_hours",
    "open_sun_hours",
    "sky_view",
    "light",
    "open_light",
    "share",
    "conversion",
]


@dataclass(frozen=True)
class Conversion:
    """How radiation of all wavelengths turns into photons that plants use.

    Parameters
    ----------
    share : float [1]
        Share of the energy that lies between 400 and 700 nm.
    photons : float [umol J-1]
        Photons in the energy of that share.
    source : str
        Where both come from.
    """

    share: float
    photons: float
    source: str

    @property
    def name(self) -> str:
        """The pair, as results name it."""
        return f"{self.share:g} x {self.photons:g}"

    @property
    def factor(self) -> float:
        """Photons in all of the energy [mol MJ-1], which is the same as [umol J-1]."""
        return self.share * self.photons


USUAL = Conversion(
    0.5, 4.6, "in use with flux towers; the defaults of the R package bigleaf, Rg.to.PPFD"
)
LOWER = Conversion(0.45, 4.57, "McCree 1972, Agricultural Meteorology 10:443-453, from memory")
CONVERSIONS = {conversion.name: conversion for conversion in (USUAL, LOWER)}


def light_of_radiation(
    days: Iterable[dt.date], radiation: ArrayLike, conversion: Conversion = USUAL
) -> pd.DataFrame:
    """Turn daily sums of measured radiation into daily light.

    Parameters
    ----------
    days : (n,) of date
        Local days.
    radiation : (n,) float [MJ m-2 d-1]
        Sum of each day on a level surface; not a number where none was measured.
    conversion : Conversion
        `USUAL` unless given.

    Returns
    -------
    DataFrame
        Columns date, radiation [MJ m-2 d-1], light [mol m-2 d-1], conversion (its name).

    Raises
    ------
    WinterswardError
        A sum below zero, or lengths that differ.

    Examples
    --------
    >>> round(light_of_radiation([dt.date(2026, 3, 1)], [15.0])["light"].item(), 2)
    34.5
    """
    dates = pd.DatetimeIndex(list(days)).as_unit("us")
    sums = np.asarray(radiation, dtype=float)
    if sums.shape != (len(dates),):
        raise WinterswardError(
            f"{len(dates)} days and radiation of shape {sums.shape}; allowed: one sum a day"
        )
    if (sums < 0).any():
        day = dates[int(np.argmax(sums < 0))].date()
        raise WinterswardError(f"radiation on {day}: found a sum below 0; allowed: 0 or more")
    light = sums * conversion.factor
    found = {"date": dates, "radiation": sums, "light": light, "conversion": conversion.name}
    return pd.DataFrame(found)


def light_of_photons(flux: ArrayLike, hours: ArrayLike) -> Floats:
    """Add up the light that a sensor for plant light saw.

    Parameters
    ----------
    flux : (n,) float [umol m-2 s-1]
        Mean over the hours.
    hours : (n,) float [h]
        True hours; for a daily mean those of the day, 23 or 25 where the clocks change.

    Returns
    -------
    (n,) float [mol m-2]
        Sum over these hours.

    Examples
    --------
    >>> round(float(light_of_photons(1.0, 24.0)), 4)
    0.0864
    """
    rate, time = np.asarray(flux, dtype=float), np.asarray(hours, dtype=float)
    return np.asarray(rate * time * _SECONDS_AN_HOUR * _MICRO)


def under_cover(light: ArrayLike, covered: ArrayLike, transmission: float) -> Floats:
    """Take off what a cover keeps from the turf.

    Parameters
    ----------
    light : (n,) float [mol m-2 d-1]
        Light of each day above the cover.
    covered : (n,) bool, or float [1]
        Whether the cover lay on the day, or for which share of the day's light it lay.
    transmission : float [%]
        Share of the light that the cover lets through, from its maker or from a pair of sensors
        above and below it.

    Returns
    -------
    (n,) float [mol m-2 d-1]
        On the turf.

    Raises
    ------
    WinterswardError
        A share beyond its range.

    Notes
    -----
    The same share of every light is taken off. Dew, frost, snow and dirt on a cover change it, and
    are left out.

    Examples
    --------
    >>> under_cover([12.0, 12.0], [True, False], transmission=70).round(6).tolist()
    [8.4, 12.0]
    """
    lay = np.asarray(covered, dtype=float)
    if not 0 <= transmission <= 100:
        raise WinterswardError(f"transmission: found {transmission:g}; allowed: 0 to 100 %")
    if not ((lay >= 0) & (lay <= 1)).all():
        raise WinterswardError("covered: allowed: true or false, or a share from 0 to 1")
    return np.asarray(np.asarray(light, dtype=float) * (1 - lay * (1 - transmission / 100)))


def plot_light(
    days: Iterable[dt.date],
    horizons: Mapping[str, Horizon],
    latitude: float,
    longitude: float,
    zone: Any,
    elevation: float = 0.0,
    conversion: Conversion = USUAL,
) -> pd.DataFrame:
    """Estimate the sun and the light that each plot would get on clear days.

    Parameters
    ----------
    days : (n,) of date
        Local days, each once.
    horizons : mapping of str to Horizon
        By plot, as `wintersward.climate.plot_horizons` gives them.
    latitude, longitude : float [degrees]
        Of the site; north and east are positive.
    zone : str or tzinfo
        Zone of the site; it says where its days begin and end.
    elevation : float [m]
        Of the site above sea level.
    conversion : Conversion
        `USUAL` unless given.

    Returns
    -------
    DataFrame
        Columns date, plot, sun_hours, open_sun_hours [h] (for how long the sun's centre stands
        above the plot's horizon, and above a level one), sky_view [1], light, open_light [mol m-2
        d-1] (on the plot, and without anything around), share [1] (of the two; not a number where
        the sun does not rise), conversion (its name); one row a day and plot, sorted by day, plots
        in the order given.

    Raises
    ------
    WinterswardError
        The place is not on the earth.

    Notes
    -----
    In steps of 5 minutes. While the sun stands behind an obstacle its beam is lost; of the light
    of the sky the plot gets the share of its sky view, as if the sky were evenly bright. Light
    thrown back by obstacles is left out. Under a closed layer of clouds, which has no beam, a plot
    gets the share of its sky view; most days lie between that and `share`. Hours are those of a
    clear sky, not of sunshine that was seen.
    """
    dates = sorted(set(days))
    if not dates or not horizons:
        return pd.DataFrame(columns=LIGHT_COLUMNS)
    day, times, hours = _steps(dates, zone)
    sky = clear_sky(times, latitude, longitude, elevation)
    up = sky["elevation"].to_numpy() > 0
    sky, day, hours = sky[up], day[up], hours[up]
    azimuth, height = sky["azimuth"].to_numpy(), sky["elevation"].to_numpy()
    beam = sky["direct"].to_numpy() * np.sin(np.radians(height))
    diffuse = sky["diffuse"].to_numpy()
    photons = conversion.factor

    def on(horizon: Horizon) -> tuple[Floats, Floats]:
        shines = ~obstructed(azimuth, height, horizon)
        flux = photons * (beam * shines + diffuse * horizon.sky_view)
        sums = np.bincount(day, light_of_photons(flux, hours), len(dates))
        above = np.bincount(day, shines * hours, len(dates))
        return np.asarray(above, dtype=float), np.asarray(sums, dtype=float)

    open_hours, open_light = on(OPEN)
    parts = []
    for plot, horizon in horizons.items():
        sun_hours, light = on(horizon)
        share = np.divide(light, open_light, out=np.full(len(dates), np.nan), where=open_light > 0)
        parts.append(
            {
                "date": pd.DatetimeIndex(dates).as_unit("us"),
                "plot": plot,
                "sun_hours": sun_hours,
                "open_sun_hours": open_hours,
                "sky_view": horizon.sky_view,
                "light": light,
                "open_light": open_light,
                "share": share,
                "conversion": conversion.name,
            }
        )
    found = pd.concat([pd.DataFrame(part) for part in parts], ignore_index=True)
    return found.sort_values("date", kind="stable", ignore_index=True)[LIGHT_COLUMNS]


def _steps(dates: list[dt.date], zone: Any) -> tuple[NDArray[np.int64], pd.DatetimeIndex, Floats]:
    """Cut local days into steps: the place of their day, their middles, and their length [h]."""
    edges = instants(day_starts(dates[0], dates[-1], zone))
    at = [(date - dates[0]).days for date in dates]
    step = _STEP_MINUTES * MICROSECONDS_AN_HOUR // 60
    counts = [-(-int(edges[i + 1] - edges[i]) // step) for i in at]
    bounds = [np.linspace(edges[i], edges[i + 1], n + 1) for i, n in zip(at, counts, strict=True)]
    middles = np.concatenate([(b[:-1] + b[1:]) / 2 for b in bounds]).astype("int64")
    hours = np.concatenate([np.diff(b) for b in bounds]) / MICROSECONDS_AN_HOUR
    times = pd.DatetimeIndex(middles.view("datetime64[us]"), tz="UTC").tz_convert(zone)
    return np.repeat(np.arange(len(dates)), counts), times, hours
