"""Broken values in files of loggers, and the exact lines that are told of them."""

from __future__ import annotations

from faults.logger_telling import LoggerCase, alone, rows, value
from records.logger_studies import series

GOOD = "2026-02-01 00:00,1.5"

LOGGER_VALUES: dict[str, LoggerCase] = {
    "a word": alone(
        rows(GOOD, "2026-02-01 00:30,err"),
        [
            (
                "loggers/soil.csv, row 3, column Temp: found 'err'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
        ],
        1,
    ),
    "a decimal comma": alone(
        "Time;Temp\n2026-02-01 00:00;1,5\n2026-02-01 00:30;2\n",
        [
            (
                "loggers/soil.csv, row 2, column Temp: found '1,5'; allowed: a number in "
                "degC; write a point, or add 'decimal: comma' to this file in diary.yaml"
            ),
        ],
        1,
    ),
    "a decimal point": alone(
        "Time;Temp\n2026-02-01 00:00;1,5\n2026-02-01 00:30;2.5\n",
        [
            (
                "loggers/soil.csv, row 3, column Temp: found '2.5'; allowed: a number in "
                "degC with a decimal comma, such as 1,5; diary.yaml declares 'decimal: "
                "comma' for this file"
            ),
        ],
        1,
        decimal="comma",
    ),
    "thousands": alone(
        rows(GOOD, '2026-02-01 00:30,"1,234.5"'),
        [
            (
                "loggers/soil.csv, row 3, column Temp: found '1,234.5'; allowed: a number in "
                "degC; leave out what marks off the thousands"
            ),
        ],
        1,
    ),
    "a unit in the cell": alone(
        rows("2026-02-01 00:30,40.1 F", GOOD),
        [
            (
                "loggers/soil.csv, row 2, column Temp: found '40.1 F'; allowed: a number in "
                "degF; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
        ],
        1,
        values=[value(unit="degF")],
    ),
    "an empty cell": alone(
        rows(GOOD, "2026-02-01 00:30,"),
        [
            (
                "loggers/soil.csv, row 3, column Temp: found nothing; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
        ],
        1,
        missing=["NA"],
    ),
    "a row that ends early": alone(
        rows(GOOD, "2026-02-01 00:30"),
        [
            (
                "loggers/soil.csv, row 3, column Temp: found nothing; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
        ],
        1,
        missing=["NA"],
    ),
    "a quote that is not closed": alone(
        'Time,Temp,Battery\n2026-02-01 00:00,"1.6,3\n2026-02-01 00:30,1.5,3\n',
        [
            (
                "loggers/soil.csv, row 2, column Temp: found '1.6,3'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
        ],
        1,
    ),
    "a cell too many": alone(
        rows(GOOD, "2026-02-01 00:30,1,6"),
        [
            (
                "loggers/soil.csv, row 3: found '6' to the right of the last heading; put a "
                "value that holds a comma in quotes, and look at 'decimal' in diary.yaml"
            ),
        ],
        1,
    ),
    "a number without end": alone(
        rows(GOOD, "2026-02-01 00:30,1e400"),
        [
            (
                "loggers/soil.csv, row 3, column Temp: found '1e400'; allowed: a number in "
                "degC of ordinary size; check the digits"
            ),
        ],
        1,
    ),
    "signs that steer a program": alone(
        rows(GOOD, "2026-02-01 00:30,1\x00\x07"),
        [
            (
                "loggers/soil.csv, row 3, column Temp: found '1␀␇'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
        ],
        1,
    ),
    "a mark that is not declared": alone(
        series(range(20), write=lambda k: "-888.x" if k > 3 else "1.5"),
        [
            (
                "loggers/soil.csv, row 6, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 7, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 8, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 9, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 10, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 11, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 12, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 13, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 14, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 15, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 16, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 17, column Temp: found '-888.x'; allowed: a number in "
                "degC; correct it, or, if it stands for a missing value, list it under "
                "'missing' of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 18: found 4 more cells that cannot be read, from here "
                "on; correct what is told above first"
            ),
        ],
        4,
    ),
    "degrees of another kind": alone(
        series([68.0, 69, 70]),
        [
            (
                "diary.yaml: loggers.1.values.1.unit: found 'degC', by which 3 of 3 rows are "
                "impossible; allowed: the unit of 'Temp' in loggers/soil.csv, soil "
                "temperature being from -25 to 50 degC; is it in degF?"
            ),
        ],
        0,
        values=[value()],
    ),
    "a sensor that was cut off": alone(
        series([-127.0] * 5 + [2]),
        [
            (
                "diary.yaml: loggers.1.values.1.unit: found 'degC', by which 5 of 6 rows are "
                "impossible; allowed: the unit of 'Temp' in loggers/soil.csv, soil "
                "temperature being from -25 to 50 degC; look at unit, sensor and 'missing'"
            ),
        ],
        1,
    ),
    "no value at all": alone(
        rows("2026-02-01 00:00,", "2026-02-01 00:30,"),
        [
            (
                "diary.yaml: loggers.1.values.1.column: found 'Temp' without a reading that "
                "can be used (2 marked missing); look at column, 'used' and 'missing'"
            ),
        ],
        0,
    ),
    "a word in either of two columns": alone(
        "Time,Temp,Top\n2026-02-01 00:00,x,1\n2026-02-01 00:30,2,y\n",
        [
            (
                "loggers/soil.csv, row 2, column Temp: found 'x'; allowed: a number in degC; "
                "correct it, or, if it stands for a missing value, list it under 'missing' "
                "of this file in diary.yaml"
            ),
            (
                "loggers/soil.csv, row 3, column Top: found 'y'; allowed: a number in degC; "
                "correct it, or, if it stands for a missing value, list it under 'missing' "
                "of this file in diary.yaml"
            ),
        ],
        2,
        values=[value(), value(column="Top", measure="canopy")],
    ),
}
