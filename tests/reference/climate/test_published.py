"""Degree days, sun, radiation and light against published figures.

MEMORY beside a number: its source was not read again; COMPUTED: worked out by an independent
computation, with no publication behind it; the others were read in the text named.
"""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from wintersward.climate.arrivals import reached
from wintersward.climate.degree_days import degree_days
from wintersward.climate.disease import dollar_spot
from wintersward.climate.horizon import Horizon, Stand
from wintersward.climate.light import (
    LOWER,
    USUAL,
    light_of_photons,
    light_of_radiation,
    under_cover,
)
from wintersward.climate.radiation import clear_sky, extraterrestrial
from wintersward.climate.sun import sun_position
from wintersward.units import to_si

METHODS = ("average", "modified", "triangle", "sine")


class TestDegreeDays:
    def test_a_day_in_degrees_fahrenheit(self) -> None:
        # Course note 2016, quoting Purdue and Michigan State University: 74/52 degF, base 50.
        for method in METHODS:
            assert degree_days(52, 74, 50, method=method) == pytest.approx(13)
        celsius = [to_si(value, "degF") for value in (52, 74, 50)]
        assert degree_days(*celsius) == pytest.approx(13 / 1.8)

    @pytest.mark.parametrize(
        ("low", "high", "method", "published"),
        # Tests of the R package TrenchR, which cites the University of California's Integrated
        # Pest Management Program (2016) and Allen (1976); lower limit 12, upper limit 33.
        [
            (7, 14, "sine", 0.47),
            (7, 14, "triangle", 0.29),
            (7, 10, "sine", 0.0),
            (13, 14, "sine", 1.5),
            (13, 40, "sine", 12.94),
            (7, 40, "sine", 10.94),
        ],
    )
    def test_sine_and_triangle(
        self, low: float, high: float, method: str, published: float
    ) -> None:
        assert degree_days(low, high, 12, 33, method) == pytest.approx(published, abs=0.0051)

    @pytest.mark.parametrize(
        ("low", "high", "base", "expected"),
        # COMPUTED, in the order of METHODS.
        [
            (-4, 8, 0, (2.0, 4.0, 2.6667, 3.0170)),
            (2, 14, 10, (0, 2.0, 0.6667, 1.0170)),
            (0, 20, 10, (0, 5.0, 2.5000, 3.1831)),
            (-2, 12, 0, (5.0, 6.0, 5.1429, 5.3256)),
            (-3, 13, 10, (0, 1.5, 0.2813, 0.5623)),
            (5, 9, 10, (0, 0, 0, 0)),
            (12, 20, 10, (6.0, 6.0, 6.0, 6.0)),
        ],
    )
    def test_four_methods(
        self, low: float, high: float, base: float, expected: tuple[float, ...]
    ) -> None:
        found = [degree_days(low, high, base, method=method) for method in METHODS]
        assert found == pytest.approx(expected, abs=5e-5)

    def test_horizontal_upper_limit(self) -> None:
        # COMPUTED.
        assert degree_days(5, 36, 10, 30, "modified") == pytest.approx(10.0)
        assert degree_days(5, 36, 10, 30, "sine") == pytest.approx(10.2233, abs=5e-5)
        # COMPUTED, with the limits of 86 and 50 degF that are in use for maize.
        assert degree_days(60, 90, 50, 86, "modified") == pytest.approx(23)
        assert degree_days(42, 75, 50, 86, "modified") == pytest.approx(12.5)


class TestSun:
    def test_worked_example_of_the_algorithm(self) -> None:
        # Reda and Andreas 2004, NREL/TP-560-34302, table A5.1.
        sun = sun_position(
            pd.Timestamp("2003-10-17 12:30:30-07:00"),
            39.742476,
            -105.1786,
            elevation=1830.14,
            pressure=820.0,
            temperature=11.0,
            delta_t=67.0,
        )
        assert 90 - sun["elevation"].item() == pytest.approx(50.11162, abs=6e-6)
        assert sun["azimuth"].item() == pytest.approx(194.34024, abs=6e-6)

    @pytest.mark.parametrize(
        ("day", "noon", "daylight", "above"),
        # COMPUTED at 40 degrees north: height of the sun at noon and daylight with the declination
        # of Cooper (1969, from memory), which is off by up to a degree; radiation by FAO-56.
        [
            ("2026-12-21", 26.55, 9.15, 13.52),
            ("2026-01-15", 28.73, 9.46, 15.01),
            ("2026-02-15", 36.71, 10.48, 20.37),
            ("2026-03-20", 49.19, 11.91, 28.52),
            ("2026-04-15", 59.41, 13.07, 34.67),
        ],
    )
    def test_noon_and_daylight_through_the_winter(
        self, day: str, noon: float, daylight: float, above: float
    ) -> None:
        times = pd.date_range(f"{day} 16:00", f"{day} 18:30", freq="1min", tz="UTC")
        highest = sun_position(times, 40, -75)["elevation"].max()
        assert highest == pytest.approx(noon, abs=1.0)
        found = extraterrestrial([dt.date.fromisoformat(day)], 40)
        assert found["daylight_hours"].item() == pytest.approx(daylight, abs=0.06)
        assert found["radiation"].item() == pytest.approx(above, abs=0.006)

    @pytest.mark.parametrize(
        ("height", "angle", "shadow"), [(20, 30, 34.64), (15, 20, 41.21), (20, 10, 113.43)]
    )
    def test_lengths_of_shadows(self, height: float, angle: float, shadow: float) -> None:
        # COMPUTED: h / tan(angle). At the end of its shadow a stand is as high as the sun.
        stand = Horizon((Stand(height, shadow, 180, 10),))
        assert float(stand.height(180)) == pytest.approx(angle, abs=0.01)


class TestRadiation:
    def test_above_the_air(self) -> None:
        # FAO-56, example 8: 3 September, 20 degrees south. Answers from MEMORY; digits COMPUTED.
        found = extraterrestrial([dt.date(2026, 9, 3)], -20).iloc[0]
        assert found["distance"] == pytest.approx(0.985, abs=5e-4)
        assert np.radians(found["declination"]) == pytest.approx(0.120, abs=5e-4)
        assert np.radians(found["sunset_angle"]) == pytest.approx(1.527, abs=5e-4)
        assert found["radiation"] == pytest.approx(32.2, abs=0.05)
        assert found["radiation"] == pytest.approx(32.194, abs=5e-4)
        assert found["daylight_hours"] == pytest.approx(11.7, abs=0.05)

    @pytest.mark.parametrize(
        ("latitude", "longitude", "zone"),
        [(40, -75, "America/New_York"), (-37.8, 145, "Australia/Melbourne")],
    )
    @pytest.mark.parametrize("day", ["2026-01-15", "2026-03-20", "2026-07-01"])
    def test_a_clear_day_by_another_rule(
        self, latitude: float, longitude: float, zone: str, day: str
    ) -> None:
        # FAO-56, equation 37: under a clear sky 0.75 of the radiation above the air reach the
        # ground at sea level. A rule of thumb that gives too much where the sun stands low, and all
        # that can be told from it is that neither is far off.
        times = pd.date_range(day, periods=288, freq="5min", tz=zone)
        total = clear_sky(times, latitude, longitude)["total"].sum() * 300 / 1e6
        above = extraterrestrial([dt.date.fromisoformat(day)], latitude)["radiation"].item()
        assert total == pytest.approx(0.75 * above, rel=0.16)


class TestLight:
    def test_units_of_plant_light(self) -> None:
        # 1 umol m-2 s-1 for 24 h, and 500 W m-2, documentation of the R package bigleaf.
        assert float(light_of_photons(1, 24)) == pytest.approx(0.0864)
        assert 500 * USUAL.factor == pytest.approx(1150)

    def test_sums_of_a_day(self) -> None:
        # COMPUTED.
        assert float(light_of_photons(500, 10)) == pytest.approx(18.0)
        # Half a sine wave of 12 h with its peak at 1500 has a mean of 1500 x 2/pi.
        assert float(light_of_photons(1500 * 2 / np.pi, 12)) == pytest.approx(41.25, abs=5e-3)
        days = [dt.date(2026, 3, 1)]
        assert light_of_radiation(days, [15], LOWER)["light"].item() == pytest.approx(
            30.85, abs=5e-3
        )
        assert light_of_radiation(days, [15], USUAL)["light"].item() == pytest.approx(34.5)
        assert float(under_cover(12, True, 70)) == pytest.approx(8.4)


def test_reaching_a_level_between_visits() -> None:
    # Invented days and values; 7 + 14 (20/30).
    assert reached([0, 7, 21], [40, 60, 90], 80) == pytest.approx(16.333, abs=5e-4)
    assert reached([0, 7, 21], [40, 60, 90], 95) is None


@pytest.mark.parametrize(
    ("humidity", "temperature", "percent"),
    # Coefficients from MEMORY (Smith et al. 2018, PLOS ONE 13:e0194216): the arithmetic alone is
    # checked, and no coefficient is built in.
    [(70, 20, 21.72), (80, 22, 49.96), (60, 15, 4.14), (85, 25, 73.59), (90, 10, 19.37)],
)
def test_dollar_spot(humidity: float, temperature: float, percent: float) -> None:
    found = dollar_spot(humidity, temperature, -11.4041, 0.0894, 0.1932)
    assert found == pytest.approx(percent, abs=0.0051)


def test_dollar_spot_has_a_range() -> None:
    # At a humidity of 80 % a probability of 20 % is met at 14.83 degC (COMPUTED).
    assert dollar_spot(80, 14.83, -11.4041, 0.0894, 0.1932) == pytest.approx(20, abs=0.02)
    assert dollar_spot(80, 9.9, -11.4041, 0.0894, 0.1932) is None
