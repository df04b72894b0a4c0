from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from climate.logged import ZONE, logged, through
from wintersward.climate.daily import FACTS, daily_facts, hours_in_band
from wintersward.errors import WinterswardError


@st.composite
def irregular(draw: st.DrawFn) -> pd.DataFrame:
    """Draw readings with gaps of all sizes, some without a value."""
    gaps = draw(st.lists(st.integers(1, 1500), min_size=1, max_size=40))
    minutes = np.cumsum([draw(st.integers(0, 1439)), *gaps])
    # From a day before clocks go forward on.
    start = pd.Timestamp("2026-03-07", tz=ZONE)
    times = pd.DatetimeIndex([start + pd.Timedelta(minutes=int(m)) for m in minutes])
    some = st.one_of(st.floats(-30, 40), st.just(float("nan")))
    values = [draw(some) for _ in times[1:]]
    return logged(times, [draw(st.floats(-30, 40)), *values])


class TestDailyFacts:
    def test_columns_and_order(self) -> None:
        times = through("2026-01-15", "2026-01-17")
        both = [logged(times, 2.0, plot) for plot in ("102", "101")]
        found = daily_facts(pd.concat(both, ignore_index=True))
        assert list(found.columns) == FACTS
        assert found["plot"].tolist() == ["101", "102"] * 2
        assert found["date"].dt.day.tolist() == [15, 15, 16, 16]
        assert (found["completeness"] == 1).all()
        assert (found["readings"] == 24).all()

    def test_a_reading_counts_for_the_time_it_held(self) -> None:
        # Hourly, but every minute from noon to one.
        times = through("2026-01-15", "2026-01-16")
        burst = pd.date_range("2026-01-15 12:01", periods=59, freq="min", tz=ZONE)
        hourly = logged(times, np.where(times.hour == 12, 20.0, 0.0))
        found = daily_facts(pd.concat([hourly, logged(burst, 20.0)], ignore_index=True))
        # The usual interval is a minute now: an hourly reading holds for two, the last for one.
        assert found["completeness"].item() == pytest.approx((22 * 2 + 60 + 1) / 1440)
        minutely = logged(through("2026-01-15", "2026-01-16", "1min"), 0.0)
        minutely.loc[minutely["time"].dt.hour == 12, "value"] = 20.0
        thinned = minutely[(minutely.index % 2 == 0) | (minutely["time"].dt.hour == 12)]
        assert thinned["value"].mean() == pytest.approx(1.57, abs=0.1)
        assert daily_facts(thinned)["mean"].item() == pytest.approx(20 / 24)

    @pytest.mark.parametrize(
        ("lost", "seen"), [([], 24), ([12], 24), ([12, 13], 23), (range(6, 18), 13)]
    )
    def test_a_reading_holds_for_two_intervals_at_most(self, lost: list[int], seen: int) -> None:
        times = through("2026-01-15", "2026-01-16").delete(list(lost))
        found = daily_facts(logged(times, 1.0))
        assert found["completeness"].item() == pytest.approx(seen / 24)
        assert found["readings"].item() == 24 - len(list(lost))

    @pytest.mark.parametrize(("day", "hours"), [("2026-03-08", 23), ("2026-11-01", 25)])
    def test_days_on_which_clocks_change(self, day: str, hours: int) -> None:
        after = str((pd.Timestamp(day) + pd.Timedelta(days=1)).date())
        times = through(day, after)
        first = np.arange(len(times)) == 0
        found = daily_facts(logged(times, np.where(first, float(hours), 0.0)))
        assert found["readings"].item() == hours
        assert found["completeness"].item() == pytest.approx(1.0)
        assert found["mean"].item() == pytest.approx(1.0)

    def test_days_are_those_of_the_zone(self) -> None:
        times = through("2026-01-15", "2026-01-16")
        assert len(daily_facts(logged(times, 1.0))) == 1
        assert len(daily_facts(logged(times.tz_convert("UTC"), 1.0))) == 2

    @pytest.mark.parametrize(
        ("zone", "day", "hours"),
        [
            # Where the clock leaps from midnight to one, and back from midnight to eleven.
            ("America/Sao_Paulo", "2018-11-04", 23),
            ("America/Sao_Paulo", "2018-02-17", 25),
            ("America/Havana", "2026-03-08", 23),
            ("America/Havana", "2026-11-01", 25),
            ("Australia/Lord_Howe", "2026-04-05", 24.5),
        ],
    )
    def test_clocks_that_change_at_midnight(self, zone: str, day: str, hours: float) -> None:
        times = pd.date_range(pd.Timestamp(day) - pd.Timedelta(days=1), periods=200, freq="30min")
        index = times.tz_localize("UTC").tz_convert(zone)
        found = hours_in_band(logged(index, 1.0), low=0).set_index("date").loc[day]
        assert found["day_hours"] == pytest.approx(hours)
        assert found["hours"] == pytest.approx(hours)

    def test_a_reading_of_the_evening_holds_into_the_next_day(self) -> None:
        times = pd.date_range("2026-01-15 00:30", periods=48, freq="h", tz=ZONE)
        found = daily_facts(logged(times, [9.0] * 24 + [1.0] * 24))
        assert found["completeness"].tolist() == pytest.approx([23.5 / 24, 1.0])
        assert found["maximum"].tolist() == [9.0, 9.0]
        assert found["mean"].tolist() == pytest.approx([9.0, (0.5 * 9 + 23.5) / 24])
        assert found["readings"].tolist() == [24, 24]

    def test_days_without_a_reading_have_a_row(self) -> None:
        times = through("2026-01-15", "2026-01-16").append(through("2026-01-18", "2026-01-19"))
        found = daily_facts(logged(times, 3.0))
        assert found["date"].dt.day.tolist() == [15, 16, 17, 18]
        assert found["readings"].tolist() == [24, 0, 0, 24]
        # The last hour before the gap held for two.
        assert found["completeness"].tolist() == pytest.approx([1.0, 1 / 24, 0.0, 1.0])
        assert found["mean"].isna().tolist() == [False, False, True, False]

    def test_one_reading_alone(self) -> None:
        found = daily_facts(logged(["2026-01-15 10:00"], 3.0))
        assert found[["minimum", "maximum", "readings", "completeness"]].values.tolist() == [
            [3.0, 3.0, 1.0, 0.0]
        ]
        assert found["mean"].isna().all()

    def test_nothing_at_all(self) -> None:
        empty = logged(through("2026-01-15", "2026-01-15"), [])
        assert list(daily_facts(empty).columns) == FACTS
        assert daily_facts(empty).empty
        assert hours_in_band(empty, low=0).empty

    def test_a_place_may_be_missing(self) -> None:
        readings = logged(through("2026-01-15", "2026-01-16"), 3.0).assign(plot=None, position=None)
        assert daily_facts(readings)[["plot", "position"]].values.tolist() == [["", ""]]

    def test_what_is_wrong_is_said(self) -> None:
        readings = logged(through("2026-01-15", "2026-01-16"), 3.0)
        with pytest.raises(WinterswardError, match="columns value are missing"):
            daily_facts(readings.drop(columns="value"))
        naive = readings.assign(time=readings["time"].dt.tz_localize(None))
        with pytest.raises(WinterswardError, match="times without a zone"):
            daily_facts(naive)
        twice = pd.concat([readings, readings.tail(5)])
        with pytest.raises(WinterswardError) as caught:
            daily_facts(twice)
        said = str(caught.value)
        assert "101 canopy_temperature at 2026-01-15 19:00:00-05:00" in said
        assert "and 2 more" in said
        with pytest.raises(WinterswardError, match="values are str; allowed: numbers"):
            daily_facts(readings.assign(value="warm"))

    @settings(max_examples=30, deadline=None)
    @given(irregular())
    def test_facts_hold_together(self, readings: pd.DataFrame) -> None:
        found = daily_facts(readings)
        seen = found[found["mean"].notna()]
        assert (seen["minimum"] <= seen["mean"]).all()
        assert (seen["mean"] <= seen["maximum"]).all()
        assert found["completeness"].between(0, 1).all()
        assert found["readings"].sum() == readings["value"].notna().sum()
        np.testing.assert_allclose(found["amplitude"], found["maximum"] - found["minimum"])


class TestHoursInBand:
    def test_limits_are_within_the_band(self) -> None:
        times = through("2026-01-15", "2026-01-16")
        readings = logged(times, np.arange(24.0))
        assert hours_in_band(readings, 3, 5)["hours"].item() == pytest.approx(3)
        assert hours_in_band(readings, low=20)["hours"].item() == pytest.approx(4)
        assert hours_in_band(readings, high=1)["hours"].item() == pytest.approx(2)

    def test_an_unseen_day_has_no_hours_rather_than_none(self) -> None:
        times = through("2026-01-15", "2026-01-16").append(through("2026-01-18", "2026-01-19"))
        found = hours_in_band(logged(times, 3.0), low=0)
        assert found["hours"].isna().tolist() == [False, False, True, False]
        assert found["hours_seen"].tolist() == pytest.approx([24, 1, 0, 24])

    @pytest.mark.parametrize(
        ("limits", "said"), [((None, None), "without limits"), ((5, 3), "the lower limit first")]
    )
    def test_bands_that_are_none(self, limits: tuple[object, object], said: str) -> None:
        with pytest.raises(WinterswardError, match=said):
            hours_in_band(logged(through("2026-01-15", "2026-01-16"), 1.0), *limits)

    @settings(max_examples=30, deadline=None)
    @given(irregular(), st.floats(-30, 40))
    def test_above_and_below_add_up_to_what_was_seen(
        self, readings: pd.DataFrame, level: float
    ) -> None:
        above = hours_in_band(readings, low=level)
        below = hours_in_band(readings, high=np.nextafter(level, -np.inf))
        both = (above["hours"] + below["hours"]).fillna(0.0)
        np.testing.assert_allclose(both, above["hours_seen"], atol=1e-9)
        assert (above["hours_seen"] <= above["day_hours"] + 1e-9).all()

    @settings(max_examples=30, deadline=None)
    @given(irregular(), st.floats(-30, 40))
    def test_hours_do_not_depend_on_where_days_are_cut(
        self, readings: pd.DataFrame, level: float
    ) -> None:
        # The last reading holds no longer than its day, which is another one elsewhere.
        closed = readings["time"].max() + pd.Timedelta(minutes=1)
        known = pd.concat([readings, logged([closed], -99.0)], ignore_index=True)
        elsewhere = known.assign(time=known["time"].dt.tz_convert("Australia/Sydney"))
        here, there = (hours_in_band(r, low=level)["hours"].sum() for r in (known, elsewhere))
        assert here == pytest.approx(there, abs=1e-9)
