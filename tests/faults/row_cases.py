"""Rows of sheets whose plot, date, sample or rater is broken, and the exact lines told of them."""

from __future__ import annotations

from faults.telling import Case, lines, mould, pulls, ratings

ROWS: dict[str, Case] = {
    "an unknown plot": Case(
        pulls("2026-03-24,107,1,40"),
        [
            "sheets/pulls.csv, row 3, column plot: found '107'; allowed: a plot of "
            "plan/plots.csv (101, 102, 103, 104, 201, 202 ...)",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "a letter in the name of a plot": Case(
        pulls("2026-03-24,1O2,1,40", "2026-03-24,l03,1,41"),
        [
            "sheets/pulls.csv, row 3, column plot: found '1O2'; allowed: a plot of "
            "plan/plots.csv (101, 102, 103, 104, 201, 202 ...); write 102: a letter stands there "
            "for a digit",
            "sheets/pulls.csv, row 4, column plot: found 'l03'; allowed: a plot of "
            "plan/plots.csv (101, 102, 103, 104, 201, 202 ...); write 103: a letter stands there "
            "for a digit",
            "sheets/pulls.csv: 4 rows = 1 of headings + 1 used + 2 wrong; 3 values = 1 used + 2 "
            "wrong",
        ],
    ),
    "a whole plot": Case(
        pulls("2026-03-24,1A,1,40"),
        [
            "sheets/pulls.csv, row 3, column plot: found '1A'; allowed: a plot of plan/plots.csv "
            "(101, 102, 103, 104, 201, 202 ...); that is a whole plot; write the plot within it",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "two plots in a cell": Case(
        pulls("2026-03-24,101-102,1,40"),
        [
            "sheets/pulls.csv, row 3, column plot: found '101-102'; allowed: a plot of "
            "plan/plots.csv (101, 102, 103, 104, 201, 202 ...)",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "no plot in the first row": Case(
        {"sheets/pulls.csv": lines("date,plot,sample,pull_force", "2026-03-24,,1,40")},
        [
            "sheets/pulls.csv, row 2, column plot: found nothing; allowed: a plot of "
            "plan/plots.csv (101, 102, 103, 104, 201, 202 ...)",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong",
        ],
    ),
    "a day without a visit": Case(
        pulls("2026-03-25,101,1,40", "2026-03-25,101,2,41", "2026-03-25,101,3,42"),
        [
            "sheets/pulls.csv, row 3, column date: found '2026-03-25' in 3 rows (3 to 5); "
            "allowed: a date on which pull_force is observed (2026-03-24, 2026-04-17); if the "
            "visit was moved, change trial.yaml and tell it under deviations in diary.yaml",
            "sheets/pulls.csv: 5 rows = 1 of headings + 1 used + 3 wrong; 4 values = 1 used + 3 "
            "wrong",
        ],
    ),
    "the year before": Case(
        pulls("2025-03-24,101,1,40"),
        [
            "sheets/pulls.csv, row 3, column date: found '2025-03-24'; allowed: a date on which "
            "pull_force is observed (2026-03-24, 2026-04-17); did you mean 2026-03-24?",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "day and month the other way round": Case(
        ratings("2026-10-03,101,te,6"),
        [
            "sheets/ratings.csv, row 3, column date: found '2026-10-03'; allowed: a date on "
            "which colour_rating is observed (2026-03-10, 2026-03-24, 2026-04-17); if day and "
            "month are swapped, write 2026-03-10",
            "sheets/ratings.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + "
            "1 wrong",
        ],
    ),
    "a day that the calendar lacks": Case(
        pulls("2026-02-30,101,1,40"),
        [
            "sheets/pulls.csv, row 3, column date: found '2026-02-30'; allowed: a date that "
            "exists in the calendar",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "a date in words": Case(
        pulls("24 March 2026,101,1,40"),
        [
            "sheets/pulls.csv, row 3, column date: found '24 March 2026'; allowed: a date "
            "written year-month-day, such as 2026-03-24; in a spreadsheet, format the column as "
            "text or as yyyy-mm-dd",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "dates as they are written in the US": Case(
        pulls("3/24/2026,101,1,40", "3/24/2026,102,1,41", "4/17/2026,101,1,50"),
        [
            "sheets/pulls.csv, row 3, column date: found '3/24/2026', and the like in 3 rows (3 "
            "to 5); allowed: a date written year-month-day, such as 2026-03-24; add 'date_order: "
            "month first' to this table in diary.yaml",
            "sheets/pulls.csv: 5 rows = 1 of headings + 1 used + 3 wrong; 4 values = 1 used + 3 "
            "wrong",
        ],
    ),
    "a date that may be of two days": Case(
        pulls("3/4/26,101,1,40"),
        [
            "sheets/pulls.csv, row 3, column date: found '3/4/26'; allowed: a date written "
            "year-month-day, such as 2026-03-24; it can be read in 2 ways: add 'date_order: "
            "month first' or 'date_order: day first' to this table in diary.yaml",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "a date in another order than declared": Case(
        pulls("3/24/2026,101,1,40"),
        [
            "sheets/pulls.csv, row 3, column date: found '3/24/2026'; allowed: a date written "
            "day first, such as 24.3.2026, or 2026-03-24; it can only be month first; see "
            "date_order in diary.yaml",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
        lines("sheets:", "  - {file: pulls.csv, date_order: day first}"),
    ),
    "a day that the calendar lacks, in the order declared": Case(
        pulls("30/2/2026,101,1,40"),
        [
            "sheets/pulls.csv, row 3, column date: found '30/2/2026'; allowed: a date that "
            "exists in the calendar; it was read day first, as diary.yaml declares",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
        lines("sheets:", "  - {file: pulls.csv, date_order: day first}"),
    ),
    "a date as the number that spreadsheets keep": Case(
        pulls("46105,101,1,40"),
        [
            "sheets/pulls.csv, row 3, column date: found '46105'; allowed: a date written "
            "year-month-day, such as 2026-03-24; spreadsheets keep 2026-03-24 as this number: "
            "format the column as yyyy-mm-dd",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "no date in the first row": Case(
        {"sheets/mould.csv": lines("date,plot,mould", ",101,5")},
        [
            "sheets/mould.csv, row 2, column date: found nothing; allowed: a date written "
            "year-month-day, such as 2026-03-24; write the day",
            "sheets/mould.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong",
        ],
    ),
    "samples that are not planned": Case(
        pulls(
            "2026-03-24,101,4,40",
            "2026-03-24,102,0,40",
            "2026-03-24,103,one,40",
            "2026-03-24,104,,40",
        ),
        [
            "sheets/pulls.csv, row 3, column sample: found '4'; allowed: a whole number from 1 "
            "to 3; see per_plot in trial.yaml",
            "sheets/pulls.csv, row 4, column sample: found '0'; allowed: a whole number from 1 "
            "to 3; see per_plot in trial.yaml",
            "sheets/pulls.csv, row 5, column sample: found 'one'; allowed: a whole number from 1 "
            "to 3; see per_plot in trial.yaml",
            "sheets/pulls.csv, row 6, column sample: found nothing; allowed: a whole number from "
            "1 to 3; see per_plot in trial.yaml",
            "sheets/pulls.csv: 6 rows = 1 of headings + 1 used + 4 wrong; 5 values = 1 used + 4 "
            "wrong",
        ],
    ),
    "an unknown rater": Case(
        ratings("2026-03-24,101,tx,7", "2026-03-24,102,tx,6", "2026-03-24,103,R. Example,6"),
        [
            "sheets/ratings.csv, row 3, column rater: found 'tx' in 2 rows (3 to 4); allowed: "
            "te, rx",
            "sheets/ratings.csv, row 5, column rater: found 'R. Example'; allowed: te, rx",
            "sheets/ratings.csv: 5 rows = 1 of headings + 1 used + 3 wrong; 4 values = 1 used + "
            "3 wrong",
        ],
    ),
    "no rater where there are two": Case(
        {"sheets/ratings.csv": lines("date,plot,rater,colour_rating", "2026-03-24,101,,7")},
        [
            "sheets/ratings.csv, row 2, column rater: found nothing; allowed: te, rx",
            "sheets/ratings.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong",
        ],
    ),
    "a second pull": Case(
        pulls("2026-03-24,304,1,45"),
        [
            "sheets/pulls.csv, row 3: found a second value of pull_force for this date, plot and "
            "sample; the first is in sheets/pulls.csv, row 2; keep one, or correct date, plot or "
            "sample",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "a second rating": Case(
        ratings("2026-03-24,304,rx,6"),
        [
            "sheets/ratings.csv, row 3: found a second value of colour_rating for this date, "
            "plot and rater; the first is in sheets/ratings.csv, row 2; keep one, or correct "
            "date, plot or rater; if it is the planned second look, write 1 in the column repeat",
            "sheets/ratings.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + "
            "1 wrong",
        ],
    ),
    "a third rating": Case(
        {
            "sheets/ratings.csv": lines(
                "date,plot,rater,colour_rating,repeat",
                "2026-03-24,304,rx,5,",
                "2026-03-24,304,rx,6,1",
                "2026-03-24,304,rx,7,1",
            )
        },
        [
            "sheets/ratings.csv, row 4: found a second value of colour_rating for this date, "
            "plot and rater; the first is in sheets/ratings.csv, row 3; keep one, or correct "
            "date, plot or rater",
            "sheets/ratings.csv: 4 rows = 1 of headings + 2 used + 1 wrong; 3 values = 1 used + "
            "1 of second looks + 1 wrong",
        ],
    ),
    "a second value of a measure taken once": Case(
        mould("2026-03-24,304,6"),
        [
            "sheets/mould.csv, row 3: found a second value of mould for this date and plot; the "
            "first is in sheets/mould.csv, row 2; keep one, or correct date or plot",
            "sheets/mould.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "a sheet and its copy": Case(
        {
            **pulls("2026-03-24,101,1,40", "2026-03-24,102,1,41"),
            "sheets/pulls (1).csv": lines(
                "date,plot,sample,pull_force",
                "2026-03-24,304,1,44",
                "2026-03-24,101,1,40",
                "2026-03-24,102,1,41",
            ),
        },
        [
            "sheets/pulls.csv, row 2: found a second value of pull_force for this date, plot and "
            "sample in 3 rows (2 to 4); the first are in sheets/pulls (1).csv, rows 2 to 4; keep "
            "one, or correct date, plot or sample",
            "sheets/pulls.csv: 4 rows = 1 of headings + 3 wrong; 3 values = 3 wrong",
        ],
    ),
}
