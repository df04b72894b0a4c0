"""Broken times in files of loggers, and the exact lines that are told of them."""

from __future__ import annotations

from faults.logger_telling import LoggerCase, alone, rows
from records.logger_studies import series

GOOD = "2026-02-01 00:00,1.5"

LOGGER_TIMES: dict[str, LoggerCase] = {
    "another format": alone(
        rows("02/13/2026 14:00,1.5", "02/13/2026 14:30,1.5"),
        [
            (
                "diary.yaml: loggers.1.format: found '%Y-%m-%d %H:%M'; allowed: the format "
                "of the times in loggers/soil.csv, such as '02/13/2026 14:00' in line 2; "
                "'%m/%d/%Y %H:%M' fits all of them"
            ),
        ],
        0,
    ),
    "another format, in two ways": alone(
        rows("02/01/2026 14:00,1.5", "02/02/2026 14:30,1.5"),
        [
            (
                "diary.yaml: loggers.1.format: found '%Y-%m-%d %H:%M'; allowed: the format "
                "of the times in loggers/soil.csv, such as '02/01/2026 14:00' in line 2; "
                "'%m/%d/%Y %H:%M' or '%d/%m/%Y %H:%M' fits all of them"
            ),
        ],
        0,
    ),
    "a format that nothing fits": alone(
        rows("day 1,1.5", "day 2,1.5"),
        [
            (
                "diary.yaml: loggers.1.format: found '%Y-%m-%d %H:%M'; allowed: the format "
                "of the times in loggers/soil.csv, such as 'day 1' in line 2"
            ),
        ],
        0,
    ),
    "month and day in the other order": alone(
        rows("13/02/2026 14:00,1.5", "14/02/2026 14:30,1.5"),
        [
            (
                "diary.yaml: loggers.1.format: found '%m/%d/%Y %H:%M'; allowed: the format "
                "of the times in loggers/soil.csv, such as '13/02/2026 14:00' in line 2; "
                "'%d/%m/%Y %H:%M' fits all of them"
            ),
        ],
        0,
        format="%m/%d/%Y %H:%M",
    ),
    "some days in the other order": alone(
        rows("12/02/2026 14:00,1.5", "13/02/2026 14:30,1.5"),
        [
            (
                "diary.yaml: loggers.1.format: found '%m/%d/%Y %H:%M'; allowed: the format "
                "of the times in loggers/soil.csv, such as '13/02/2026 14:30' in line 3; "
                "'%d/%m/%Y %H:%M' fits all of them"
            ),
        ],
        0,
        format="%m/%d/%Y %H:%M",
    ),
    "days that were read as months": alone(
        series([1.5, 1.6] * 200, "2026-02-02 00:00", 30, "%m/%d/%Y %H:%M"),
        [
            (
                "diary.yaml: loggers.1.format: found '%d/%m/%Y %H:%M'; allowed: a format by "
                "which the days of loggers/soil.csv follow one another; by '%m/%d/%Y %H:%M' "
                "they do"
            ),
        ],
        0,
        format="%d/%m/%Y %H:%M",
    ),
    "seconds that the format has not": alone(
        rows("2026-02-01 00:00:00,1.5"),
        [
            (
                "diary.yaml: loggers.1.format: found '%Y-%m-%d %H:%M'; allowed: the format "
                "of the times in loggers/soil.csv, such as '2026-02-01 00:00:00' in line 2; "
                "'%Y-%m-%d %H:%M:%S' fits all of them"
            ),
        ],
        0,
    ),
    "a year of two digits": alone(
        rows("26-02-01 00:00,1.5"),
        [
            (
                "diary.yaml: loggers.1.format: found '%Y-%m-%d %H:%M'; allowed: the format "
                "of the times in loggers/soil.csv, such as '26-02-01 00:00' in line 2; "
                "'%y-%m-%d %H:%M' or '%d-%m-%y %H:%M' fits all of them"
            ),
        ],
        0,
    ),
    "numbers of a spreadsheet": alone(
        rows("46054.5,1.5"),
        [
            (
                "diary.yaml: loggers.1.format: found '%Y-%m-%d %H:%M'; allowed: the format "
                "of the times in loggers/soil.csv, such as '46054.5' in line 2; spreadsheets "
                "keep times as such numbers: format the column as date and time, and save "
                "the file again"
            ),
        ],
        0,
    ),
    "halves of the day": alone(
        rows("2/13/2026 1:00 PM,1.5", "2/13/2026 13:30 PM,1.5"),
        [
            (
                "loggers/soil.csv, row 3, column Time: found '2/13/2026 13:30 PM'; allowed: "
                "a time written %m/%d/%Y %I:%M %p, such as 03/24/2026 05:38 PM; take the "
                "line out, or correct 'format' of this file in diary.yaml"
            ),
        ],
        1,
        format="%m/%d/%Y %I:%M %p",
    ),
    "a time that is none": alone(
        rows(GOOD, "soon,2.5", "2026-02-01 01:00,2"),
        [
            (
                "loggers/soil.csv, row 3, column Time: found 'soon'; allowed: a time written "
                "%Y-%m-%d %H:%M, such as 2026-03-24 17:38; take the line out, or correct "
                "'format' of this file in diary.yaml"
            ),
        ],
        2,
    ),
    "a day that is none": alone(
        rows(GOOD, "2026-02-30 00:00,2.5"),
        [
            (
                "loggers/soil.csv, row 3, column Time: found '2026-02-30 00:00'; allowed: a "
                "time written %Y-%m-%d %H:%M, such as 2026-03-24 17:38; take the line out, "
                "or correct 'format' of this file in diary.yaml"
            ),
        ],
        1,
    ),
    "a time that was cut off": alone(
        rows(GOOD, "2026-02-01,2.5"),
        [
            (
                "loggers/soil.csv, row 3, column Time: found '2026-02-01'; allowed: a time "
                "written %Y-%m-%d %H:%M, such as 2026-03-24 17:38; take the line out, or "
                "correct 'format' of this file in diary.yaml"
            ),
        ],
        1,
    ),
    "no time beside a value": alone(
        rows(GOOD, ",2.5"),
        [
            (
                "loggers/soil.csv, row 3, column Time: found nothing; allowed: a time "
                "written %Y-%m-%d %H:%M, such as 2026-03-24 17:38; take the line out, or "
                "correct 'format' of this file in diary.yaml"
            ),
        ],
        1,
    ),
    "a clock of the last century": alone(
        rows(GOOD, "1904-01-01 00:00,2.5"),
        [
            (
                "loggers/soil.csv, row 3, column Time: found '1904-01-01 00:00'; allowed: a "
                "time written %Y-%m-%d %H:%M, such as 2026-03-24 17:38; take the line out, "
                "or correct 'format' of this file in diary.yaml"
            ),
        ],
        1,
    ),
    "the hour at which it is read": alone(
        rows(GOOD, "now,2.5"),
        [
            (
                "loggers/soil.csv, row 3, column Time: found 'now'; allowed: a time written "
                "%Y-%m-%d %H:%M, such as 2026-03-24 17:38; take the line out, or correct "
                "'format' of this file in diary.yaml"
            ),
        ],
        1,
    ),
    "words between the readings": alone(
        rows(GOOD, "battery changed", "2026-02-01 01:00,2"),
        [
            (
                "loggers/soil.csv, row 3, column Time: found 'battery changed'; allowed: a "
                "time written %Y-%m-%d %H:%M, such as 2026-03-24 17:38; take the line out, "
                "or correct 'format' of this file in diary.yaml"
            ),
        ],
        2,
    ),
    "no time of day": alone(
        "Date,Time,Temp\n2026-02-01,00:00,1.5\n2026-02-01,,1.6\n",
        [
            (
                "loggers/soil.csv, row 3, column Date: found '2026-02-01'; allowed: a time "
                "written %Y-%m-%d %H:%M, such as 2026-03-24 17:38; take the line out, or "
                "correct 'format' of this file in diary.yaml"
            ),
        ],
        1,
        time=["Date", "Time"],
    ),
    "no reading in the time of use": alone(
        rows(GOOD),
        [
            (
                "diary.yaml: loggers.1.values.1.column: found 'Temp' without a reading that "
                "can be used (1 outside the time of use); look at column, 'used' and "
                "'missing'"
            ),
        ],
        0,
        used=["2025-02-01", "2025-04-01"],
    ),
}
