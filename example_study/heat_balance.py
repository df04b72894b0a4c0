"""The invented truth of soil and canopy temperatures: what each cover plot was like, all season.

Each step of ten minutes the canopy stands where it gives off as much heat as it gets: warmth goes
to the air and to the soil in proportion to the differences, the sun warms it by what a cover lets
through, and the sky cools it by what a cover does not hold back. Still air under a cover carries
less warmth away. The soil at 4 in follows canopy and deep soil by their differences; its water
freezes and thaws at 0 degC. Snow keeps the sun out and holds the canopy close to the soil. Wind,
and the warmth that rain and vapour carry, are left out.

The air runs between the lows and highs of `season_weather`. Clouds have a stream of the seed of
their own, and so have the plots, so that nothing that was drawn before changes. The numbers of the
covers are invented; they were set once so that covered plots lie within what cover trials report
(bounds from memory): soil 0.5 to 3 degC warmer on the mean of a day, the canopy 4 to 10 degC warmer
at the peak of a sunny day and 0.5 to 2 degC at the low of a night.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from field_model import SEED
from season_weather import draw_weather
from wintersward.climate.horizon import Horizon, Stand, plot_horizons
from wintersward.climate.radiation import clear_sky
from wintersward.climate.sun import obstructed

__all__ = [
    "COVERED",
    "COVERS",
    "ELEVATION",
    "MEASURES",
    "NORTH",
    "PLACE",
    "SNOW",
    "STANDARD",
    "STAND",
    "ZONE",
    "Cover",
    "Temperatures",
    "draw_temperatures",
    "whole_plots",
]

MEASURES = ("soil_temperature", "canopy_temperature")
ZONE, STANDARD = "America/New_York", "Etc/GMT+5"
PLACE, ELEVATION, NORTH = (43.1, -77.6), 158.496, 15.0  # degrees, m (520 ft), degrees
# Height, distance, bearing and length: 35 ft, 60 ft, 280 degrees and 80 ft.
STAND = Stand(height=10.668, distance=18.288, bearing=280.0, length=24.384, name="stand")

_CLOUD_STREAM, _PLOT_STREAM = 6, 7
_STEP = pd.Timedelta(minutes=10)
_SECONDS = 600.0
# Time of the highest temperature [h of the day, UTC-05:00]; the lowest is at sunrise.
_WARMEST = 15.0

# Covers lay from nine o'clock on the first day until ten on the second, local time; that of plot
# 4B lay aside for a night.
COVERED = ("2026-01-19 09:00", "2026-03-09 10:00")
_BLOWN_OFF = ("4B", "2026-02-11 22:00", "2026-02-12 09:00")
# Snow: first day, day on which it was gone, greatest depth [m]. It fell until noon of the second
# day, and then shrank. That of 12 January was brushed off on the 15th at nine.
SNOW = (
    ("2026-01-12", "2026-01-15", 0.10),
    ("2026-01-20", "2026-01-28", 0.10),
    ("2026-02-01", "2026-02-08", 0.04),
    ("2026-03-04", "2026-03-07", 0.05),
)
_HALVED_BY = 0.05  # depth [m] that halves how far the canopy is from the soil
_THROUGH_SNOW = 0.2  # of the sun

# Clouds [share of the sky]: fewer the further low and high are apart [degF], more when it is wet.
_CLOUDS, _CLOUDS_RANGE, _CLOUDS_WET, _CLOUDS_SD = 1.1, 0.035, 0.25, 0.15
_HOUR_SD, _HOUR_KEPT = 0.12, 0.7
# Kasten and Czeplak 1980, Solar Energy 24:177-189 (from memory): what clouds leave of the sun.
_CLOUD_TAKES, _CLOUD_POWER = 0.75, 3.4
# Net loss to a clear sky [W m-2], and the share of it that a closed cover of clouds keeps.
_TO_SKY, _CLOUDS_KEEP = 85.0, 0.8
_TURBIDITY = 2.5

# To the soil, and from it to the deep soil [W m-2 K-1]; warmth and ice of the soil [J m-2 K-1,
# J m-2]; temperatures deep in the soil [degC], and by how much they are lower for each share of the
# clear sun that the stand takes, since the deep soil remembers the autumn.
_TO_SOIL, _TO_DEEP, _WARMTH, _ICE = 6.0, 1.5, 4.0e5, 1.6e6
_DEEP = (("2026-01-01", "2026-02-15", "2026-03-15", "2026-04-25"), (5.0, 3.0, 4.0, 11.0))
_DEEP_SHADE = 10.0
_PLOT_SD = {"sun": 0.03, "air": 0.03, "soil": 0.06}

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Cover:
    """What a cover does to the heat of the canopy.

    Parameters
    ----------
    of_sun : float [1]
        Share of the sun that warms the canopy, let through or taken up by the cover itself; the
        rest is thrown back or goes into vapour.
    to_air : float [W m-2 K-1]
        How well the canopy gives warmth to the air.
    to_sky : float [1]
        Share of the loss to the sky that it leaves.
    """

    of_sun: float
    to_air: float
    to_sky: float


COVERS = {
    "open": Cover(0.56, 26.0, 1.0),
    "fleece": Cover(0.56, 13.0, 0.55),
    "woven": Cover(0.51, 11.0, 0.5),
}


@dataclass(frozen=True)
class Temperatures:
    """Everything that is true of the temperatures.

    Parameters
    ----------
    times : (n,) DatetimeIndex
        UTC, every ten minutes from the first midnight of the weather on.
    wholes : DataFrame
        The whole plots as `whole_plots` gives them.
    measures : dict of str to (n, wholes) float [degC]
        By the names of `MEASURES`.
    air : (n,) float [degC]
        Temperature of the air.
    clouds : (n,) float [1]
        Share of the sky.
    """

    times: pd.DatetimeIndex
    wholes: pd.DataFrame
    measures: dict[str, Floats]
    air: Floats
    clouds: Floats

    def at(self, times: pd.DatetimeIndex, measure: str, whole: str) -> Floats:
        """Give the temperature [degC] of a whole plot at any times (UTC) of the season."""
        column = self.wholes["plot"].tolist().index(whole)
        own = self.times.as_unit("us").asi8
        return np.interp(times.as_unit("us").asi8, own, self.measures[measure][:, column])


def whole_plots(plots: pd.DataFrame) -> pd.DataFrame:
    """Join plots to the whole plots on which covers lie.

    Parameters
    ----------
    plots : DataFrame
        ``plan/plots.csv``.

    Returns
    -------
    DataFrame
        Columns plot (name of the whole plot), block, cover, x_m, y_m, width_m, length_m; sorted by
        plot.
    """
    numbers = ["x_m", "y_m", "width_m", "length_m"]
    sized = plots.astype({**dict.fromkeys(numbers, "float64"), "cover": "str"})
    found = sized.groupby("whole_plot", as_index=False).agg(
        block=("block", "first"),
        cover=("cover", "first"),
        x_m=("x_m", "min"),
        y_m=("y_m", "min"),
        width_m=("width_m", "sum"),
        length_m=("length_m", "first"),
    )
    return found.rename(columns={"whole_plot": "plot"})


def draw_temperatures(plots: pd.DataFrame, seed: int = SEED) -> Temperatures:
    """Draw the temperatures of soil and canopy of each whole plot.

    Parameters
    ----------
    plots : DataFrame
        ``plan/plots.csv``.
    seed : int
        Of numpy's PCG64 generator.
    """
    days, wholes = draw_weather(), whole_plots(plots)
    first, last = (pd.Timestamp(days["date"].iloc[at]) for at in (0, -1))
    ends = (first.tz_localize(STANDARD), (last + pd.Timedelta(days=1)).tz_localize(STANDARD))
    local = pd.date_range(*ends, freq=_STEP, inclusive="left", unit="us")
    sky = clear_sky(local, *PLACE, ELEVATION, turbidity=_TURBIDITY)
    air = _air(days, local, sky["elevation"].to_numpy())
    clouds = _clouds(days, local, np.random.default_rng([seed, _CLOUD_STREAM]))
    horizons = plot_horizons(wholes, NORTH, [STAND])
    clear, open_sky = _clear_sun(sky, [horizons[plot] for plot in wholes["plot"]])
    sun = (1 - _CLOUD_TAKES * clouds**_CLOUD_POWER)[:, None] * clear
    deep = _deep(local)[:, None] - _DEEP_SHADE * (1 - clear.sum(axis=0) / sky["total"].sum())
    to_sky = _TO_SKY * (1 - _CLOUDS_KEEP * clouds)[:, None] * open_sky
    rng = np.random.default_rng([seed, _PLOT_STREAM])
    own = {name: 1 + rng.normal(0, sd, len(wholes)) for name, sd in _PLOT_SD.items()}
    under = _under(local, wholes["plot"].tolist(), wholes["cover"].tolist())
    depth = _snow(local)
    sun *= np.where(depth > 0, _THROUGH_SNOW, 1.0)[:, None]
    taken = sun * own["sun"] * under["of_sun"] - to_sky * under["to_sky"]
    to_air = under["to_air"] * own["air"]
    soil, canopy = _balance(air, taken, to_air, depth, deep, own["soil"])
    measures = dict(zip(MEASURES, (soil, canopy), strict=True))
    return Temperatures(local.tz_convert("UTC"), wholes, measures, air, clouds)


def _air(days: pd.DataFrame, local: pd.DatetimeIndex, height: Floats) -> Floats:
    """Run from the low at sunrise to the high of the afternoon and back, by half waves [degC]."""
    hours = np.arange(len(local)) / 6.0
    dawn = np.flatnonzero((height[1:] > 0) & (height[:-1] <= 0)) + 1
    lows, highs = ((days[name].to_numpy(dtype=float) - 32) / 1.8 for name in ("low", "high"))
    knots = np.empty(2 * len(days))
    knots[::2], knots[1::2] = hours[dawn], 24.0 * np.arange(len(days)) + _WARMEST
    values = np.empty(2 * len(days))
    values[::2], values[1::2] = lows, highs
    after = np.clip(np.searchsorted(knots, hours, side="right"), 1, len(knots) - 1)
    since = np.clip((hours - knots[after - 1]) / (knots[after] - knots[after - 1]), 0, 1)
    rise = values[after] - values[after - 1]
    return np.asarray(values[after - 1] + rise * (1 - np.cos(np.pi * since)) / 2)


def _clouds(days: pd.DataFrame, local: pd.DatetimeIndex, rng: np.random.Generator) -> Floats:
    """Draw the share of the sky under clouds: by the day, and a little by the hour."""
    wet = ~(days["rain"].to_numpy(dtype=float) == 0)
    apart = (days["high"] - days["low"]).to_numpy(dtype=float)
    by_day = _CLOUDS - _CLOUDS_RANGE * apart + _CLOUDS_WET * wet
    by_day += rng.normal(0, _CLOUDS_SD, len(days))
    change = rng.normal(0, _HOUR_SD * (1 - _HOUR_KEPT**2) ** 0.5, 24 * len(days) + 1)
    by_hour = np.empty(len(change))
    by_hour[0] = change[0]
    for at in range(1, len(change)):
        by_hour[at] = _HOUR_KEPT * by_hour[at - 1] + change[at]
    hours = np.arange(len(local)) / 6.0
    middles = 24.0 * np.arange(len(days)) + 12.0
    both = np.interp(hours, middles, by_day) + np.interp(hours, np.arange(len(change)), by_hour)
    return np.clip(both, 0.0, 1.0)


def _clear_sun(sky: pd.DataFrame, horizons: Sequence[Horizon]) -> tuple[Floats, Floats]:
    """Give a clear day's sun on each whole plot [W m-2], and how much sky each one sees [1]."""
    azimuth, height = sky["azimuth"].to_numpy(), sky["elevation"].to_numpy()
    direct = sky["direct"].to_numpy() * np.sin(np.radians(np.clip(height, 0, None)))
    seen = np.array([horizon.sky_view for horizon in horizons])
    hidden = np.column_stack([obstructed(azimuth, height, horizon) for horizon in horizons])
    return sky["diffuse"].to_numpy()[:, None] * seen + np.where(hidden, 0.0, direct[:, None]), seen


def _under(
    local: pd.DatetimeIndex, wholes: Sequence[str], covers: Sequence[str]
) -> dict[str, Floats]:
    """Give what lies on each whole plot at each time, by the fields of `Cover`."""
    begins, ends = (pd.Timestamp(end, tz=ZONE) for end in COVERED)
    lies = np.asarray((local >= begins) & (local < ends))[:, None] & (np.array(covers) != "open")
    plot, off, back = _BLOWN_OFF
    away = (local >= pd.Timestamp(off, tz=ZONE)) & (local < pd.Timestamp(back, tz=ZONE))
    lies[np.asarray(away), list(wholes).index(plot)] = False
    return {
        name: np.where(
            lies, [getattr(COVERS[cover], name) for cover in covers], getattr(COVERS["open"], name)
        )
        for name in ("of_sun", "to_air", "to_sky")
    }


def _snow(local: pd.DatetimeIndex) -> Floats:
    """Give the depth of the snow [m]."""
    days = np.arange(len(local)) / 144.0
    depth = np.zeros(len(local))
    start = local[0].tz_localize(None)
    for first, gone, most in SNOW:
        begins, ends = ((pd.Timestamp(day) - start) / pd.Timedelta(days=1) for day in (first, gone))
        # To nine in the morning: when the snow was brushed off, and late enough for the others.
        depth += np.interp(days, [begins, begins + 1.5, ends + 0.375], [0.0, most, 0.0])
    return depth


def _deep(local: pd.DatetimeIndex) -> Floats:
    """Give the temperature deep in the soil [degC]."""
    days = pd.DatetimeIndex(_DEEP[0], tz=STANDARD)
    return np.interp(local.as_unit("us").asi8, days.as_unit("us").asi8, _DEEP[1])


def _balance(
    air: Floats, taken: Floats, to_air: Floats, depth: Floats, deep: Floats, own_soil: Floats
) -> tuple[Floats, Floats]:
    """Step through the season: soil and canopy [degC], one column a whole plot."""
    soil, canopy = np.empty_like(taken), np.empty_like(taken)
    to_soil = _TO_SOIL * own_soil
    close = 0.5 ** (depth / _HALVED_BY)
    # Warmth above that of soil at 0 degC whose water is not frozen [J m-2].
    held = np.full(taken.shape[1], 1.0 * _WARMTH)
    for at in range(len(air)):
        now = (np.maximum(held, 0) + np.minimum(held + _ICE, 0)) / _WARMTH
        top = (to_air[at] * air[at] + to_soil * now + taken[at]) / (to_air[at] + to_soil)
        if depth[at] > 0:
            top = np.minimum(now + close[at] * (top - now), 0.0)
        soil[at], canopy[at] = now, top
        held = held + _SECONDS * (to_soil * (top - now) + _TO_DEEP * (deep[at] - now))
    return soil, canopy
