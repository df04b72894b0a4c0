from __future__ import annotations

import re

import pandas as pd
import pytest

from wintersward.analysis.equivalence import verdict
from wintersward.analysis.results import empty
from wintersward.report.references import _SOURCES, references, supporting_words

Tables = dict[str, pd.DataFrame]


def listed(tables: Tables) -> str:
    return " ".join(references(lambda name: tables.get(name, empty(name))))


def test_without_results_nothing_is_cited() -> None:
    assert listed({}) == ""
    assert supporting_words(empty) == []


@pytest.mark.parametrize(
    ("table", "author"),
    [
        ("randomisation", "Fisher R. A. (1935)"),
        ("equivalence", "Schuirmann"),
        ("structures", "Hurvich"),
        ("agreement", "Shrout"),
        ("agreement", "Bakdash"),
        ("checks", "Shapiro"),
        ("primary", "Yates"),
        ("differences", "Holm"),
        ("rank_differences", "Wilcoxon F. (1945)"),
        ("rank_differences", "Hodges J. L., Lehmann E. L. (1963)"),
    ],
)
def test_a_source_is_cited_only_where_it_was_used(tables: Tables, table: str, author: str) -> None:
    assert author in listed(tables)
    without = {name: frame for name, frame in tables.items() if name != table}
    assert author not in listed(without)


def test_kenward_and_roger_only_where_their_method_was_used(tables: Tables) -> None:
    assert "Kenward" in listed(tables)
    contained = {
        name: tables[name].assign(method="containment") for name in ("tests", "joint_tests")
    }
    assert "Kenward" not in listed(tables | contained)


def test_dunnett_only_for_a_declared_family(tables: Tables, declared_tables: Tables) -> None:
    assert "Dunnett" not in listed(tables)
    assert "Dunnett C. W. (1955)" in listed(declared_tables)


def test_limits_of_agreement_only_where_there_are_some(tables: Tables) -> None:
    assert "Bland" not in listed(tables)
    more = tables["agreement"].assign(statistic="limits")
    assert "Bland J. M., Altman D. G. (1986)" in listed(tables | {"agreement": more})


def test_each_supporting_analysis_is_described_once(tables: Tables) -> None:
    said = supporting_words(lambda name: tables.get(name, empty(name)))
    assert [words.split(":")[0] for words in said] == [
        "Randomisation test",
        "Sources of variation",
        "Margins",
        "Days gained",
        "Season averages",
        "All dates in one model",
        "Other analyses of the primary question",
        "Ranks",
        "Agreement",
        "Seasons together",
    ]


@pytest.mark.parametrize(
    ("table", "column", "value", "author"),
    [
        ("sensitivity", "analysis", "calibrated", "JCGM 100:2008"),
        ("sensitivity", "analysis", "covariate", "Fisher R. A. (1932)"),
        ("sensitivity", "analysis", "without outliers", "Cook R. D., Weisberg S. (1982)"),
        ("agreement", "text", "limits (Bland and Altman 1999)", "Bland J. M., Altman D. G. (1999)"),
        ("agreement", "text", "(Bland and Altman 2007, intervals of Zou 2013)", "Zou G. Y. (2013)"),
        ("agreement", "form", "single rating, absolute agreement", "McGraw K. O., Wong S. P."),
    ],
)
def test_what_a_row_names_is_cited(
    tables: Tables, table: str, column: str, value: str, author: str
) -> None:
    rows = tables[table].iloc[:1].assign(statistic="ICC") if table == "agreement" else tables[table]
    assert author in listed(tables | {table: rows.assign(**{column: value})})
    other = rows.assign(**{column: "of another kind"})
    assert author not in listed(tables | {table: other})


def test_the_point_count_names_its_sources(tables: Tables) -> None:
    assert "Sampling techniques" not in listed(tables)
    blank = empty("point_agreement")
    row = pd.DataFrame([dict.fromkeys(blank.columns, "photos")])
    assert "Sampling techniques" in listed(tables | {"point_agreement": row})
    assert "Allen" not in listed(tables)
    line = pd.DataFrame([dict.fromkeys(empty("calibration").columns, 1.0)])
    assert "Allen D. M. (1974)" in listed(tables | {"calibration": line})


def test_sources_are_told_by_author_and_year() -> None:
    authors = [text.partition(",")[0] for text, _ in _SOURCES.values()]
    assert authors == sorted(authors, key=str.casefold)


def test_every_source_says_what_it_serves_for(tables: Tables) -> None:
    for one in references(lambda name: tables.get(name, empty(name))):
        assert re.search(r"\. (doi:\S+ )?\([^()]+\)$", one), one
    assert "Dunn O. J. (1961)" in listed(tables)
    assert "(intervals of families, by Bonferroni)" in listed(tables)
    alone = tables["differences"].assign(role="primary")
    assert "Dunn O. J." not in listed(tables | {"differences": alone})


def test_margins_are_told_as_they_are_judged(tables: Tables) -> None:
    # The narrower interval may lie beyond 8, or within, where the wider one does not.
    assert verdict((9.0, 16.0), (9.6, 15.4), 8.0) == "beyond"
    assert verdict((7.2, 16.1), (8.006, 15.3), 8.0) == "size open"
    assert verdict((-9.0, 7.0), (-7.9, 6.5), 8.0) == "equivalent"
    done = supporting_words(lambda name: tables.get(name, empty(name)))
    (said,) = [one for one in done if one.startswith("Margins")]
    assert "larger than what matters only where the whole interval of the answer lies" in said
    assert "smaller only where the narrower interval of two one-sided tests lies within" in said
