"""Broken files of loggers, and the exact lines that are told of them."""

from __future__ import annotations

from faults.logger_telling import LoggerCase, alone, entry, rows, value

GOOD = "2026-02-01 00:00,1.5"

LOGGER_FILES: dict[str, LoggerCase] = {
    "no file": LoggerCase(
        {},
        [entry()],
        [
            (
                "diary.yaml: loggers.1.file: found 'soil.csv'; allowed: a file in the folder "
                "loggers; put it into loggers"
            ),
        ],
        0,
    ),
    "a file of another name": LoggerCase(
        {"soil_101.csv": rows(GOOD)},
        [entry("soil_11.csv")],
        [
            (
                "diary.yaml: loggers.1.file: found 'soil_11.csv'; allowed: a file in the "
                "folder loggers (soil_101.csv); did you mean soil_101.csv?"
            ),
        ],
        0,
    ),
    "a file in a folder": LoggerCase(
        {"north/soil.csv": rows(GOOD)},
        [entry()],
        [
            (
                "diary.yaml: loggers.1.file: found 'soil.csv'; allowed: a file in the folder "
                "loggers (north/soil.csv); did you mean north/soil.csv?"
            ),
        ],
        0,
    ),
    "an empty file": alone(
        "",
        [
            "loggers/soil.csv: found an empty file; export it again",
        ],
        0,
    ),
    "blank lines alone": alone(
        "\n\n \n",
        [
            "loggers/soil.csv: found an empty file; export it again",
        ],
        0,
    ),
    "a workbook": alone(
        b"PK\x03\x04\x14\x00 xl/worksheets",
        [
            (
                "loggers/soil.csv: found a file that is not text; let the logger's program "
                "export it as CSV, or save it as .csv"
            ),
        ],
        0,
    ),
    "a picture": alone(
        b"\x89PNG\r\n\x1a\n" + bytes(range(200)),
        [
            (
                "loggers/soil.csv: found a file that is not text; let the logger's program "
                "export it as CSV, or save it as .csv"
            ),
        ],
        0,
    ),
    "zeros": alone(
        b"Time,Temp\n" + b"\0" * 100,
        [
            (
                "loggers/soil.csv: found a file that is not text; let the logger's program "
                "export it as CSV, or save it as .csv"
            ),
        ],
        0,
    ),
    "headings alone": alone(
        "Time,Temp\n",
        [
            (
                "loggers/soil.csv: found no reading; allowed: a reading below the headings; "
                "export the file again, or move it out of loggers"
            ),
        ],
        0,
    ),
    "headings and words": alone(
        "Time,Temp\n\nEnd of data\n",
        [
            (
                "loggers/soil.csv: found no reading; allowed: a reading below the headings; "
                "export the file again, or move it out of loggers"
            ),
        ],
        0,
    ),
    "no headings": alone(
        "2026-02-01 00:00,1.5\n2026-02-01 00:30,2\n",
        [
            (
                "diary.yaml: loggers.1.time: found 'Time'; allowed: a heading of "
                "loggers/soil.csv ('2026-02-01 00:00', '1.5'); put a line of headings above "
                "the readings"
            ),
            (
                "diary.yaml: loggers.1.values.1.column: found 'Temp'; allowed: a heading of "
                "loggers/soil.csv ('2026-02-01 00:00', '1.5'); put a line of headings above "
                "the readings"
            ),
        ],
        0,
    ),
    "fewer lines than are skipped": alone(
        rows(GOOD),
        [
            (
                "diary.yaml: loggers.1.skip: found '5', and the file has 2 lines; allowed: "
                "headings below the lines that are skipped; the headings are in line 1: "
                "write 'skip: 0'"
            ),
        ],
        0,
        skip=5,
    ),
    "headings further down": alone(
        "Logger 7\nnorth\n" + rows(GOOD),
        [
            (
                "diary.yaml: loggers.1.time: found 'Time'; allowed: a heading of "
                "loggers/soil.csv ('Logger 7'); the headings are in line 3: write 'skip: 2'"
            ),
            (
                "diary.yaml: loggers.1.values.1.column: found 'Temp'; allowed: a heading of "
                "loggers/soil.csv ('Logger 7'); the headings are in line 3: write 'skip: 2'"
            ),
        ],
        0,
    ),
    "headings further up": alone(
        rows(GOOD, "2026-02-01 00:30,2"),
        [
            (
                "diary.yaml: loggers.1.time: found 'Time'; allowed: a heading of "
                "loggers/soil.csv ('2026-02-01 00:00', '1.5'); the headings are in line 1: "
                "write 'skip: 0'"
            ),
            (
                "diary.yaml: loggers.1.values.1.column: found 'Temp'; allowed: a heading of "
                "loggers/soil.csv ('2026-02-01 00:00', '1.5'); the headings are in line 1: "
                "write 'skip: 0'"
            ),
        ],
        0,
        skip=1,
    ),
    "a heading that is not there": alone(
        "Date Time,Soil temp,Battery\n2026-02-01 00:00,1,3\n",
        [
            (
                "diary.yaml: loggers.1.values.1.column: found 'Soil tmp'; allowed: a heading "
                "of loggers/soil.csv ('Date Time', 'Soil temp', 'Battery'); did you mean "
                "Soil temp?"
            ),
        ],
        0,
        time="Date Time",
        values=[value(column="Soil tmp")],
    ),
    "a time that is not there": alone(
        "When,Temp\n2026-02-01 00:00,1\n",
        [
            (
                "diary.yaml: loggers.1.time: found 'Time'; allowed: a heading of "
                "loggers/soil.csv ('When', 'Temp')"
            ),
        ],
        0,
    ),
    "no time of day beside the date": alone(
        "Date,Temp\n2026-02-01,1\n",
        [
            (
                "diary.yaml: loggers.1.time: found 'Time'; allowed: a heading of "
                "loggers/soil.csv ('Date', 'Temp')"
            ),
        ],
        0,
        time=["Date", "Time"],
    ),
    "a heading twice": alone(
        "Time,Temp,temp\n2026-02-01 00:00,1,2\n",
        [
            (
                "diary.yaml: loggers.1.values.1.column: found 'Temp' in 2 columns; allowed: "
                "one column of that name; let the headings in loggers/soil.csv differ"
            ),
        ],
        0,
    ),
    "a heading with a comma and no quotes": alone(
        "Time,Temp, degF,Battery\n2026-02-01 00:00,40,3\n",
        [
            (
                "diary.yaml: loggers.1.values.1.column: found 'Temp, degF'; allowed: a "
                "heading of loggers/soil.csv ('Time', 'Temp', 'degF', 'Battery'); a heading "
                "that holds a comma has to stand in quotes"
            ),
        ],
        0,
        values=[value(column="Temp, degF", unit="degF")],
    ),
    "another unit in the heading": alone(
        "Time,Temp (°F)\n2026-02-01 00:00,40\n",
        [
            (
                "diary.yaml: loggers.1.values.1.unit: found 'degC'; allowed: degF, as the "
                "heading 'Temp (°F)' of loggers/soil.csv says; write degF"
            ),
        ],
        0,
        values=[value(column="Temp (°F)")],
    ),
    "another delimiter": alone(
        rows(GOOD),
        [
            (
                "diary.yaml: loggers.1.time: found 'Time'; allowed: a heading of "
                "loggers/soil.csv ('Time,Temp'); write 'delimiter: comma'"
            ),
            (
                "diary.yaml: loggers.1.values.1.column: found 'Temp'; allowed: a heading of "
                "loggers/soil.csv ('Time,Temp'); write 'delimiter: comma'"
            ),
        ],
        0,
        delimiter="semicolon",
    ),
    "rows longer than the headings": alone(
        "Time,Temp\n2026-02-01 00:00,1,5\n2026-02-01 00:30,2,5\n",
        [
            (
                "loggers/soil.csv, row 2: found 3 cells below 2 headings; put headings and "
                "values that hold a comma in quotes, or tell 'delimiter'"
            ),
        ],
        0,
        decimal="comma",
    ),
    "a copy of another file": LoggerCase(
        {"a.csv": rows(GOOD), "b.csv": rows(GOOD)},
        [entry("a.csv"), entry("b.csv", values=[value(plot="102")])],
        [
            (
                "loggers/b.csv: found a copy of loggers/a.csv; allowed: a file of its own "
                "for each logger; read that logger out again"
            ),
        ],
        2,
    ),
    "no zone of the site": LoggerCase(
        {"soil.csv": rows(GOOD)},
        [entry(zone="site")],
        [
            (
                "diary.yaml: loggers.1.zone: found 'site'; allowed: a zone that is known; "
                "add 'time_zone' under site in trial.yaml"
            ),
        ],
        0,
    ),
    "everything that is wrong, together": LoggerCase(
        {"a.csv": rows("2026-02-01 00:00,x", "x,1.5", GOOD), "b.csv": "T,Temp\n1,2\n"},
        [
            entry("b.csv"),
            entry("a.csv", values=[value(plot="102")]),
            entry("c.csv", values=[value(plot="103")]),
        ],
        [
            (
                "diary.yaml: loggers.1.time: found 'Time'; allowed: a heading of "
                "loggers/b.csv ('T', 'Temp')"
            ),
            (
                "diary.yaml: loggers.3.file: found 'c.csv'; allowed: a file in the folder "
                "loggers (a.csv, b.csv); did you mean b.csv?"
            ),
            (
                "loggers/a.csv, row 2, column Temp: found 'x'; allowed: a number in degC; "
                "correct it, or, if it stands for a missing value, list it under 'missing' "
                "of this file in diary.yaml"
            ),
            (
                "loggers/a.csv, row 3, column Time: found 'x'; allowed: a time written "
                "%Y-%m-%d %H:%M, such as 2026-03-24 17:38; take the line out, or correct "
                "'format' of this file in diary.yaml"
            ),
        ],
        1,
    ),
    "two files for one place": LoggerCase(
        {
            "a.csv": rows(GOOD, "2026-02-01 00:30,2"),
            "b.csv": rows("2026-02-01 00:00,3", "2026-02-01 00:30,4"),
        },
        [entry("a.csv"), entry("b.csv")],
        [
            (
                "diary.yaml: loggers.2.values.1: found other readings than in loggers/a.csv "
                "at 2 times; allowed: one reading a time for soil of plot 101; tell sensors "
                "apart by 'position', or when each lay there by 'used'"
            ),
        ],
        0,
    ),
}
