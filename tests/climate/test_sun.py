from __future__ import annotations

import datetime as dt
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest

from wintersward.climate.horizon import OPEN, Horizon, WithinBearings
from wintersward.climate.local_days import day_starts
from wintersward.climate.sun import obstructed, sun_position
from wintersward.errors import WinterswardError

D = dt.date
MELBOURNE = {"latitude": -37.8, "longitude": 145.0}
BOSTON = {"latitude": 42.4, "longitude": -71.1}


def of_day(day: str, zone: str, **place: float) -> pd.DataFrame:
    return sun_position(pd.date_range(day, periods=288, freq="5min", tz=zone), **place)


def test_bearings_run_from_north_clockwise_in_both_hemispheres() -> None:
    for zone, place, noon in (
        ("America/New_York", BOSTON, 180),
        ("Australia/Sydney", MELBOURNE, 0),
    ):
        sun = of_day("2026-03-20", zone, **place)
        up = sun[sun["elevation"] > 0]
        assert up["azimuth"].iloc[0] == pytest.approx(90, abs=2)
        assert up["azimuth"].iloc[-1] == pytest.approx(270, abs=2)
        highest = sun.loc[sun["elevation"].idxmax()]
        assert np.cos(np.radians(highest["azimuth"] - noon)) > 0.999
        # On the equinox the sun stands at 90 degrees less the latitude at noon.
        assert highest["elevation"] == pytest.approx(90 - abs(place["latitude"]), abs=0.5)


def test_summer_of_one_hemisphere_is_winter_of_the_other() -> None:
    heights = {
        (day, name): of_day(day, zone, **place)["elevation"].max()
        for day in ("2026-06-21", "2026-12-21")
        for name, zone, place in (
            ("north", "America/New_York", BOSTON),
            ("south", "Australia/Sydney", MELBOURNE),
        )
    }
    assert heights["2026-06-21", "north"] > 70 > 25 > heights["2026-12-21", "north"]
    assert heights["2026-12-21", "south"] > 75 > 30 > heights["2026-06-21", "south"]


def test_one_instant_has_one_sun_whatever_its_zone() -> None:
    times = pd.date_range("2026-03-08", periods=30, freq="h", tz="America/New_York")
    here = sun_position(times, **BOSTON)
    there = sun_position(times.tz_convert("UTC"), **BOSTON)
    np.testing.assert_allclose(here.to_numpy(), there.to_numpy())
    assert here.index.equals(times)


def test_sun_behind_the_earth_or_an_obstacle_is_hidden() -> None:
    assert obstructed([90, 90, 90], [-1, 0, 1], OPEN).tolist() == [True, True, False]
    trees = Horizon((WithinBearings(80, 100, 20),))
    assert obstructed([90, 90, 120], [19, 21, 19], trees).tolist() == [True, False, False]


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ({"latitude": 91, "longitude": 0}, "latitude: found 91; allowed: -90 to 90 degrees"),
        ({"latitude": 0, "longitude": -181}, "longitude: found -181; allowed: -180 to 180 degrees"),
        ({"latitude": float("nan"), "longitude": 0}, "latitude: found nan"),
    ],
)
def test_a_place_beyond_the_earth(place: dict[str, float], said: str) -> None:
    with pytest.raises(WinterswardError, match=said):
        sun_position(pd.Timestamp("2026-03-08", tz="UTC"), **place)


def test_times_need_a_zone() -> None:
    with pytest.raises(WinterswardError, match="times without a zone"):
        sun_position([pd.Timestamp("2026-03-08")], **BOSTON)


class TestDayStarts:
    def hours(self, first: dt.date, last: dt.date, zone: str) -> list[float]:
        edges = day_starts(first, last, zone)
        return [gap / pd.Timedelta(hours=1) for gap in np.diff(edges)]

    def test_days_on_which_clocks_change(self) -> None:
        zone = "America/New_York"
        assert self.hours(D(2026, 3, 7), D(2026, 3, 9), zone) == [24, 23, 24]
        assert self.hours(D(2026, 10, 31), D(2026, 11, 2), zone) == [24, 25, 24]

    def test_clocks_that_change_at_midnight(self) -> None:
        edges = day_starts(D(2018, 11, 4), D(2018, 11, 4), "America/Sao_Paulo")
        assert str(edges[0]) == "2018-11-04 01:00:00-02:00"
        # At one o'clock back to midnight, which comes twice; the day begins with the first.
        edges = day_starts(D(2026, 11, 1), D(2026, 11, 1), "America/Havana")
        assert str(edges[0]) == "2026-11-01 00:00:00-04:00"

    def test_a_day_that_never_was_has_no_hours(self) -> None:
        assert self.hours(D(2011, 12, 29), D(2011, 12, 31), "Pacific/Apia") == [24, 0, 24]

    def test_an_offset_for_a_zone(self) -> None:
        assert self.hours(D(2026, 3, 8), D(2026, 3, 8), "UTC-05:00") == [24]


def test_what_is_slow_to_load_waits_until_it_is_needed() -> None:
    code = (
        "import sys, wintersward.climate.light, wintersward.climate.horizon, "
        "wintersward.climate.risk, wintersward.climate.degree_days; "
        "sys.exit('pvlib' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
