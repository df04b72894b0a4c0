from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.certainty import (
    draw_words,
    large_text,
    randomisation_words,
    sensitivity_table,
    sensitivity_words,
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
        "Randomisation test. If turf had been the same with spun-bond fleece as with no "
        "cover, the two names could be swapped within each block. There are 64 ways to lay them "
        "out; 2 of them give a result at least as clear as ours (p = 0.031). With this layout no "
        "p can be smaller than 0.031."
    )
    html = str(said.__html__())
    assert '<data value="0.03125" title="randomisation.csv:2">0.031</data>' in html


def test_the_draw_in_one_sentence(tables: Tables, definition: Definition) -> None:
    found = tables["randomisation"]
    (said,) = draw_words(found, definition)
    assert str(said) == "The draw alone gives p = 0.031, the smallest that this layout can give."
    assert 'title="randomisation.csv:2">0.031</data>' in str(said.__html__())
    (larger,) = draw_words(found.assign(p=0.4), definition)
    assert str(larger) == (
        "The draw alone gives p = 0.400 (the smallest that this layout can give is 0.031)."
    )
    both = pd.concat([found.assign(left="woven", p=0.0004), found], ignore_index=True)
    assert " and p < 0.001 for woven permeable cover minus no cover (" in str(
        draw_words(both, definition)[0]
    )
    assert draw_words(found.iloc[:0], definition) == []


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
    drawn = str(randomisation_words(few.assign(exact="no"), definition)[0])
    assert "What is supposed: no whole plot would differ" in drawn
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


def test_only_unlike_analyses_are_counted(tables: Tables, definition: Definition) -> None:
    primary = tables["primary"]
    (said,) = sensitivity_words(tables["sensitivity"], primary, definition)
    assert str(said).startswith(
        "Two other analyses also put spun-bond fleece above no cover. Not so: without 3A."
    )
    unjudged = tables["sensitivity"].assign(agrees="")
    assert sensitivity_words(unjudged, primary, definition) == []
    again = tables["sensitivity"].iloc[[0]].copy()
    for name in ("difference", "lower", "upper"):
        again[name] = float(primary.loc[0, name])
    assert sensitivity_words(again, primary, definition) == []


def test_another_size_is_told(tables: Tables, definition: Definition) -> None:
    wide = tables["primary"].assign(difference=11.0, lower=4.0, upper=18.0)
    other = tables["sensitivity"].iloc[[0]].assign(difference=14.0, lower=11.2, upper=16.8)
    (said,) = sensitivity_words(other, wide, definition)
    assert str(said) == (
        "One other analysis also puts spun-bond fleece above no cover. One of them says something "
        "else of the size: mixed model, blocks random, +14 points (+11 to +17), all of it beyond "
        "8 points. It was named as supporting, so the planned answer stays."
    )
    unsure = tables["primary"].assign(difference=3.0, lower=-4.0, upper=10.0)
    said = str(sensitivity_words(other, unsure, definition)[0])
    assert said.startswith("One other analysis also cannot tell which of spun-bond fleece")


def test_other_analyses_keep_their_own_scale(tables: Tables, definition: Definition) -> None:
    rows = rows_of(sensitivity_table(tables["sensitivity"], definition))
    assert [row[1] for row in rows] == ["points", "times the odds", "points"]
    assert [row[-1] for row in rows] == ["yes", "yes", "no"]
    # exp(0.49) = 1.632, and its ends exp(0.49 -/+ 2.25 * 0.09).
    assert rows[1][2:4] == ["1.63", "1.33 to 2.00"]
    note = sensitivity_table(tables["sensitivity"], definition)
    assert "1 would be alike" in note
    assert "1 would be alike" not in sensitivity_table(tables["sensitivity"].iloc[:1], definition)
    assert sensitivity_table(tables["sensitivity"].iloc[:0], definition) == ""


def test_rows_that_only_repeat_the_answer_are_told(tables: Tables, definition: Definition) -> None:
    primary, again = tables["primary"], tables["sensitivity"].iloc[[0]].copy()
    words = "A row that only gives the planned numbers again is not counted above."
    assert words not in sensitivity_table(again, definition, primary)
    for name in ("difference", "lower", "upper"):
        again[name] = float(primary.loc[0, name])
    assert words in sensitivity_table(again, definition, primary)


def test_no_end_is_written_onto_what_matters(tables: Tables, definition: Definition) -> None:
    near = tables["sensitivity"].iloc[[0, 2]].copy()
    near[["difference", "lower", "upper"]] = [[13.0, 7.93, 18.1], [11.0, 7.2, 15.0]]
    rows = rows_of(sensitivity_table(near.assign(se=2.0), definition))
    assert [row[3] for row in rows] == ["+7.9 to +18.1", "+7.2 to +15.0"]


def test_ranks_have_no_error_and_no_df(tables: Tables, definition: Definition) -> None:
    ranks = tables["sensitivity"].assign(se=float("nan"), df=float("nan"))
    assert rows_of(sensitivity_table(ranks, definition))[0][4] == "–"


def test_a_family_names_its_pairs(tables: Tables, declared: Definition) -> None:
    rows = rows_of(sensitivity_table(tables["sensitivity"], declared))
    assert rows[0][0] == "Spun-bond fleece minus no cover"
