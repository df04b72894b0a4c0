"""Degree days from a logger's readings, and their sums from a named day."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from climate.logged import ZONE, through
from wintersward.climate.degree_days import degree_days, from_readings, summed
from wintersward.errors import WinterswardError

D = dt.date


class TestFromReadings:
    def test_a_steady_temperature(self) -> None:
        found = from_readings(through("2026-03-01", "2026-03-03"), [7.0] * 48, base=5)
        assert list(found.columns) == ["date", "degree_days", "completeness", "readings"]
        assert found["date"].dt.strftime("%m-%d").tolist() == ["03-01", "03-02"]
        assert found["degree_days"].tolist() == pytest.approx([2.0, 2.0])
        # The line ends at the last reading, an hour before midnight.
        assert found["completeness"].tolist() == pytest.approx([1.0, 23 / 24])
        assert found["readings"].tolist() == [24, 24]

    def test_two_readings_a_day_are_the_triangle(self) -> None:
        times = pd.date_range("2026-01-01", "2026-01-03", freq="12h", tz=ZONE)
        found = from_readings(times, [-4, 8, -4, 8, -4], base=0)
        expected = degree_days(-4, 8, 0, method="triangle")
        assert found["degree_days"].tolist()[:2] == pytest.approx([expected, expected])

    def test_fine_readings_of_a_sine_wave_are_the_sine(self) -> None:
        times = through("2026-01-01", "2026-01-03", "10min")
        angle = 2 * np.pi * np.arange(len(times)) / 144
        found = from_readings(times, 2 + 6 * np.sin(angle), 0, 6.5)
        expected = degree_days(-4, 8, 0, 6.5, method="sine")
        assert found["degree_days"][0] == pytest.approx(expected, abs=2e-3)

    @pytest.mark.parametrize(("day", "hours"), [("2026-03-08", 23), ("2026-11-01", 25)])
    def test_hours_are_true_hours_where_clocks_change(self, day: str, hours: int) -> None:
        times = through(day, str(pd.Timestamp(day).date() + dt.timedelta(days=2)))
        found = from_readings(times, np.full(len(times), 6.0), base=5)
        assert found["degree_days"][0] == pytest.approx(hours / 24)
        assert found["completeness"][0] == pytest.approx(1.0)
        assert found["readings"][0] == hours

    def test_one_lost_reading_is_bridged_and_two_are_not(self) -> None:
        times = through("2026-03-01", "2026-03-02")
        values = np.arange(24.0)
        one = from_readings(times.delete(12), np.delete(values, 12), 0, least=0)
        assert one["completeness"][0] == pytest.approx(23 / 24)
        two = from_readings(times.delete([12, 13]), np.delete(values, [12, 13]), 0, least=0)
        assert two["completeness"][0] == pytest.approx(20 / 24)

    def test_a_day_that_was_hardly_seen_has_no_degree_days(self) -> None:
        times = through("2026-03-01", "2026-03-04")
        gone = (times >= "2026-03-02 06:00-05:00") & (times < "2026-03-03 00:00-05:00")
        found = from_readings(times[~gone], np.full((~gone).sum(), 8.0), base=5)
        assert found["degree_days"].isna().tolist() == [False, True, False]
        assert found["completeness"][1] == pytest.approx(5 / 24)
        taken = from_readings(times[~gone], np.full((~gone).sum(), 8.0), base=5, least=0.1)
        assert taken["degree_days"].tolist() == pytest.approx([3.0, 3.0, 3.0])

    def test_a_day_without_any_reading_is_told(self) -> None:
        times = through("2026-03-01", "2026-03-02").append(through("2026-03-03", "2026-03-04"))
        found = from_readings(times, np.full(48, 8.0), base=5)
        assert found["completeness"][1] == 0
        assert found["readings"].tolist() == [24, 0, 24]
        assert np.isnan(found["degree_days"][1])

    def test_order_and_missing_values_make_no_difference(self) -> None:
        times = through("2026-03-01", "2026-03-02")
        values = 3 + np.arange(24.0)
        found = from_readings(times, values, 5)
        values_and_none = np.append(values[::-1], np.nan)
        later = times[::-1].append(pd.DatetimeIndex(["2026-03-01 23:30"]).tz_localize(ZONE))
        pd.testing.assert_frame_equal(from_readings(later, values_and_none, 5), found)

    def test_few_readings(self) -> None:
        assert from_readings(through("2026-03-01", "2026-03-01"), [], 5).empty
        one = from_readings(through("2026-03-01", "2026-03-02", "24h"), [9.0], 5)
        assert one["completeness"].tolist() == [0]
        assert one["degree_days"].isna().tolist() == [True]

    @settings(max_examples=30, deadline=None)
    @given(st.lists(st.floats(-20, 40), min_size=49, max_size=49), st.integers(1, 47))
    def test_days_add_up_wherever_they_are_cut(self, values: list[float], cut: int) -> None:
        # The same instants, their days cut at the midnights of two zones.
        times = pd.date_range("2026-01-10", periods=49, freq="h", tz="UTC")
        east = from_readings(times, values, 5.0, 20.0, least=0)
        west = from_readings(times.tz_convert("Etc/GMT+7"), values, 5.0, 20.0, least=0)
        totals = [(f["degree_days"] * f["completeness"]).sum() for f in (east, west)]
        assert totals[0] == pytest.approx(totals[1], abs=1e-9)
        parts = [
            from_readings(times[s], values[s], 5.0, 20.0, least=0)
            for s in (slice(None, cut + 1), slice(cut, None))
        ]
        split = sum((f["degree_days"] * f["completeness"]).sum() for f in parts)
        assert split == pytest.approx(totals[0], abs=1e-9)

    def test_what_is_wrong_is_said(self) -> None:
        times = through("2026-03-01", "2026-03-02")
        with pytest.raises(WinterswardError, match="times without a zone"):
            from_readings(times.tz_localize(None), np.zeros(24), 5)
        with pytest.raises(WinterswardError, match="24 times and values of shape"):
            from_readings(times, np.zeros(23), 5)
        with pytest.raises(WinterswardError, match="two readings at 2026-03-01 00:00:00-05:00"):
            from_readings(times[[0, 0]], np.zeros(2), 5)


class TestSummed:
    def test_from_the_named_day_on(self) -> None:
        days = [D(2026, 3, 1), D(2026, 3, 2), D(2026, 3, 3)]
        found = summed(days, [1.0, 2.0, 4.0], D(2026, 3, 2))
        assert found["date"].dt.day.tolist() == [2, 3]
        assert found["total"].tolist() == [2.0, 6.0]

    def test_a_missing_day_is_never_taken_for_zero(self) -> None:
        found = summed([D(2026, 3, 1), D(2026, 3, 3)], [1.0, 4.0], D(2026, 3, 1))
        assert found["total"].isna().tolist() == [False, True, True]
        found = summed(pd.date_range("2026-03-01", periods=3), [1.0, np.nan, 4.0], D(2026, 3, 1))
        assert found["total"].isna().tolist() == [False, True, True]

    def test_days_before_the_record_are_missing(self) -> None:
        found = summed([D(2026, 3, 3)], [4.0], D(2026, 3, 1))
        assert len(found) == 3
        assert found["total"].isna().all()

    def test_a_start_after_the_record_gives_nothing(self) -> None:
        assert summed([D(2026, 3, 3)], [4.0], D(2026, 4, 1)).empty

    def test_order_makes_no_difference_and_twice_is_refused(self) -> None:
        days = [D(2026, 3, 2), D(2026, 3, 1)]
        assert summed(days, [2.0, 1.0], D(2026, 3, 1))["total"].tolist() == [1.0, 3.0]
        with pytest.raises(WinterswardError, match="days given twice: 2026-03-02"):
            summed([days[0], days[0]], [2.0, 1.0], D(2026, 3, 1))

    @settings(deadline=None)
    @given(st.lists(st.floats(0, 30), min_size=1, max_size=40), st.integers(0, 39))
    def test_sums_grow_by_each_day(self, values: list[float], start: int) -> None:
        days = pd.date_range("2026-01-01", periods=len(values))
        start = min(start, len(values) - 1)
        total = summed(days, values, days[start].date())["total"].to_numpy()
        np.testing.assert_allclose(np.diff(total, prepend=0.0), values[start:], atol=1e-9)
