from __future__ import annotations

import datetime as dt
from pathlib import Path

import pandas as pd
import pytest

from wintersward.analysis.freeze import freeze_tables
from wintersward.analysis.results import TABLES
from wintersward.errors import Problem
from wintersward.study import Trial
from wintersward.trial.changes import Changed
from wintersward.trial.frozen import Frozen


def with_freeze(
    trial: Trial,
    frozen: Frozen | None,
    problems: list[Problem],
    changes: tuple[Changed, ...] = (),
) -> Trial:
    """Give a trial another freeze than its folder holds."""
    made = Trial(trial.folder, trial.definition, trial.diary, trial.plots)
    made.__dict__.update(_freeze=(frozen, problems), changes=changes)
    return made


@pytest.fixture
def frozen(rated_trial: Trial) -> Frozen:
    at = dt.datetime(2026, 1, 12, 14, 5, tzinfo=dt.UTC)
    files = {"trial.yaml": "a" * 64, "plots.csv": "b" * 64}
    late = ("after the covers went on", "when 1 sheet was already there")
    return Frozen(Path("plan/frozen"), at, "0.1.0", files, late, rated_trial.definition)


def test_an_open_plan_has_empty_tables(rated_trial: Trial) -> None:
    tables = freeze_tables(rated_trial)
    assert set(tables) == {"frozen", "changes"}
    for name, frame in tables.items():
        assert frame.empty
        assert list(frame.columns) == [column.name for column in TABLES[name].columns]


def test_a_freeze_is_one_row_and_a_change_another(rated_trial: Trial, frozen: Frozen) -> None:
    changes = (
        Changed("analysis.alpha", "0.05", "0.1", "asked", frozenset({"everything"})),
        Changed("title", "a", "b", "no reason given", frozenset()),
        Changed("dates.visits", "[x]", "[y]", "rain", frozenset({"primary", "measure:m"})),
    )
    tables = freeze_tables(with_freeze(rated_trial, frozen, [], changes))
    row = tables["frozen"].iloc[0]
    assert row["frozen_at"] == "2026-01-12T14:05:00+00:00"
    assert row["document"] == frozen.document
    assert row["late"] == "after the covers went on and when 1 sheet was already there"
    assert row["damage"] == ""
    assert list(tables["changes"]["touches"]) == ["everything", "", "measure:m;primary"]
    assert list(tables["changes"].iloc[0]) == [
        "analysis.alpha",
        "0.05",
        "0.1",
        "asked",
        "everything",
    ]


def test_damage_is_told_in_the_row(rated_trial: Trial) -> None:
    problem = Problem("plan/frozen/plots.csv", found="a freeze without this file")
    tables = freeze_tables(with_freeze(rated_trial, None, [problem]))
    expected = dict.fromkeys(tables["frozen"].columns, "") | {"damage": str(problem)}
    pd.testing.assert_frame_equal(tables["frozen"], pd.DataFrame([expected]))
    assert tables["changes"].empty
