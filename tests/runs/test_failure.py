from __future__ import annotations

import pytest

from wintersward.runs.failure import Failure, StageFailed, exception_line


def test_the_text_names_place_reason_and_what_to_do() -> None:
    text = Failure("30-statistics", "fault", "KeyError: 'x'", 4, 9, "\n  a = b\nc").text()
    assert text.startswith(
        "stopped in: stage 30-statistics, cell 4 of 9 (a = b)\nreason:     KeyError: 'x'\n"
        "what to do: this is a fault in the notebook or in wintersward"
    )
    assert "may be\nkept or deleted" in text


def test_several_lines_of_reason_stand_below_one_another() -> None:
    text = Failure("", "study", "a.csv: one\nb.csv: two").text()
    assert "stopped in: the run\nreason:     a.csv: one\n            b.csv: two\n" in text


def test_problems_of_the_study_are_told_one_by_one() -> None:
    failure = Failure("10-photos", "study", "a.csv: one\nb.csv: two", 2, 3, "x")
    error = StageFailed(failure, "runs/.unfinished-001")
    assert error.problems[:2] == ["a.csv: one", "b.csv: two"]
    assert str(error.problems[2]).endswith("run again; see runs/.unfinished-001/failure.txt")


def test_anything_else_is_told_with_its_place() -> None:
    error = StageFailed(Failure("10-photos", "time", "too long", 2, 3, "x"), "runs/.unfinished-001")
    assert error.problems[0] == "stage 10-photos, cell 2 of 3 (x): too long"


@pytest.mark.parametrize(
    ("message", "said"),
    [
        ("", "KeyError"),
        ("'x'", "KeyError: 'x'"),
        ("one\n\ntwo\n", "KeyError: two"),
        ("\x1b[31mred\x1b[0m", "KeyError: red"),
    ],
)
def test_exception_line(message: str, said: str) -> None:
    assert exception_line("KeyError", message) == said
