from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.climate.removal import (
    AIR_IS_NOT_SOIL,
    HELD,
    LAST_DAY,
    days_fired,
    means_of_extremes,
)
from wintersward.errors import WinterswardError

D = dt.date
LAST = D(2026, 3, 20)


def means(*values: float, first: str = "2026-03-01") -> pd.Series:
    return pd.Series(list(values), index=pd.date_range(first, periods=len(values)))


def fired(found: pd.DataFrame) -> list[tuple[int, str]]:
    rows = found[found["fired"]]
    return list(zip(rows["date"].dt.day, rows["why"], strict=True))


def test_it_is_met_on_each_day_that_ends_a_long_enough_row() -> None:
    found = days_fired(means(9, 10, 11, 12, 10, 9, 10, 10, 10), 10, 3, D(2026, 3, 9))
    assert fired(found) == [(4, HELD), (5, HELD), (9, HELD)]
    assert found["in_a_row"].tolist() == [0, 1, 2, 3, 4, 0, 1, 2, 3]


def test_the_last_day_comes_in_any_case() -> None:
    found = days_fired(means(1, 1, 1), 10, 3, LAST)
    assert fired(found) == [(20, LAST_DAY)]
    assert len(found) == 20
    assert found["mean"].isna().sum() == 17


def test_days_after_the_last_one_are_left_out() -> None:
    assert fired(days_fired(means(*[12.0] * 30), 10, 5, D(2026, 3, 6))) == [(5, HELD), (6, HELD)]
    late = days_fired(means(12, 12, first="2026-04-01"), 10, 1, LAST)
    assert fired(late) == [(20, LAST_DAY)]
    assert len(late) == 1
    assert fired(days_fired(means(), 10, 1, LAST)) == [(20, LAST_DAY)]


def test_a_missing_day_breaks_the_row() -> None:
    found = days_fired(means(12, 12, np.nan, 12, 12), 10, 3, LAST)
    assert fired(found) == [(20, LAST_DAY)]
    gap = means(12, 12, 12, 12, 12).drop(pd.Timestamp("2026-03-03"))
    assert fired(days_fired(gap, 10, 3, LAST)) == [(20, LAST_DAY)]


def test_a_limit_of_the_other_scale_is_met_by_its_equal() -> None:
    fifty = (50 - 32) * 5 / 9
    assert fired(days_fired(means(10.0), fifty + 1e-12, 1, D(2026, 3, 2)))[0] == (1, HELD)


def test_what_it_rests_on_is_said() -> None:
    found = days_fired(
        means(12, 12, 12), 10, 1, D(2026, 3, 3), measured="air", forecast_from=D(2026, 3, 3)
    )
    assert found["basis"].tolist() == ["air, record", "air, record", "air, forecast"]
    assert set(days_fired(means(12), 10, 1, LAST)["basis"]) == {"soil, record"}
    assert "not modelled" in AIR_IS_NOT_SOIL


def test_means_of_extremes() -> None:
    days = pd.DataFrame(
        {
            "date": pd.date_range("2026-03-01", periods=2),
            "low": [4.0, np.nan],
            "high": [18.0, 12.0],
        }
    )
    found = means_of_extremes(days)
    assert found.iloc[0] == 11.0
    assert np.isnan(found.iloc[1])
    assert fired(days_fired(found, 11, 1, D(2026, 3, 2), "air")) == [(1, HELD), (2, LAST_DAY)]


def test_what_is_wrong_is_said() -> None:
    with pytest.raises(WinterswardError, match="days in a row: found 0; allowed: 1 or more"):
        days_fired(means(1), 10, 0, LAST)
    twice = pd.concat([means(1), means(2)])
    with pytest.raises(WinterswardError, match="days given twice: 2026-03-01"):
        days_fired(twice, 10, 1, LAST)


@settings(deadline=None)
@given(
    st.lists(st.one_of(st.integers(-5, 20), st.just(float("nan"))), min_size=1, max_size=19),
    st.integers(0, 15),
    st.integers(1, 6),
)
def test_it_is_met_just_where_all_days_of_the_row_are_warm(
    values: list[float], threshold: float, row: int
) -> None:
    found = days_fired(means(*values), threshold, row, LAST)
    held = found[found["why"] == HELD]["date"].dt.day.tolist()
    expected = [
        last
        for last in range(row, len(values) + 1)
        if all(value >= threshold for value in values[last - row : last])
    ]
    assert held == expected
