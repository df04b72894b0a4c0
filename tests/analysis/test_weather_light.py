"""What humidity and radiation of a weather file add: dollar spot, and light that was measured."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from drawn_study import laid_out
from logged_study import COVERS, changed, drawn_with, write_loggers
from wintersward.analysis.dollar_spot import dollar_spot
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.sun_hours import CLEAR, MEASURED, sun_hours
from wintersward.errors import WinterswardError
from wintersward.study import Trial, open_study

# Invented: no coefficients are built in.
SPOT = "climate:\n  dollar_spot: {intercept: -10, per_humidity: 0.1, per_degree: 0.1}\n"
WEATHER = """\
weather:
  file: station.csv
  units: {temperature: degC}
  columns: {humidity: RH, radiation: Sun}
"""
DAYS = pd.date_range("2026-01-15", "2026-04-18", freq="D")


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    text = changed(("climate:\n", SPOT))
    return drawn_with(tmp_path_factory.mktemp("plan"), text)


def opened(drawn: dict[str, bytes], folder: Path, weather: pd.DataFrame) -> Trial:
    study = laid_out(drawn, folder)
    write_loggers(study, diary=COVERS + WEATHER, blocks=["1"], last="2026-01-20")
    weather.to_csv(study / "loggers" / "station.csv", index=False)
    return open_study(study)


def station(**values: object) -> pd.DataFrame:
    made = pd.DataFrame({"date": DAYS.date, "low": 10.0, "high": 20.0, "RH": 80.0, "Sun": 10.0})
    return made.assign(**values)


def test_dollar_spot_follows_the_means_of_five_days(
    drawn: dict[str, bytes], tmp_path: Path
) -> None:
    humidity = np.full(len(DAYS), 80.0)
    humidity[10] = 100.0
    found = dollar_spot(opened(drawn, tmp_path, station(RH=humidity))).set_index("date")
    assert found.index[0] == DAYS[4]
    assert found.loc[DAYS[9], "humidity"] == pytest.approx(80.0)
    assert found.loc[DAYS[10] : DAYS[14], "humidity"].to_numpy() == pytest.approx(84.0)
    # logit = -10 + 0.1 x 80 + 0.1 x 15 = -0.5
    assert found.loc[DAYS[9], "probability"] == pytest.approx(100 / (1 + math.exp(0.5)))


def test_it_is_silent_where_the_equation_was_not_made(
    drawn: dict[str, bytes], tmp_path: Path
) -> None:
    cold = dollar_spot(opened(drawn, tmp_path, station(low=2.0, high=6.0)))
    assert len(cold) == len(DAYS) - 4
    assert cold["probability"].isna().all()
    gone = np.full(len(DAYS), 80.0)
    gone[20] = np.nan
    held = dollar_spot(opened(drawn, tmp_path / "gap", station(RH=gone)))
    # A day that is missing takes the five means with it in which it is.
    assert len(held) == len(DAYS) - 4 - 5
    none = dollar_spot(opened(drawn, tmp_path / "none", station(RH=np.nan)))
    assert none.empty


def test_measured_radiation_takes_the_place_of_a_clear_sky(
    drawn: dict[str, bytes], tmp_path: Path
) -> None:
    sun = np.full(len(DAYS), 10.0)
    sun[DAYS.get_loc("2026-02-10")] = np.nan
    trial = opened(drawn, tmp_path, station(Sun=sun))
    found = sun_hours(trial, LoggedPlots(trial)).set_index(["month", "plot"])
    months = found.index.get_level_values("month")
    measured = found[months == "2026-03-01"]
    assert set(measured["light_from"]) == {MEASURED}
    # 10 MJ at 2.3 mol each; every plot keeps the share that it has of a clear sky.
    assert measured["open_light"].to_numpy() == pytest.approx(23.0)
    assert (measured["light"] < 23.0).all()
    left = (1 - measured["lost"] / 100) * 23.0
    assert left.to_numpy() == pytest.approx(measured["light"].to_numpy())
    # One day without it leaves its month to the clear sky, sun hours stay so in any case.
    assert set(found.loc[months == "2026-02-01", "light_from"]) == {CLEAR}
    assert (measured["open_sun_hours"] > 11).all()


def test_what_cannot_be_is_told_with_its_place(drawn: dict[str, bytes], tmp_path: Path) -> None:
    trial = opened(drawn, tmp_path, station())
    wrong = station()
    wrong.loc[2, "RH"], wrong.loc[3, "Sun"] = 104.0, 180.0
    wrong.to_csv(tmp_path / "loggers" / "station.csv", index=False)
    with pytest.raises(WinterswardError) as raised:
        dollar_spot(trial)
    assert [str(problem) for problem in raised.value.problems] == [
        "loggers/station.csv, row 4, column RH: found '104.0'; allowed: 0 to 100 %, as relative "
        "humidity can be; correct it, or, if it stands for a missing value, list it under "
        "'missing' of weather in diary.yaml",
        "loggers/station.csv, row 5, column Sun: found '180.0'; allowed: 0 to 50 MJ/m2, for a "
        "day's sum cannot be more than reaches the top of the air; correct it, or, if it stands "
        "for a missing value, list it under 'missing' of weather in diary.yaml",
    ]
