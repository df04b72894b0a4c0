"""Broken values of sheets, and the exact lines that are told of them."""

from __future__ import annotations

from faults.telling import Case, lines, mould, pulls, ratings

VALUES: dict[str, Case] = {
    "ratings off the scale": Case(
        ratings("2026-03-24,101,te,10", "2026-03-24,102,te,0", "2026-03-24,103,te,65"),
        [
            "sheets/ratings.csv, row 3, column colour_rating: found '10'; allowed: 1 to 9",
            "sheets/ratings.csv, row 4, column colour_rating: found '0'; allowed: 1 to 9",
            "sheets/ratings.csv, row 5, column colour_rating: found '65'; allowed: 1 to 9",
            "sheets/ratings.csv: 5 rows = 1 of headings + 1 used + 3 wrong; 4 values = 1 used + "
            "3 wrong",
        ],
    ),
    "ratings that are no numbers": Case(
        ratings(
            "2026-03-24,101,te,6-7",
            "2026-03-24,102,te,7?",
            "2026-03-24,103,te,good",
            "2026-03-24,104,te,7-Jun",
        ),
        [
            "sheets/ratings.csv, row 3, column colour_rating: found '6-7'; allowed: a number on "
            "the scale 1 to 9; write one number and nothing else; remarks go into a column of "
            "their own",
            "sheets/ratings.csv, row 4, column colour_rating: found '7?'; allowed: a number on "
            "the scale 1 to 9; write one number and nothing else; remarks go into a column of "
            "their own",
            "sheets/ratings.csv, row 5, column colour_rating: found 'good'; allowed: a number on "
            "the scale 1 to 9; for a value that could not be taken, write NA",
            "sheets/ratings.csv, row 6, column colour_rating: found '7-Jun'; allowed: a number "
            "on the scale 1 to 9; a spreadsheet made a date of it: format the column as text, "
            "and type it in again",
            "sheets/ratings.csv: 6 rows = 1 of headings + 1 used + 4 wrong; 5 values = 1 used + "
            "4 wrong",
        ],
    ),
    "a negative force": Case(
        pulls("2026-03-24,101,1,-4"),
        [
            "sheets/pulls.csv, row 3, column pull_force: found '-4'; allowed: 0 lbf or more",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "more than the whole plot": Case(
        mould(
            "2026-03-24,101,120", "2026-03-24,102,-1", "2026-03-24,103,<5", "2026-03-24,104,trace"
        ),
        [
            "sheets/mould.csv, row 3, column mould: found '120'; allowed: 0 to 100 %",
            "sheets/mould.csv, row 4, column mould: found '-1'; allowed: 0 to 100 %",
            "sheets/mould.csv, row 5, column mould: found '<5'; allowed: a number in %; write "
            "one number and nothing else; remarks go into a column of their own",
            "sheets/mould.csv, row 6, column mould: found 'trace'; allowed: a number in %; for a "
            "value that could not be taken, write NA",
            "sheets/mould.csv: 6 rows = 1 of headings + 1 used + 4 wrong; 5 values = 1 used + 4 "
            "wrong",
        ],
    ),
    "a length in inches that is no number": Case(
        {
            "sheets/roots.csv": lines(
                "date,plot,root_length",
                "2026-04-17,101,4.5",
                "2026-04-17,102,4 1/2",
                "2026-04-17,103,11 cm",
                "2026-04-17,104,-1",
            )
        },
        [
            "sheets/roots.csv, row 3, column root_length: found '4 1/2'; allowed: a number of "
            "inches; write one number and nothing else; remarks go into a column of their own",
            "sheets/roots.csv, row 4, column root_length: found '11 cm'; allowed: a number of "
            "inches; give a number of inches, and leave out 'cm'",
            "sheets/roots.csv, row 5, column root_length: found '-1'; allowed: 0 in or more",
            "sheets/roots.csv: 5 rows = 1 of headings + 1 used + 3 wrong; 4 values = 1 used + 3 "
            "wrong",
        ],
    ),
    "a decimal comma that is not declared": Case(
        {
            "sheets/pulls.csv": lines(
                "date;plot;sample;pull_force",
                "2026-03-24;101;1;40,5",
                "2026-03-24;102;1;41,5",
                "2026-03-24;103;1;42",
            )
        },
        [
            "sheets/pulls.csv, row 2, column pull_force: found '40,5', and the like in 2 rows (2 "
            "to 3); allowed: a number in lbf; write a point, or add 'decimal: comma' to this "
            "table in diary.yaml",
            "sheets/pulls.csv: 4 rows = 1 of headings + 1 used + 2 wrong; 3 values = 1 used + 2 "
            "wrong",
        ],
    ),
    "a decimal point where a comma is declared": Case(
        {
            "sheets/pulls.csv": lines(
                "date;plot;sample;pull_force", "2026-03-24;101;1;40,5", "2026-03-24;102;1;41.5"
            )
        },
        [
            "sheets/pulls.csv, row 3, column pull_force: found '41.5'; allowed: a number in lbf; "
            "diary.yaml declares 'decimal: comma' for this table",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
        lines("sheets:", "  - {file: pulls.csv, decimal: comma}"),
    ),
    "decimal commas between commas": Case(
        {
            "sheets/pulls.csv": lines(
                "date,plot,sample,pull_force,remarks",
                "2026-03-24,101,1,40,5,",
                "2026-03-24,102,1,41,5,wet",
            )
        },
        [
            "sheets/pulls.csv, row 2: found '40' and '5' side by side with a cell too many, and "
            "the like in 2 rows (2 to 3); put a value that holds a comma in quotes",
            "sheets/pulls.csv: 3 rows = 1 of headings + 2 wrong; 2 values = 2 wrong; not read: "
            "remarks, column F",
        ],
    ),
    "thousands marked off": Case(
        pulls('2026-03-24,101,1,"1,040"', '2026-03-24,102,1,"1,040.5"', "2026-03-24,103,1,1 040"),
        [
            "sheets/pulls.csv, row 3, column pull_force: found '1,040'; allowed: a number in "
            "lbf; it can be read in 2 ways: leave the comma out if it marks off thousands, write "
            "a point if decimals follow it",
            "sheets/pulls.csv, row 4, column pull_force: found '1,040.5'; allowed: a number in "
            "lbf; leave out what marks off the thousands",
            "sheets/pulls.csv, row 5, column pull_force: found '1 040'; allowed: a number in "
            "lbf; leave out what marks off the thousands",
            "sheets/pulls.csv: 5 rows = 1 of headings + 1 used + 3 wrong; 4 values = 1 used + 3 "
            "wrong",
        ],
    ),
    "thousands marked off by a point": Case(
        {"sheets/pulls.csv": lines("date;plot;sample;pull_force", "2026-03-24;101;1;1.040,5")},
        [
            "sheets/pulls.csv, row 2, column pull_force: found '1.040,5'; allowed: a number in "
            "lbf; leave out what marks off the thousands",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong",
        ],
        lines("sheets:", "  - {file: pulls.csv, decimal: comma}"),
    ),
    "units beside values": Case(
        pulls("2026-03-24,101,1,40 lbf", "2026-03-24,102,1,40 lbs", "2026-03-24,103,1,180 N"),
        [
            "sheets/pulls.csv, row 3, column pull_force: found '40 lbf'; allowed: a number in "
            "lbf; leave out 'lbf'",
            "sheets/pulls.csv, row 4, column pull_force: found '40 lbs'; allowed: a number in "
            "lbf; leave out 'lbs'",
            "sheets/pulls.csv, row 5, column pull_force: found '180 N'; allowed: a number in "
            "lbf; give a number in lbf, and leave out 'N'",
            "sheets/pulls.csv: 5 rows = 1 of headings + 1 used + 3 wrong; 4 values = 1 used + 3 "
            "wrong",
        ],
    ),
    "marks for missing values that are not declared": Case(
        pulls(
            "2026-03-24,101,1,lost",
            "2026-03-24,102,1,n/a",
            "2026-03-24,103,1,--",
            "2026-03-24,104,1,lost",
        ),
        [
            "sheets/pulls.csv, row 3, column pull_force: found 'lost' in 2 rows (3, 6); allowed: "
            "a number in lbf; for a value that could not be taken, write NA",
            "sheets/pulls.csv, row 4, column pull_force: found 'n/a'; allowed: a number in lbf; "
            "for a value that could not be taken, write NA",
            "sheets/pulls.csv, row 5, column pull_force: found '--'; allowed: a number in lbf; "
            "for a value that could not be taken, write NA",
            "sheets/pulls.csv: 6 rows = 1 of headings + 1 used + 4 wrong; 5 values = 1 used + 4 "
            "wrong",
        ],
    ),
    "marks that the diary declares stand in place of the usual ones": Case(
        pulls("2026-03-24,101,1,lost", "2026-03-24,102,1,NA"),
        [
            "sheets/pulls.csv, row 4, column pull_force: found 'NA'; allowed: a number in lbf; "
            "for a value that could not be taken, write lost",
            "sheets/pulls.csv: 4 rows = 1 of headings + 1 used + 1 without values + 1 wrong; 3 "
            "values = 1 used + 1 marked missing + 1 wrong",
        ],
        lines("sheets:", "  - {file: pulls.csv, missing: [lost]}"),
    ),
    "a number beyond all bounds": Case(
        pulls("2026-03-24,101,1,1e999"),
        [
            "sheets/pulls.csv, row 3, column pull_force: found '1e999'; allowed: a number in "
            "lbf; check the digits",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
    "a value to the right of the headings": Case(
        pulls("2026-03-24,101,1,40,5"),
        [
            "sheets/pulls.csv, row 3: found '5' to the right of the last heading; put a value "
            "that holds a comma in quotes",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong; not read: column E",
        ],
    ),
    "everything in one row": Case(
        pulls("24.3.26,999,9,x"),
        [
            "sheets/pulls.csv, row 3, column date: found '24.3.26'; allowed: a date written "
            "year-month-day, such as 2026-03-24; it can be read in 2 ways: add 'date_order: year "
            "first' or 'date_order: day first' to this table in diary.yaml",
            "sheets/pulls.csv, row 3, column plot: found '999'; allowed: a plot of "
            "plan/plots.csv (101, 102, 103, 104, 201, 202 ...)",
            "sheets/pulls.csv, row 3, column pull_force: found 'x'; allowed: a number in lbf; "
            "for a value that could not be taken, write NA",
            "sheets/pulls.csv, row 3, column sample: found '9'; allowed: a whole number from 1 "
            "to 3; see per_plot in trial.yaml",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 "
            "wrong",
        ],
    ),
}
