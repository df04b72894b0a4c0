"""What is planned of an aeration: how it is written, and what a person reads where it is wrong."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.trial import read_definition
from wintersward.trial.aerating import Aerating
from wintersward.units import to_si

Change = Callable[..., list[str]]

STARTER = Path(__file__).resolve().parents[2] / "templates" / "starter" / "trial.yaml"
TINE = "{kind: hollow, outside: 0.5 in, inside: 0.375 in, spacing: [2 in, 2 in], depth: 3 in}"
OPTION = f"    options:\n      half: {{label: Half inch, tine: {TINE}}}"


def aeration(*lines: str) -> tuple[str, str]:
    text = "".join(f"{line}\n" for line in lines)
    return "  alpha: 0.05\n", f"  alpha: 0.05\ndecisions:\n  aeration:\n{text}"


def made(folder: Path) -> Aerating:
    definition, problems = read_definition(folder)
    assert definition is not None, problems
    assert definition.decisions is not None
    assert definition.decisions.aeration is not None
    return definition.decisions.aeration


def test_everything_that_may_be_planned(change: Change, tmp_path: Path) -> None:
    lines = [
        "    on: 2026-04-01",
        "    event: first_event",
        "    topdressing: 0.125 in",
        "    area_each_year: 15 %",
        "    sand_each_year: 6 mm",
        "    recovery: {diameter: 0.5 in, days: [14, 21], source: last spring}",
        "    options:",
        f"      half: {{label: Half inch, tine: {TINE}, passes: 2}}",
    ]
    assert change(aeration(*lines)) == []
    planned = made(tmp_path)
    assert (str(planned.on), planned.event) == ("2026-04-01", "first_event")
    assert planned.topdressing == pytest.approx(0.003175)
    assert (planned.area_each_year, planned.sand_each_year) == (15.0, 0.006)
    assert planned.recovery is not None
    assert (planned.recovery.days, planned.recovery.diameter) == ([14.0, 21.0], to_si(0.5, "in"))
    assert planned.options["half"].passes == 2
    assert planned.options["half"].tine.depth == pytest.approx(0.0762)


def test_little_is_enough(change: Change, tmp_path: Path) -> None:
    assert change(aeration(OPTION)) == []
    planned = made(tmp_path)
    assert (planned.on, planned.event, planned.recovery) == ("aeration", "first_event", None)
    assert planned.options["half"].passes == 1


def test_the_block_of_the_starter_is_sound_once_taken_up(change: Change, tmp_path: Path) -> None:
    text = STARTER.read_text(encoding="utf-8")
    block = re.search(r"^#   aeration:\n((?:#     .*\n)+)", text, re.M)
    assert block is not None
    lines = [line[2:] for line in block[1].splitlines()]
    assert change(aeration(*lines)) == []
    planned = made(tmp_path)
    assert list(Aerating.model_fields) == [
        name for name in Aerating.model_fields if name in planned.model_fields_set
    ]


FAULTS: dict[str, tuple[list[str], str]] = {
    "a name that is a treatment": (
        [OPTION.replace("half:", "hollow:")],
        "trial.yaml:73:15: decisions.aeration.options.hollow: found 'hollow'; allowed: a name that "
        "is not a treatment of aeration as well; a treatment with a tine is among the options "
        "already; choose another name",
    ),
    "a label that is a treatment's": (
        [OPTION.replace("Half inch", "Hollow tine 3/4 in")],
        "trial.yaml:73:21: decisions.aeration.options.half.label: found 'Hollow tine 3/4 in'; "
        "allowed: another label than that of treatment hollow; nobody could tell the two apart",
    ),
    "a label twice": (
        [OPTION, OPTION.splitlines()[1].replace("half:", "other:")],
        "trial.yaml:74:22: decisions.aeration.options.other.label: found 'Half inch'; allowed: "
        "another label than that of option half; nobody could tell the two apart",
    ),
    "holes that overlap": (
        [OPTION.replace("[2 in, 2 in]", "[2 in, 0.4 in]")],
        "trial.yaml:73:97: decisions.aeration.options.half.tine.spacing: found a spacing smaller "
        "than the outside diameter, so that holes overlap; allowed: the outside diameter or more; "
        "measure from the middle of one hole to the middle of the next",
    ),
    "a hollow tine without a bore": (
        [OPTION.replace("inside: 0.375 in, ", "")],
        "trial.yaml:73:38: decisions.aeration.options.half.tine.inside: found nothing; allowed: "
        "for a hollow tine, a diameter smaller than the outside one; add 'inside: ...'",
    ),
    "a day that nothing names": (
        ["    on: airation", OPTION],
        "trial.yaml:72:9: decisions.aeration.on: found 'airation'; allowed: a name from 'dates' "
        "(baseline, covers_on, covers_off, aeration, first_event, visits) or a date; did you mean "
        "aeration?",
    ),
    "several days": (
        ["    on: visits", OPTION],
        "trial.yaml:72:9: decisions.aeration.on: found 'visits', which is 5 dates; allowed: one "
        "date",
    ),
    "an event before the aeration": (
        ["    event: baseline", OPTION],
        "trial.yaml:72:12: decisions.aeration.event: found 'baseline' (2026-01-15); allowed: a "
        "date after the aeration (2026-03-25); the days between the two are those that the holes "
        "have to close",
    ),
    "an event on the day of the aeration": (
        ["    event: aeration", OPTION],
        "trial.yaml:72:12: decisions.aeration.event: found 'aeration' (2026-03-25); allowed: a "
        "date after the aeration (2026-03-25); the days between the two are those that the holes "
        "have to close",
    ),
    "an aeration under covers": (
        ["    on: 2026-02-10", OPTION],
        "trial.yaml:72:9: decisions.aeration.on: found '2026-02-10'; allowed: a day "
        "on which no covers lie (they lie from 2026-01-19 to 2026-03-09); nothing can be aerated "
        "under covers; look at both dates",
    ),
    "no passes": (
        [OPTION.replace("}}", "}, passes: 0}")],
        "decisions.aeration.options.half.passes: found '0'; allowed: 1 or more",
    ),
    "days in the wrong order": (
        ["    recovery: {diameter: 0.5 in, days: [21, 14], source: last spring}"],
        "trial.yaml:72:40: decisions.aeration.recovery.days: found 21 to 14; allowed: the fewest "
        "and the most days, above 0, such as [10, 14]",
    ),
    "days without a source": (
        ["    recovery: {diameter: 0.5 in, days: [14, 21]}"],
        "decisions.aeration.recovery.source",
    ),
    "all of the ground in a year": (
        ["    area_each_year: 100 %"],
        "decisions.aeration.area_each_year: found '100 %'",
    ),
    "a field that is not there": (
        ["    tops: 0.125 in"],
        "decisions.aeration.tops",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_what_is_wrong_is_told_in_one_line(change: Change, name: str) -> None:
    lines, wanted = FAULTS[name]
    said = change(aeration(*lines))
    assert len(said) == 1, said
    assert wanted in said[0]
    assert "\n" not in said[0]


def test_days_that_are_left_out_must_be_named(change: Change) -> None:
    gone = ("  first_event: 2026-04-18\n", "  match: 2026-04-18\n")
    said = change(gone, aeration(OPTION))
    assert said == [
        "trial.yaml:72:5: decisions.aeration.event: found no 'event', and no date called "
        "'first_event'; allowed: a name from 'dates' (baseline, covers_on, covers_off, aeration, "
        "match, visits) or a date; add 'event: ...' with the day on which the field is first used "
        "again"
    ]
    assert change(gone, aeration("    event: match", OPTION)) == []


def test_all_faults_are_told_together(change: Change) -> None:
    lines = ["    on: nowhere", OPTION.replace("half:", "solid:").replace("2 in, 2", "2 in, 0.2")]
    said = change(aeration(*lines))
    assert [line.split(": ")[1] for line in said] == [
        "decisions.aeration.on",
        "decisions.aeration.options.solid",
        "decisions.aeration.options.solid.tine.spacing",
    ]
