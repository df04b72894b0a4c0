"""The table of observations: its columns, order and counts."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pandas as pd
import pytest

from wintersward.records import COLUMNS, REPEAT, counts, first_looks, joined, outstanding
from wintersward.records.observations import observation_frame
from wintersward.trial import Definition, Diary


def row(day: str, plot: str, measure: str, value: float = 1.0, **other: Any) -> tuple[Any, ...]:
    filled = {"sample": 1, "rater": "", "unit": "", "source": "s", "flags": "", "excluded": ""}
    filled |= {"date": pd.Timestamp(day), "plot": plot, "measure": measure, "value": value, **other}
    return tuple(filled[name] for name in COLUMNS)


def test_an_empty_table_has_the_types_of_a_full_one() -> None:
    full = observation_frame([row("2026-03-24", "101", "pull_force")])
    pd.testing.assert_series_equal(observation_frame([]).dtypes, full.dtypes)
    assert str(full["date"].dtype) == "datetime64[ns]"
    assert str(full["sample"].dtype) == "int64"
    assert str(full["value"].dtype) == "float64"


def test_tables_are_joined_in_the_order_of_the_definition(definition: Definition) -> None:
    first = observation_frame(
        [
            row("2026-04-17", "101", "pull_force"),
            row("2026-03-24", "101", "pull_force", sample=2),
            row("2026-03-24", "101", "pull_force"),
            row("2026-03-24", "102", "colour_rating", rater="te"),
            row("2026-03-24", "102", "colour_rating", rater="rx"),
        ]
    )
    # Photos come with further columns, and in whatever order.
    second = observation_frame([row("2026-04-17", "101", "green_cover")])[list(COLUMNS)[::-1]]
    frame = joined([first, second.assign(sha256="x"), observation_frame([])], definition)
    assert tuple(frame.columns) == COLUMNS
    assert list(frame.index) == list(range(6))
    assert frame[["measure", "rater", "sample"]].to_numpy().tolist() == [
        ["green_cover", "", 1],
        ["colour_rating", "rx", 1],
        ["colour_rating", "te", 1],
        ["pull_force", "", 1],
        ["pull_force", "", 2],
        ["pull_force", "", 1],
    ]


def test_nothing_joined_is_an_empty_table(definition: Definition) -> None:
    for frames in ([], [observation_frame([])]):
        frame = joined(frames, definition)
        pd.testing.assert_frame_equal(frame, observation_frame([]))


def test_counts_tell_what_was_planned_and_what_came(
    definition: Definition, plots: pd.DataFrame
) -> None:
    observations = observation_frame(
        [
            row("2026-03-24", "101", "pull_force"),
            row("2026-03-24", "101", "pull_force", sample=2, excluded="bent spike"),
            row("2026-03-24", "102", "pull_force"),
            row("2026-03-24", "101", "colour_rating", rater="te"),
            row("2026-03-24", "101", "green_cover", value=float("nan"), flags="unreadable"),
        ]
    )
    frame = counts(observations, definition, plots)
    assert list(frame.columns) == [
        "measure",
        "date",
        "expected",
        "used",
        "excluded",
        "missing",
        "repeats",
        "due",
    ]
    # 36 plots: one photo; two raters; three pulls.
    assert (
        list(frame["measure"]) == ["green_cover"] * 6 + ["colour_rating"] * 6 + ["pull_force"] * 2
    )
    expected = frame.groupby("measure")["expected"].unique().map(list).to_dict()
    assert expected == {"green_cover": [36], "colour_rating": [72], "pull_force": [108]}
    told = frame.set_index(["measure", "date"]).loc[:, "used":"missing"]
    day = pd.Timestamp("2026-03-24")
    assert told.loc[("pull_force", day)].tolist() == [2, 1, 105]
    assert told.loc[("colour_rating", day)].tolist() == [1, 0, 71]
    assert told.loc[("green_cover", day)].tolist() == [0, 0, 36]
    # No observation at all is as late as the last visit: it is not due, and nothing is missing.
    late = ("pull_force", pd.Timestamp("2026-04-17"))
    assert told.loc[late].tolist() == [0, 0, 0]
    due = frame.set_index(["measure", "date"])["due"]
    assert (due[late], due[("green_cover", pd.Timestamp("2026-01-15"))]) == ("not yet", "yes")


def test_a_second_look_is_counted_by_itself_and_settles_nothing(
    definition: Definition, plots: pd.DataFrame
) -> None:
    day = dt.date(2026, 3, 24)
    observations = observation_frame(
        [
            row("2026-03-24", "101", "colour_rating", 6.0, rater="te", flags=REPEAT),
            row("2026-03-24", "101", "colour_rating", 5.0, rater="te"),
            row("2026-03-24", "101", "colour_rating", 5.0, rater="rx"),
            row("2026-03-24", "102", "colour_rating", rater="te"),
            row("2026-03-24", "102", "colour_rating", rater="rx", flags=f"late; {REPEAT}"),
            row("2026-03-24", "103", "colour_rating", rater="te", flags=REPEAT, excluded="fog"),
            row("2026-03-24", "103", "colour_rating", rater="te", excluded="fog"),
            row("2026-03-24", "103", "colour_rating", rater="rx", flags="not a repeat"),
        ]
    )
    frame = counts(observations, definition, plots).set_index(["measure", "date"])
    told = frame.loc[("colour_rating", pd.Timestamp(day))]
    assert told[["used", "excluded", "repeats"]].tolist() == [4, 1, 3]
    assert told[["used", "excluded", "repeats"]].sum() == len(observations)
    assert told["missing"] == 72 - 5
    first = first_looks(observations)
    assert list(first.index) == [1, 2, 3, 6, 7]
    block = plots[plots["plot"].isin(["101", "102", "103"])]
    asked = (observations, definition, Diary(), block, "colour_rating", day)
    assert outstanding(*asked) == ["102"]


def test_a_second_look_follows_the_first(definition: Definition) -> None:
    rows = [
        row("2026-03-24", "101", "colour_rating", 6.0, rater="te", flags=REPEAT),
        row("2026-03-24", "101", "colour_rating", 5.0, rater="te"),
    ]
    frame = joined([observation_frame(rows)], definition)
    assert list(frame["value"]) == [5.0, 6.0]
    assert list(frame["flags"]) == ["", REPEAT]


def test_a_table_without_flags_holds_first_looks_alone() -> None:
    frame = pd.DataFrame({"plot": ["101"], "value": [1.0]})
    pd.testing.assert_frame_equal(first_looks(frame), frame)


def test_counts_before_any_observation(definition: Definition, plots: pd.DataFrame) -> None:
    frame = counts(observation_frame([]), definition, plots)
    assert len(frame) == 14
    assert (frame["missing"] == 0).all()
    assert (frame["due"] == "not yet").all()


@pytest.mark.parametrize(
    ("missing", "left"),
    [
        ([], ["102", "103", "104"]),
        ([{"plot": "102"}], ["103", "104"]),
        ([{"plot": "1B"}], ["102"]),
        ([{"plot": "102", "date": "2026-03-16"}], ["102", "103", "104"]),
        ([{"plots": "all plots"}], []),
        ([{"plots": "all plots", "measure": None}], []),
        ([{"plots": ["1B", "102"], "measure": None}], []),
        ([{"plots": ["103"]}], ["102", "104"]),
        ([{"plots": "all plots", "measure": "pull_force"}], ["102", "103", "104"]),
    ],
)
def test_what_is_neither_seen_nor_declared_missing_is_waited_for(
    definition: Definition, plots: pd.DataFrame, missing: list[dict[str, Any]], left: list[str]
) -> None:
    seen = observation_frame(
        [
            row("2026-03-24", "101", "green_cover", excluded="a hose"),
            row("2026-03-24", "102", "green_cover", value=float("nan")),
        ]
    )
    told = {"measure": "green_cover", "date": "2026-03-24", "reason": "card full"}
    diary = Diary.model_validate({"missing": [told | entry for entry in missing]})
    day = dt.date(2026, 3, 24)
    block = plots[plots["plot"].isin(["101", "102", "103", "104"])]
    assert outstanding(seen, definition, diary, block, "green_cover", day) == left


@pytest.mark.parametrize(
    ("measure", "missing", "left"),
    [
        # Three pulls of a plot: one is taken.
        ("pull_force", [], ["101", "102"]),
        ("pull_force", [{"plot": "101", "sample": 2}], ["101", "102"]),
        (
            "pull_force",
            [{"plot": "101", "sample": 1}, {"plot": "101", "sample": 2}],
            ["101", "102"],
        ),
        ("pull_force", [{"plot": "101", "sample": 2}, {"plot": "101", "sample": 3}], ["102"]),
        ("pull_force", [{"plot": "101"}], ["102"]),
        ("pull_force", [{"plot": "1A", "sample": n} for n in (1, 2, 3)], []),
        # Two raters: one has rated.
        ("colour_rating", [], ["101", "102"]),
        ("colour_rating", [{"plot": "101", "rater": "te"}], ["101", "102"]),
        ("colour_rating", [{"plot": "101", "rater": "rx"}], ["102"]),
        ("colour_rating", [{"plot": "102", "rater": "rx"}], ["101", "102"]),
        ("colour_rating", [{"plot": "1A"}], []),
        ("colour_rating", [{"plots": "all plots", "rater": "rx"}], ["102"]),
        ("pull_force", [{"plots": "all plots", "rater": "rx"}], []),
    ],
)
def test_a_declaration_of_a_sample_or_a_rater_settles_these_alone(
    definition: Definition,
    plots: pd.DataFrame,
    measure: str,
    missing: list[dict[str, Any]],
    left: list[str],
) -> None:
    seen = observation_frame(
        [
            row("2026-03-24", "101", "pull_force", rater="rx"),
            row("2026-03-24", "101", "colour_rating", rater="te"),
        ]
    )
    told = {"measure": measure, "date": "2026-03-24", "reason": "spike bent"}
    diary = Diary.model_validate({"missing": [told | entry for entry in missing]})
    pair = plots[plots["plot"].isin(["101", "102"])]
    assert outstanding(seen, definition, diary, pair, measure, dt.date(2026, 3, 24)) == left
