"""The weather of a season in words, beside what is normal."""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.records.weather_months import month_summary
from wintersward.report.season_weather import (
    gap_words,
    month_words,
    season_context,
    source_words,
    weather_table,
)
from wintersward.trial.diary import Normals

NORMALS = Normals.model_validate(
    {
        "source": "invented station, 1991 to 2020",
        "months": {
            "January": {"low": "14 degF", "high": "32 degF", "rain": "2 in", "days_below_zero": 28},
            "February": {"low": "-5 degC"},
        },
    }
)


@pytest.fixture
def months() -> pd.DataFrame:
    """A whole January, and a February whose last days are still to come."""
    dates = pd.date_range("2026-01-01", "2026-02-20")
    days = pd.DataFrame({"date": dates, "low": -5.0, "high": 0.0, "rain": 1.27})
    summary = month_summary(days, dt.date(2026, 1, 15), dt.date(2026, 3, 1), NORMALS)
    summary = summary.assign(first_day=1, last_day=summary["days"])
    # As a run keeps it: sorted by its key.
    return summary.sort_values(["month", "what"], ignore_index=True)


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [[c.get_text() for c in line.find_all(["th", "td"])] for line in soup.select("tbody tr")]


def test_months_in_words_and_us_units(months: pd.DataFrame) -> None:
    assert [str(sentence) for sentence in month_words(months, "us")] == [
        "In January 2026 the mean low was 23.0 °F (9.0 °F warmer than normal), the mean high was "
        "32.0 °F (as normal), 1.55 in of rain and melted snow fell (0.45 in less than normal) and "
        "31 days went below 32 °F (3 more than normal).",
        "From 1 to 20 February 2026 (20 of 28 days) the mean low was 23.0 °F, the mean high was "
        "32.0 °F, at least 1.00 in of rain and melted snow fell and at least 20 days went below "
        "32 °F.",
    ]


def test_a_part_of_a_month_is_not_told_as_the_month(months: pd.DataFrame) -> None:
    part = months[months["month"] == pd.Timestamp("2026-02-01")]
    within = month_words(part.assign(days=27, first_day=1, last_day=28), "us")
    assert str(within[0]).startswith("In February 2026 (27 of 28 days) the mean low was")
    late = month_words(part.assign(days=2, first_day=27, last_day=28), "us")
    assert str(late[0]).startswith("From 27 to 28 February 2026 (2 of 28 days) the mean low")
    one = month_words(part.assign(days=1, first_day=28, last_day=28), "us")
    assert str(one[0]).startswith("On 28 February 2026 (1 of 28 days) the mean low was")
    whole = month_words(part.assign(days=28, first_day=1, last_day=28), "us")
    assert str(whole[0]).startswith("In February 2026 the mean low was")
    # What was measured on other days than the rest says on which.
    rain = part["what"] == "rain"
    unlike = part.assign(days=[2 if one else 20 for one in rain], first_day=1)
    unlike["last_day"] = [2 if one else 20 for one in rain]
    said = str(month_words(unlike, "us")[0])
    assert said.startswith("In February 2026 the mean low was 23.0 °F from 1 to 20 February 2026")
    assert "of rain and melted snow fell from 1 to 2 February 2026 (2 of 28 days)" in said


def test_what_is_already_more_than_normal_is_said(months: pd.DataFrame) -> None:
    part = months[months["month"] == pd.Timestamp("2026-02-01")]
    # 25.4 mm were measured on 20 days: at least 0.45 in above a normal of 13.9 mm, not 0.46.
    wet = part.assign(normal=13.9)
    said = str(month_words(wet, "us")[0])
    assert "at least 1.00 in of rain and melted snow fell (at least 0.45 in more than norm" in said
    assert "at least 20 days went below 32 °F (at least 6 more than normal)." in said
    assert "more than normal" not in str(month_words(part.assign(normal=99.0), "us")[0])


def test_months_in_metric_units(months: pd.DataFrame) -> None:
    assert str(month_words(months, "metric")[0]) == (
        "In January 2026 the mean low was −5.0 °C (5.0 °C warmer than normal), the mean high was "
        "0.0 °C (as normal), 39 mm of rain and melted snow fell (11 mm less than normal) and 31 "
        "days went below 0 °C (3 more than normal)."
    )


def test_numbers_know_their_place_in_the_table(months: pd.DataFrame) -> None:
    page = BeautifulSoup(month_words(months, "us")[0].__html__(), "html.parser")
    held = [(tag["value"], tag["title"], tag.get_text()) for tag in page.find_all("data")]
    assert held[:2] == [
        ("-5", "weather_months.csv:4", "23.0"),
        ("5", "weather_months.csv:4", "9.0"),
    ]
    assert len(held) == 7


def test_the_table_says_why_a_month_is_not_compared(months: pd.DataFrame) -> None:
    rows = rows_of(weather_table(months, "us"))
    assert rows[0] == [
        "January 2026",
        "mean low [°F]",
        "23.0",
        "14.0",
        "+9.0",
        "31 of 31",
        "",
    ]
    assert rows[3] == ["days below 32 °F", "31", "28", "+3", "31 of 31", ""]
    assert rows[4] == [
        "February 2026",
        "mean low [°F]",
        "23.0",
        "23.0",
        "–",
        "20 of 28",
        "not compared: 8 days in a row missing, and a mean may lack 4",
    ]
    assert rows[5][-1] == "not compared: no normal is stated"
    assert rows[6][-1] == rows[7][-1] == "as above"
    # Of March nothing was measured yet.
    assert rows[8][2:] == ["–", "–", "–", "0 of 31", "not compared: nothing was measured"]
    metric = rows_of(weather_table(months, "metric"))
    assert metric[2][:4] == ["rain and melted snow [mm]", "39", "51", "−11"]


def test_where_the_normals_come_from(months: pd.DataFrame) -> None:
    assert source_words(months) == "Normals: invented station, 1991 to 2020."
    assert source_words(months.assign(source="")) == ""


def test_gaps_in_words() -> None:
    gaps = pd.DataFrame(
        [
            ("2026-01-10", "2026-01-10", 1, "no row"),
            ("2026-02-02", "2026-02-04", 3, "no row"),
            ("2026-03-29", "2026-03-29", 1, "no values"),
        ],
        columns=["first", "last", "days", "what"],
    )
    assert gap_words(gaps) == (
        "10 January 2026 and 2 February 2026 to 4 February 2026 are not in the file; 29 March 2026 "
        "is there without values."
    )
    assert gap_words(gaps[:1]) == "10 January 2026 is not in the file."
    assert gap_words(gaps[:0]) == ""


def page_of(system: str = "us", **tables: pd.DataFrame) -> Any:
    blank = {
        "weather_months": ["month", "what", "value", "source"],
        "weather_gaps": ["first", "last", "days", "what"],
        "cover_events": ["date", "what", "plots", "note"],
        "management": ["date", "what", "plots", "amount", "note"],
        "mishaps": ["date", "plots", "what", "effect"],
    }
    held = {name: pd.DataFrame(columns=columns) for name, columns in blank.items()} | tables
    return SimpleNamespace(table=held.__getitem__, definition=SimpleNamespace(units=system))


def test_a_season_of_which_nothing_is_told() -> None:
    assert not any(season_context(page_of()).values())


def test_a_season_of_which_something_is_told(months: pd.DataFrame) -> None:
    context = season_context(page_of("metric", weather_months=months))
    assert [name for name, held in context.items() if held] == ["weather", "months", "source"]
    assert "°C" in context["weather"]
