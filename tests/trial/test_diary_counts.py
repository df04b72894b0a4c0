"""Counted pins and readings of established turf: sound ones are read, others told in one line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from wintersward.trial import Definition
from wintersward.trial.diary import Diary
from wintersward.trial.diary_checks import diary_problems
from wintersward.trial.reading import read_yaml
from wintersward.trial.validation import validated

PLOTS = ["101", "102", "1A", "1B"]
Tell = Callable[[str], tuple[dict[str, Any], list[str]]]


@pytest.fixture
def tell(tmp_path: Path, definition: Definition) -> Tell:
    def read(text: str) -> tuple[dict[str, Any], list[str]]:
        (tmp_path / "diary.yaml").write_text(text, encoding="utf-8")
        source = read_yaml(tmp_path / "diary.yaml", "diary.yaml", may_be_empty=True)
        parts, problems = validated(source, Diary)
        problems = [*source.problems, *problems, *diary_problems(source, parts, definition, PLOTS)]
        return parts, [str(problem) for problem in sorted(set(problems))]

    return read


SOUND = """\
pins:
  - {date: 2026-01-19, what: steel pins, out: 144, note: 24 to a cover}
  - {date: 2026-02-12, what: Steel  pins, out: 4, back: 1, plots: [1B]}
  - {date: 2026-03-09, what: steel pins, back: 147}
  - {date: 2026-03-09, what: wooden pegs, back: 2}
established_turf:
  - {measure: pull_force, date: 2026-04-17, where: old field, values: [52 lbf, 230 N, 55 lbf]}
  - {measure: colour_rating, date: 2026-04-17, where: old field, values: [7, 6.5]}
"""


def test_sound_entries_are_read_in_si(tell: Tell) -> None:
    parts, said = tell(SOUND)
    assert said == []
    assert [one.out for one in parts["pins"]] == [144, 4, None, None]
    assert (parts["pins"][0].plots, parts["pins"][1].plots) == ("all covered", ["1B"])
    # 52 lbf x 4.4482216152605 N (the pound-force, exact by definition).
    values = [value.value for value in parts["established_turf"][0].values]
    assert values == pytest.approx([231.3075, 230.0, 244.6522], abs=1e-4)


PIN = "pins:\n  - {date: 2026-01-19, what: steel pins, out: 144}\n"
TURF = "established_turf:\n  - {measure: pull_force, date: 2026-04-17, where: old field, values: "
CASES: dict[str, tuple[str, list[str]]] = {
    "no count at all": (
        "pins:\n  - {date: 2026-01-19, what: steel pins}\n",
        [
            "diary.yaml:2:5: pins.1: found no count; allowed: 'out' for those put into the turf, "
            "'back' for those taken out of it, or both"
        ],
    ),
    "less than none": (
        "pins:\n  - {date: 2026-01-19, what: steel pins, out: -3}\n",
        ["diary.yaml:2:47: pins.1.out: found '-3'; allowed: 0 or more"],
    ),
    "half a pin": (
        "pins:\n  - {date: 2026-01-19, what: steel pins, out: 2.5}\n",
        ["diary.yaml:2:47: pins.1.out: found '2.5'; allowed: a whole number"],
    ),
    "a plot that is not there": (
        "pins:\n  - {date: 2026-01-19, what: steel pins, out: 9, plots: [1A, 7Z]}\n",
        [
            "diary.yaml:2:62: pins.1.plots.2: found '7Z'; allowed: a plot of plan/plots.csv (101, "
            "102, 1A, 1B)"
        ],
    ),
    "out of the turf before they were in it": (
        f"{PIN}  - {{date: 2026-01-09, what: steel pins, back: 144}}\n",
        [
            "diary.yaml:3:12: pins.2.date: found '2026-01-09'; allowed: a day on which they were "
            "in the turf, from 2026-01-19 on; correct one of the two dates"
        ],
    ),
    "one kind under two names": (
        f"{PIN}  - {{date: 2026-03-09, what: steel pin, back: 144}}\n",
        [
            "diary.yaml:3:30: pins.2.what: found 'steel pin'; allowed: the name of a kind "
            "that was counted into the turf (steel pins), or one less alike; did you mean steel "
            "pins?"
        ],
    ),
    "another year": (
        "pins:\n  - {date: 2025-01-19, what: steel pins, out: 9}\n",
        [
            "diary.yaml:2:12: pins.1.date: found '2025-01-19'; allowed: a day of the season, from "
            "2025-07-16 to 2026-10-18; look at the year"
        ],
    ),
    "one count twice": (
        PIN + PIN.partition("\n")[2],
        ["diary.yaml:3:5: pins.2: found the same as entry 1; make them one entry, with both notes"],
    ),
    "a measure that is not there": (
        TURF.replace("pull_force", "pull_forse") + "[52 lbf, 49 lbf]}\n",
        [
            "diary.yaml:2:15: established_turf.1.measure: found 'pull_forse'; allowed: "
            "green_cover, colour_rating, pull_force; did you mean pull_force?"
        ],
    ),
    "one reading": (
        f"{TURF}[52 lbf]}}\n",
        ["diary.yaml:2:71: established_turf.1.values: found 1 entry; allowed: at least 2"],
    ),
    "another unit": (
        f"{TURF}[52 lbf, 80 %]}}\n",
        [
            "diary.yaml:2:80: established_turf.1.values.2: found a unit of points; allowed: a "
            "number and a unit of force, such as '45 lbf'; that is how pull_force is measured"
        ],
    ),
    "no unit": (
        f"{TURF}[52 lbf, 49]}}\n",
        [
            "diary.yaml:2:80: established_turf.1.values.2: found no unit; allowed: a number and a "
            "unit of force, such as '45 lbf'; that is how pull_force is measured"
        ],
    ),
    "a force below nothing": (
        f"{TURF}[52 lbf, -4 lbf]}}\n",
        [
            "diary.yaml:2:80: established_turf.1.values.2: found '-17.79 N'; allowed: 0 N or more; "
            "that is how pull_force is read"
        ],
    ),
    "a mark beyond the scale": (
        TURF.replace("pull_force", "colour_rating") + "[7, 12]}\n",
        [
            "diary.yaml:2:78: established_turf.1.values.2: found '12'; allowed: a value from 1 to "
            "9; that is how colour_rating is read"
        ],
    ),
    "established turf of another year": (
        TURF.replace("2026", "2024") + "[52 lbf, 49 lbf]}\n",
        [
            "diary.yaml:2:33: established_turf.1.date: found '2024-04-17'; allowed: a day of the "
            "season, from 2025-07-16 to 2026-10-18; look at the year"
        ],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_every_fault_is_one_clear_line(tell: Tell, name: str) -> None:
    text, wanted = CASES[name]
    assert tell(text)[1] == wanted
