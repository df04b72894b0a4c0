from __future__ import annotations

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.report.certainty import (
    caught_up_words,
    large_text,
    margin_words,
    randomisation_words,
    sensitivity_table,
    sensitivity_words,
    slopes_table,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [
        [" ".join(c.get_text().split()) for c in line.find_all(["th", "td"])]
        for line in soup.select("tbody tr")
    ]


def test_the_randomisation_test_says_all_it_rests_on(
    tables: Tables, definition: Definition
) -> None:
    (said,) = randomisation_words(tables["randomisation"], definition)
    assert str(said) == (
        "Randomisation test. What is supposed: no whole plot would differ with 'Spun-bond fleece' "
        "in place of 'No cover'; these labels are exchanged within each block. All 64 arrangements "
        "that the layout allows were looked at: p = 0.031, where the smallest p that the layout "
        "can give is 0.031."
    )
    html = str(said.__html__())
    assert '<data value="0.03125" title="randomisation.csv:2">0.031</data>' in html


def test_drawn_arrangements_name_their_seed(tables: Tables, definition: Definition) -> None:
    many = tables["randomisation"].assign(
        exact="no", arrangements=6.1e14, draws=9999, p=0.0001, smallest_p=2e-7
    )
    said = str(randomisation_words(many, definition)[0])
    assert "Of about 6.1 × 10¹⁴ arrangements" in said
    assert "9,999 were drawn with the seed 20260119" in said
    assert "p < 0.001" in said
    assert "less than 0.000001" in said


def test_too_few_arrangements_are_told(tables: Tables, definition: Definition) -> None:
    few = tables["randomisation"].assign(smallest_p=0.25, p=0.25, arrangements=8.0, draws=8)
    assert "can never fall below 0.05" in str(randomisation_words(few, definition)[0])
    assert randomisation_words(few.iloc[:0], definition) == []


def test_large_counts_are_readable() -> None:
    assert large_text(46656.0) == "46,656"
    assert large_text(2.5e20) == "about 2.5 × 10²⁰"


def test_a_family_is_tested_at_once(tables: Tables, declared: Definition) -> None:
    both = pd.concat(
        [tables["randomisation"].assign(left="woven", p=0.04), tables["randomisation"]],
        ignore_index=True,
    )
    (said,) = randomisation_words(both, declared)
    assert str(said).count("What is supposed") == 1
    assert (
        "p = 0.031 for spun-bond fleece minus no cover and p = 0.040 for woven permeable cover "
        "minus no cover, where"
    ) in str(said)


VERDICTS = {
    "beyond": "Different, and by more than 8 points: on 24 March 2026 there was more green cover "
    "with spun-bond fleece than with no cover, and the whole interval of the answer lies beyond",
    "inside": "Different, but by less than 8 points",
    "size open": "Different, but the size is not settled",
    "equivalent": "Alike to within 8 points",
    "cannot tell": "These data cannot tell which of spun-bond fleece and no cover had more green",
}


@pytest.mark.parametrize("code", VERDICTS)
def test_every_verdict_is_one_plain_sentence(
    tables: Tables, definition: Definition, code: str
) -> None:
    rows = tables["equivalence"].assign(verdict=code)
    (said,) = margin_words(rows, definition)
    assert str(said).startswith(VERDICTS[code])
    assert str(said).endswith(".")
    # The narrower interval is named only where the verdict rests on it.
    assert ("90 % interval +9 to +16 points" in str(said)) == (
        code in ("inside", "equivalent", "cannot tell")
    )


def test_the_side_ahead_is_named_first(tables: Tables, definition: Definition) -> None:
    rows = tables["equivalence"].assign(difference=-12.6, lower=-16.2, upper=-9.0)
    said = str(margin_words(rows.assign(verdict="beyond"), definition)[0])
    assert "more green cover with no cover than with spun-bond fleece" in said


def test_caught_up_is_one_sided(tables: Tables, definition: Definition) -> None:
    open_, caught = (str(said) for said in caught_up_words(tables["equivalence"], definition))
    assert open_.startswith("Whether no cover had caught up with spun-bond fleece to within 5 poi")
    assert "a lead of spun-bond fleece of +3.1 points, and of +5.8 points at most" in open_
    assert caught.startswith("By 17 April 2026 no cover had caught up with woven permeable cover")
    assert caught.endswith("(one-sided 95 % bound).")
    ahead = tables["equivalence"].assign(verdict="not caught up", lower=6.0, upper=12.0)
    said = str(caught_up_words(ahead, definition)[0])
    assert "had not caught up with spun-bond fleece" in said
    assert "+6 points at least, more than 5 points" in said


def test_other_analyses_are_counted(tables: Tables) -> None:
    said = str(sensitivity_words(tables["sensitivity"]))
    assert said.startswith("2 of 3 other analyses agree with the planned one")
    assert "Not so: without 3A." in said
    unjudged = tables["sensitivity"].assign(agrees="")
    assert str(sensitivity_words(unjudged)) == ""


def test_other_analyses_keep_their_own_scale(tables: Tables, definition: Definition) -> None:
    rows = rows_of(sensitivity_table(tables["sensitivity"], definition))
    assert [row[1] for row in rows] == ["points", "log odds ratio", "points"]
    assert [row[-1] for row in rows] == ["yes", "yes", "no"]
    assert rows[1][2] == "+0.49"
    assert sensitivity_table(tables["sensitivity"].iloc[:0], definition) == ""


def test_ranks_have_no_error_and_no_df(tables: Tables, definition: Definition) -> None:
    ranks = tables["sensitivity"].assign(se=float("nan"), df=float("nan"))
    assert rows_of(sensitivity_table(ranks, definition))[0][4] == "–"


def test_a_family_names_its_pairs(tables: Tables, declared: Definition) -> None:
    rows = rows_of(sensitivity_table(tables["sensitivity"], declared))
    assert rows[0][0] == "Spun-bond fleece minus no cover"


def test_the_slope_of_the_covariate_is_shown(tables: Tables, definition: Definition) -> None:
    rows = rows_of(slopes_table(tables["slopes"], definition))
    assert rows == [
        ["Green cover", "24 March 2026", "green cover on 2026-01-15", "+0.9", "+0.4 to +1.4"]
        + ["9", "0.002"]
    ]
    assert slopes_table(tables["slopes"].iloc[:0], definition) == ""
