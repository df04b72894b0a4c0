"""Sheets whose headings or layout are broken, and the exact lines told of them."""

from __future__ import annotations

from faults.telling import Case, lines, pulls

HEADINGS: dict[str, Case] = {
    "no headings": Case(
        {"sheets/pulls.csv": lines("2026-03-24,101,1,40", "2026-03-24,102,1,41")},
        [
            "sheets/pulls.csv, row 1: found no headings; allowed: headings, among them date, "
            "plot and one of colour_rating, pull_force, root_length, mould; put the headings in "
            "row 1",
            "sheets/pulls.csv: 2 rows = 2 wrong; no values; not read: column A, column B, column "
            "C, column D",
        ],
    ),
    "a title for headings": Case(
        {"sheets/pulls.csv": lines("Pulls of March,,,", "2026-03-24,101,1,40")},
        [
            "sheets/pulls.csv, row 1: found no headings; allowed: headings, among them date, "
            "plot and one of colour_rating, pull_force, root_length, mould; put the headings in "
            "row 1",
            "sheets/pulls.csv: 2 rows = 2 wrong; no values; not read: column A, column B, column "
            "C, column D",
        ],
    ),
    "no date, and plot misspelt": Case(
        {"sheets/pulls.csv": lines("day,plto,sample,pull_force", "2026-03-24,101,1,40")},
        [
            "sheets/pulls.csv, row 1, column date: found no such heading among day, plto; put "
            "the headings in row 1 and call this one so, or name it in diary.yaml",
            "sheets/pulls.csv, row 1, column plot: found no such heading among day, plto; if "
            "'plto' is meant, call it 'plot', or name it in diary.yaml",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong; not read: "
            "day, plto",
        ],
    ),
    "no sample where there are three": Case(
        {"sheets/pulls.csv": lines("date,plot,pull_force", "2026-03-24,101,40")},
        [
            "sheets/pulls.csv, row 1, column sample: found no such heading; add the column, with "
            "the number of each reading within its plot",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong",
        ],
    ),
    "no column of raters": Case(
        {"sheets/ratings.csv": lines("date,plot,colour_rating", "2026-03-24,101,5")},
        [
            "sheets/ratings.csv, row 1, column rater: found no such heading; add the column, "
            "with the initials of who rated",
            "sheets/ratings.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong",
        ],
    ),
    "no measure": Case(
        {"sheets/heights.csv": lines("date,plot,height", "2026-03-24,101,5")},
        [
            "sheets/heights.csv, row 1: found no measure among height; allowed: colour_rating, "
            "pull_force, root_length, mould; rename the column, name it in diary.yaml, or move "
            "the file out of sheets",
            "sheets/heights.csv: 2 rows = 1 of headings + 1 wrong; no values; not read: height",
        ],
    ),
    "a measure misspelt": Case(
        {"sheets/pulls.csv": lines("date,plot,sample,pull_forse", "2026-03-24,101,1,40")},
        [
            "sheets/pulls.csv, row 1: found no measure among pull_forse; allowed: colour_rating, "
            "pull_force, root_length, mould; did you mean pull_force by 'pull_forse'? rename the "
            "column, name it in diary.yaml, or move the file out of sheets",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; no values; not read: pull_forse",
        ],
    ),
    "a second measure misspelt": Case(
        {"sheets/pulls.csv": lines("date,plot,sample,pull_force,mold", "2026-03-24,101,1,40,5")},
        [
            "sheets/pulls.csv, row 1, column mold: found a heading that is nearly 'mould'; call "
            "it 'mould' if that is meant, or give it another name",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong; not read: mold",
        ],
    ),
    "a measure twice": Case(
        {
            "sheets/pulls.csv": lines(
                "date,plot,sample,pull_force,Pull force", "2026-03-24,101,1,40,41"
            )
        },
        [
            "sheets/pulls.csv, row 1, column pull_force: found 'pull_force' in 2 columns; "
            "allowed: one; rename or remove one of them; where several belong to one plot, write "
            "one row a reading, with its number in a column sample",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 2 values = 2 wrong",
        ],
    ),
    "plot twice": Case(
        {"sheets/pulls.csv": lines("date,plot,Plot,sample,pull_force", "2026-03-24,101,101,1,40")},
        [
            "sheets/pulls.csv, row 1, column plot: found 'plot' in 2 columns; allowed: one; "
            "rename or remove one of them",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong; not read: "
            "plot, Plot",
        ],
    ),
    "another unit in the headings": Case(
        {"sheets/pulls.csv": lines("date,plot,sample,pull_force (N)", "2026-03-24,101,1,180")},
        [
            "sheets/pulls.csv, row 1, column pull_force: found values in N; allowed: lbf; give "
            "the values in the unit of trial.yaml, or correct the heading",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong",
        ],
    ),
    "a measure from photos": Case(
        {
            "sheets/pulls.csv": lines(
                "date,plot,sample,pull_force,green_cover", "2026-03-24,101,1,40,60"
            )
        },
        [
            "sheets/pulls.csv, row 1, column green_cover: found values on a sheet; allowed: "
            "values scored from photos; remove the column, or give it another name",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong; not read: "
            "green_cover",
        ],
    ),
    "a column for each reading": Case(
        {
            "sheets/pulls.csv": lines(
                "date,plot,Pull force 1,Pull force 2,Pull force 3", "2026-03-24,101,40,41,42"
            )
        },
        [
            "sheets/pulls.csv, row 1, column pull_force: found 'Pull force 1', 'Pull force 2', "
            "'Pull force 3'; allowed: one column a measure; write one row a reading, with its "
            "number in a column sample",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; no values; not read: Pull force "
            "1, Pull force 2, Pull force 3",
        ],
    ),
    "a column for each rater": Case(
        {
            "sheets/ratings.csv": lines(
                "date,plot,colour_rating te,colour_rating rx", "2026-03-24,101,5,6"
            )
        },
        [
            "sheets/ratings.csv, row 1, column colour_rating: found 'colour_rating te', "
            "'colour_rating rx'; allowed: one column a measure; write one row a rater, with the "
            "initials in a column rater",
            "sheets/ratings.csv: 2 rows = 1 of headings + 1 wrong; no values; not read: "
            "colour_rating te, colour_rating rx",
        ],
    ),
    "headings in two rows": Case(
        {"sheets/pulls.csv": lines("date,plot,Pull force,,", ",,1,2,3", "2026-03-24,101,40,41,42")},
        [
            "sheets/pulls.csv, row 1, column pull_force: found 'Pull force' over the columns C "
            "to E, with 1, 2, 3 below; allowed: headings in one row; write one row a reading, "
            "with its number in a column sample",
            "sheets/pulls.csv: 3 rows = 1 of headings + 2 wrong; 2 values = 2 wrong; not read: "
            "column D, column E",
        ],
    ),
    "tables side by side": Case(
        {
            "sheets/pulls.csv": lines(
                "date,plot,sample,pull_force,,date,plot,sample,pull_force",
                "2026-03-24,101,1,40,,2026-03-24,102,1,41",
            )
        },
        [
            "sheets/pulls.csv, row 1: found two tables side by side: 'date' and 'plot' stand "
            "there more than once; allowed: one table; put the second table below the first, or "
            "into a tab or file of its own",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 2 values = 2 wrong; not read: "
            "date, plot, sample",
        ],
    ),
    "a record above the headings": Case(
        {
            "sheets/pulls.csv": lines(
                "2026-03-24,101,1,40", "date,plot,sample,pull_force", "2026-03-24,102,1,41"
            )
        },
        [
            "sheets/pulls.csv, row 1: found a record of plot 101 above the headings; put it "
            "below row 2, or put headings above it",
            "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 1 value = 1 used",
        ],
    ),
    "numbers without a heading": Case(
        {
            "sheets/pulls.csv": lines(
                "date,plot,sample,pull_force,", "2026-03-24,101,1,40,41", "2026-03-24,102,1,42,43"
            )
        },
        [
            "sheets/pulls.csv, row 2: found numbers without a heading in E2 to E3; give the "
            "column a heading; of several readings in a plot, write one row a reading, with its "
            "number in a column sample",
            "sheets/pulls.csv: 3 rows = 1 of headings + 2 wrong; 2 values = 2 wrong; not read: "
            "column E",
        ],
    ),
    "sums at the foot": Case(
        pulls("Mean,,,44", ",Total:,,44", ",,,44"),
        [
            "sheets/pulls.csv, row 3, column date: found 'Mean' beside values; a row that sums "
            "up others does not belong in the sheet: remove it",
            "sheets/pulls.csv, row 4, column plot: found 'Total:' beside values; a row that sums "
            "up others does not belong in the sheet: remove it",
            "sheets/pulls.csv, row 5: found '44' without date and plot; write date and plot, or "
            "remove the row if it sums up others",
            "sheets/pulls.csv: 5 rows = 1 of headings + 1 used + 3 wrong; 4 values = 1 used + 3 "
            "wrong",
        ],
    ),
    "dates that stand once": Case(
        pulls(",304,2,45", ",304,3,46", "2026-04-17,304,1,50", ",304,2,51"),
        [
            "sheets/pulls.csv, row 3, column date: found nothing in rows 3 to 4, 6; allowed: a "
            "date in every row with a value; where the date of row 2 is meant for more rows, "
            "fill it down",
            "sheets/pulls.csv: 6 rows = 1 of headings + 2 used + 3 wrong; 5 values = 2 used + 3 "
            "wrong",
        ],
    ),
}
