"""What a person reads when a field is wrong: whole messages, word by word."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Change = Callable[..., list[str]]

LENGTHS = "a number and a unit (m, cm, mm, ft, in, yd), such as '10 ft'"
UNITS = (
    "one of m, cm, mm, ft, in, yd, m2, ft2, m3, ft3, yd3, kg/m2, g/m2, oz/yd2, N, kgf, "
    "lbf, N.m, ft.lbf, in.lbf, g, oz, gravities, degC, degF, %, points, shoots"
)
TOP = (
    "title, question, units, people, report_to, notice, site, dates, treatments, layout, "
    "measures, analysis, planning, climate, decisions"
)
DATE = "a date written year-month-day, such as 2026-03-24"
LINES = "several 'name: value' lines, indented below"
NAME = "a short name of letters, digits and _, beginning with a letter"


def test_the_sound_definition_has_nothing_to_tell(change: Change) -> None:
    assert change() == []


# What was changed in the sound definition, and all that is told.
FIELDS = {
    "unknown key": (
        ("units: us", "unitz: us"),
        [
            "trial.yaml:1:1: units: is missing; add 'units: ...' (us or metric)",
            f"trial.yaml:3:1: unitz: found 'unitz', which is not known here; allowed: {TOP}; "
            "did you mean units?",
        ],
    ),
    "unknown key deep inside": (
        ("mass: 0.9", "mas: 0.9"),
        [
            "trial.yaml:30:41: treatments.cover.levels.fleece.mas: found 'mas', which is not "
            "known here; allowed: label, description, mass, light, tine; did you mean mass?"
        ],
    ),
    "unknown key like nothing": (
        ("blocks: 6", "blocks: 6\n  colour: red"),
        [
            "trial.yaml:43:3: layout.colour: found 'colour', which is not known here; allowed: "
            "kind, whole_plot, subplot, row_strips, column_strips, blocks, replicates, "
            "plots_in_a_row, blocks_side_by_side, blocks_follow, block_places, grounds, "
            "areas_left_out, north, plot_size, alley, edge_left_out, laid_by_hand, seed; remove it"
        ],
    ),
    "known key, indented by mistake": (
        ("report_to:", "  report_to:"),
        [
            "trial.yaml:7:3: found a line indented otherwise than its neighbours; let lines that "
            "belong together begin in the same column"
        ],
    ),
    "known key within another part": (
        ("dates:\n  baseline: 2026-01-15", "  dates:\n  baseline: 2026-01-15"),
        [
            "trial.yaml:1:1: dates: is missing; add 'dates: ...' (every date, named once)",
            *(
                f"trial.yaml:{line}:3: site.{name}: found '{name}', which is not known here; "
                "allowed: name, country, latitude, longitude, elevation, time_zone, use, turf, "
                f"shade; {hint}"
                for line, name, hint in [
                    (18, "dates", "begin the line with 'dates' at the left margin"),
                    (19, "baseline", "remove it"),
                    (20, "covers_on", "remove it"),
                    (21, "covers_off", "remove it"),
                    (22, "aeration", "did you mean elevation?"),
                    (23, "first_event", "remove it"),
                    (24, "visits", "remove it"),
                ]
            ),
        ],
    ),
    "duplicate key": (
        ("units: us", "units: us\nreport_to: A\nunits: metric"),
        [
            "trial.yaml:5:1: units: found the name a second time; keep one of the two; the "
            "first is in line 3",
            "trial.yaml:9:1: report_to: found the name a second time; keep one of the two; the "
            "first is in line 4",
        ],
    ),
    "missing field": (
        ("units: us\n", ""),
        ["trial.yaml:1:1: units: is missing; add 'units: ...' (us or metric)"],
    ),
    "empty field": (
        ("units: us", "units:"),
        ["trial.yaml:3:1: units: found nothing; allowed: us, metric"],
    ),
    "missing field inside": (
        ("  seed: 20260119\n", ""),
        ["trial.yaml:38:1: layout.seed: is missing; add 'seed: ...'"],
    ),
    "wrong word": (
        ("kind: split plot", "kind: splitplot"),
        [
            "trial.yaml:39:9: layout.kind: found 'splitplot'; allowed: completely random, "
            "randomised blocks, latin square, split plot, strip plot, demonstration; did you "
            "mean split plot?"
        ],
    ),
    "text for a number": (
        ("blocks: 6", "blocks: six"),
        ["trial.yaml:42:11: layout.blocks: found 'six'; allowed: a whole number"],
    ),
    "part of a number": (
        ("blocks: 6", "blocks: 6.5"),
        ["trial.yaml:42:11: layout.blocks: found '6.5'; allowed: a whole number"],
    ),
    "yes for a number": (
        ("per_plot: 3", "per_plot: true"),
        ["trial.yaml:61:15: measures.pull_force.per_plot: found 'true'; allowed: a whole number"],
    ),
    "number for text": (
        ("report_to: Invented County Turf Program", "report_to: 5"),
        [
            "trial.yaml:7:12: report_to: found '5'; allowed: text (put it in quotes if it is a "
            "number)"
        ],
    ),
    "list for a word": (
        ("units: us", "units: [us]"),
        ["trial.yaml:3:8: units: found a list; allowed: us, metric"],
    ),
    "word for a list": (
        ("raters: [te, rx]", "raters: te"),
        [
            "trial.yaml:56:13: measures.colour_rating.raters: found 'te'; allowed: a list, such "
            "as [a, b]"
        ],
    ),
    "word for several fields": (
        ("open: {label: No cover}", "open: No cover"),
        [f"trial.yaml:29:13: treatments.cover.levels.open: found 'No cover'; allowed: {LINES}"],
    ),
    "list for several fields": (
        ("dates:\n  baseline", "dates: []\nothers:\n  baseline"),
        [
            f"trial.yaml:18:8: dates: found a list; allowed: {LINES}",
            f"trial.yaml:19:1: others: found 'others', which is not known here; allowed: {TOP}; "
            "remove it",
        ],
    ),
    "too few entries": (
        ("[10 ft, 6 ft]", "[10 ft]"),
        ["trial.yaml:44:14: layout.plot_size: found 1 entry; allowed: at least 2"],
    ),
    "too many entries": (
        ("[10 ft, 6 ft]", "[10 ft, 6 ft, 4 ft]"),
        ["trial.yaml:44:14: layout.plot_size: found 3 entries; allowed: at most 2"],
    ),
    "no entries": (
        ("dates: [2026-03-24, 2026-04-17]", "dates: []"),
        ["trial.yaml:62:12: measures.pull_force.dates: found no entry; allowed: at least 1"],
    ),
    "too small a number": (
        ("blocks: 6", "blocks: 1"),
        [
            "trial.yaml:42:11: layout.blocks: found '1'; allowed: 2 or more; in a single block, "
            "with one plot or whole plot of each, a treatment cannot be told from its place; take "
            "at least 2, better 6, or 'kind: demonstration' if there is ground for one plot of "
            "each only"
        ],
    ),
    "too large a number": (
        ("alpha: 0.05", "alpha: 5"),
        ["trial.yaml:69:10: analysis.alpha: found '5'; allowed: less than 0.5"],
    ),
    "no ordinary number": (
        ("latitude: 43.1", "latitude: .nan"),
        ["trial.yaml:11:13: site.latitude: found 'nan'; allowed: an ordinary number"],
    ),
    "country in words": (
        ("country: US", "country: usa"),
        [
            "trial.yaml:10:12: site.country: found 'usa'; allowed: the two capital letters of a "
            "country (ISO 3166), such as US"
        ],
    ),
    "wrong unit": (
        ("alley: 2 ft", "alley: 2 lbf"),
        [f"trial.yaml:45:10: layout.alley: found '2 lbf'; allowed: {LENGTHS}"],
    ),
    "unit in words": (
        ("alley: 2 ft", "alley: 2 feet"),
        [f"trial.yaml:45:10: layout.alley: found '2 feet'; allowed: {LENGTHS}; did you mean ft?"],
    ),
    "missing unit": (
        ("alley: 2 ft", "alley: 2"),
        [f"trial.yaml:45:10: layout.alley: found '2'; allowed: {LENGTHS}"],
    ),
    "share beyond all": (
        ("light: 80 %", "light: 180 %"),
        [
            "trial.yaml:30:66: treatments.cover.levels.fleece.light: found '180 %'; allowed: "
            "100 or less"
        ],
    ),
    "unknown unit of a measure": (
        ("unit: lbf", "unit: pounds"),
        [
            f"trial.yaml:60:11: measures.pull_force.unit: found 'pounds'; allowed: {UNITS}; did "
            "you mean lbf?"
        ],
    ),
    "impossible date": (
        ("baseline: 2026-01-15", "baseline: 2026-02-30"),
        [
            "trial.yaml:19:13: dates.baseline: found '2026-02-30'; allowed: a date that exists "
            "in the calendar, such as 2026-03-24"
        ],
    ),
    "date in another order": (
        ("baseline: 2026-01-15", "baseline: 1/15/2026"),
        [f"trial.yaml:19:13: dates.baseline: found '1/15/2026'; allowed: {DATE}"],
    ),
    "wrong date within a list": (
        ("2026-03-16, 2026-03-24, 2026-04-04", "16 March, 2026-03-24, 2026-04-04"),
        [f"trial.yaml:24:24: dates.visits.2: found '16 March'; allowed: {DATE}"],
    ),
    "name that is none": (
        ("fleece: {label", "2nd fleece: {label"),
        [
            "trial.yaml:30:7: treatments.cover.levels.2nd fleece: found '2nd fleece'; allowed: "
            f"{NAME}"
        ],
    ),
    "missing control": (
        ("    control: open\n", ""),
        ["trial.yaml:26:3: treatments.cover.control: is missing; add 'control: ...'"],
    ),
    "no source of a measure": (
        ("    from: photos\n", ""),
        ["trial.yaml:49:3: measures.green_cover.from: is missing; add 'from: ...'"],
    ),
    "unknown source of a measure": (
        ("from: photos", "from: photo"),
        [
            "trial.yaml:50:11: measures.green_cover.from: found 'photo'; allowed: photos, "
            "sheet, logger; did you mean photos?"
        ],
    ),
    "field of another kind of measure": (
        ("from: photos", "from: photos\n    unit: '%'"),
        [
            "trial.yaml:51:5: measures.green_cover.unit: found 'unit', which is not known here; "
            "allowed: from, label, score, per_plot, dates, window, quadrat; remove it"
        ],
    ),
    "neither scale nor unit": (
        ("    unit: lbf\n", ""),
        [
            "trial.yaml:59:5: measures.pull_force: found neither a scale nor a unit; allowed: "
            "either a scale, such as 1-9, or a unit, such as lbf"
        ],
    ),
    "scale and unit": (
        ("unit: lbf", "unit: lbf\n    scale: 1-9"),
        [
            "trial.yaml:60:11: measures.pull_force.unit: found a unit beside a scale; allowed: "
            "either a scale, such as 1-9, or a unit, such as lbf; remove one of the two"
        ],
    ),
    "scale upside down": (
        ("scale: 1-9", "scale: 9-1"),
        [
            "trial.yaml:55:12: measures.colour_rating.scale: found '9-1'; allowed: lowest and "
            "highest value, such as 1-9"
        ],
    ),
    "acceptable mark off the scale": (
        ("scale: 1-9", "scale: 1-9\n    acceptable: 10"),
        [
            "trial.yaml:56:17: measures.colour_rating.acceptable: found '10'; allowed: a value "
            "of the scale"
        ],
    ),
    "acceptable mark without scale": (
        ("unit: lbf", "unit: lbf\n    acceptable: 40"),
        [
            "trial.yaml:61:17: measures.pull_force.acceptable: found '40'; allowed: only beside "
            "a scale"
        ],
    ),
    "window in words": (
        ("from: photos", "from: photos\n    window: defalt"),
        [
            "trial.yaml:51:13: measures.green_cover.window: found 'defalt'; allowed: default, "
            "richardson 2001, or limits such as {hue: [50, 170]}"
        ],
    ),
    "window upside down": (
        ("from: photos", "from: photos\n    window: {hue: [170, 50]}"),
        [
            "trial.yaml:51:19: measures.green_cover.window.hue: found a list; allowed: two "
            "limits, the lower first, from 0 to 360"
        ],
    ),
    "hollow tine without bore": (
        (" inside: 0.6 in,", ""),
        [
            "trial.yaml:37:49: treatments.aeration.levels.hollow.tine.inside: found nothing; "
            "allowed: for a hollow tine, a diameter smaller than the outside one; add 'inside: "
            "...'"
        ],
    ),
    "bore as wide as the tine": (
        ("inside: 0.6 in", "inside: 0.75 in"),
        [
            "trial.yaml:37:90: treatments.aeration.levels.hollow.tine.inside: found a diameter "
            "as large as the outside one or larger; allowed: for a hollow tine, a diameter "
            "smaller than the outside one"
        ],
    ),
    "solid tine with bore": (
        ("outside: 0.375 in", "outside: 0.375 in, inside: 0.2 in"),
        [
            "trial.yaml:36:88: treatments.aeration.levels.solid.tine.inside: found an inside "
            "diameter; allowed: none for a solid tine; remove the line"
        ],
    ),
    "edge as wide as the plot": (
        ("edge_left_out: 1 ft", "edge_left_out: 3 ft"),
        [
            "trial.yaml:46:18: layout.edge_left_out: found an edge that leaves nothing to "
            "sample; allowed: less than half the shorter side of a plot; make the plots larger "
            "or the edge smaller"
        ],
    ),
    "difference in unknown unit": (
        ("matters_from: 8 points", "matters_from: 8 pints"),
        [
            "trial.yaml:68:19: analysis.primary.matters_from: found '8 pints'; allowed: a "
            "number and the unit of the measure, such as 8 points or 5 lbf; did you mean points?"
        ],
    ),
    "very long value": (
        ("units: us", "units: " + "x" * 200),
        [f"trial.yaml:3:8: units: found '{'x' * 57}...'; allowed: us, metric"],
    ),
}


@pytest.mark.parametrize("name", FIELDS)
def test_a_wrong_field_is_told(change: Change, name: str) -> None:
    changed, said = FIELDS[name]
    assert change(changed) == said
