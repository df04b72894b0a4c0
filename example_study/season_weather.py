"""The invented daily weather of the example's season, as a station's file would hold it.

The averages of the months are invented too. Around them lies weather as it comes: warm and cold
spells that last for some days, wet days that follow wet ones more often than dry ones, nights that
are milder under cloud. The random numbers come from the seed of the field and a 3: a stream of
their own, which has nothing to do with the field nor with the plan. Spells of April are shorter
and smaller and have a stream with a 4, so that April is much like its averages: the field, which is
drawn without looking at the weather, turns green in it and is mown.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pandas as pd

from field_model import SEED

__all__ = [
    "APRIL",
    "FIRST",
    "LAST",
    "NORMALS",
    "NOT_IN_FILE",
    "NOT_MEASURED",
    "draw_weather",
    "usual_means",
    "write_weather",
]

_STREAM, _APRIL_STREAM = 3, 4
FIRST, LAST = dt.date(2026, 1, 1), dt.date(2026, 4, 20)

# Mean low [degF], mean high [degF], rain [in] and days below 32 degF of a month.
NORMALS = {
    "January": (18, 32, 2.3, 28),
    "February": (19, 34, 2.1, 25),
    "March": (27, 43, 2.6, 22),
    "April": (37, 56, 2.8, 9),
}
# The middles of December and May, so that January and April have neighbours to change towards.
_MIDDLES = ("2025-12-15", "2026-01-15", "2026-02-15", "2026-03-15", "2026-04-15", "2026-05-15")
_LOWS = (23.0, *(float(normal[0]) for normal in NORMALS.values()), 47.0)
_HIGHS = (37.0, *(float(normal[1]) for normal in NORMALS.values()), 68.0)

# One day the station wrote nothing at all, and one day a row without values.
NOT_IN_FILE = dt.date(2026, 2, 21)
NOT_MEASURED = dt.date(2026, 3, 29)

# How far a day's mean lies from the average [degF], and how much of it is left the next day.
_SPELL_SD, _SPELL_KEPT = 8.0, 0.72
APRIL = dt.date(2026, 4, 1)
_APRIL_SD, _APRIL_KEPT = 4.0, 0.5
# Of the half range between low and high [degF]: a wet day has the smaller one.
_HALF_DRY, _HALF_WET, _HALF_SD = 8.4, 5.8, 2.2
_WET_AFTER_DRY, _WET_AFTER_WET = 0.35, 0.55
# Depths of wet days are spread as a gamma distribution of this shape and mean [in].
_RAIN_SHAPE, _RAIN_MEAN = 0.75, 0.19
_LEAST_RAIN = 0.005


def usual_means(days: pd.DatetimeIndex) -> np.ndarray:
    """Give the mean of low and high that is usual on each day, between the middles of months.

    Returns
    -------
    ndarray, shape (days,) [degF]
    """
    middles = pd.DatetimeIndex(_MIDDLES).to_julian_date().to_numpy()
    means = (np.array(_LOWS) + np.array(_HIGHS)) / 2
    return np.interp(days.to_julian_date().to_numpy(), middles, means)


def draw_weather(seed: int = SEED) -> pd.DataFrame:
    """Draw the weather of the season.

    Parameters
    ----------
    seed : int
        Of numpy's PCG64 generator.

    Returns
    -------
    DataFrame
        date, low [degF, whole], high [degF, whole], rain [in, hundredths; snow as its water];
        one row a day from `FIRST` to `LAST`, those that the station lacks among them. Rain of
        less than half a hundredth is not a number: a trace.
    """
    rng = np.random.default_rng([seed, _STREAM])
    of_april = np.random.default_rng([seed, _APRIL_STREAM])
    days = pd.date_range(FIRST, LAST)
    rows = []
    spell, wet = rng.normal(0, _SPELL_SD), False
    for day, usual in zip(days, usual_means(days), strict=True):
        change = rng.normal(0, _SPELL_SD * (1 - _SPELL_KEPT**2) ** 0.5)
        if day.date() < APRIL:
            spell = _SPELL_KEPT * spell + change
        else:
            change = of_april.normal(0, _APRIL_SD * (1 - _APRIL_KEPT**2) ** 0.5)
            spell = _APRIL_KEPT * spell + change
        wet = bool(rng.random() < (_WET_AFTER_WET if wet else _WET_AFTER_DRY))
        half = max(2.0, (_HALF_WET if wet else _HALF_DRY) + rng.normal(0, _HALF_SD))
        depth = rng.gamma(_RAIN_SHAPE, _RAIN_MEAN / _RAIN_SHAPE)
        rain = round(depth, 2) if depth >= _LEAST_RAIN else float("nan")
        low, high = round(usual + spell - half), round(usual + spell + half)
        rows.append((day.date(), low, high, rain if wet else 0.0))
    return pd.DataFrame(rows, columns=["date", "low", "high", "rain"])


def write_weather(path: Path, seed: int = SEED) -> None:
    """Write the weather as a station's file: a trace is T, a value that is not there is M."""
    lines = ["Day,Low,High,Rain"]
    for day in draw_weather(seed).itertuples():
        if day.date == NOT_IN_FILE:
            continue
        rain = "T" if np.isnan(day.rain) else f"{day.rain:.2f}"
        values = "M,M,M" if day.date == NOT_MEASURED else f"{day.low},{day.high},{rain}"
        lines.append(f"{day.date},{values}")
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(("\n".join(lines) + "\n").encode("utf-8"))
