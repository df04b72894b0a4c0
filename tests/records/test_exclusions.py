"""Exclusions mark observations with their reason, and drop none."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from wintersward.records import excluded
from wintersward.records.observations import observation_frame
from wintersward.trial import Diary


@pytest.fixture
def observations() -> pd.DataFrame:
    def row(day: str, plot: str, measure: str, sample: int, rater: str) -> tuple[Any, ...]:
        return (day, plot, measure, sample, rater, 1.0, "N", "sheets/a.csv:2", "", "")

    return observation_frame(
        [
            row("2026-03-24", "101", "pull_force", 1, ""),
            row("2026-03-24", "101", "pull_force", 2, ""),
            row("2026-03-24", "102", "pull_force", 1, ""),
            row("2026-04-17", "101", "pull_force", 1, ""),
            row("2026-03-24", "101", "colour_rating", 1, "te"),
            row("2026-03-24", "103", "colour_rating", 1, "rx"),
        ]
    )


def mark(observations: pd.DataFrame, plots: pd.DataFrame, *entries: dict[str, Any]) -> Any:
    diary = Diary.model_validate({"exclusions": list(entries)})
    before = observations.copy()
    marked, problems = excluded(observations, diary, plots)
    pd.testing.assert_frame_equal(observations, before)
    pd.testing.assert_frame_equal(marked.drop(columns="excluded"), before.drop(columns="excluded"))
    return list(marked["excluded"]), [str(problem) for problem in problems]


@pytest.mark.parametrize(
    ("entry", "hits"),
    [
        ({"plot": "101"}, [0, 1, 3, 4]),
        ({"plot": 101}, [0, 1, 3, 4]),
        ({"plot": "1A"}, [0, 1, 2, 3, 4]),
        ({"plot": "101", "measure": "pull_force"}, [0, 1, 3]),
        ({"plot": "101", "date": "2026-04-17"}, [3]),
        ({"plot": "101", "sample": 2}, [1]),
        ({"plot": "1A", "measure": "pull_force", "date": "2026-03-24", "sample": 1}, [0, 2]),
        ({"plot": "101", "rater": "te"}, [4]),
    ],
)
def test_an_exclusion_marks_what_it_names(
    observations: pd.DataFrame, plots: pd.DataFrame, entry: dict[str, Any], hits: list[int]
) -> None:
    reasons, said = mark(observations, plots, {**entry, "reason": "flooded"})
    assert said == []
    assert reasons == ["flooded" if i in hits else "" for i in range(6)]


def test_several_reasons_are_joined_and_equal_ones_told_once(
    observations: pd.DataFrame, plots: pd.DataFrame
) -> None:
    reasons, _ = mark(
        observations,
        plots,
        {"plot": "1A", "reason": "flooded"},
        {"plot": "101", "sample": 2, "reason": "bent spike"},
        {"plot": "101", "reason": "flooded"},
    )
    assert reasons == ["flooded", "flooded; bent spike", "flooded", "flooded", "flooded", ""]


def test_reasons_that_were_there_are_kept(observations: pd.DataFrame, plots: pd.DataFrame) -> None:
    observations.loc[0, "excluded"] = "blurred"
    reasons, _ = mark(observations, plots, {"plot": "101", "reason": "flooded"})
    assert reasons[:2] == ["blurred; flooded", "flooded"]


def test_an_exclusion_that_fits_nothing_is_told(
    observations: pd.DataFrame, plots: pd.DataFrame
) -> None:
    narrow = {"measure": "pull_force", "date": "2026-04-17", "sample": 3, "rater": "te"}
    reasons, said = mark(
        observations,
        plots,
        {"plot": "101", "reason": "flooded"},
        {"plot": "104", "reason": "flooded"},
        {"plot": "101", **narrow, "reason": "bent spike"},
    )
    hint = (
        "correct the entry, or bring back the observation; if it was never made, it is missing "
        "by itself: remove the entry and tell why under deviations"
    )
    assert said == [
        f"diary.yaml: exclusions.2: found no observation of plot 104; {hint}",
        "diary.yaml: exclusions.3: found no observation of plot 101, pull_force, 2026-04-17, "
        f"sample 3, rater te; {hint}",
    ]
    assert reasons[0] == "flooded"


def test_nothing_observed_and_nothing_excluded(plots: pd.DataFrame) -> None:
    assert mark(observation_frame([]), plots) == ([], [])


def test_without_whole_plots_the_empty_name_means_no_plot(
    observations: pd.DataFrame, plots: pd.DataFrame
) -> None:
    reasons, _ = mark(observations, plots.assign(whole_plot=""), {"plot": "101", "reason": "r"})
    assert reasons == ["r", "r", "", "r", "r", ""]
