"""What a person reads when the diary is wrong: whole messages, word by word."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.trial import Definition, Diary, read_diary

Read = Callable[[str], tuple[Diary, list[str]]]
PLOTS = ["101", "102", "103", "104", "105", "106", "1A", "1B"]
SHOWN = "101, 102, 103, 104, 105, 106 ..."
DATES = "2026-01-15, 2026-03-10, 2026-03-16, 2026-03-24, 2026-04-04, 2026-04-17"


@pytest.fixture
def read(tmp_path: Path, definition: Definition) -> Read:
    def read_text(text: str) -> tuple[Diary, list[str]]:
        (tmp_path / "diary.yaml").write_text(text, encoding="utf-8")
        diary, problems = read_diary(tmp_path, definition, PLOTS)
        return diary, [str(problem) for problem in problems]

    return read_text


def test_a_study_without_diary_has_an_empty_one(tmp_path: Path, definition: Definition) -> None:
    assert read_diary(tmp_path, definition, PLOTS) == (Diary(), [])


@pytest.mark.parametrize("text", ["", "# nothing happened yet\n", "covers:\n", "{}", "---\n"])
def test_an_empty_diary_is_sound(read: Read, text: str) -> None:
    assert read(text) == (Diary(), [])


def test_plots_may_be_numbers_words_and_whole_plots(read: Read) -> None:
    diary, said = read("covers:\n  - {on: 2026-01-19, plots: [101, '102', 1B]}\n")
    assert said == []
    assert diary.covers[0].plots == ["101", "102", "1B"]


def test_before_the_plots_are_drawn_their_names_are_not_checked(
    tmp_path: Path, definition: Definition
) -> None:
    (tmp_path / "diary.yaml").write_text("exclusions:\n  - {plot: 999, reason: flooded}\n")
    diary, problems = read_diary(tmp_path, definition)
    assert (problems, diary.exclusions[0].plot) == ([], "999")


CASES = {
    "unknown section": (
        "exclusion: []\n",
        [
            "diary.yaml:1:1: exclusion: found 'exclusion', which is not known here; allowed: "
            "covers, cover_events, management, mishaps, sheets, weather, loggers, forecast, "
            "pins, established_turf, costs, exclusions, missing, deviations; did you mean "
            "exclusions?"
        ],
    ),
    "not a list": (
        "deviations: {date: 2026-03-24, what: w, reason: r}\n",
        [
            "diary.yaml:1:13: deviations: found several fields; allowed: a list; begin each entry "
            "on a line below, with '- ' in front"
        ],
    ),
    "exclusion without reason": (
        "exclusions:\n  - plot: 101\n",
        ["diary.yaml:2:5: exclusions.1.reason: is missing; add 'reason: ...'"],
    ),
    "exclusion with an empty reason": (
        "exclusions:\n  - plot: 101\n    reason: ' '\n",
        ["diary.yaml:3:13: exclusions.1.reason: found ''; allowed: some text"],
    ),
    "the same exclusion twice": (
        "exclusions:\n  - {plot: 101, reason: a hose}\n  - {plot: '101', reason: a dog}\n",
        [
            "diary.yaml:3:5: exclusions.2: found the same as entry 1; "
            "make them one entry, with both reasons"
        ],
    ),
    "exclusion of an unknown plot": (
        "exclusions:\n  - {plot: 1001, reason: r}\n",
        [
            "diary.yaml:2:12: exclusions.1.plot: found '1001'; allowed: a plot of "
            f"plan/plots.csv ({SHOWN})"
        ],
    ),
    "exclusion of an unknown measure": (
        "exclusions:\n  - {plot: 101, measure: pullforce, reason: r}\n",
        [
            "diary.yaml:2:26: exclusions.1.measure: found 'pullforce'; allowed: green_cover, "
            "colour_rating, pull_force; did you mean pull_force?"
        ],
    ),
    "exclusion on a date without observations": (
        "exclusions:\n  - {plot: 101, measure: pull_force, date: 2026-03-10, reason: r}\n",
        [
            "diary.yaml:2:44: exclusions.1.date: found '2026-03-10'; allowed: a date on which "
            "it is observed (2026-03-24, 2026-04-17)"
        ],
    ),
    "exclusion on a date of no measure": (
        "exclusions:\n  - {plot: 101, date: 2026-03-11, reason: r}\n",
        [
            "diary.yaml:2:23: exclusions.1.date: found '2026-03-11'; allowed: a date on which "
            f"it is observed ({DATES})"
        ],
    ),
    "exclusion of an unknown rater": (
        "exclusions:\n  - {plot: 101, rater: tx, reason: r}\n",
        ["diary.yaml:2:24: exclusions.1.rater: found 'tx'; allowed: rx, te"],
    ),
    "exclusion of sample 0": (
        "exclusions:\n  - {plot: 101, sample: 0, reason: r}\n",
        ["diary.yaml:2:25: exclusions.1.sample: found '0'; allowed: 1 or more"],
    ),
    "exclusion of a sample that is not planned": (
        "exclusions:\n  - {plot: 101, measure: pull_force, sample: 7, reason: r}\n",
        [
            "diary.yaml:2:46: exclusions.1.sample: found '7'; allowed: a whole number from 1 to 3; "
            "see per_plot in trial.yaml"
        ],
    ),
    "covers off before they were on": (
        "covers:\n  - {on: 2026-01-19, off: 2026-01-19}\n",
        [
            "diary.yaml:2:27: covers.1.off: found '2026-01-19'; allowed: a date after these "
            "covers went on (2026-01-19); correct one of the two dates"
        ],
    ),
    "covers on some word": (
        "covers:\n  - {on: 2026-01-19, plots: all}\n",
        [
            "diary.yaml:2:29: covers.1.plots: found 'all'; allowed: all covered, or a list of "
            "plots such as [101, 102]"
        ],
    ),
    "covers on unknown plots": (
        "covers:\n  - {on: 2026-01-19, plots: [101, 7Z]}\n",
        [
            "diary.yaml:2:35: covers.1.plots.2: found '7Z'; allowed: a plot of plan/plots.csv "
            f"({SHOWN})"
        ],
    ),
    "sheet column of no measure": (
        "sheets:\n  - file: a.csv\n    columns: {pull_forse: Pull}\n",
        [
            "diary.yaml:3:27: sheets.1.columns.pull_forse: found 'pull_forse'; allowed: date, "
            "plot, rater, sample, repeat, green_cover, colour_rating, pull_force; did you mean "
            "pull_force?"
        ],
    ),
    "date in words": (
        "deviations:\n  - {date: 24 March, what: w, reason: r}\n",
        [
            "diary.yaml:2:12: deviations.1.date: found '24 March'; allowed: a date written "
            "year-month-day, such as 2026-03-24"
        ],
    ),
    "several at once": (
        "covers:\n  - {on: soon}\nexclusions:\n  - {plot: 999}\ndeviations:\n  - x\n",
        [
            "diary.yaml:2:10: covers.1.on: found 'soon'; allowed: a date written "
            "year-month-day, such as 2026-03-24",
            "diary.yaml:4:5: exclusions.1.reason: is missing; add 'reason: ...'",
            "diary.yaml:6:5: deviations.1: found 'x'; allowed: several 'name: value' lines, "
            "indented below",
        ],
    ),
    "syntax": (
        "exclusions:\n  - plot: 101\n\treason: r\n",
        ["diary.yaml:3:1: found a tab; allowed: spaces; indent with two spaces a level"],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_a_wrong_diary_is_told(read: Read, name: str) -> None:
    text, expected = CASES[name]
    diary, said = read(text)
    assert said == expected
    assert diary == Diary()


@pytest.mark.parametrize(
    "field",
    [
        "dates.visits",
        "analysis.primary.matters_from",
        "analysis.logit_offset",
        "people.2.name",
        "measures",
        "plan/plots.csv",
        "plan/plots.csv:101",
    ],
)
def test_a_deviation_may_name_a_line_of_the_definition(read: Read, field: str) -> None:
    entry = f"{{date: 2026-03-20, what: moved, reason: rain, field: '{field}'}}"
    diary, said = read(f"deviations:\n  - {entry}\n")
    assert said == []
    assert diary.deviations[0].field == field


@pytest.mark.parametrize(
    ("field", "hint"),
    [
        ("dates.visit", "did you mean dates.visits?"),
        ("analysis.primary.matter_from", "did you mean analysis.primary.matters_from?"),
        ("zebra", "copy the names from the file, the outermost first"),
        ("analysis.alpha:99", "did you mean analysis.alpha?"),
        ("plan/plots.csv:999", "did you mean plan/plots.csv?"),
    ],
)
def test_a_deviation_that_names_no_line_is_told(read: Read, field: str, hint: str) -> None:
    _, said = read(
        f"deviations:\n  - date: 2026-03-20\n    what: moved\n    reason: rain\n"
        f"    field: {field}\n"
    )
    rule = "a line of trial.yaml as names joined by dots, such as dates.visits"
    assert said == [
        f"diary.yaml:5:12: deviations.1.field: found '{field}'; allowed: {rule}; {hint}"
    ]
