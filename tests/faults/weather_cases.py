"""Broken files of weather, and the exact lines that are told of them."""

from __future__ import annotations

from faults.telling import Case, lines

WEATHER = "weather: {file: station.csv, units: {temperature: degF, rain: in}}\n"


STATIONS: dict[str, Case] = {
    "no file": Case(
        {},
        [
            "diary.yaml:1:17: weather.file: found 'station.csv'; allowed: a file of kind .csv, "
            ".xlsx, .xlsm in the folder loggers; put it into loggers",
        ],
        WEATHER,
    ),
    "a file of another name": Case(
        {"loggers/stations.csv": lines("date,low,high,rain")},
        [
            "diary.yaml:1:17: weather.file: found 'station.csv'; allowed: a file of kind .csv, "
            ".xlsx, .xlsm in the folder loggers (stations.csv); did you mean stations.csv?",
        ],
        WEATHER,
    ),
    "an empty file": Case(
        {"loggers/station.csv": ""},
        [
            "loggers/station.csv: found an empty file; save it again",
        ],
        WEATHER,
    ),
    "no units": Case(
        {"loggers/station.csv": lines("date,low,high,rain")},
        [
            "diary.yaml:1:1: weather.units: is missing; add 'units: ...' (of what is in the "
            "file, such as {temperature: degF, rain: in})",
        ],
        "weather: {file: station.csv}\n",
    ),
    "units that are none": Case(
        {"loggers/station.csv": lines("date,low,high,rain")},
        [
            "diary.yaml:1:51: weather.units.temperature: found 'F'; allowed: degF, degC",
            "diary.yaml:1:60: weather.units.rain: found 'cm'; allowed: in, mm",
        ],
        "weather: {file: station.csv, units: {temperature: F, rain: cm}}\n",
    ),
    "a file alone": Case(
        {"loggers/station.csv": lines("date,low,high,rain")},
        [
            "diary.yaml:1:10: weather: found 'station.csv'; allowed: several 'name: value' "
            "lines, indented below",
        ],
        "weather: station.csv\n",
    ),
    "headings of the station": Case(
        {"loggers/station.csv": lines("Date,Tmin,Tmax,Precip", "2026-01-18,20,33,0")},
        [
            "loggers/station.csv, row 1, column high: found no heading 'high'; allowed: Date, "
            "Tmin, Tmax, Precip; name the heading under 'columns' of weather in diary.yaml",
            "loggers/station.csv, row 1, column low: found no heading 'low'; allowed: Date, "
            "Tmin, Tmax, Precip; name the heading under 'columns' of weather in diary.yaml",
            "loggers/station.csv, row 1, column rain: found no heading 'rain'; allowed: Date, "
            "Tmin, Tmax, Precip; name the heading under 'columns' of weather in diary.yaml; "
            "without a rain gauge leave out 'rain' under 'units'",
        ],
        WEATHER,
    ),
    "a title above the headings": Case(
        {
            "loggers/station.csv": lines(
                "Station report of January", "date,low,high,rain", "2026-01-18,20,33,0"
            )
        },
        [
            "loggers/station.csv, row 1: found 'Station report of January' above the headings; "
            "allowed: headings in row 1; remove what stands above row 2",
        ],
        WEATHER,
    ),
    "other units in the headings": Case(
        {"loggers/station.csv": lines("date,low (degC),high (C),rain (mm)", "2026-01-18,-5,1,0")},
        [
            "loggers/station.csv, row 1, column high (C): found values in C; allowed: a number "
            "in degF; correct 'units' of weather in diary.yaml, or the heading",
            "loggers/station.csv, row 1, column low (degC): found values in degC; allowed: a "
            "number in degF; correct 'units' of weather in diary.yaml, or the heading",
            "loggers/station.csv, row 1, column rain (mm): found values in mm; allowed: a number "
            "of inches; correct 'units' of weather in diary.yaml, or the heading",
        ],
        WEATHER,
    ),
    "a column twice, and one not there": Case(
        {"loggers/station.csv": lines("date,low,Low,rain", "2026-01-18,20,20,0")},
        [
            "loggers/station.csv, row 1, column high: found no heading 'high'; allowed: date, "
            "low, Low, rain; name the heading under 'columns' of weather in diary.yaml",
            "loggers/station.csv, row 1, column low: found 'low' in 2 columns; allowed: one; "
            "correct 'columns' of weather in diary.yaml, or the headings",
        ],
        WEATHER,
    ),
    "a low above the high": Case(
        {"loggers/station.csv": lines("date,low,high,rain", "2026-01-18,33,20,0")},
        [
            "loggers/station.csv, row 2, column low: found a low of 33 and a high of 20; "
            "allowed: a low no higher than the high; if the columns are swapped, correct "
            "'columns' of weather in diary.yaml",
        ],
        WEATHER,
    ),
    "values that never were": Case(
        {
            "loggers/station.csv": lines(
                "date,low,high,rain",
                "2026-01-18,20,330,0",
                "2026-01-19,-999,33,0",
                "2026-01-20,20,33,80",
            )
        },
        [
            "loggers/station.csv, row 2, column high: found '330'; allowed: -76 to 131 degF, "
            "beyond which no sports ground lies; correct it, or, if it stands for a missing "
            "value, list it under 'missing' of weather in diary.yaml",
            "loggers/station.csv, row 3, column low: found '-999'; allowed: -76 to 131 degF, "
            "beyond which no sports ground lies; correct it, or, if it stands for a missing "
            "value, list it under 'missing' of weather in diary.yaml",
            "loggers/station.csv, row 4, column rain: found '80'; allowed: 0 to 71.85 in, which "
            "is all that was ever measured; is it in mm? then correct 'units' of weather in "
            "diary.yaml",
        ],
        WEATHER,
    ),
    "words and commas": Case(
        {
            "loggers/station.csv": lines(
                "date,low,high,rain",
                "2026-01-18,cold,33,0",
                '2026-01-19,"20,5",33,0.1x',
                "2026-01-20,20,33,0,5",
            )
        },
        [
            "loggers/station.csv, row 2, column low: found 'cold'; allowed: a number in degF; "
            "correct it, or, if it stands for a missing value, list it under 'missing' of "
            "weather in diary.yaml",
            "loggers/station.csv, row 3, column low: found '20,5'; allowed: a number in degF; "
            "write a point, or add 'decimal: comma' to weather in diary.yaml",
            "loggers/station.csv, row 3, column rain: found '0.1x'; allowed: a number of inches; "
            "correct it, or, if it stands for a missing value, list it under 'missing' of "
            "weather in diary.yaml",
            "loggers/station.csv, row 4: found '5' to the right of the last heading; put a value "
            "that holds a comma in quotes",
        ],
        WEATHER,
    ),
    "days twice, in another order, none": Case(
        {
            "loggers/station.csv": lines(
                "date,low,high,rain",
                "2026-01-18,20,33,0",
                "2026-01-18,21,33,0",
                "1/19/2026,20,33,0",
                ",20,33,0",
            )
        },
        [
            "loggers/station.csv, row 3, column date: found the day 2026-01-18 a second time; "
            "allowed: one row a day; the first is in row 2; keep one of the two",
            "loggers/station.csv, row 4, column date: found '1/19/2026'; allowed: a date written "
            "year-month-day, such as 2026-03-24; add 'date_order: month first' to weather in "
            "diary.yaml",
            "loggers/station.csv, row 5, column date: found nothing; allowed: a date written "
            "year-month-day, such as 2026-03-24; write the day",
        ],
        WEATHER,
    ),
}
