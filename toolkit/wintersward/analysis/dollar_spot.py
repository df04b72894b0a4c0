"""Dollar spot by the coefficients of a definition, from the humidity and air of a weather file."""

from __future__ import annotations

import pandas as pd

from wintersward.analysis.results import empty
from wintersward.climate.disease import dollar_spot as probability
from wintersward.errors import WinterswardError
from wintersward.records.weather import read_weather
from wintersward.study import Trial

__all__ = ["dollar_spot", "weather_days"]

_DAYS = 5


def dollar_spot(trial: Trial) -> pd.DataFrame:
    """Compute the probability of dollar spot day by day, where the definition has coefficients.

    Parameters
    ----------
    trial : Trial
        The study.

    Returns
    -------
    DataFrame
        The table ``dollar_spot``; empty without coefficients, or without humidity. A row for each
        day whose five-day means are known; without a probability beyond the temperatures for which
        the equation was made.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the weather file.

    Notes
    -----
    Means over a day and the four before it. The mean of the air is the middle of the lowest and
    the highest temperature of the day. It is the air of a station, the same for all plots, and
    tells nothing of what it was like under a cover.
    """
    none = empty("dollar_spot")
    asked = trial.definition.climate.dollar_spot if trial.definition.climate else None
    days = weather_days(trial)
    if asked is None or days["humidity"].isna().all():
        return none
    air = (days["low"] + days["high"]) / 2
    both = pd.DataFrame({"humidity": days["humidity"], "temperature": air})
    means = both.set_index(pd.DatetimeIndex(days["date"])).asfreq("D").rolling(_DAYS).mean()
    known = means.dropna().rename_axis("date").reset_index()
    coefficients = asked.intercept, asked.per_humidity, asked.per_degree
    known["probability"] = [
        probability(humidity, temperature, *coefficients)
        for humidity, temperature in zip(known["humidity"], known["temperature"], strict=True)
    ]
    return known[list(none.columns)]


def weather_days(trial: Trial) -> pd.DataFrame:
    """Read the days of the weather file; none where the diary names no file.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the file.
    """
    if trial.diary.weather is None:
        names = ["date", "low", "high", "rain", "humidity", "radiation"]
        return pd.DataFrame({name: pd.Series(dtype=float) for name in names})
    read = read_weather(trial.folder, trial.diary.weather)
    if read.problems:
        raise WinterswardError(read.problems)
    return read.days
