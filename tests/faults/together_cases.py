"""Faults in several files at once, and the exact lines, in their order."""

from __future__ import annotations

from faults.telling import UNREAD, Case, lines, pulls, ratings

TOGETHER: dict[str, Case] = {
    "three files, each with its own fault": Case(
        {
            **pulls("2026-03-24,999,1,40", "2026-03-24,102,1,x"),
            **ratings("2026-03-24,101,tx,12"),
            "sheets/mould.csv": lines("date,plot,mold", "2026-03-24,101,5"),
        },
        [
            "sheets/mould.csv, row 1: found no measure among mold; allowed: colour_rating, "
            "pull_force, root_length, mould; did you mean mould by 'mold'? rename the column, "
            "name it in diary.yaml, or move the file out of sheets",
            "sheets/pulls.csv, row 3, column plot: found '999'; allowed: a plot of "
            "plan/plots.csv (101, 102, 103, 104, 201, 202 ...)",
            "sheets/pulls.csv, row 4, column pull_force: found 'x'; allowed: a number in lbf; "
            "for a value that could not be taken, write NA",
            "sheets/ratings.csv, row 3, column colour_rating: found '12'; allowed: 1 to 9",
            "sheets/ratings.csv, row 3, column rater: found 'tx'; allowed: te, rx",
            "sheets/mould.csv: 2 rows = 1 of headings + 1 wrong; no values; not read: mold",
            "sheets/pulls.csv: 4 rows = 1 of headings + 1 used + 2 wrong; 3 values = 1 used + 2 "
            "wrong",
            "sheets/ratings.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + "
            "1 wrong",
        ],
    ),
    "diary, sheets and weather": Case(
        {
            **pulls("2026-03-24,101,1,forty"),
            "loggers/station.csv": lines("date,low,high", "2026-01-18,33,20"),
        },
        [
            "diary.yaml:2:27: covers.1.off: found '2026-01-18'; allowed: a date after these "
            "covers went on (2026-01-19); correct one of the two dates",
            "diary.yaml:4:12: sheets.1.file: found 'pull.csv'; allowed: a file in sheets "
            "(pulls.csv); did you mean pulls.csv?",
            "diary.yaml:7:12: exclusions.1.plot: found '999'; allowed: a plot of plan/plots.csv "
            "(101, 102, 103, 104, 201, 202 ...)",
            "loggers/station.csv, row 2, column low: found a low of 33 and a high of 20; "
            "allowed: a low no higher than the high; if the columns are swapped, correct "
            "'columns' of weather in diary.yaml",
            "sheets/pulls.csv, row 3, column pull_force: found 'forty'; allowed: a number in "
            "lbf; for a value that could not be taken, write NA",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
        lines(
            "covers:",
            "  - {on: 2026-01-19, off: 2026-01-18}",
            "sheets:",
            "  - {file: pull.csv}",
            "weather: {file: station.csv, units: {temperature: degF}}",
            "exclusions:",
            "  - {plot: 999, reason: wet}",
        ),
    ),
    "an exclusion that faulty sheets may explain": Case(
        {**pulls("2026-03-24,101,1,x"), **ratings("2026-03-24,101,te,12")},
        [
            "sheets/pulls.csv, row 3, column pull_force: found 'x'; allowed: a number in lbf; "
            "for a value that could not be taken, write NA",
            "sheets/ratings.csv, row 3, column colour_rating: found '12'; allowed: 1 to 9",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
            "sheets/ratings.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + "
            "1 wrong",
        ],
        lines("exclusions:", "  - {plot: 101, measure: pull_force, reason: wet}"),
    ),
    "a diary that cannot be read hides the sheets": Case(
        {**pulls("2026-03-24,999,1,40")},
        [
            "diary.yaml:1:9: covers: found 'soon'; allowed: a list; begin each entry on a line "
            "below, with '- ' in front",
            "diary.yaml:3:12: exclusions.1.plot: found '999'; allowed: a plot of plan/plots.csv "
            "(101, 102, 103, 104, 201, 202 ...)",
            UNREAD,
        ],
        lines("covers: soon", "exclusions:", "  - {plot: 999, reason: wet}"),
    ),
    "ten rows, ten faults": Case(
        pulls(
            "2026-03-24,999,1,40",
            "2026-03-25,101,1,40",
            "2026-03-24,101,9,40",
            "2026-03-24,101,1,-1",
            "2026-03-24,102,1,x",
            "2026-03-24,304,1,45",
            "Mean,,,44",
            "2026-03-24,103,1,40,5",
            "2026-03-24;104;1;40",
            ",,,44",
        ),
        [
            "sheets/pulls.csv, row 3, column plot: found '999'; allowed: a plot of "
            "plan/plots.csv (101, 102, 103, 104, 201, 202 ...)",
            "sheets/pulls.csv, row 4, column date: found '2026-03-25'; allowed: a date on which "
            "pull_force is observed (2026-03-24, 2026-04-17); if the visit was moved, change "
            "trial.yaml and tell it under deviations in diary.yaml",
            "sheets/pulls.csv, row 5, column sample: found '9'; allowed: a whole number from 1 "
            "to 3; see per_plot in trial.yaml",
            "sheets/pulls.csv, row 6, column pull_force: found '-1'; allowed: 0 lbf or more",
            "sheets/pulls.csv, row 7, column pull_force: found 'x'; allowed: a number in lbf; "
            "for a value that could not be taken, write NA",
            "sheets/pulls.csv, row 8: found a second value of pull_force for this date, plot and "
            "sample; the first is in sheets/pulls.csv, row 2; keep one, or correct date, plot or "
            "sample",
            "sheets/pulls.csv, row 9, column date: found 'Mean' beside values; a row that sums "
            "up others does not belong in the sheet: remove it",
            "sheets/pulls.csv, row 10: found '5' to the right of the last heading; put a value "
            "that holds a comma in quotes",
            "sheets/pulls.csv, row 11: found '2026-03-24;104;1;40' in one cell; allowed: a cell "
            "for each heading; put between the cells what stands between the headings",
            "sheets/pulls.csv, row 12: found '44' without date and plot; write date and plot, or "
            "remove the row if it sums up others",
            "sheets/pulls.csv: 12 rows = 1 of headings + 1 used + 10 wrong; 10 values = 1 used + "
            "9 wrong; not read: column E",
        ],
    ),
    "two tables in a file, the second with other headings": Case(
        {
            "sheets/all.csv": lines(
                "date,plot,sample,pull_force",
                "2026-03-24,101,1,40",
                "2026-03-24,101,2,x",
                "",
                "date,plot,rater,colour_rating",
                "2026-03-24,101,te,12",
                "2026-03-24,101,rx,5",
            )
        },
        [
            "sheets/all.csv, row 3, column pull_force: found 'x'; allowed: a number in lbf; for "
            "a value that could not be taken, write NA",
            "sheets/all.csv, row 6, column colour_rating: found '12'; allowed: 1 to 9",
            "sheets/all.csv: 6 rows = 2 of headings + 2 used + 2 wrong; 4 values = 2 used + 2 "
            "wrong",
        ],
    ),
    "several tabs and files of one name": Case(
        {
            "sheets/all.xlsx": {
                "Pulls": [["date", "plot", "sample", "pull_force"], ["2026-03-24", 304, 1, 40]],
                "Ratings": [
                    ["date", "plot", "rater", "colour_rating"],
                    ["2026-03-24", 304, "te", 5.5],
                    ["2026-03-24", 304, "te", 6],
                ],
            },
            **pulls(),
        },
        [
            "sheets/all.xlsx[Ratings], row 3: found a second value of colour_rating for this "
            "date, plot and rater; the first is in sheets/all.xlsx[Ratings], row 2; keep one, or "
            "correct date, plot or rater; if it is the planned second look, write 1 in the "
            "column repeat",
            "sheets/pulls.csv, row 2: found a second value of pull_force for this date, plot and "
            "sample; the first is in sheets/all.xlsx[Pulls], row 2; keep one, or correct date, "
            "plot or sample",
            "sheets/all.xlsx[Ratings]: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 "
            "used + 1 wrong",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong",
        ],
    ),
    "what is excluded beside what is wrong": Case(
        pulls("2026-03-24,101,1,40", "2026-03-24,102,1,NA", "2026-03-24,103,1,x"),
        [
            "sheets/pulls.csv, row 5, column pull_force: found 'x'; allowed: a number in lbf; "
            "for a value that could not be taken, write NA",
            "sheets/pulls.csv: 5 rows = 1 of headings + 1 used + 1 excluded + 1 without values + "
            "1 wrong; 4 values = 1 used + 1 excluded + 1 marked missing + 1 wrong",
        ],
        lines("exclusions:", "  - {plot: 101, measure: pull_force, reason: wet}"),
    ),
}
