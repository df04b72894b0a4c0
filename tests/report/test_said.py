from __future__ import annotations

import pandas as pd
import pytest

from wintersward.report.said import Said, Sentence, number, raw_text


@pytest.mark.parametrize(
    ("value", "raw"), [(13.2222833789, "13.22228338"), (1e-12, "1e-12"), (6, "6"), (2.0, "2")]
)
def test_raw_numbers_have_the_ten_digits_of_the_files(value: float, raw: str) -> None:
    assert raw_text(value) == raw


def test_a_number_knows_its_line() -> None:
    frame = pd.DataFrame({"mean": [1.0, 2.5, 3.0]}).iloc[[1]]
    said = number("means", frame, 1, "mean", "2.5")
    # Line 1 is the heading, so the second row stands on line 3.
    assert said == Said("2.5", "2.5", "means.csv:3")


def test_sentences_escape_words_and_keep_numbers() -> None:
    inner = Sentence("{n} points", {"n": Said("11", "11.04", "primary.csv:2")})
    said = Sentence("{what} by {n}", {"what": "<b>more</b>", "n": inner})
    assert str(said) == "<b>more</b> by 11 points"
    assert str(said.__html__()) == (
        '&lt;b&gt;more&lt;/b&gt; by <data value="11.04" title="primary.csv:2">11</data> points'
    )
