"""Flags for how values are read: second looks, last digits, one mark for all."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from records.flag_fields import DATES, lines, plots, row, table
from wintersward.records import REPEAT

PLOTS = list(plots()["plot"])
LOOK = "look at the sheet, and leave values that are right"
EACH = "leave the values, and from now on write each as it is read or seen"


class TestSecondLooks:
    KIND = "second look differs"

    @staticmethod
    def looks(
        first: float, second: float, measure: str = "colour_rating", **more: Any
    ) -> list[Any]:
        told = {"rater": "te"} | more
        return [
            row("2026-03-24", "101", measure, first, line=12, **told),
            row("2026-03-24", "101", measure, second, line=40, flags=REPEAT, **told),
        ]

    @pytest.mark.parametrize("second", [3, 2.5, 7])
    def test_marks_two_or_more_apart_are_told(self, second: float) -> None:
        assert lines(self.looks(5, second), kind=self.KIND) == [
            "sheets/colour_rating.csv, rows 12 and 40, column colour_rating: flag second look "
            f"differs: {second:g} at the second look, 5 at the first; rule: less than 2 marks "
            f"apart; {LOOK}"
        ]
        (flag,) = table(self.looks(5, second))[lambda t: t["kind"] == self.KIND].itertuples()
        assert (flag.plot, flag.rater, flag.value) == ("101", "te", second)

    @pytest.mark.parametrize("second", [5, 3.5, 6.5])
    def test_marks_nearer_are_none(self, second: float) -> None:
        assert lines(self.looks(5, second), kind=self.KIND) == []

    def test_looks_of_two_raters_or_set_aside_are_no_pair(self) -> None:
        first, second = self.looks(5, 9)
        other = row("2026-03-24", "101", "colour_rating", 9, rater="rx", flags=REPEAT)
        assert lines([first, other], kind=self.KIND) == []
        assert lines(self.looks(5, 9, excluded="rain"), kind=self.KIND) == []
        assert lines([second], kind=self.KIND) == []

    @staticmethod
    def measured(*apart: float) -> list[Any]:
        rows = []
        for plot, more in zip(PLOTS, apart, strict=False):
            rows += [
                row("2026-03-24", plot, "pull_force", 50, rater="te"),
                row("2026-03-24", plot, "pull_force", 50 + more, rater="rx", flags=REPEAT),
            ]
        return rows

    def test_amounts_far_more_apart_than_others_are_told(self) -> None:
        # The median of the distances is 1 lbf: five times 1.4826.
        others = [1.0, -1.0, 1.2, -0.8, 1.0, 0.5, -1.5, 1.0, -1.0]
        (said,) = lines(self.measured(*others, 7.5), kind=self.KIND)
        assert "57.5 lbf at the second look, 50 lbf at the first; rule: at most 7.41 lbf" in said
        assert lines(self.measured(*others, 7.4), kind=self.KIND) == []

    def test_a_few_pairs_are_too_little(self) -> None:
        assert lines(self.measured(1, 1, 1, 1, 1, 1, 1, 1, 30), kind=self.KIND) == []


class TestDigits:
    KIND = "digit preference"

    @staticmethod
    def read(values: Sequence[float], measure: str, **more: Any) -> list[Any]:
        places = [(day, plot) for day in DATES[1:] for plot in PLOTS]
        pairs = zip(places, values, strict=False)
        return [row(day, plot, measure, value, **more) for (day, plot), value in pairs]

    def test_values_that_end_in_0_or_5_are_counted_for_each_rater(self) -> None:
        values = [20 + 5 * (at % 9) for at in range(31)] + [23, 31, 38, 44, 52]
        assert lines(self.read(values, "weeds", rater="rx"), kind=self.KIND) == [
            f"weeds, rater rx: flag {self.KIND}: 31 of 36 values, written with whole numbers, end "
            f"in 0 or 5; rule: about 7 expected; {EACH}"
        ]
        (flag,) = table(self.read(values, "weeds"))[lambda t: t["kind"] == self.KIND].itertuples()
        assert (flag.rater, flag.plot, np.isnan(flag.value)) == ("", "", True)
        assert str(flag.date) == "NaT"

    def test_decimals_are_those_of_the_sheet_in_its_own_unit(self) -> None:
        values = [round(30 + 0.5 * at + (0.1 if at % 8 == 0 else 0), 1) for at in range(48)]
        (said,) = lines(self.read(values, "pull_force"), kind=self.KIND)
        assert "42 of 48 values, written with one decimal, end in 0 or 5" in said
        warmth = [32 + 5 * (at % 8) for at in range(40)]
        assert lines(self.read(warmth, "soil_warmth"), kind=self.KIND) == []
        warm = [30 + 5 * (at % 8) for at in range(40)]
        assert "40 of 40 values" in lines(self.read(warm, "soil_warmth"), kind=self.KIND)[0]

    def test_one_value_with_more_decimals_changes_nothing(self) -> None:
        even = [round(30 + 0.7 * at, 1) for at in range(60)]
        assert lines(self.read(even, "pull_force"), kind=self.KIND) == []
        assert lines(self.read([*even, 44.37], "pull_force"), kind=self.KIND) == []
        fives = [30.0 + 0.5 * at for at in range(60)]
        fives[::7] = [value + 0.2 for value in fives[::7]]
        (said,) = lines(self.read([*fives, 44.37], "pull_force"), kind=self.KIND)
        assert "51 of 60 values" in said

    @pytest.mark.parametrize(
        "values",
        [
            [20.0 + 5 * (at % 9) for at in range(29)],  # too few
            [20.0 + at for at in range(60)],  # every digit alike
            [0.0] * 30 + [100.0] * 30 + [21.0, 34.0, 47.0],  # none at all, and all of it
            [float(5 * (at % 3 > 0)) + at % 2 for at in range(60)],  # a small count
            [20.0 + 5 * (at % 9) + (at % 4 > 0) for at in range(60)],  # one in four
        ],
    )
    def test_what_is_no_preference_is_not_told(self, values: list[float]) -> None:
        assert lines(self.read(values, "weeds"), kind=self.KIND) == []

    def test_no_probability_is_told(self) -> None:
        (said,) = lines(
            self.read([5.0 * (1 + at % 19) for at in range(40)], "weeds"), kind=self.KIND
        )
        assert " p " not in said
        assert "chance" not in said


class TestOneMark:
    KIND = "digit preference"

    @staticmethod
    def rated(te: Sequence[float], rx: Sequence[float]) -> list[Any]:
        return [
            row("2026-03-24", plot, "colour_rating", mark, rater=who)
            for who, marks in (("te", te), ("rx", rx))
            for plot, mark in zip(PLOTS, marks, strict=False)
        ]

    def test_a_rater_with_one_mark_for_all_is_told_where_another_tells_plots_apart(self) -> None:
        apart = [4.0, 5.0, 6.0] * 12
        found = "te gave the mark 5 33 times in 36; rx gave none more than 12 times in 36"
        rule = "one mark less often than nine times in ten, where another rater tells plots apart"
        assert lines(self.rated([5.0] * 33 + [4.0] * 3, apart), kind=self.KIND) == [
            f"colour_rating, 2026-03-24, rater te: flag {self.KIND}: {found}; rule: {rule}; {EACH}"
        ]

    @pytest.mark.parametrize(
        ("te", "rx"),
        [
            ([5.0] * 32 + [4.0] * 4, [4.0, 5.0, 6.0] * 12),  # fewer than nine tenths
            ([5.0] * 36, [6.0] * 36),  # the turf is all alike
            ([5.0] * 19, [4.0, 5.0, 6.0] * 12),  # too few
            ([5.0] * 36, [4.0, 5.0, 6.0] * 6),
        ],
    )
    def test_what_is_alike_or_little_is_not(self, te: list[float], rx: list[float]) -> None:
        assert lines(self.rated(te, rx), kind=self.KIND) == []
