"""Daily weather: what a station's file may look like, and what is told when it is wrong."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from wintersward.records.weather import DailyWeather, read_weather
from wintersward.trial.diary import Weather, WeatherUnits

US = {"temperature": "degF", "rain": "in"}
METRIC = {"temperature": "degC", "rain": "mm"}
Read = Callable[..., DailyWeather]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Write a weather file and read it."""

    def make(content: str | bytes, units: dict[str, str] = US, **how: Any) -> DailyWeather:
        (tmp_path / "loggers").mkdir(exist_ok=True)
        raw = content if isinstance(content, bytes) else content.encode("utf-8")
        (tmp_path / "loggers" / "station.csv").write_bytes(raw)
        told_so = {"file": "station.csv", "units": units, **how}
        return read_weather(tmp_path, Weather.model_validate(told_so))

    return make


def told(found: DailyWeather) -> list[str]:
    assert found.problems == sorted(found.problems)
    return [str(problem) for problem in found.problems]


def test_degrees_fahrenheit_and_inches(read: Read) -> None:
    found = read("date,low,high,rain\n2026-01-02,5,41,0.5\n2026-01-01,14,32,0\n")
    assert (told(found), found.gaps) == ([], [])
    days = found.days
    assert [str(day.date()) for day in days["date"]] == ["2026-01-01", "2026-01-02"]
    assert days["low"].tolist() == pytest.approx([-10.0, -15.0])
    assert days["high"].tolist() == pytest.approx([0.0, 5.0])
    assert days["rain"].tolist() == pytest.approx([0.0, 12.7])
    assert days["source"].tolist() == ["loggers/station.csv:3", "loggers/station.csv:2"]


def test_semicolons_decimal_commas_a_byte_order_mark_and_own_headings(read: Read) -> None:
    text = "\ufeffDatum;Tmin (°C);Tmax (°C);Regen\r\n1.2.2026;-3,5;4,25;1,2\r\n2.2.2026;0;3;0\r\n"
    columns = {"date": "Datum", "low": "Tmin (°C)", "high": "Tmax (°C)", "rain": "Regen"}
    found = read(text, METRIC, columns=columns, decimal="comma", date_order="day first")
    assert told(found) == []
    assert found.days[["low", "high", "rain"]].to_numpy().tolist() == [[-3.5, 4.25, 1.2], [0, 3, 0]]


def test_decimal_commas_in_quotes_between_commas(read: Read) -> None:
    found = read('date,low,high,rain\n2026-02-01,"-3,5","4,0","1,2"\n', METRIC, decimal="comma")
    assert told(found) == []
    assert found.days["low"].tolist() == [-3.5]


def test_humidity_and_radiation_are_read_where_the_diary_names_them(read: Read) -> None:
    text = "date,low,high,rain,RH (%),Sun\n2026-01-01,14,32,0,81.5,4.2\n2026-01-02,5,41,0.5,M,\n"
    found = read(text, columns={"humidity": "RH (%)", "radiation": "Sun"})
    assert told(found) == []
    assert found.days.loc[0, ["humidity", "radiation"]].tolist() == [81.5, 4.2]
    assert found.days.loc[1, ["humidity", "radiation"]].isna().all()
    assert found.days["high"].tolist() == pytest.approx([0.0, 5.0])
    unnamed = read(text).days
    assert unnamed[["humidity", "radiation"]].isna().all(axis=None)
    assert unnamed["rain"].tolist() == pytest.approx([0.0, 12.7])


def test_capitals_units_in_brackets_and_other_columns(read: Read) -> None:
    found = read("Date,LOW [degF],High (degF),Snow,Rain (in)\n2026-02-01,14,32,4,0.1\n")
    assert told(found) == []
    assert found.days["rain"].tolist() == pytest.approx([2.54])


def test_missing_values_and_traces(read: Read) -> None:
    found = read("date,low,high,rain\n2026-02-01,M,32,T\n2026-02-02,14,,NA\n\n,,,\n")
    assert told(found) == []
    low, high, rain = (found.days[name].tolist() for name in ("low", "high", "rain"))
    assert math.isnan(low[0])
    assert math.isnan(high[1])
    assert rain[0] == 0.0
    assert math.isnan(rain[1])


def test_own_words_for_a_missing_value(read: Read) -> None:
    found = read("date,low,high,rain\n2026-02-01,-999,32,0\n", missing=["-999"])
    assert told(found) == []
    assert math.isnan(found.days["low"][0])


def test_without_a_unit_of_rain_it_is_not_read(read: Read) -> None:
    found = read("date,low,high,rain\n2026-02-01,14,32,x\n", {"temperature": "degF"})
    assert told(found) == []
    assert found.days["rain"].isna().all()


def test_a_workbook_with_true_dates_and_numbers(tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    sheet.title = "March"
    sheet.append(["date", "low", "high", "rain"])
    sheet.append([pd.Timestamp("2026-03-04").to_pydatetime(), -1.5, 6.5, 0.2])
    book.create_sheet("Notes").append(["the gauge leaks"])
    (tmp_path / "loggers").mkdir()
    book.save(tmp_path / "loggers" / "w.xlsx")
    how: dict[str, Any] = {"file": "loggers/w.xlsx", "units": METRIC, "decimal": "comma"}

    def opened(**more: str) -> DailyWeather:
        return read_weather(tmp_path, Weather.model_validate({**how, **more}))

    found = opened(tab="March", date_order="day first")
    assert told(found) == []
    assert found.days.iloc[0][["low", "high", "rain"]].tolist() == [-1.5, 6.5, 0.2]
    assert told(opened()) == [
        "diary.yaml: weather.tab: found no tab named, and 2 in the workbook; allowed: March, Notes"
    ]
    assert told(opened(tab="Marsh")) == [
        "diary.yaml: weather.tab: found 'Marsh'; allowed: March, Notes; did you mean March?"
    ]


def test_gaps_are_told_and_stop_nothing(read: Read) -> None:
    rows = "2026-02-01,14,32,0\n2026-02-03,14,32,0\n2026-02-07,14,32,0\n"
    found = read("date,low,high,rain\n" + rows)
    assert told(found) == []
    assert len(found.days) == 3
    assert [str(gap) for gap in found.gaps] == [
        "loggers/station.csv, row 2, column date: found 2026-02-03 as the day after 2026-02-01; "
        "allowed: a row for every day; 1 day is missing",
        "loggers/station.csv, row 3, column date: found 2026-02-07 as the day after 2026-02-03; "
        "allowed: a row for every day; 3 days are missing",
    ]


HEAD = "date,low,high,rain\n"
ROW = "loggers/station.csv, row {}, column {}: "
NO_VALUE = (
    "correct it, or, if it stands for a missing value, list it under 'missing' of weather in "
    "diary.yaml"
)
CASES: dict[str, tuple[str, list[str]]] = {
    "a day twice": (
        HEAD + "2026-02-01,14,32,0\n2026-02-01,15,32,0\n",
        [
            ROW.format(3, "date") + "found the day 2026-02-01 a second time; allowed: one row a "
            "day; the first is in row 2; keep one of the two"
        ],
    ),
    "an ambiguous day": (
        HEAD + "02/03/2026,14,32,0\n",
        [
            ROW.format(2, "date") + "found '02/03/2026'; allowed: a date written year-month-day, "
            "such as 2026-03-24; it can be read in 2 ways: add 'date_order: month first' or "
            "'date_order: day first' to weather in diary.yaml"
        ],
    ),
    "too hot for this earth": (
        HEAD + "2026-02-01,14,320,0\n",
        [
            ROW.format(2, "high") + "found '320'; allowed: -76 to 131 degF, beyond which no "
            f"sports ground lies; {NO_VALUE}"
        ],
    ),
    "less than no rain": (
        HEAD + "2026-02-01,14,32,-1\n",
        [
            ROW.format(2, "rain") + "found '-1'; allowed: 0 to 71.85 in, which is all that was "
            f"ever measured; {NO_VALUE}"
        ],
    ),
    "rain in mm": (
        HEAD + "2026-02-01,14,32,80\n",
        [
            ROW.format(2, "rain") + "found '80'; allowed: 0 to 71.85 in, which is all that was "
            "ever measured; is it in mm? then correct 'units' of weather in diary.yaml"
        ],
    ),
    "headings in another unit": (
        "date,low (degC),high (F),rain\n2026-02-01,-4,32,0\n",
        [
            ROW.format(1, "low (degC)") + "found values in degC; allowed: a number in degF; "
            "correct 'units' of weather in diary.yaml, or the heading"
        ],
    ),
    "a title above the headings": (
        "Report of February\n" + HEAD + "2026-02-01,14,32,0\n",
        [
            "loggers/station.csv, row 1: found 'Report of February' above the headings; allowed: "
            "headings in row 1; remove what stands above row 2"
        ],
    ),
    "a low above the high": (
        HEAD + "2026-02-01,33,32,0\n",
        [
            ROW.format(2, "low") + "found a low of 33 and a high of 32; allowed: a low no higher "
            "than the high; if the columns are swapped, correct 'columns' of weather in diary.yaml"
        ],
    ),
    "words and a comma": (
        HEAD + '2026-02-01,cold,"32,5",0\n',
        [
            ROW.format(2, "high") + "found '32,5'; allowed: a number in degF; write a point, or "
            "add 'decimal: comma' to weather in diary.yaml",
            ROW.format(2, "low") + f"found 'cold'; allowed: a number in degF; {NO_VALUE}",
        ],
    ),
    "a cell too many": (
        HEAD + "2026-02-01,14,32,0,5\n",
        [
            "loggers/station.csv, row 2: found '5' to the right of the last heading; put a value "
            "that holds a comma in quotes"
        ],
    ),
    "no column of lows, two of highs": (
        "date,Lows,high,High (degF),rain\n2026-02-01,14,32,32,0\n",
        [
            ROW.format(1, "high") + "found 'high' in 2 columns; allowed: one; correct 'columns' of "
            "weather in diary.yaml, or the headings",
            ROW.format(1, "low") + "found no heading 'low'; allowed: date, Lows, high, High "
            "(degF), rain; did you mean lows? name the heading under 'columns' of weather in "
            "diary.yaml",
        ],
    ),
    "no rain": (
        "date,low,high\n2026-02-01,14,32\n",
        [
            ROW.format(1, "rain") + "found no heading 'rain'; allowed: date, low, high; name the "
            "heading under 'columns' of weather in diary.yaml; without a rain gauge leave out "
            "'rain' under 'units'"
        ],
    ),
    "nothing": (
        "",
        ["loggers/station.csv: found an empty file; save it again"],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_a_wrong_file_is_told(read: Read, name: str) -> None:
    text, expected = CASES[name]
    assert told(read(text)) == expected


@pytest.mark.parametrize("units", [US, METRIC])
@pytest.mark.parametrize("code", ["-99", "-99.9", "-999", "-9999", "999", "999.9", "9999"])
@pytest.mark.parametrize("name", ["low", "high", "rain"])
def test_a_number_that_stands_for_no_value_is_told_and_not_averaged(
    read: Read, name: str, code: str, units: dict[str, str]
) -> None:
    values = {"low": "14", "high": "32", "rain": "0", name: code}
    text = HEAD + "2026-02-01," + ",".join(values.values()) + "\n"
    found = read(text, units)
    (message,) = told(found)
    assert message.startswith(ROW.format(2, name) + f"found '{code}'; allowed: ")
    assert message.endswith(NO_VALUE)
    assert found.days.empty
    kept = read(text, units, missing=[code])
    assert told(kept) == []
    assert math.isnan(kept.days[name][0])


def test_degrees_in_the_other_unit_are_asked_about(read: Read) -> None:
    (message,) = told(read(HEAD + "2026-07-01,40,90,0\n", METRIC))
    assert "is it in degF? then correct 'units'" in message


def test_a_wrong_row_takes_no_other_with_it(read: Read) -> None:
    found = read(HEAD + "2026-02-01,14,32,0\n2026-02-02,x,32,0\n2026-02-03,14,32,0\n")
    assert len(found.problems) == 1
    # The day is in the file, so it is no gap; its values are not used.
    assert (len(found.days), found.gaps) == (2, [])


@pytest.mark.parametrize("file", ["stations.csv", "../trial.yaml", "notes.txt", "", "a/b.csv"])
def test_a_file_that_is_not_there(read: Read, tmp_path: Path, file: str) -> None:
    read(HEAD)
    weather = Weather.model_construct(file=file, units=WeatherUnits(temperature="degF"))
    (message,) = told(read_weather(tmp_path, weather))
    assert message.startswith(f"diary.yaml: weather.file: found '{file}'; allowed: a file of kind ")
    assert "in the folder loggers (station.csv)" in message


def test_without_a_folder_of_loggers(tmp_path: Path) -> None:
    (message,) = told(
        read_weather(tmp_path, Weather(file="w.csv", units=WeatherUnits(temperature="degF")))
    )
    assert message.endswith("in the folder loggers; put it into loggers")


@given(
    content=st.one_of(st.text(), st.binary(), st.lists(
        st.lists(st.sampled_from(["date", "low", "high", "rain", "2026-01-01", "01/02/2026", "14",
                                  "-3,5", "1e999", "T", "", '"', "M"]), max_size=5).map(",".join),
        max_size=5).map("\n".join)),
    order=st.sampled_from([None, "day first"]),
    decimal=st.sampled_from(["point", "comma"]),
)  # fmt: skip
@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_content_is_read_or_told(
    read: Read, content: str | bytes, order: str | None, decimal: str
) -> None:
    if isinstance(content, str):
        content = content.encode("utf-8", "replace")
    found = read(content, date_order=order, decimal=decimal)
    for problem in [*found.problems, *found.gaps]:
        assert "\n" not in str(problem)
        assert problem.path == "loggers/station.csv"
    assert found.days["date"].is_monotonic_increasing
    assert not found.days["date"].duplicated().any()
