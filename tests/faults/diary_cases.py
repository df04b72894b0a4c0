"""Diaries that cannot be read, and the exact lines that are told of them."""

from __future__ import annotations

from faults.telling import UNREAD, Case, lines, pulls

DIARIES: dict[str, Case] = {
    "an unknown section": Case(
        pulls(),
        [
            "diary.yaml:1:1: exclusion: found 'exclusion', which is not known here; allowed: "
            "covers, cover_events, management, mishaps, sheets, weather, loggers, forecast, "
            "pins, established_turf, costs, exclusions, missing, deviations; did you mean "
            "exclusions?",
            UNREAD,
        ],
        "exclusion: []\n",
    ),
    "a section within another": Case(
        pulls(),
        [
            "diary.yaml:3:3: found a line indented otherwise than its neighbours; let lines that "
            "belong together begin in the same column",
            UNREAD,
        ],
        lines("exclusions:", "  - {plot: 304, reason: wet}", "  covers: []"),
    ),
    "a tab in front of a line": Case(
        pulls(),
        [
            "diary.yaml:3:1: found a tab; allowed: spaces; indent with two spaces a level",
            UNREAD,
        ],
        lines("exclusions:", "  - plot: 304", "\treason: wet"),
    ),
    "a bracket that is not closed": Case(
        pulls(),
        [
            "diary.yaml:2:5: found a bracket that is not closed, or a comma left out; check the "
            "brackets that are opened here",
            UNREAD,
        ],
        lines("covers:", "  - {on: 2026-01-19, off: 2026-03-09"),
    ),
    "a comma left out": Case(
        pulls(),
        [
            "diary.yaml:2:24: found a second ':' before the next comma; allowed: one 'name: "
            "value' between commas; add the comma that is lacking, or put text that holds ': ' "
            "in quotes",
            UNREAD,
        ],
        lines("covers:", "  - {on: 2026-01-19 off: 2026-03-09}"),
    ),
    "a colon within a text": Case(
        pulls(),
        [
            "diary.yaml:2:33: found a second ':' before the next comma; allowed: one 'name: "
            "value' between commas; add the comma that is lacking, or put text that holds ': ' "
            "in quotes",
            UNREAD,
        ],
        lines("mishaps:", "  - {date: 2026-03-01, what: dog: dug, effect: a hole}"),
    ),
    "a colon left out": Case(
        pulls(),
        [
            "diary.yaml:2:7: found a ':' in a line that goes on with the one before; allowed: "
            "'name: value' in lines that begin in the same column; look in the line before for a "
            "':' that is lacking, and for a space after each '-' and ':'",
            UNREAD,
        ],
        lines("covers", "  - on: 2026-01-19"),
    ),
    "a quote that is not closed": Case(
        pulls(),
        [
            "diary.yaml:3:11: found a quote that is not closed; close it",
            UNREAD,
        ],
        lines("mishaps:", "  - date: 2026-03-01", '    what: "a dog dug', "    effect: a hole"),
    ),
    "sections not at the left margin": Case(
        pulls(),
        [
            "diary.yaml:2:1: found a line that begins further left than the first one; begin "
            "every section at the left margin",
            UNREAD,
        ],
        lines("  covers: []", "exclusions: []"),
    ),
    "a name twice": Case(
        pulls(),
        [
            "diary.yaml:3:17: exclusions.1.plot: found the name a second time; keep one of the "
            "two; the first is in line 3",
            "diary.yaml:4:1: covers: found the name a second time; keep one of the two; the "
            "first is in line 1",
            UNREAD,
        ],
        lines("covers: []", "exclusions:", "  - {plot: 304, plot: 303, reason: wet}", "covers: []"),
    ),
    "no section at all": Case(
        pulls(),
        [
            "diary.yaml:1:1: found no 'name: value' line; allowed: lines such as 'covers: ...'",
            UNREAD,
        ],
        "the covers went on in January\n",
    ),
    "not in UTF-8": Case(
        pulls(),
        [
            "diary.yaml:2:31: found a character that is not in UTF-8; save the file with the "
            "encoding UTF-8",
            UNREAD,
        ],
        lines("mishaps:", "  - {date: 2026-03-01, what: d\u00e9g\u00e2t, effect: none}").encode(
            "cp1252"
        ),
    ),
    "words where a list should be": Case(
        pulls(),
        [
            "diary.yaml:1:9: covers: found 'soon'; allowed: a list; begin each entry on a line "
            "below, with '- ' in front",
            "diary.yaml:3:3: exclusions: found several fields; allowed: a list; begin each entry "
            "on a line below, with '- ' in front",
            UNREAD,
        ],
        lines("covers: soon", "exclusions:", "  plot: 304", "  reason: wet"),
    ),
    "words where fields should be": Case(
        pulls(),
        [
            "diary.yaml:2:5: exclusions.1: found 'plot 304 was wet'; allowed: several 'name: "
            "value' lines, indented below",
            UNREAD,
        ],
        lines("exclusions:", "  - plot 304 was wet"),
    ),
    "fields that are lacking or not known": Case(
        pulls(),
        [
            "diary.yaml:2:5: exclusions.1.reason: is missing; add 'reason: ...'",
            "diary.yaml:2:17: exclusions.1.why: found 'why', which is not known here; allowed: "
            "plot, measure, date, sample, rater, reason; remove it",
            "diary.yaml:4:5: deviations.1.reason: is missing; add 'reason: ...'",
            UNREAD,
        ],
        lines(
            "exclusions:",
            "  - {plot: 304, why: wet}",
            "deviations:",
            "  - {date: 2026-03-20, what: moved}",
        ),
    ),
    "dates that are none": Case(
        pulls(),
        [
            "diary.yaml:2:10: covers.1.on: found '1/19/2026'; allowed: a date written "
            "year-month-day, such as 2026-03-24",
            "diary.yaml:2:26: covers.1.off: found '2026-02-30'; allowed: a date that exists in "
            "the calendar, such as 2026-03-24",
            "diary.yaml:4:12: mishaps.1.date: found 'March'; allowed: a date written "
            "year-month-day, such as 2026-03-24",
            UNREAD,
        ],
        lines(
            "covers:",
            "  - {on: 1/19/2026, off: 2026-02-30}",
            "mishaps:",
            "  - {date: March, what: a dog, effect: a hole}",
        ),
    ),
    "several plots in one exclusion": Case(
        pulls(),
        [
            "diary.yaml:2:12: exclusions.1.plot: found a list; allowed: the name of one plot, "
            "such as 101; make an entry for each",
            UNREAD,
        ],
        lines("exclusions:", "  - {plot: [303, 304], reason: wet}"),
    ),
}
