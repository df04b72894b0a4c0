from __future__ import annotations

import pandas as pd
import pytest

from wintersward.analysis.results import empty
from wintersward.report.references import references, supporting_words

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
