from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.climate.horizon import Horizon, Stand, WithinBearings
from wintersward.climate.light import (
    CONVERSIONS,
    LIGHT_COLUMNS,
    LOWER,
    USUAL,
    light_of_photons,
    light_of_radiation,
    plot_light,
    under_cover,
)
from wintersward.climate.radiation import clear_sky, extraterrestrial
from wintersward.errors import WinterswardError

D = dt.date
PLACE = {"latitude": 42.4, "longitude": -71.1, "zone": "America/New_York"}
SOUTH = {"latitude": -37.8, "longitude": 145.0, "zone": "Australia/Melbourne"}
WINTER = [D(2026, 1, 15), D(2026, 3, 8), D(2026, 3, 20)]


@pytest.fixture(scope="module")
def found() -> pd.DataFrame:
    around = {
        "open": Horizon(),
        "south stand": Horizon((Stand(12, 20, 180, 100),)),
        "north stand": Horizon((Stand(12, 20, 0, 100),)),
        "pit": Horizon((WithinBearings(0, 360, 90),)),
    }
    return plot_light(WINTER, around, **PLACE)


class TestPlotLight:
    def test_columns_and_order(self, found: pd.DataFrame) -> None:
        assert list(found.columns) == LIGHT_COLUMNS
        assert found["plot"].tolist()[:4] == ["open", "south stand", "north stand", "pit"]
        assert found["date"].is_monotonic_increasing
        assert set(found["conversion"]) == {"0.5 x 4.6"}

    def test_nothing_around_takes_nothing(self, found: pd.DataFrame) -> None:
        rows = found[found["plot"] == "open"]
        assert (rows["share"] == 1).all()
        assert (rows["sun_hours"] == rows["open_sun_hours"]).all()

    def test_a_pit_gets_nothing(self, found: pd.DataFrame) -> None:
        rows = found[found["plot"] == "pit"]
        assert (rows["sun_hours"] == 0).all()
        np.testing.assert_allclose(rows["light"], 0, atol=1e-9)

    def test_in_the_north_a_stand_in_the_south_takes_most(self, found: pd.DataFrame) -> None:
        winter = found[found["date"] == "2026-01-15"].set_index("plot")
        # It stands 31 degrees high, the sun of January 26 degrees.
        assert winter.loc["south stand", "sun_hours"] < 0.35 * winter.loc["open", "sun_hours"]
        assert winter.loc["south stand", "share"] < 0.4
        # A stand in the north hides no winter sun, and some of the sky.
        assert winter.loc["north stand", "sun_hours"] == winter.loc["open", "sun_hours"]
        assert 0.95 < winter.loc["north stand", "share"] < 1
        assert winter.loc["north stand", "sky_view"] == winter.loc["south stand", "sky_view"]

    def test_in_the_south_a_stand_in_the_north_does(self) -> None:
        around = {"n": Horizon((Stand(12, 20, 0, 100),)), "s": Horizon((Stand(12, 20, 180, 100),))}
        found = plot_light([D(2026, 7, 1)], around, **SOUTH).set_index("plot")
        assert found.loc["n", "sun_hours"] < 0.35 * found.loc["s", "sun_hours"]
        assert found.loc["s", "sun_hours"] == found.loc["s", "open_sun_hours"]

    def test_a_stand_in_the_east_takes_the_morning(self) -> None:
        east = {"e": Horizon((Stand(10, 10, 90, 1e4),)), "w": Horizon((Stand(10, 10, 270, 1e4),))}
        found = plot_light([D(2026, 3, 20)], east, **PLACE).set_index("plot")
        lost = found["open_sun_hours"] - found["sun_hours"]
        assert lost["e"] == pytest.approx(lost["w"], abs=0.2)
        assert lost["e"] > 3

    def test_the_sun_of_days_on_which_clocks_change(self, found: pd.DataFrame) -> None:
        hours = found[found["plot"] == "open"].set_index("date")["open_sun_hours"]
        expected = extraterrestrial(WINTER, PLACE["latitude"])["daylight_hours"]
        # Refraction shows the sun for some minutes more.
        np.testing.assert_allclose(hours, expected + 0.1, atol=0.1)

    def test_a_polar_night_has_no_share(self) -> None:
        found = plot_light([D(2026, 12, 21)], {"1": Horizon()}, 69.6, 19.0, "Europe/Oslo")
        assert found["open_light"].item() == 0
        assert np.isnan(found["share"].item())

    def test_the_other_conversion_is_named_and_applied(self) -> None:
        both = [
            plot_light(WINTER[:1], {"1": Horizon()}, **PLACE, conversion=c) for c in (USUAL, LOWER)
        ]
        assert both[1]["conversion"].item() == "0.45 x 4.57"
        ratio = both[1]["light"].item() / both[0]["light"].item()
        assert ratio == pytest.approx(0.45 * 4.57 / 2.3)

    def test_nothing_asked(self) -> None:
        assert list(plot_light([], {"1": Horizon()}, **PLACE).columns) == LIGHT_COLUMNS
        assert plot_light(WINTER, {}, **PLACE).empty


class TestConversions:
    def test_each_has_its_name_and_its_source(self) -> None:
        assert list(CONVERSIONS) == ["0.5 x 4.6", "0.45 x 4.57"]
        assert all(c.source for c in CONVERSIONS.values())
        assert "from memory" in LOWER.source

    def test_measured_radiation(self) -> None:
        days = [D(2026, 3, 1), D(2026, 3, 2)]
        found = light_of_radiation(days, [10.0, np.nan], LOWER)
        assert found["light"].tolist() == pytest.approx([20.565, np.nan], nan_ok=True)
        assert found["conversion"].tolist() == ["0.45 x 4.57"] * 2
        with pytest.raises(WinterswardError, match="radiation on 2026-03-02: found a sum below 0"):
            light_of_radiation(days, [10.0, -1.0])
        with pytest.raises(WinterswardError, match="2 days and radiation of shape"):
            light_of_radiation(days, [10.0])

    @settings(deadline=None)
    @given(st.floats(0, 2500), st.floats(0, 25))
    def test_photons_of_a_day(self, flux: float, hours: float) -> None:
        assert float(light_of_photons(flux, hours)) == pytest.approx(flux * hours * 3600 / 1e6)


class TestUnderCover:
    @settings(deadline=None)
    @given(st.floats(0, 60), st.floats(0, 100), st.floats(0, 1))
    def test_light_under_a_cover(self, light: float, through: float, share: float) -> None:
        found = float(under_cover(light, share, through))
        assert light * through / 100 - 1e-9 <= found <= light + 1e-9
        assert float(under_cover(light, False, through)) == light

    def test_what_is_wrong_is_said(self) -> None:
        with pytest.raises(WinterswardError, match="transmission: found 120"):
            under_cover([1.0], [True], 120)
        with pytest.raises(WinterswardError, match="covered: allowed"):
            under_cover([1.0], [2.0], 50)


class TestRadiation:
    def test_above_the_air_as_far_as_the_poles(self) -> None:
        days = [D(2026, 6, 21), D(2026, 12, 21)]
        for latitude, dark in ((80, 1), (-80, 0)):
            found = extraterrestrial(days, latitude)
            assert found["radiation"][dark] == 0
            assert found["daylight_hours"].tolist()[dark] == 0
            assert found["daylight_hours"].tolist()[1 - dark] == pytest.approx(24)

    def test_nights_are_dark_and_parts_add_up(self) -> None:
        times = pd.date_range("2026-03-20", periods=144, freq="10min", tz="America/New_York")
        sky = clear_sky(times, 42.4, -71.1, 10)
        assert list(sky.columns) == ["azimuth", "elevation", "total", "direct", "diffuse"]
        dark = sky["elevation"] < 0
        assert (sky.loc[dark, ["total", "direct", "diffuse"]] == 0).all(axis=None)
        beam = sky["direct"] * np.sin(np.radians(sky["elevation"].clip(lower=0)))
        np.testing.assert_allclose(sky["total"], beam + sky["diffuse"], atol=1e-6)
        assert (sky[["total", "direct", "diffuse"]] >= -1e-9).all(axis=None)

    def test_haze_takes_light_away(self) -> None:
        noon = pd.DatetimeIndex(["2026-03-20 12:00-04:00"])
        clean, hazy = (clear_sky(noon, 42.4, -71.1, 0, turbidity=t) for t in (2.0, 5.0))
        assert hazy["direct"].item() < clean["direct"].item()
        assert hazy["diffuse"].item() > clean["diffuse"].item()
