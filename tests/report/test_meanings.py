from __future__ import annotations

import math
from collections.abc import Callable

import pandas as pd
import pytest

from wintersward.report.meanings import (
    exclusions_answer,
    exclusions_effect,
    margin_words,
    meaning,
)
from wintersward.report.verdicts import Verdict, verdict
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
    assert words in meaning(primary_row(lower, upper, difference=estimate), definition)[0]


def test_every_verdict_has_a_case() -> None:
    assert {case[2] for case in CASES} == set(Verdict)


def test_the_side_with_more_is_named(primary_row: Make, definition: Definition) -> None:
    assert "more green cover with spun-bond fleece" in meaning(primary_row(9, 15), definition)[0]
    assert "more green cover with no cover" in meaning(primary_row(-15, -9), definition)[0]


def test_a_declared_family_means_something_for_each(
    declared_tables: dict[str, pd.DataFrame], declared: Definition
) -> None:
    said = meaning(declared_tables["primary"], declared)
    assert [words.split(":")[0] for words in said] == [
        "Spun-bond fleece against no cover",
        "Woven permeable cover against no cover",
    ]


def test_without_an_estimate_nothing_is_meant(
    early: dict[str, pd.DataFrame], unanswered: dict[str, pd.DataFrame], definition: Definition
) -> None:
    assert meaning(early["primary"], definition) == []
    assert meaning(unanswered["primary"], definition) == []


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


def test_exclusions_where_an_answer_is_missing(
    tables: dict[str, pd.DataFrame], unanswered: dict[str, pd.DataFrame], definition: Definition
) -> None:
    said = str(exclusions_answer(unanswered["primary"], definition))
    assert "no answer could be estimated" in said
    half = tables["primary"].copy()
    half.loc[0, "difference"] = math.nan
    assert str(exclusions_answer(half, definition)).endswith("none could be estimated.")


MARGINS = {
    "beyond": "Different, and by more than 8 points: on 24 March 2026 there was more green cover "
    "with spun-bond fleece than with no cover, and the whole interval of the answer lies beyond",
    "inside": "Different, but by less than 8 points",
    "size open": "Different, but the size is not settled",
    "equivalent": "Alike to within 8 points",
    "cannot tell": "These data cannot tell which of spun-bond fleece and no cover had more green",
}


@pytest.mark.parametrize("code", MARGINS)
def test_every_verdict_is_one_plain_sentence(
    tables: dict[str, pd.DataFrame], definition: Definition, code: str
) -> None:
    rows = tables["equivalence"].assign(verdict=code)
    (said,) = margin_words(rows, definition)
    assert str(said).startswith(MARGINS[code])
    assert str(said).endswith(".")
    # The narrower interval is named only where the verdict rests on it.
    assert ("90 % interval +9 to +16 points" in str(said)) == (
        code in ("inside", "equivalent", "cannot tell")
    )


def test_the_side_ahead_is_named_first(
    tables: dict[str, pd.DataFrame], definition: Definition
) -> None:
    rows = tables["equivalence"].assign(difference=-12.6, lower=-16.2, upper=-9.0)
    said = str(margin_words(rows.assign(verdict="beyond"), definition)[0])
    assert "more green cover with no cover than with spun-bond fleece" in said


def test_what_was_set_aside_is_told_in_few_words(
    tables: dict[str, pd.DataFrame], definition: Definition
) -> None:
    back = tables["primary"].copy()
    back.loc[1, ["difference", "lower", "upper"]] = [13.0, 8.4, 17.6]
    said = str(exclusions_effect(back, definition))
    assert said == "+13 points (+8 to +18) instead of +13 (+9 to +18)"
    # Both keep the digits that the end nearer to what matters asks for: 8 points here.
    back.loc[1, ["difference", "lower", "upper"]] = [13.0, 7.93, 18.1]
    said = str(exclusions_effect(back, definition))
    assert said.startswith("+13.0 points (+7.9 to +18.1) instead of +13.")
    back.loc[1, ["difference", "lower", "upper"]] = back.loc[0, ["difference", "lower", "upper"]]
    assert str(exclusions_effect(back, definition)) == ""
    assert str(exclusions_effect(back.iloc[:1], definition)) == ""
