"""What a demonstration may hold, declared in one place, and nothing lost on the way there."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pandas as pd
import pytest

from wintersward.analysis.demonstration_tables import DEMONSTRATION_TABLES, described, tables_of
from wintersward.analysis.results import TABLES, empty
from wintersward.errors import WinterswardError

# Tables that compare treatments, or say how that was done. A new table stands here, or among those
# that a demonstration may hold.
COMPARING = {
    "aeration_days",
    "agreement",
    "block_value",
    "budget_estimates",
    "calibration",
    "checks",
    "closure_contrast",
    "closure_gained",
    "days_gained",
    "differences",
    "equivalence",
    "grounds",
    "grounds_test",
    "growth_by_level",
    "joint_differences",
    "joint_tests",
    "primary",
    "randomisation",
    "readiness",
    "rank_differences",
    "risks_by_level",
    "replication",
    "residuals",
    "season_differences",
    "season_means",
    "season_values",
    "seasons_differences",
    "seasons_tests",
    "sensitivity",
    "skeleton",
    "slopes",
    "structures",
    "tests",
    "thermometer_gained",
    "under_cover_means",
    "variance_plans",
    "variance_shares",
    "variances",
    "window_answers",
}


def test_every_table_is_one_that_compares_or_one_that_a_demonstration_may_hold() -> None:
    assert set(TABLES) == COMPARING | (set(DEMONSTRATION_TABLES) - {"rater_counts"})
    assert not COMPARING & set(DEMONSTRATION_TABLES)


@pytest.mark.parametrize("name", DEMONSTRATION_TABLES)
def test_every_key_is_a_column(name: str) -> None:
    table = DEMONSTRATION_TABLES[name]
    assert set(table.key) <= {column.name for column in table.columns}


def test_a_table_is_that_of_a_trial_but_for_what_judges() -> None:
    narrower = {"means", "point_agreement"}
    apart = {
        "under_cover": {"more_mean", "more_minimum", "more_maximum"},
        "degree_days_by_level": {"more"},
        "diurnal": {"lower", "upper"},
        "cover_timing": {"se", "df", "lower", "upper"},
    }
    for name in set(DEMONSTRATION_TABLES) - {*narrower, *apart, "rater_counts"}:
        assert DEMONSTRATION_TABLES[name] is TABLES[name]
    judging = {"se", "df", "lower", "upper", "letters"}
    for name in narrower:
        own, trial = DEMONSTRATION_TABLES[name].columns, TABLES[name].columns
        gone = {column.name for column in trial} - {column.name for column in own}
        assert {"lower", "upper"} <= gone <= judging
    for name, expected in apart.items():
        own, trial = DEMONSTRATION_TABLES[name].columns, TABLES[name].columns
        assert {column.name for column in trial} - {column.name for column in own} == expected
    means = {column.name: column for column in DEMONSTRATION_TABLES["means"].columns}
    assert list(means) == ["measure", "date", "effect", "level", "mean", "units"]
    assert means["mean"].unit == "measure"
    assert means["mean"].text == "average of the plots"


def test_the_layout_chooses() -> None:
    tested, shown = (
        cast(Any, SimpleNamespace(layout=SimpleNamespace(tested=tested)))
        for tested in (True, False)
    )
    assert tables_of(tested) is TABLES
    assert tables_of(shown) is DEMONSTRATION_TABLES


MEANS = pd.DataFrame(
    {"measure": ["m"], "effect": ["cover"], "level": ["open"], "mean": [1.0], "units": [1]}
)
NOTHING = {"se": float("nan"), "df": float("nan"), "lower": None, "upper": None, "letters": ""}


def test_what_is_empty_is_left_out_and_refused_with_the_reason() -> None:
    made = described({"means": MEANS.assign(**NOTHING), "tests": empty("tests")})
    assert list(made["means"].columns) == list(MEANS.columns)
    assert list(made) == ["means"]
    with pytest.raises(WinterswardError, match="has no table 'tests'; it has: means. One area"):
        made["tests"]
    assert made.get("tests") is None


@pytest.mark.parametrize(
    ("column", "value"), [("se", 1.0), ("letters", "a"), ("p", 0.04), ("t", 2.1)]
)
def test_what_is_filled_in_is_never_left_out_in_silence(column: str, value: object) -> None:
    with pytest.raises(ValueError, match="of means are filled in for a demonstration"):
        described({"means": MEANS.assign(**{**NOTHING, column: value})})


def test_a_table_that_compares_must_be_empty() -> None:
    filled = pd.DataFrame({"measure": ["m"], "p": [0.03]})
    with pytest.raises(ValueError, match="the table primary of a demonstration is filled in"):
        described({"primary": filled})
    assert described({"skeleton": filled}) == {}
