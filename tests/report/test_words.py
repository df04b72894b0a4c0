from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest

from wintersward.report.words import (
    answer,
    basis,
    difference_text,
    estimated,
    matters_text,
    planned_rows,
    question_text,
    waiting,
)
from wintersward.trial import Definition
from wintersward.trial.schema import SheetMeasure

Make = Callable[..., pd.DataFrame]


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
    assert str(basis(primary, definition)) == ""


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


def test_a_declared_family_is_answered_in_one_sentence(
    declared_tables: dict[str, pd.DataFrame], declared: Definition
) -> None:
    primary = declared_tables["primary"]
    rows = planned_rows(primary, declared)
    assert list(primary.loc[rows, "left"]) == ["fleece", "woven"]
    said = str(answer(primary, declared))
    for row, words in zip(rows, ("fleece had", "woven permeable cover"), strict=True):
        found = primary.loc[row]
        ends = f"{found['lower']:.0f} to {found['upper']:.0f} points"
        assert f"{words} {found['difference']:.0f} points more" in said
        assert ends in said
    assert said.count("green cover") == said.count("plots with no cover") == 1
    assert ", and plots with woven permeable cover " in said
    rests = str(basis(primary, declared))
    assert rests.startswith("From 6 of 6 blocks. The two comparisons are one question")
    assert "by Dunnett's method, hold both true differences at once in 95 of 100" in rests
    asked = question_text(declared)
    assert "did plots with spun-bond fleece and plots with woven permeable cover have" in asked
    assert "each compared with the latter" in asked


def test_a_family_without_one_of_its_treatments_says_so(
    declared_tables: dict[str, pd.DataFrame], declared: Definition
) -> None:
    primary = declared_tables["primary"].copy()
    gone = primary["left"] == "fleece"
    primary.loc[gone, ["difference", "lower", "upper", "se", "left_mean"]] = float("nan")
    said = str(answer(primary, declared))
    assert "plots with woven permeable cover had" in said
    assert said.endswith("For plots with spun-bond fleece nothing could be estimated.")


def test_a_temperature_that_matters_is_a_difference(definition: Definition) -> None:
    measure = {"from": "sheet", "unit": "degF", "per_plot": 1, "dates": ["visits"]}
    measures = {**definition.measures, "soil": SheetMeasure.model_validate(measure)}
    changed = definition.model_copy(update={"measures": measures})
    # Ten degrees Celsius of difference are 18 degrees Fahrenheit: a factor of 1.8, NIST SP 811.
    assert difference_text(changed, "soil", 10.0) == "18 °F"
