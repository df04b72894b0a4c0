from __future__ import annotations

import math
from collections.abc import Callable

import pandas as pd
import pytest

from wintersward.report.verdicts import Verdict, verdict
from wintersward.report.words import (
    answer,
    basis,
    estimated,
    exclusions_answer,
    matters_text,
    meaning,
    question_text,
    waiting,
)
from wintersward.trial import Definition

Make = Callable[..., pd.DataFrame]

CASES = [
    (9.0, 15.0, Verdict.LARGE, "by enough to act on"),
    (-15.0, -9.0, Verdict.LARGE, "by enough to act on"),
    (4.0, 18.0, Verdict.MAYBE_LARGE, "they cannot tell"),
    (-18.0, -4.0, Verdict.MAYBE_LARGE, "they cannot tell"),
    (1.0, 5.0, Verdict.SMALL, "but by less than 8 points"),
    (-5.0, -1.0, Verdict.SMALL, "but by less than 8 points"),
    (-3.0, 5.0, Verdict.NEGLIGIBLE, "smaller than what matters"),
    (-3.0, 11.0, Verdict.CANNOT_TELL, "cannot tell whether the treatments differed"),
    (-11.0, 3.0, Verdict.CANNOT_TELL, "cannot tell whether the treatments differed"),
    (-20.0, 9.0, Verdict.CANNOT_TELL_AT_ALL, "cannot tell which treatment had more"),
    (math.nan, math.nan, Verdict.NO_INTERVAL, "No interval could be estimated"),
]


@pytest.mark.parametrize(("lower", "upper", "expected", "words"), CASES)
def test_every_verdict_is_said(
    lower: float,
    upper: float,
    expected: Verdict,
    words: str,
    primary_row: Make,
    definition: Definition,
) -> None:
    assert verdict(lower, upper, 8.0) is expected
    estimate = 11.0 if math.isnan(lower) else (lower + upper) / 2
    assert words in meaning(primary_row(lower, upper, difference=estimate), definition)


def test_every_verdict_has_a_case() -> None:
    assert {case[2] for case in CASES} == set(Verdict)


@pytest.mark.parametrize(
    ("lower", "upper", "said"),
    [
        (
            4.0,
            18.0,
            "We estimate that on 24 March 2026 plots with spun-bond fleece had 11 points more "
            "green cover than plots with no cover (95 % interval 4 to 18 points).",
        ),
        (
            -18.0,
            -4.0,
            "We estimate that on 24 March 2026 plots with spun-bond fleece had 11 points less "
            "green cover than plots with no cover (95 % interval 4 to 18 points less).",
        ),
        (
            -3.0,
            11.0,
            "We estimate that on 24 March 2026 plots with spun-bond fleece had 4 points more "
            "green cover than plots with no cover (95 % "
            "interval from 3 points less to 11 points more).",
        ),
        (
            -0.4,
            0.6,
            "We estimate that on 24 March 2026 plots with spun-bond fleece had 0.1 points more "
            "green cover than plots with no cover (95 % "
            "interval from 0.4 points less to 0.6 points more).",
        ),
    ],
)
def test_the_answer_is_one_sentence(
    lower: float, upper: float, said: str, primary_row: Make, definition: Definition
) -> None:
    assert str(answer(primary_row(lower, upper), definition)) == said


def test_the_side_with_more_is_named(primary_row: Make, definition: Definition) -> None:
    assert "more green cover with spun-bond fleece" in meaning(primary_row(9, 15), definition)
    assert "more green cover with no cover" in meaning(primary_row(-15, -9), definition)


def test_numbers_of_the_answer_come_from_the_table(
    tables: dict[str, pd.DataFrame], definition: Definition
) -> None:
    html = str(answer(tables["primary"], definition).__html__())
    row = tables["primary"].iloc[0]
    for column in ("difference", "lower", "upper"):
        assert f'<data value="{row[column]:.10g}" title="primary.csv:2">' in html


def test_before_the_primary_date_the_answer_waits(
    early: dict[str, pd.DataFrame], definition: Definition
) -> None:
    assert str(answer(early["primary"], definition)) == waiting(definition)
    assert "nothing here compares the treatments" in waiting(definition)
    assert meaning(early["primary"], definition) == ""


def test_a_rating_is_higher_not_more(definition: Definition, primary_row: Make) -> None:
    row = primary_row(0.4, 1.6, 0.25, measure="colour_rating", matters_from=1.0)
    assert "had a colour rating 1.0 higher than" in str(answer(row, definition))


def test_the_answer_is_in_the_readers_unit(definition: Definition, primary_row: Make) -> None:
    row = primary_row(22.241, 66.723, 9.0, measure="pull_force", matters_from=20.0)
    # 44.482 N are 10 lbf: 0.45359237 kg times 9.80665 m/s2, NIST SP 811.
    assert "had 10 lbf more pull force than" in str(answer(row, definition))
    metric = definition.model_copy(update={"units": "metric"})
    assert "had 44 N more pull force than" in str(answer(row, metric))
    assert "interval 22 to 67 N" in str(answer(row, metric))


def test_the_question_names_what_matters(definition: Definition) -> None:
    assert matters_text(definition) == "8 points"
    assert "more or less green cover" in question_text(definition)
    assert "8 points" in question_text(definition)


def test_exclusions_put_back(tables: dict[str, pd.DataFrame], definition: Definition) -> None:
    primary = tables["primary"]
    assert str(exclusions_answer(primary, definition)).endswith("the same conclusion.")
    same = primary.copy()
    same.loc[1, ["difference", "lower", "upper"]] = same.loc[0, ["difference", "lower", "upper"]]
    assert "so the answer is the same" in str(exclusions_answer(same, definition))
    other = primary.copy()
    other.loc[1, ["difference", "lower", "upper"]] = [2.0, -1.0, 5.0]
    assert "another conclusion" in str(exclusions_answer(other, definition))
    assert str(exclusions_answer(primary.iloc[:1], definition)) == ""


def test_what_could_not_be_estimated_says_why(
    tables: dict[str, pd.DataFrame], unanswered: dict[str, pd.DataFrame], definition: Definition
) -> None:
    primary, notes = unanswered["primary"], unanswered["notes"]
    assert not estimated(primary)
    assert str(answer(primary, definition, notes=notes)) == (
        "The primary question for 24 March 2026 could not be estimated because no block holds "
        "both treatments."
    )
    assert "could not be estimated" in str(answer(primary, definition))
    assert meaning(primary, definition) == str(basis(primary, definition)) == ""
    assert "no answer could be estimated" in str(exclusions_answer(primary, definition))
    half = tables["primary"].copy()
    half.loc[0, "difference"] = math.nan
    assert str(exclusions_answer(half, definition)).endswith("none could be estimated.")


def test_what_the_answer_rests_on(primary_row: Make, definition: Definition) -> None:
    said = str(basis(primary_row(9, 15), definition))
    assert said == (
        "From 6 of 6 blocks. Intervals made in this way hold the true difference in 95 of 100 "
        "such trials. Points are percentage points."
    )
    short = str(basis(primary_row(9, 15, units_right=5), definition))
    assert short.startswith("From 6 of 6 blocks with spun-bond fleece and 5 of 6 with no cover.")
    rating = str(basis(primary_row(0.4, 1.6, measure="colour_rating"), definition))
    assert "percentage" not in rating
    tines = primary_row(1, 5, left="hollow", right="solid", units_left=18, units_right=17)
    tines = tines.assign(date=pd.Timestamp("2026-04-04"))
    assert str(basis(tines, definition)).startswith(
        "From 18 of 18 subplots with hollow tine 3/4 in"
    )


def test_an_answer_after_the_second_factor_is_averaged(
    primary_row: Make, definition: Definition
) -> None:
    late = primary_row(4, 18).assign(date=pd.Timestamp("2026-04-04"))
    assert "plots with no cover, averaged over aeration treatments (95 % interval" in str(
        answer(late, definition)
    )


def test_one_point_is_said_as_one(primary_row: Make, definition: Definition) -> None:
    assert "had 1 point more green cover" in str(answer(primary_row(-7, 9), definition))


def test_waiting_tells_how_much_is_there(
    early: dict[str, pd.DataFrame], definition: Definition
) -> None:
    counts = early["counts"].copy()
    here = (counts["measure"] == "green_cover") & (counts["date"] == pd.Timestamp("2026-03-24"))
    counts.loc[here, ["used", "excluded"]] = [29, 1]
    said = waiting(definition, counts)
    assert "So far 30 of 36 planned are there, 1 of them set aside." in said
    assert "declared missing in the diary" in said
