"""Sheets whose file or tab is broken, and the exact lines that are told of them."""

from __future__ import annotations

import datetime as dt

from faults.telling import Case, lines, pulls

TABLES: dict[str, Case] = {
    "an empty file": Case(
        {"sheets/pulls.csv": ""},
        [
            "sheets/pulls.csv: found an empty table; fill it in, or move the file out of sheets",
        ],
    ),
    "blank lines alone": Case(
        {"sheets/pulls.csv": "\n\n"},
        [
            "sheets/pulls.csv: found an empty table; fill it in, or move the file out of sheets",
        ],
    ),
    "an empty workbook": Case(
        {"sheets/pulls.xlsx": {"Pulls": []}},
        [
            "sheets/pulls.xlsx: found an empty workbook; fill it in, or move it out of sheets",
        ],
    ),
    "vertical bars between the cells": Case(
        {"sheets/pulls.csv": lines("date|plot|sample|pull_force", "2026-03-24|101|1|40")},
        [
            "sheets/pulls.csv, row 1: found 'date|plot|sample|pull_force' in one cell; allowed: "
            "a cell for each heading; put commas, semicolons or tabs between the cells of every "
            "row",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; no values; not read: "
            "date|plot|sample|pull_force",
        ],
    ),
    "semicolons below commas": Case(
        pulls("2026-03-24;101;1;40", "2026-03-24;102;1;41"),
        [
            "sheets/pulls.csv, row 3: found '2026-03-24;101;1;40' in one cell, and the like in 2 "
            "rows (3 to 4); allowed: a cell for each heading; put between the cells what stands "
            "between the headings",
            "sheets/pulls.csv: 4 rows = 1 of headings + 1 used + 2 wrong; 1 value = 1 used",
        ],
    ),
    "a quote that is not closed": Case(
        pulls('2026-03-24,101,1,"40', "2026-03-24,102,1,41"),
        [
            "sheets/pulls.csv, row 3: found a quote that is not closed; close it, or take out "
            'the "',
        ],
    ),
    "text after a quote": Case(
        pulls('2026-03-24,101,1,"40"x'),
        [
            'sheets/pulls.csv, row 3: found text after a closing quote; write a " within quotes '
            "twice, or take it out",
        ],
    ),
    "not in UTF-8": Case(
        {
            "sheets/pulls.csv": lines(
                "date,plot,sample,pull_force,remarks", "2026-03-24,101,1,40,gel\u00e9"
            ).encode("cp1252")
        },
        [
            "sheets/pulls.csv, row 2: found a character that is not in UTF-8; save it again as "
            "'CSV UTF-8'",
        ],
    ),
    "the text of another system": Case(
        {
            "sheets/pulls.csv": lines("date,plot,sample,pull_force", "2026-03-24,101,1,40").encode(
                "utf-16"
            )
        },
        [
            "sheets/pulls.csv, row 1: found a character that is not in UTF-8; save it again as "
            "'CSV UTF-8'",
        ],
    ),
    "not text at all": Case(
        {"sheets/pulls.csv": b"\x00\x01\x02\x03"},
        [
            "sheets/pulls.csv: found a file that is not text; save the table as .csv or .xlsx in "
            "a spreadsheet program",
        ],
    ),
    "no workbook, whatever its name": Case(
        {"sheets/pulls.xlsx": b"PK\x03\x04 cut short"},
        [
            "sheets/pulls.xlsx: found a file that is not a sound workbook; open it in a "
            "spreadsheet program and save it again as .xlsx or .csv",
        ],
    ),
    "files of other kinds": Case(
        {
            "sheets/pulls.ods": b"x",
            "sheets/roots.xls": b"x",
            "sheets/mould.tsv": "date\tplot\tmould\n",
            "sheets/scores.gsheet": "{}",
        },
        [
            "sheets/mould.tsv: found a file of kind .tsv; save it as .xlsx or .csv",
            "sheets/pulls.ods: found a file of kind .ods; save it as .xlsx or .csv",
            "sheets/roots.xls: found a file of kind .xls; save it as .xlsx or .csv",
            "sheets/scores.gsheet: found a file of kind .gsheet; save it as .xlsx or .csv",
        ],
    ),
    "a table in a file of notes": Case(
        {
            "sheets/pulls.txt": lines("date\tplot\tsample\tpull_force", "2026-03-24\t101\t1\t40"),
            "sheets/readme.txt": "date and plot stand on the paper",
        },
        [
            "sheets/pulls.txt: found a table in a file of kind .txt; save it as .xlsx or .csv",
        ],
    ),
    "a sheet in a folder of its own": Case(
        {"sheets/march/pulls.csv": lines("date,plot,sample,pull_force")},
        [
            "sheets/march/pulls.csv: found a sheet in a folder within sheets; move it up into "
            "sheets",
        ],
    ),
    "formulas without results": Case(
        {
            "sheets/pulls.xlsx": {
                "Pulls": [
                    ["date", "plot", "sample", "pull_force"],
                    ["2026-03-24", 101, 1, 40],
                    ["2026-03-24", 102, 1, "=40+2"],
                    ["=A2", 103, 1, 41],
                ]
            }
        },
        [
            "sheets/pulls.xlsx, row 3: found the formula '=40+2' without a result; open the "
            "workbook, let it compute, and save it again",
            "sheets/pulls.xlsx, row 4: found the formula '=A2' without a result; open the "
            "workbook, let it compute, and save it again",
            "sheets/pulls.xlsx: 4 rows = 1 of headings + 1 used + 2 wrong; 3 values = 1 used + 2 "
            "wrong",
        ],
    ),
    "errors of a spreadsheet": Case(
        {
            "sheets/pulls.xlsx": {
                "Pulls": [
                    ["date", "plot", "sample", "pull_force"],
                    ["2026-03-24", 101, 1, "#DIV/0!"],
                    ["2026-03-24", "#REF!", 1, 41],
                ]
            }
        },
        [
            "sheets/pulls.xlsx, row 2, column pull_force: found '#DIV/0!'; allowed: a number in "
            "lbf; correct the formula, or type the number in",
            "sheets/pulls.xlsx, row 3, column plot: found '#REF!'; allowed: a plot of "
            "plan/plots.csv (101, 102, 103, 104, 201, 202 ...)",
            "sheets/pulls.xlsx: 3 rows = 1 of headings + 2 wrong; 2 values = 2 wrong",
        ],
    ),
    "a rating that a spreadsheet made a date": Case(
        {
            "sheets/ratings.xlsx": {
                "Ratings": [
                    ["date", "plot", "rater", "colour_rating"],
                    [dt.date(2026, 3, 24), 101, "te", dt.date(2026, 7, 6)],
                    [dt.time(9, 30), 102, "te", 6],
                ]
            }
        },
        [
            "sheets/ratings.xlsx, row 2, column colour_rating: found '2026-07-06'; allowed: a "
            "number on the scale 1 to 9; a spreadsheet made a date of it: format the column as "
            "text, and type it in again",
            "sheets/ratings.xlsx, row 3, column date: found '09:30:00'; allowed: a date written "
            "year-month-day, such as 2026-03-24; in a spreadsheet, format the column as text or "
            "as yyyy-mm-dd",
            "sheets/ratings.xlsx: 3 rows = 1 of headings + 2 wrong; 2 values = 2 wrong",
        ],
    ),
    "merged dates in a workbook": Case(
        {
            "sheets/pulls.xlsx": {
                "Pulls": [
                    ["date", "plot", "sample", "pull_force"],
                    [dt.date(2026, 3, 24), 101, 1, 40],
                    [None, 101, 2, 41],
                    [None, 101, 3, 42],
                ]
            }
        },
        [
            "sheets/pulls.xlsx, row 3, column date: found nothing in rows 3 to 4; allowed: a "
            "date in every row with a value; where the date of row 2 is meant for more rows, "
            "fill it down",
            "sheets/pulls.xlsx: 4 rows = 1 of headings + 1 used + 2 wrong; 3 values = 1 used + 2 "
            "wrong",
        ],
    ),
    "a tab that is not there": Case(
        {
            "sheets/pulls.xlsx": {
                "March": [["date", "plot", "sample", "pull_force"], ["2026-03-24", 101, 1, 40]],
                "Notes": [["balance no. 2"]],
            }
        },
        [
            "diary.yaml:2:29: sheets.1.tab: found 'Marsh'; allowed: March, Notes; did you mean "
            "March?",
        ],
        lines("sheets:", "  - {file: pulls.xlsx, tab: Marsh}"),
    ),
    "a tab of a file without tabs": Case(
        pulls(),
        [
            "diary.yaml:2:28: sheets.1.tab: found 'March'; allowed: no tab, for it is not a "
            "workbook",
        ],
        lines("sheets:", "  - {file: pulls.csv, tab: March}"),
    ),
    "no tab of records": Case(
        {"sheets/pulls.xlsx": {"March": [["firm"]], "Notes": [["balance no. 2"]]}},
        [
            "sheets/pulls.xlsx: found no tab with the headings date and plot among March, Notes; "
            "put the headings in row 1, name the tab in diary.yaml, or move the file out of "
            "sheets",
        ],
    ),
    "one of two tabs wrong": Case(
        {
            "sheets/pulls.xlsx": {
                "March": [["date", "plot", "sample", "pull_force"], ["2026-03-24", 101, 1, 40]],
                "April": [
                    ["date", "plot", "sample", "pull_force"],
                    ["2026-04-17", 111, 1, 40],
                    ["2026-04-17", 102, 1, 41],
                ],
            }
        },
        [
            "sheets/pulls.xlsx[April], row 2, column plot: found '111'; allowed: a plot of "
            "plan/plots.csv (101, 102, 103, 104, 201, 202 ...)",
            "sheets/pulls.xlsx[April]: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 "
            "used + 1 wrong",
        ],
    ),
    "a heading of the diary that is not there": Case(
        pulls(),
        [
            "sheets/pulls.csv, row 1, column plot: found no heading 'Plot no.'; allowed: date, "
            "plot, sample, pull_force; correct 'columns' of this sheet in diary.yaml",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong; not read: plot",
        ],
        lines("sheets:", "  - {file: pulls.csv, columns: {plot: Plot no.}}"),
    ),
}
