"""Months of weather: means, sums, and when they are held against a normal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintersward.records.weather_months import MONTH_COLUMNS, QUANTITIES, month_summary
from wintersward.trial.diary import Normals

FIRST, LAST = dt.date(2026, 1, 19), dt.date(2026, 2, 10)
NORMALS = Normals.model_validate(
    {
        "source": "invented station, 1991-2020",
        "months": {
            "January": {"low": "14 degF", "high": "32 degF", "rain": "2 in", "days_below_zero": 28},
            "February": {"low": "-8 degC"},
        },
    }
)


def daily(dates: Iterable[pd.Timestamp], low: float = -5.0, rain: float = 1.0) -> pd.DataFrame:
    index = pd.DatetimeIndex(list(dates))
    return pd.DataFrame({"date": index, "low": low, "high": low + 10, "rain": rain})


def january(without: Iterable[int] = ()) -> pd.DataFrame:
    days = pd.date_range("2026-01-01", "2026-01-31")
    return daily(day for day in days if day.day not in set(without))


def row(summary: pd.DataFrame, month: int, what: str) -> pd.Series:
    (found,) = summary.index[(summary["month"].dt.month == month) & (summary["what"] == what)]
    return summary.loc[found]


def test_whole_months_are_held_against_their_normals() -> None:
    days = pd.concat([january(), daily(pd.date_range("2026-02-01", "2026-02-28"), low=0.5)])
    summary = month_summary(days, FIRST, LAST, NORMALS)
    assert list(summary.columns) == list(MONTH_COLUMNS)
    assert summary["what"].tolist() == [*QUANTITIES] * 2
    low = row(summary, 1, "low")
    # 14 degF are -10 degC; the mean low was -5 degC.
    assert (low["value"], low["normal"], low["departure"]) == pytest.approx((-5.0, -10.0, 5.0))
    assert (low["days"], low["of_days"], low["unit"], low["why_not"]) == (31, 31, "degC", "")
    assert low["source"] == "invented station, 1991-2020"
    rain = row(summary, 1, "rain")
    assert (rain["value"], rain["normal"]) == pytest.approx((31.0, 50.8))
    assert rain["departure"] == pytest.approx(-19.8)
    assert row(summary, 1, "days_below_zero")["departure"] == 3
    # In February every night stayed above zero; no normal of rain is stated.
    assert row(summary, 2, "days_below_zero")["value"] == 0
    assert row(summary, 2, "rain")["why_not"] == "no normal is stated"
    assert row(summary, 2, "rain")["source"] == ""
    assert row(summary, 2, "low")["departure"] == pytest.approx(8.5)


@pytest.mark.parametrize(
    ("without", "mean", "total"),
    [
        ([], "", ""),
        ([3], "", "1 day missing, and a sum needs all"),
        ([3, 4, 5, 6], "", "4 days missing, and a sum needs all"),
        (
            [3, 4, 5, 6, 7],
            "5 days in a row missing, and a mean may lack 4",
            "5 days missing, and a sum needs all",
        ),
        ([1, 2, 3, 4, 5], "5 days in a row missing, and a mean may lack 4", None),
        (range(27, 32), "5 days in a row missing, and a mean may lack 4", None),
        (range(1, 21, 2), "", "10 days missing, and a sum needs all"),
        (range(1, 23, 2), "11 days missing, and a mean may lack 10", None),
        (range(1, 32), "nothing was measured", "nothing was measured"),
    ],
)
def test_a_month_with_too_many_days_missing_is_not_compared(
    without: Iterable[int], mean: str, total: str | None
) -> None:
    extra = daily(pd.date_range("2026-03-01", "2026-03-02"))
    summary = month_summary(pd.concat([january(without), extra]), FIRST, LAST, NORMALS)
    low, rain = row(summary, 1, "low"), row(summary, 1, "rain")
    assert low["why_not"] == mean
    assert pd.isna(low["departure"]) == bool(mean)
    if total is not None:
        assert rain["why_not"] == total
    left = 31 - len(list(without))
    # What was measured is shown all the same.
    assert (rain["days"], low["days"]) == (left, left)
    assert rain["value"] == left if left else pd.isna(rain["value"])


def test_without_normals_and_without_a_gauge() -> None:
    summary = month_summary(january().assign(rain=float("nan")), FIRST, FIRST)
    assert summary["what"].tolist() == ["low", "high", "days_below_zero"]
    assert set(summary["why_not"]) == {"no normal is stated"}
    assert summary["normal"].isna().all()


def test_without_a_day_every_month_is_empty() -> None:
    summary = month_summary(january()[:0], FIRST, LAST, NORMALS)
    assert set(summary["why_not"]) == {"nothing was measured"}
    assert summary["value"].isna().all()


@given(st.lists(st.floats(-40, 30) | st.just(float("nan")), min_size=31, max_size=31))
def test_sums_and_means_are_of_the_days_measured(lows: list[float]) -> None:
    days = january().assign(low=lows)
    summary = month_summary(days, FIRST, FIRST, NORMALS)
    kept = [low for low in lows if low == low]
    assert row(summary, 1, "low")["days"] == len(kept)
    if kept:
        assert row(summary, 1, "low")["value"] == pytest.approx(sum(kept) / len(kept), abs=1e-9)
        assert row(summary, 1, "days_below_zero")["value"] == sum(low < 0 for low in kept)
