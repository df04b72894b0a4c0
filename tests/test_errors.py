"""Problems are told in one line, all together and in order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from wintersward.errors import Problem, WinterswardError, closest, listed


@pytest.mark.parametrize(
    ("problem", "said"),
    [
        (
            Problem("trial.yaml", 3, 8, "units", "'imperial'", "us or metric", "write us"),
            "trial.yaml:3:8: units: found 'imperial'; allowed: us or metric; write us",
        ),
        (Problem("trial.yaml", 1, 1, found="an empty file"), "trial.yaml:1:1: found an empty file"),
        (
            Problem("trial.yaml", 3, 1, "units", hint="is missing"),
            "trial.yaml:3:1: units: is missing",
        ),
        (
            Problem("diary.yaml", field="sheets.1.file", found="'x'"),
            "diary.yaml: sheets.1.file: found 'x'",
        ),
        (
            Problem("sheets/a.csv", row=5, field="plot", found="'x'"),
            "sheets/a.csv, row 5, column plot: found 'x'",
        ),
        (Problem("sheets/a.csv", row=5, hint="check it"), "sheets/a.csv, row 5: check it"),
        (Problem("trial.yaml", hint="there is no such file"), "trial.yaml: there is no such file"),
    ],
)
def test_a_problem_is_one_line(problem: Problem, said: str) -> None:
    assert str(problem) == said


def test_an_error_tells_every_problem_sorted_by_place_and_then_what_has_none() -> None:
    late, early = Problem("trial.yaml", 10, 1, "b"), Problem("trial.yaml", 9, 5, "a")
    other = Problem("diary.yaml", 99, 1, "c")
    error = WinterswardError([late, "no plan yet", early, other])
    assert error.problems == [other, early, late, "no plan yet"]
    assert str(error).splitlines() == [str(other), str(early), str(late), "no plan yet"]


def test_rows_of_one_file_are_sorted_as_numbers() -> None:
    # Whatever is wrong in them, and in whatever column.
    rows = [Problem("sheets/a.csv", row=row, field=f"{200 - row}") for row in (10, 9, 100)]
    rows = [replace(rows[0], found="b"), replace(rows[1], found="c"), replace(rows[2], found="a")]
    assert [p.row for p in WinterswardError(rows).problems if isinstance(p, Problem)] == [
        9,
        10,
        100,
    ]


def test_one_row_is_told_from_the_first_column_on() -> None:
    column, row = Problem("a.csv", row=2, field="b"), Problem("a.csv", row=2, field="a", found="z")
    assert sorted([column, row]) == [row, column]


@pytest.mark.parametrize("problems", ["no plan yet", ["no plan yet"]])
def test_an_error_may_be_plain_words(problems: str | list[Problem | str]) -> None:
    error = WinterswardError(problems)
    assert (str(error), error.problems) == ("no plan yet", ["no plan yet"])


def test_one_problem_needs_no_list() -> None:
    problem = Problem("trial.yaml", 1, 1)
    assert WinterswardError(problem).problems == [problem]


@pytest.mark.parametrize(
    ("word", "known", "said"),
    [
        ("fleec", ["open", "fleece"], "did you mean fleece?"),
        ("zebra", ["open", "fleece"], ""),
        ("x", [], ""),
    ],
)
def test_only_a_near_word_is_suggested(word: str, known: list[str], said: str) -> None:
    assert closest(word, known) == said


def test_words_are_listed_for_a_sentence() -> None:
    assert listed([1, "b"]) == "1, b"
    assert listed([]) == ""
