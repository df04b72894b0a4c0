"""Entries of diaries that fit nothing, and the exact lines told of them."""

from __future__ import annotations

from faults.telling import UNREAD, Case, lines, pulls

ENTRIES: dict[str, Case] = {
    "covers on open plots by another word": Case(
        pulls(),
        [
            "diary.yaml:2:29: covers.1.plots: found 'all'; allowed: all covered, or a list of "
            "plots such as [101, 102]",
            UNREAD,
        ],
        lines("covers:", "  - {on: 2026-01-19, plots: all}"),
    ),
    "covers off before they were on": Case(
        pulls(),
        [
            "diary.yaml:2:27: covers.1.off: found '2026-01-18'; allowed: a date after these "
            "covers went on (2026-01-19); correct one of the two dates",
        ],
        lines("covers:", "  - {on: 2026-01-19, off: 2026-01-18}"),
    ),
    "covers of another winter": Case(
        pulls(),
        [
            "diary.yaml:2:10: covers.1.on: found '2025-01-19'; allowed: a day within half a year "
            "of the planned one (2026-01-19); look at the year",
        ],
        lines("covers:", "  - {on: 2025-01-19, off: 2026-03-09}"),
    ),
    "covers twice on the same plots": Case(
        pulls(),
        [
            "diary.yaml:4:10: covers.3.on: found '2026-03-01'; allowed: a day on which entry 2 "
            "does not cover these plots (2026-02-20 to 2026-03-09); correct the dates; when "
            "covers were off in between, tell under cover_events",
        ],
        lines(
            "covers:",
            "  - {on: 2026-01-19, off: 2026-02-20}",
            "  - {on: 2026-02-20, off: 2026-03-09}",
            "  - {on: 2026-03-01, off: 2026-03-09}",
        ),
    ),
    "covers that never came off, and again": Case(
        pulls(),
        [
            "diary.yaml:3:10: covers.2.on: found '2026-02-20'; allowed: a day on which entry 1 "
            "does not cover these plots (from 2026-01-19 on); correct the dates; when covers "
            "were off in between, tell under cover_events",
        ],
        lines(
            "covers:",
            "  - {on: 2026-01-19, plots: [103, 104]}",
            "  - {on: 2026-02-20, off: 2026-03-09, plots: [104, 201]}",
        ),
    ),
    "an event while no covers lay": Case(
        pulls(),
        [
            "diary.yaml:4:12: cover_events.1.date: found '2026-03-20'; allowed: a day on which "
            "covers lay (2026-01-19 to 2026-03-09); correct the date, or tell under 'covers' "
            "when they went on",
        ],
        lines(
            "covers:",
            "  - {on: 2026-01-19, off: 2026-03-09}",
            "cover_events:",
            "  - {date: 2026-03-20, what: blown off}",
        ),
    ),
    "laid again without having been off": Case(
        pulls(),
        [
            "diary.yaml:4:30: cover_events.1.what: found 'laid again'; allowed: covers that were "
            "lifted or blown off before, in the same time under cover; tell first, under "
            "cover_events, when they came off",
        ],
        lines(
            "covers:",
            "  - {on: 2026-01-19, off: 2026-03-09}",
            "cover_events:",
            "  - {date: 2026-02-20, what: laid again}",
        ),
    ),
    "an event of no kind": Case(
        pulls(),
        [
            "diary.yaml:4:30: cover_events.1.what: found 'blow off'; allowed: lifted, blown off, "
            "laid again, torn, partly open, snow, snow cleared, ice, standing water, or other "
            "with a note; did you mean blown off?",
            UNREAD,
        ],
        lines(
            "covers:",
            "  - {on: 2026-01-19, off: 2026-03-09}",
            "cover_events:",
            "  - {date: 2026-02-20, what: blow off}",
        ),
    ),
    "plots that are not there": Case(
        pulls(),
        [
            "diary.yaml:2:35: covers.1.plots.2: found '105'; allowed: a plot of plan/plots.csv "
            "(101, 102, 103, 104, 201, 202 ...)",
            "diary.yaml:4:32: mishaps.1.plots.1: found '7Z'; allowed: a plot of plan/plots.csv "
            "(101, 102, 103, 104, 201, 202 ...)",
            "diary.yaml:6:12: exclusions.1.plot: found '999'; allowed: a plot of plan/plots.csv "
            "(101, 102, 103, 104, 201, 202 ...)",
        ],
        lines(
            "covers:",
            "  - {on: 2026-01-19, plots: [103, 105]}",
            "mishaps:",
            "  - {date: 2026-03-01, plots: [7Z], what: a dog, effect: a hole}",
            "exclusions:",
            "  - {plot: 999, reason: wet}",
        ),
    ),
    "an exclusion that fits nothing": Case(
        pulls(),
        [
            "diary.yaml:2:5: exclusions.1: found no observation of plot 101, pull_force, "
            "2026-03-24, sample 2; correct the entry, or bring back the observation; if it was "
            "never made, it is missing by itself: remove the entry and tell why under deviations",
        ],
        lines(
            "exclusions:",
            "  - {plot: 101, measure: pull_force, date: 2026-03-24, sample: 2, reason: wet}",
        ),
    ),
    "an exclusion twice": Case(
        pulls(),
        [
            "diary.yaml:3:5: exclusions.2: found the same as entry 1; make them one entry, with "
            "both reasons",
        ],
        lines(
            "exclusions:",
            "  - {plot: 304, measure: pull_force, reason: wet}",
            "  - {plot: '304', measure: pull_force, reason: a dog}",
        ),
    ),
    "an exclusion of what is not planned": Case(
        pulls(),
        [
            "diary.yaml:2:26: exclusions.1.measure: found 'pull_forse'; allowed: colour_rating, "
            "pull_force, root_length, mould, green_cover; did you mean pull_force?",
            "diary.yaml:3:44: exclusions.2.date: found '2026-03-10'; allowed: a date on which it "
            "is observed (2026-03-24, 2026-04-17)",
            "diary.yaml:3:64: exclusions.2.sample: found '4'; allowed: a whole number from 1 to "
            "3; see per_plot in trial.yaml",
            "diary.yaml:4:24: exclusions.3.rater: found 'tx'; allowed: rx, te",
        ],
        lines(
            "exclusions:",
            "  - {plot: 304, measure: pull_forse, reason: wet}",
            "  - {plot: 304, measure: pull_force, date: 2026-03-10, sample: 4, reason: wet}",
            "  - {plot: 304, rater: tx, reason: wet}",
        ),
    ),
    "a sample that is no number": Case(
        pulls(),
        [
            "diary.yaml:2:46: exclusions.1.sample: found 'first'; allowed: a whole number",
            UNREAD,
        ],
        lines("exclusions:", "  - {plot: 304, measure: pull_force, sample: first, reason: wet}"),
    ),
    "missing by declaration and there": Case(
        pulls("2026-03-24,304,2,45"),
        [
            "diary.yaml:2:5: missing.1: found pull_force of plot 304 on this date in "
            "sheets/pulls.csv, row 3; remove the entry; a value that is not to be used belongs "
            "under exclusions",
        ],
        lines(
            "missing:",
            "  - {plot: 304, measure: pull_force, date: 2026-03-24, sample: 2, reason: it slipped}",
        ),
    ),
    "missing what is not planned": Case(
        pulls(),
        [
            "diary.yaml:2:44: missing.1.date: found '2026-03-25'; allowed: a date on which it is "
            "observed (2026-03-24, 2026-04-17)",
            "diary.yaml:3:64: missing.2.sample: found '4'; allowed: a whole number from 1 to 3; "
            "see per_plot in trial.yaml",
        ],
        lines(
            "missing:",
            "  - {plot: 304, measure: pull_force, date: 2026-03-25, reason: lost}",
            "  - {plot: 304, measure: pull_force, date: 2026-03-24, sample: 4, reason: lost}",
        ),
    ),
    "a deviation from no line": Case(
        pulls(),
        [
            "diary.yaml:2:58: deviations.1.field: found 'dates.visit'; allowed: a line of "
            "trial.yaml as names joined by dots, such as dates.visits; did you mean dates.visits?",
        ],
        lines(
            "deviations:", "  - {date: 2026-03-20, what: moved, reason: rain, field: dates.visit}"
        ),
    ),
    "the same deviation twice": Case(
        pulls(),
        [
            "diary.yaml:3:5: deviations.2: found the same as entry 1; make them one entry, with "
            "both reasons",
        ],
        lines(
            "deviations:",
            "  - {date: 2026-03-20, what: moved, reason: rain}",
            "  - {date: 2026-03-20, what: moved, reason: snow}",
        ),
    ),
    "care of no kind": Case(
        pulls(),
        [
            "diary.yaml:2:30: management.1.what: found 'mow'; allowed: mowing, nitrogen, other "
            "nutrients, water, fungicide, herbicide, growth regulator, topdressing, seeding, "
            "rolling, traffic, aeration, or other with a note; did you mean mowing?",
            "diary.yaml:3:5: management.2.note: found nothing; allowed: what was done, in words; "
            "add 'note: ...'",
            "diary.yaml:4:48: management.3.amount: found '0.5'; allowed: text (put it in quotes "
            "if it is a number)",
            UNREAD,
        ],
        lines(
            "management:",
            "  - {date: 2026-03-20, what: mow}",
            "  - {date: 2026-03-20, what: other}",
            "  - {date: 2026-03-20, what: nitrogen, amount: 0.5}",
        ),
    ),
    "a file of sheets that is not there": Case(
        pulls(),
        [
            "diary.yaml:2:12: sheets.1.file: found 'pull.csv'; allowed: a file in sheets "
            "(pulls.csv); did you mean pulls.csv?",
            "diary.yaml:4:12: sheets.3.file: found 'sheets/pulls.csv' a second time; allowed: "
            "one entry a table; put it together with entry 2, or name different tabs",
        ],
        lines(
            "sheets:",
            "  - {file: pull.csv}",
            "  - {file: pulls.csv}",
            "  - {file: sheets/pulls.csv}",
        ),
    ),
    "words of a sheet that are none": Case(
        pulls(),
        [
            "diary.yaml:2:32: sheets.1.decimal: found ','; allowed: point, comma",
            "diary.yaml:2:49: sheets.1.date_order: found 'american'; allowed: year first, month "
            "first, day first",
            "diary.yaml:2:68: sheets.1.missing: found 'NA'; allowed: a list, such as [a, b]",
            UNREAD,
        ],
        lines("sheets:", "  - {file: pulls.csv, decimal: ',', date_order: american, missing: NA}"),
    ),
    "a column of no measure": Case(
        pulls(),
        [
            "diary.yaml:2:45: sheets.1.columns.pull_forse: found 'pull_forse'; allowed: date, "
            "plot, rater, sample, repeat, colour_rating, pull_force, root_length, mould, "
            "green_cover; did you mean pull_force?",
        ],
        lines("sheets:", "  - {file: pulls.csv, columns: {pull_forse: pull_force}}"),
    ),
}
