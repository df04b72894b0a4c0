"""The example's temperatures: they fit its weather, its diary and what its definition tells."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

import heat_balance
import season_weather
import temperature_truth
from e2e.example import EXAMPLE
from wintersward.climate.horizon import plot_horizons
from wintersward.climate.radiation import clear_sky
from wintersward.climate.sun import obstructed
from wintersward.study import Trial, open_study

SOIL, CANOPY = heat_balance.MEASURES


@pytest.fixture(scope="module")
def trial() -> Trial:
    return open_study(EXAMPLE)


@pytest.fixture(scope="module")
def plots() -> pd.DataFrame:
    return pd.read_csv(EXAMPLE / "plan" / "plots.csv", dtype=str)


@pytest.fixture(scope="module")
def truth(plots: pd.DataFrame) -> heat_balance.Temperatures:
    return heat_balance.draw_temperatures(plots)


def by_cover(truth: heat_balance.Temperatures, measure: str, first: str, last: str) -> pd.Series:
    """Give the mean [degC] over some time, by cover."""
    means = temperature_truth.by_local_time(truth, measure).loc[first:last].mean()
    return means.groupby(truth.wholes.set_index("plot")["cover"]).mean()


def test_the_diary_tells_what_it_was_drawn_with(trial: Trial) -> None:
    diary = trial.diary
    snow = [event.date.isoformat() for event in diary.cover_events if event.what == "snow"]
    assert snow == [first for first, _, _ in heat_balance.SNOW]
    (laid,) = diary.covers
    assert [laid.on.isoformat(), laid.off.isoformat()] == [
        when[:10] for when in heat_balance.COVERED
    ]
    blown = [event for event in diary.cover_events if event.what == "blown off"]
    assert [event.plots for event in blown] == [["4B"]]


def test_the_air_runs_between_the_lows_and_highs_of_the_station(
    truth: heat_balance.Temperatures,
) -> None:
    days = season_weather.draw_weather().set_index("date")
    date = truth.times.tz_convert("Etc/GMT+5").date
    air = pd.Series(truth.air).groupby(date)
    lows, highs = ((days[name] - 32) / 1.8 for name in ("low", "high"))
    assert np.allclose(air.max(), np.maximum(highs, air.first()), atol=0.01)
    # A night may go on falling towards the low of the next morning.
    assert (air.min() <= lows + 0.01).all()
    assert (air.min() >= np.minimum(lows, lows.shift(-1)) - 0.01)[:-1].all()


def test_the_stand_shades_the_blocks_one_more_than_the_other(plots: pd.DataFrame) -> None:
    wholes = heat_balance.whole_plots(plots)
    horizons = plot_horizons(wholes, heat_balance.NORTH, [heat_balance.STAND])
    times = pd.date_range("2026-01-16", "2026-04-17", freq="20min", tz="Etc/GMT+5")
    sky = clear_sky(times, *heat_balance.PLACE, turbidity=2.5)
    azimuth, height = sky["azimuth"].to_numpy(), sky["elevation"].to_numpy()
    lost = {
        plot: (obstructed(azimuth, height, horizon) & (height > 0)).sum() / 3 / 91
        for plot, horizon in horizons.items()
    }
    by_block = pd.Series(lost).groupby(wholes.set_index("plot")["block"]).mean()
    assert (by_block.diff().dropna() > 0.1).all()
    assert by_block["1"] < 1 < 2 < by_block["6"]  # hours of sun a day


def test_covers_warm_while_they_lie_and_no_longer(truth: heat_balance.Temperatures) -> None:
    for measure in (SOIL, CANOPY):
        before = by_cover(truth, measure, "2026-01-15", "2026-01-18")
        under = by_cover(truth, measure, "2026-01-20", "2026-03-08")
        after = by_cover(truth, measure, "2026-03-24", "2026-04-17")
        for cover in ("fleece", "woven"):
            assert abs(before[cover] - before["open"]) < 0.3
            assert under[cover] - under["open"] > 0.9
            assert abs(after[cover] - after["open"]) < 0.3
        assert under["woven"] > under["fleece"]


def test_a_cover_that_lay_aside_left_its_plot_to_the_night(
    truth: heat_balance.Temperatures,
) -> None:
    canopy = temperature_truth.by_local_time(truth, CANOPY)
    others = ["1A", "2A", "3C", "5A", "6C"]
    nights = {
        day: canopy.loc[f"{day} 00:00" : f"{day} 06:00"] for day in ("2026-02-12", "2026-02-13")
    }
    apart = {day: (own["4B"] - own[others].mean(axis=1)).mean() for day, own in nights.items()}
    assert apart["2026-02-12"] < -0.7
    assert abs(apart["2026-02-13"]) < 0.5


def test_soil_swings_less_and_later_than_the_canopy(truth: heat_balance.Temperatures) -> None:
    swing, hour = {}, {}
    for measure in (SOIL, CANOPY):
        own = temperature_truth.by_local_time(truth, measure)["2C"].loc["2026-04-06":"2026-04-17"]
        usual = own.groupby(own.index.hour).mean()
        swing[measure], hour[measure] = usual.max() - usual.min(), usual.idxmax()
    assert swing[SOIL] < swing[CANOPY] / 3
    assert 2 <= hour[SOIL] - hour[CANOPY] <= 8


def test_soil_that_freezes_stands_at_zero_for_a_while(truth: heat_balance.Temperatures) -> None:
    soil = temperature_truth.by_local_time(truth, SOIL)["1B"].loc["2026-01-16":"2026-03-20"]
    assert soil.min() < -3
    assert (soil.abs() < 0.01).mean() > 0.05
