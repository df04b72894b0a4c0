"""Counted pins, kind by kind: what is missing is a number, what nobody counted is none."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pandas as pd
import pytest

from wintersward.analysis.decision_columns_readiness import READINESS
from wintersward.decisions.pins import (
    ALL_OUT,
    MISSING,
    MORE_OUT,
    NEVER_IN,
    NEVER_OUT,
    pin_counts,
)
from wintersward.runs.tables import from_csv, to_csv
from wintersward.study import Trial
from wintersward.trial.diary import Diary

IN, OUT = {"date": "2026-01-19"}, {"date": "2026-03-09"}


def counted(*pins: dict[str, Any]) -> pd.DataFrame:
    diary = Diary.model_validate({"pins": [{"what": "steel pins", **one} for one in pins]})
    found = pin_counts(cast("Trial", SimpleNamespace(diary=diary)))
    table = READINESS["pin_counts"]
    again = from_csv("pin_counts", table, to_csv("pin_counts", table, found))
    assert len(again) == len(found)
    return found


@pytest.mark.parametrize(
    ("pins", "missing", "state"),
    [
        ([{**IN, "out": 40}, {**OUT, "back": 40}], 0, ALL_OUT),
        ([{**IN, "out": 40}, {**OUT, "back": 37}], 3, MISSING),
        (
            [{**IN, "out": 40}, {**OUT, "back": 37}, {**OUT, "back": 3, "note": "magnet"}],
            0,
            ALL_OUT,
        ),
        ([{**IN, "out": 40}, {**IN, "out": 4, "plots": ["1B"]}, {**OUT, "back": 43}], 1, MISSING),
        ([{**IN, "out": 40}, {**OUT, "back": 41}], -1, MORE_OUT),
        ([{**IN, "out": 40}], None, NEVER_OUT),
        ([{**IN, "out": 40}, {**OUT, "back": 0}], 40, MISSING),
        ([{**OUT, "back": 5}], None, NEVER_IN),
        ([{**IN, "out": 40, "back": 40}], 0, ALL_OUT),
    ],
)
def test_a_kind_is_summed(pins: list[dict[str, Any]], missing: int | None, state: str) -> None:
    found = counted(*pins)
    whole = found[found["plots"] == ""]
    assert len(whole) == 1
    row = whole.iloc[0]
    assert row["state"] == state
    assert pd.isna(row["missing"]) if missing is None else row["missing"] == missing


def test_kinds_are_kept_apart_but_not_their_spelling() -> None:
    found = counted(
        {**IN, "out": 40},
        {**IN, "what": "Wooden pegs", "out": 9},
        {**OUT, "what": "Steel  pins", "back": 40},
        {**OUT, "what": "wooden pegs", "back": 8},
    )
    assert found[["what", "missing"]].to_numpy().tolist() == [["steel pins", 0], ["Wooden pegs", 1]]
    assert list(found["first"]) == [pd.Timestamp("2026-01-19")] * 2
    assert list(found["last"]) == [pd.Timestamp("2026-03-09")] * 2


def test_plots_are_told_where_each_was_counted_in_and_out() -> None:
    ways = [{**IN, "out": 20}, {**OUT, "back": 19}]
    pins = [{**one, "plots": [plot]} for plot in ("1B", "1A") for one in ways]
    found = counted(*pins)
    assert found["plots"].tolist() == ["", "1B", "1A"]
    assert found["missing"].tolist() == [2, 1, 1]
    # One list of plots that was never counted out by itself: only the sum says anything.
    assert counted(*pins, {**IN, "out": 4, "plots": ["2A"]})["plots"].tolist() == [""]


def test_an_empty_diary_counts_nothing() -> None:
    found = pin_counts(cast("Trial", SimpleNamespace(diary=Diary())))
    assert found.empty
    assert list(found.columns) == [column.name for column in READINESS["pin_counts"].columns]
