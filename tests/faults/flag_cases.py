"""What looks odd and stops nothing, and the exact lines that are told of it."""

from __future__ import annotations

from faults.telling import Case, lines, ratings, season

FLAGS: dict[str, Case] = {
    "a visit without values, and part of the next": Case(
        {"sheets/mould.csv": lines("date,plot,mould", "2026-03-24,101,5", "2026-03-24,102,6")},
        [
            "colour_rating, 2026-03-10: flag missed visit: no value at all, though there are "
            "some of 2026-03-24; rule: every planned visit has values or is declared missing; "
            "bring it in, or tell under missing in diary.yaml why it was not taken",
            "mould, 2026-03-10: flag missed visit: no value at all, though there are some of "
            "2026-03-24; rule: every planned visit has values or is declared missing; bring it "
            "in, or tell under missing in diary.yaml why it was not taken",
            "mould, 2026-03-24: flag part of a visit: no value for 8 of 12 plots: 103, 104, 201, "
            "202, 203, 204, ...; rule: a value for every plot, or an entry under missing; bring "
            "it in, or tell under missing in diary.yaml why it was not taken",
        ],
        lines("missing:", "  - {plot: 3A, measure: mould, date: 2026-03-24, reason: under snow}"),
    ),
    "a rater who saw only some plots": Case(
        ratings("2026-03-24,304,te,6", "2026-03-24,303,te,6"),
        [
            "colour_rating, 2026-03-10: flag missed visit: no value at all, though there are "
            "some of 2026-03-24; rule: every planned visit has values or is declared missing; "
            "bring it in, or tell under missing in diary.yaml why it was not taken",
            "mould, 2026-03-10: flag missed visit: no value at all, though there are some of "
            "2026-03-24; rule: every planned visit has values or is declared missing; bring it "
            "in, or tell under missing in diary.yaml why it was not taken",
            "colour_rating, 2026-03-24: flag part of a visit: no value for 10 of 12 plots: 101, "
            "102, 103, 104, 201, 202, ...; rule: a value for every plot, or an entry under "
            "missing; bring it in, or tell under missing in diary.yaml why it was not taken",
            "colour_rating, 2026-03-24, rater rx: flag rater saw only some plots: rx rated 1 of "
            "12 plots; others also rated 303; rule: every rater rates every plot, or has an "
            "entry under missing; bring it in, or tell under missing in diary.yaml why it was "
            "not rated",
        ],
    ),
    "a look while the diary has a cover there": Case(
        {"sheets/mould.csv": lines("date,plot,mould", "2026-03-10,103,5", "2026-03-10,101,6")},
        [
            "sheets/mould.csv, row 2, column mould: flag under a cover: plot 103 was observed "
            "while the diary has a cover there; rule: nothing is observed between covers on and "
            "covers off unless they are lifted; if the covers were lifted for the look, tell it "
            "under cover_events in diary.yaml; otherwise look at the date on the sheet",
            "mould, 2026-03-10: flag part of a visit: no value for 10 of 12 plots: 102, 104, "
            "201, 202, 203, 204, ...; rule: a value for every plot, or an entry under missing; "
            "bring it in, or tell under missing in diary.yaml why it was not taken",
        ],
        lines("covers:", "  - {on: 2026-01-19, off: 2026-03-15, plots: [1B]}"),
    ),
    "a jump": Case(
        season("2026-04-17,103,2,4.4"),
        [
            "colour_rating, 2026-03-10: flag missed visit: no value at all, though there are "
            "some of 2026-04-17; rule: every planned visit has values or is declared missing; "
            "bring it in, or tell under missing in diary.yaml why it was not taken",
            "mould, 2026-03-10: flag missed visit: no value at all, though there are some of "
            "2026-04-17; rule: every planned visit has values or is declared missing; bring it "
            "in, or tell under missing in diary.yaml why it was not taken",
            "colour_rating, 2026-03-24: flag missed visit: no value at all, though there are "
            "some of 2026-04-17; rule: every planned visit has values or is declared missing; "
            "bring it in, or tell under missing in diary.yaml why it was not taken",
            "green_cover, 2026-03-24: flag missed visit: no value at all, though there are some "
            "of 2026-04-17; rule: every planned visit has values or is declared missing; bring "
            "it in, or tell under missing in diary.yaml why it was not taken",
            "mould, 2026-03-24: flag missed visit: no value at all, though there are some of "
            "2026-04-17; rule: every planned visit has values or is declared missing; bring it "
            "in, or tell under missing in diary.yaml why it was not taken",
            "sheets/pulls.csv, row 45, column pull_force: flag jump: 4.4 lbf, 39.9 lbf less than "
            "this plot's own course; rule: at most 5 times the usual spread away from it; look "
            "at the sheet, and leave a value that is right",
        ],
    ),
    "a second look that differs": Case(
        {
            "sheets/ratings.csv": lines(
                "date,plot,rater,colour_rating,repeat",
                "2026-03-24,304,rx,5,",
                "2026-03-24,304,rx,8,1",
            )
        },
        [
            "colour_rating, 2026-03-10: flag missed visit: no value at all, though there are "
            "some of 2026-03-24; rule: every planned visit has values or is declared missing; "
            "bring it in, or tell under missing in diary.yaml why it was not taken",
            "mould, 2026-03-10: flag missed visit: no value at all, though there are some of "
            "2026-03-24; rule: every planned visit has values or is declared missing; bring it "
            "in, or tell under missing in diary.yaml why it was not taken",
            "colour_rating, 2026-03-24: flag part of a visit: no value for 11 of 12 plots: 101, "
            "102, 103, 104, 201, 202, ...; rule: a value for every plot, or an entry under "
            "missing; bring it in, or tell under missing in diary.yaml why it was not taken",
            "colour_rating, 2026-03-24, rater te: flag rater saw only some plots: te rated none "
            "of 12 plots; others rated 304; rule: every rater rates every plot, or has an entry "
            "under missing; bring it in, or tell under missing in diary.yaml why it was not rated",
            "sheets/ratings.csv, rows 2 and 3, column colour_rating: flag second look differs: 8 "
            "at the second look, 5 at the first; rule: less than 2 marks apart; look at the "
            "sheet, and leave values that are right",
        ],
    ),
    "a day without weather": Case(
        {
            "loggers/station.csv": lines(
                "date,low,high", "2026-01-18,20,33", "2026-01-20,20,33", "2026-01-21,,M"
            )
        },
        [
            "loggers/station.csv, row 2, column date: found 2026-01-20 as the day after "
            "2026-01-18; allowed: a row for every day; 1 day is missing",
        ],
        "weather: {file: station.csv, units: {temperature: degF}}\n",
    ),
}
