"""The example's April: weather in which turf grows, and care that is allowed and fits it."""

from __future__ import annotations

import pandas as pd
import pytest

import field_model
import season_weather
from e2e.example import EXAMPLE
from wintersward.trial import Definition, Diary, read_definition, read_diary
from wintersward.units import to_si


@pytest.fixture(scope="module")
def definition() -> Definition:
    read, problems = read_definition(EXAMPLE)
    assert read is not None, problems
    return read


@pytest.fixture(scope="module")
def diary(definition: Definition) -> Diary:
    return read_diary(EXAMPLE, definition)[0]


@pytest.fixture(scope="module")
def april() -> pd.DataFrame:
    days = season_weather.draw_weather()
    days = days.assign(usual=season_weather.usual_means(pd.DatetimeIndex(days["date"])))
    return days[days["date"] >= season_weather.APRIL].set_index("date")


def test_until_the_last_visit_april_is_near_its_averages(april: pd.DataFrame) -> None:
    last = pd.Timestamp(field_model.DATES[-1]).date()
    seen = april.loc[:last]
    assert len(seen) == 17
    mean = (seen["low"] + seen["high"]) / 2
    assert abs((mean - seen["usual"]).mean()) <= 3
    # Cool-season shoots stop below 40 degF in the soil (North Carolina State University 2005, as
    # Kent County extension quotes it in 2007: 4.4 degC); that the means of air and soil are alike
    # over weeks is from memory.
    assert mean.mean() > 40


def test_nitrogen_is_given_only_when_a_state_s_law_allows_it(diary: Diary) -> None:
    # New York, Environmental Conservation Law 17-2103, 3 (a): none on non-agricultural turf from
    # 1 December to 1 April. The invented ground lies there by its latitude and longitude.
    fed = [entry.date for entry in diary.management if entry.what == "nitrogen"]
    assert len(fed) == 2
    assert all((4, 2) <= (day.month, day.day) <= (11, 30) for day in fed)


def test_mowing_steps_down_to_the_height_of_the_definition(
    definition: Definition, diary: Diary, april: pd.DataFrame
) -> None:
    cuts = [entry for entry in diary.management if entry.what == "mowing"]
    heights = [to_si(float(cut.amount.removesuffix(" in")), "in") for cut in cuts]
    assert heights == sorted(heights, reverse=True)
    assert heights[-1] == pytest.approx(definition.site.turf.mowing_height)
    for cut in cuts:
        assert april.loc[cut.date, "rain"] == 0
        assert april.loc[cut.date, "high"] > 50
    # No cut within a day of a visit, whose photos and ratings it would change.
    days = pd.to_datetime(pd.Series([cut.date for cut in cuts]))
    visits = pd.to_datetime(pd.Series(field_model.DATES))
    assert all(abs((day - visit).days) > 1 for day in days for visit in visits)
