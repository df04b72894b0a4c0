"""The first day at a level: interpolated, censored, dipped."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from wintersward.analysis.arrivals import AFTER, ON_OR_BEFORE, Arrival, first_day, unit_arrivals
from wintersward.errors import WinterswardError

NAN = float("nan")


def test_the_worked_example_of_unequal_dates() -> None:
    # Constructed: days 0, 7, 21 with 40, 60, 90 % reach 80 % on day 7 + 14 (20/30) = 16.333.
    found = first_day([0, 7, 21], [40, 60, 90], 80)
    assert found.day == pytest.approx(7 + 14 * 20 / 30)
    assert (found.censored, found.dipped) == ("", False)


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        # Never there: after the last visit, and not on it.
        ([40, 60, 79.9], Arrival(21, AFTER, False)),
        # There when first seen, however high.
        ([80, 85, 90], Arrival(0, ON_OR_BEFORE, False)),
        ([95, 96, 97], Arrival(0, ON_OR_BEFORE, False)),
        # Decreasing: from above it was there, from below it never was.
        ([90, 85, 60], Arrival(0, ON_OR_BEFORE, True)),
        ([70, 60, 50], Arrival(21, AFTER, False)),
        # There, away, and there again: the first time counts, the dip is told.
        ([90, 70, 85], Arrival(0, ON_OR_BEFORE, True)),
        # Reached on a visit, exactly.
        ([40, 80, 90], Arrival(7, "", False)),
        # A plateau at the level begins where it begins; below it afterwards is a dip.
        ([60, 80, 80], Arrival(7, "", False)),
        ([60, 80, 79], Arrival(7, "", True)),
        ([80, 80, 80], Arrival(0, ON_OR_BEFORE, False)),
        # A flat curve below the level never gets there.
        ([79, 79, 79], Arrival(21, AFTER, False)),
        # The level is reached on the last visit.
        ([40, 60, 80], Arrival(21, "", False)),
    ],
)
def test_every_way_to_reach_a_level(values: list[float], expected: Arrival) -> None:
    assert first_day([0, 7, 21], values, 80) == expected


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        # A visit that saw nothing is bridged: from day 0 to day 21 here.
        ([40, NAN, 90, 95], Arrival(0 + 21 * 40 / 50, "", False)),
        # Nothing seen at first: what is known begins on day 7.
        ([NAN, 85, 90, 95], Arrival(7, ON_OR_BEFORE, False)),
        ([NAN, 60, 90, 95], Arrival(7 + 14 * 20 / 30, "", False)),
        # Nothing seen at last: not there by day 21 is all that is known.
        ([40, 60, 70, NAN], Arrival(21, AFTER, False)),
        ([NAN, NAN, NAN, 85], Arrival(30, ON_OR_BEFORE, False)),
        ([NAN, NAN, NAN, 75], Arrival(30, AFTER, False)),
    ],
)
def test_visits_that_saw_nothing(values: list[float], expected: Arrival) -> None:
    found = first_day([0, 7, 21, 30], values, 80)
    assert found.day == pytest.approx(expected.day)
    assert found[1:] == expected[1:]


def test_a_unit_that_was_never_seen_has_no_day() -> None:
    found = first_day([0, 7], [NAN, NAN], 80)
    assert np.isnan(found.day)
    assert found[1:] == ("", False)
    assert np.isnan(first_day([0, 7], [60, 90], 80, since=8).day)


def test_what_happened_before_the_covers_came_off_does_not_count() -> None:
    days, values = [-20, -6, 1, 8, 20], [60, 90, 70, 75, 85]
    # Over 80 under the cover, below it once uncovered: the crossing is the later one.
    assert first_day(days, values, 80, since=0).day == pytest.approx(8 + 12 * 5 / 10)
    # Without the limit the crossing would be under the cover, with a dip.
    under = first_day(days, values, 80)
    assert under.day == pytest.approx(-20 + 14 * 20 / 30)
    assert under.dipped
    # Crossed between a visit under the cover and the first one after: there by the first one.
    assert first_day([-6, 1, 8], [60, 90, 95], 80, since=0) == Arrival(1, ON_OR_BEFORE, False)
    # The day itself counts as after it.
    assert first_day([0, 8], [90, 95], 80, since=0) == Arrival(0, ON_OR_BEFORE, False)


def test_a_mean_that_misses_the_level_by_rounding_has_reached_it() -> None:
    mean = sum([0.1] * 10)  # 0.9999999999999999
    assert mean < 1
    assert first_day([0, 1, 2], [0.5, mean, 5], 1) == Arrival(1, "", False)


@pytest.mark.parametrize("factor", [0.001, 1.0, 250.0])
def test_a_change_of_scale_and_origin_changes_nothing(factor: float) -> None:
    days, values = [0, 6, 15, 26, 39], np.array([31.0, 48.2, 44.9, 71.3, 80.0])
    plain = first_day(days, values, 60)
    scaled = first_day(days, values * factor + 7, 60 * factor + 7)
    assert scaled.day == pytest.approx(plain.day)
    assert first_day(np.add(days, 100), values, 60).day == pytest.approx(plain.day + 100)


@pytest.mark.parametrize(
    ("days", "values", "level", "said"),
    [
        ([0, 7], [1.0], 1, "shapes"),
        ([7, 0], [1, 2], 1, "ascending"),
        ([0, 0], [1, 2], 1, "each day once"),
        ([0, NAN], [1, 2], 1, "must be numbers"),
        ([0, 7], [1, np.inf], 1, "must be numbers"),
        ([0, 7], [1, 2], NAN, "level: found nan"),
    ],
)
def test_what_cannot_be_read_is_refused(
    days: list[float], values: list[float], level: float, said: str
) -> None:
    with pytest.raises(WinterswardError, match=said):
        first_day(days, values, level)


def test_units_of_a_frame() -> None:
    frame = pd.DataFrame(
        [
            ("b", "2", 7, 90.0),
            ("b", "2", 0, 50.0),
            ("a", "1", 0, 85.0),
            ("a", "1", 7, 70.0),
            ("c", "2", 0, NAN),
        ],
        columns=["unit_name", "block", "day", "value"],
    )
    found, unseen = unit_arrivals(frame, 80, keep=["block"])
    assert unseen == ["c"]
    assert found.to_dict("records") == [
        {"unit_name": "a", "block": "1", "days": 0.0, "censored": ON_OR_BEFORE, "dipped": True},
        {"unit_name": "b", "block": "2", "days": 5.25, "censored": "", "dipped": False},
    ]


def test_frames_that_do_not_fit() -> None:
    frame = pd.DataFrame({"unit_name": ["a", "a"], "day": [0, 0], "value": [1.0, 2.0]})
    with pytest.raises(WinterswardError, match="unit a: seen twice on one day"):
        unit_arrivals(frame, 1)
    with pytest.raises(WinterswardError, match=r"columns block are missing"):
        unit_arrivals(frame, 1, keep=["block"])
    frame["day"], frame["block"] = [0, 1], ["1", "2"]
    with pytest.raises(WinterswardError, match="block is 1, 2; allowed: one for all its visits"):
        unit_arrivals(frame, 1, keep=["block"])
