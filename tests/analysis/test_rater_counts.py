"""Two looks at a plot: counted where they gave the same, and nothing estimated."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pandas as pd
import pytest

from wintersward.analysis.rater_counts import SECOND_LOOK, rater_counts
from wintersward.trial.schema import PhotoMeasure, SheetMeasure

DAY, LATER = pd.Timestamp(2026, 3, 10), pd.Timestamp(2026, 3, 24)
MARKS = SheetMeasure.model_construct(scale=(1, 9), raters=["rx", "te"], unit="1-9")
FORCE = SheetMeasure.model_construct(scale=None, raters=[], unit="N")
PHOTOS = PhotoMeasure.model_construct()
Look = tuple[pd.Timestamp, str, int, str, float, str]


def counted(looks: list[Look], measure: object = MARKS, excluded: str = "") -> list[list[object]]:
    frame = pd.DataFrame(looks, columns=["date", "plot", "sample", "rater", "value", "flags"])
    frame["excluded"] = [
        "" if flags != excluded or not excluded else "why" for flags in frame["flags"]
    ]
    trial = SimpleNamespace(
        definition=SimpleNamespace(measures={"seen": measure}), observations=lambda _name: frame
    )
    made = rater_counts(cast(Any, trial)).drop(columns="measure")
    return cast("list[list[object]]", made.astype(object).to_numpy().tolist())


def test_two_raters_are_set_side_by_side_on_each_date() -> None:
    looks = [(DAY, plot, 1, "rx", 5.0, "") for plot in ("101", "102", "103", "104")]
    looks += [(DAY, "101", 1, "te", 5.0, ""), (DAY, "102", 1, "te", 6.0, "")]
    looks += [(DAY, "103", 1, "te", 7.5, ""), (LATER, "101", 1, "te", 4.0, "")]
    assert counted(looks) == [[DAY, "rx", "te", 3, 1, 2, 2.5]]


def test_three_raters_are_three_pairs_in_the_order_of_their_initials() -> None:
    looks = [
        (DAY, "101", 1, rater, value, "") for rater, value in zip("cab", (1, 2, 3), strict=True)
    ]
    found = [row[1:3] + row[-1:] for row in counted(looks)]
    assert found == [["a", "b", 1.0], ["a", "c", 1.0], ["b", "c", 2.0]]


def test_a_second_look_is_set_beside_the_same_raters_first() -> None:
    looks = [(DAY, "101", 1, "rx", 5.0, ""), (DAY, "102", 1, "rx", 6.0, "")]
    looks += [(DAY, "101", 1, "rx", 5.5, "repeat"), (DAY, "101", 1, "te", 9.0, "repeat")]
    assert counted(looks) == [[DAY, "rx", SECOND_LOOK, 1, 0, 1, 0.5]]
    # What the diary sets aside is in no pair.
    assert counted(looks, excluded="repeat") == []


def test_samples_are_compared_one_by_one_and_a_plot_counts_once() -> None:
    looks = [(DAY, "101", 1, "rx", 5.0, ""), (DAY, "101", 2, "rx", 5.0, "")]
    looks += [(DAY, "101", 1, "te", 5.0, ""), (DAY, "101", 2, "te", 8.0, "")]
    assert counted(looks) == [[DAY, "rx", "te", 1, 0, 0, 3.0]]


def test_what_has_no_marks_counts_none_as_near() -> None:
    looks = [(DAY, "101", 1, "", 50.0, ""), (DAY, "101", 1, "", 50.0 + 1e-12, "repeat")]
    (row,) = counted(looks, FORCE)
    assert row[:5] == [DAY, "", SECOND_LOOK, 1, 1]
    assert pd.isna(cast(Any, row[5]))
    assert row[6] == pytest.approx(0, abs=1e-9)


def test_photos_and_single_looks_have_no_rows() -> None:
    looks = [(DAY, "101", 1, "rx", 5.0, ""), (DAY, "102", 1, "te", 5.0, "")]
    assert counted(looks) == []
    assert counted([], MARKS) == []
    assert counted(looks, PHOTOS) == []
