"""What became of the records, and what was flagged in them, as tables of a run."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest

from wintersward.analysis.record_tables import RECORDED, record_tables
from wintersward.runs.tables import from_csv, to_csv

SUMS = [column.name for column in RECORDED["sheet_sums"].columns]
FLAGS = [column.name for column in RECORDED["flags"].columns]
DAY = pd.Timestamp("2026-03-24")
COUNTS = (5, 1, 2, 1, 1, 0, 4, 2, 1, 0, 1, 0, "wind, sky")
ROWS = [
    ("missed visit", "colour", DAY, "", "", "", float("nan"), "", "", "nobody came", "all dates"),
    ("jump", "pull", DAY, "101", "", "1", 61.0, "N", "sheets/p.csv:3", "far away", "at most 5 N"),
    ("jump", "pull", DAY, "101", "", "1", 62.0, "N", "sheets/p.csv:4", "far away", "at most 5 N"),
    ("digit preference", "colour", pd.NaT, "", "rx", "", float("nan"), "", "", "all 5", "a third"),
]


def study(sums: list[tuple[object, ...]], flags: list[tuple[object, ...]]) -> Any:
    held = {
        name: pd.DataFrame(rows, columns=names)
        for name, rows, names in (("sums", sums, SUMS), ("flags", flags, FLAGS))
    }
    return SimpleNamespace(sheet_sums=lambda: held["sums"], flags=lambda: held["flags"])


@pytest.mark.parametrize("rows", [ROWS, []], ids=["flagged", "nothing"])
def test_they_are_written_and_read_back_unchanged(rows: list[tuple[object, ...]]) -> None:
    trial = study([("sheets/p.csv", *COUNTS)] if rows else [], rows)
    tables = record_tables(trial)
    assert set(tables) == set(RECORDED)
    for name, frame in tables.items():
        back = from_csv(name, RECORDED[name], to_csv(name, RECORDED[name], frame))
        expected = frame.sort_values(list(RECORDED[name].key), ignore_index=True)
        pd.testing.assert_frame_equal(back, expected, check_dtype=False)
        assert len(back) == len(frame)


def test_the_same_flag_is_told_once() -> None:
    assert len(record_tables(study([], [*ROWS, ROWS[0]]))["flags"]) == len(ROWS)
