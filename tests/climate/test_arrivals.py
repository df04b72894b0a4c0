from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.climate.arrivals import mean_reached, reached
from wintersward.climate.degree_days import summed
from wintersward.errors import WinterswardError

D = dt.date
DATES = [D(2026, 3, 1), D(2026, 3, 2), D(2026, 3, 3)]


class TestReached:
    def test_within_the_day_of_a_sum(self) -> None:
        found = reached(DATES, [10.0, 30.0, 40.0], 25.0)
        assert found == pd.Timestamp("2026-03-02 18:00")
        assert reached(DATES, [10.0, 30.0, 40.0], 5.0) == pd.Timestamp("2026-03-01 12:00")

    def test_what_is_reached_as_a_day_ends_is_reached_on_that_day(self) -> None:
        assert reached(DATES, [10.0, 30.0, 40.0], 30.0).date() == D(2026, 3, 2)
        assert reached(DATES, [0.1 + 0.2, 1.0, 2.0], 0.3).date() == D(2026, 3, 1)

    def test_sums_of_summed(self) -> None:
        sums = summed(DATES, [6.0, 4.0, 4.0], D(2026, 3, 1))
        assert reached(sums["date"], sums["total"], 12.0) == pd.Timestamp("2026-03-03 12:00")

    def test_a_sum_that_broke_off_before_is_not_known(self) -> None:
        sums = summed(DATES, [6.0, np.nan, 40.0], D(2026, 3, 1))
        assert reached(sums["date"], sums["total"], 12.0) is None
        assert reached(sums["date"], sums["total"], 6.0).date() == D(2026, 3, 1)

    def test_never_is_never_the_last_day(self) -> None:
        assert reached(DATES, [1.0, 2.0, 3.0], 4.0) is None
        assert reached([1, 2, 3], [1.0, 2.0, 3.0], 4.0) is None
        assert reached([], [], 4.0) is None
        assert reached([1, 2], [np.nan, np.nan], 4.0) is None

    def test_a_curve_that_is_there_already(self) -> None:
        assert reached([3, 9], [80.0, 90.0], 80.0) == 3.0

    def test_missing_values_are_passed_over(self) -> None:
        assert reached([0, 7, 21], [60.0, np.nan, 90.0], 80.0) == pytest.approx(14.0)

    @settings(deadline=None)
    @given(
        st.lists(st.floats(0.01, 20), min_size=1, max_size=30),
        st.floats(0.01, 200),
    )
    def test_the_sum_at_that_moment_is_the_level(self, grown: list[float], level: float) -> None:
        sums = np.cumsum(grown)
        days = np.arange(1.0, len(grown) + 1)
        moment = reached(np.insert(days, 0, 0.0), np.insert(sums, 0, 0.0), level)
        dates = pd.date_range("2026-03-01", periods=len(grown))
        dated = reached(dates, sums, level)
        if moment is None:
            assert dated is None
            assert level > sums[-1]
            return
        there = np.interp(moment, np.insert(days, 0, 0.0), np.insert(sums, 0, 0.0))
        assert there == pytest.approx(level, rel=1e-6)
        since = (dated - dates[0]) / pd.Timedelta(days=1)
        assert since == pytest.approx(moment, abs=2 / 86400)

    @pytest.mark.parametrize(
        ("days", "values", "level", "said"),
        [
            ([1, 1], [1, 2], 1, "allowed: ascending, each day once"),
            ([1, 2], [1], 1, "allowed: two lists of one length"),
            ([1], [1], float("nan"), "level: found nan"),
        ],
    )
    def test_what_is_wrong_is_said(
        self, days: list[int], values: list[int], level: float, said: str
    ) -> None:
        with pytest.raises(WinterswardError, match=said):
            reached(days, values, level)


class TestMeanReached:
    def test_the_last_of_its_days(self) -> None:
        assert mean_reached(DATES, [8.0, 10.0, 12.0], 11.0, 2) == pd.Timestamp("2026-03-03")
        assert mean_reached([1, 2, 3], [8.0, 10.0, 12.0], 10.0, 3) == 3.0
        assert mean_reached([1, 2, 3], [8.0, 10.0, 12.0], 12.0, 1) == 3.0

    def test_never(self) -> None:
        assert mean_reached([1, 2, 3], [8.0, 10.0, 12.0], 11.5, 2) is None
        assert mean_reached([1, 2], [20.0, 20.0], 11.0, 3) is None
        assert mean_reached([], [], 11.0, 1) is None

    def test_a_mean_needs_all_its_days(self) -> None:
        assert mean_reached([1, 2, 3], [20.0, np.nan, 20.0], 11.0, 2) is None
        assert mean_reached([1, 3, 4], [20.0, 20.0, 20.0], 11.0, 2) == 4.0

    def test_what_is_wrong_is_said(self) -> None:
        with pytest.raises(WinterswardError, match="mean over days: found 0"):
            mean_reached([1], [1.0], 1.0, 0)
