from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from wintersward.errors import WinterswardError
from wintersward.models.columns import Columns, Times, label, take_columns


def taken(data: pd.DataFrame, *fixed: str, factors: tuple[str, ...] = ()) -> Columns:
    return take_columns(data, "green", list(fixed), factors, ["block"])


class TestKinds:
    def test_text_is_a_factor_sorted(self, trial: pd.DataFrame) -> None:
        shuffled = trial.sample(frac=1, random_state=3)
        found = taken(shuffled, "cover").factors["cover"]
        assert found.levels == ("fleece", "open", "woven")
        assert [found.levels[code] for code in found.codes] == shuffled["cover"].tolist()

    def test_categories_keep_their_order(self, trial: pd.DataFrame) -> None:
        trial["cover"] = pd.Categorical(trial["cover"], ["open", "woven", "fleece"])
        assert taken(trial, "cover").factors["cover"].levels == ("open", "woven", "fleece")

    def test_categories_without_rows_are_noted(self, trial: pd.DataFrame) -> None:
        trial["cover"] = pd.Categorical(trial["cover"], ["open", "net", "woven", "fleece"])
        found = taken(trial, "cover")
        assert found.factors["cover"].levels == ("open", "woven", "fleece")
        (note,) = found.notes
        assert (note.code, note.about, note.count) == ("unused-levels", ("cover", "net"), 1)

    def test_dates_and_truth_are_factors(self, trial: pd.DataFrame) -> None:
        trial["date"] = pd.to_datetime(["2026-03-24", "2026-03-10"] * 12)
        trial["shaded"] = [True, False] * 12
        found = taken(trial, "date", "shaded")
        assert [label(level) for level in found.factors["date"].levels] == [
            "2026-03-10",
            "2026-03-24",
        ]
        assert found.factors["shaded"].levels == (False, True)

    def test_numbers_are_covariates_unless_asked(self, trial: pd.DataFrame) -> None:
        trial["year"] = [2025, 2026] * 12
        assert list(taken(trial, "year").numbers) == ["year"]
        assert taken(trial, "year", factors=("year",)).factors["year"].levels == (2025, 2026)

    def test_nullable_numbers_are_numbers(self, trial: pd.DataFrame) -> None:
        trial["rating"] = pd.array([5, None] + [7] * 22, dtype="Int64")
        found = take_columns(trial, "rating", ["cover"], (), [])
        assert found.response.dtype == np.float64
        assert len(found.response) == 23

    def test_grouping_columns_may_be_numbers(self, trial: pd.DataFrame) -> None:
        trial["block"] = trial["block"].str[1].astype(int)
        assert taken(trial, "cover").groups["block"].levels == (1, 2, 3, 4)

    def test_mixed_levels_are_ordered_too(self, trial: pd.DataFrame) -> None:
        trial["cover"] = pd.Series([1, "a", 2.5] * 8, dtype=object)
        assert taken(trial, "cover").factors["cover"].levels == (2.5, 1, "a")


class TestMissing:
    def test_rows_are_dropped_counted_and_named(self, trial: pd.DataFrame) -> None:
        trial.loc[[0, 1], "green"] = np.nan
        trial.loc[1, "cover"] = None
        trial.loc[5, "block"] = None
        trial.loc[6, "sun"] = np.nan
        found = taken(trial, "cover")
        assert found.index.tolist() == [i for i in range(24) if i not in (0, 1, 5)]
        (note,) = found.notes
        assert (note.code, note.count) == ("dropped-rows", 3)
        assert note.about == ("green", "cover", "block")
        assert "3 of 24 rows" in note.text
        assert "green in 2, cover in 1, block in 1" in note.text

    def test_nothing_left_is_refused(self, trial: pd.DataFrame) -> None:
        with pytest.raises(WinterswardError, match="no row of 24"):
            taken(trial.assign(green=np.nan), "cover")


class TestRefused:
    def test_unknown_columns_are_all_named(self, trial: pd.DataFrame) -> None:
        with pytest.raises(WinterswardError) as caught:
            take_columns(trial, "gren", ["covr"], (), ["block"])
        first, second = str(caught.value).splitlines()
        assert first.startswith("column gren: not in the data; allowed: block, cover")
        assert first.endswith("did you mean green?")
        assert second.endswith("did you mean cover?")

    def test_a_response_that_is_no_number(self, trial: pd.DataFrame) -> None:
        with pytest.raises(WinterswardError, match="response cover: found str values"):
            take_columns(trial, "cover", ["tine"], (), [])
        with pytest.raises(WinterswardError, match="response wet"):
            take_columns(trial.assign(wet=True), "wet", ["tine"], (), [])

    def test_a_response_that_explains_itself(self, trial: pd.DataFrame) -> None:
        with pytest.raises(WinterswardError, match="also stands among the terms"):
            take_columns(trial, "green", ["green"], (), [])

    def test_a_column_that_stands_twice(self, trial: pd.DataFrame) -> None:
        doubled = pd.concat([trial, trial[["cover"]]], axis=1)
        with pytest.raises(WinterswardError, match="cover stands twice"):
            taken(doubled, "cover")

    def test_one_level_and_infinite_values_together(self, trial: pd.DataFrame) -> None:
        trial["tine"] = "solid"
        trial.loc[3, "green"] = np.inf
        trial.loc[4, "sun"] = -np.inf
        with pytest.raises(WinterswardError) as caught:
            taken(trial, "tine", "sun")
        assert str(caught.value).splitlines() == [
            "factor tine: has only one level, solid; a comparison needs two",
            "column sun: 1 values are infinite; allowed: finite numbers",
            "column green: 1 values are infinite; allowed: finite numbers",
        ]


def test_labels() -> None:
    assert label(pd.Timestamp("2026-03-24")) == "2026-03-24"
    assert label(pd.Timestamp("2026-03-24 06:30")) == "2026-03-24T06:30:00"


class TestTimes:
    def times(self, values: object) -> Times:
        data = pd.DataFrame({"green": [1.0, 2.0, 4.0], "when": values})
        found = take_columns(data, "green", [], (), [], "when").times
        assert found is not None
        return found

    def test_numbers_are_as_they_are(self) -> None:
        found = self.times([3, 7, 21])
        assert found.values.tolist() == [3.0, 7.0, 21.0]
        assert (found.origin, found.said(7.0)) == (None, "7")

    @pytest.mark.parametrize(
        "values",
        [
            pd.to_datetime(["2026-03-08", "2026-03-01", "2026-03-29"]),
            pd.to_datetime(["2026-03-08", "2026-03-01", "2026-03-29"]).tz_localize("US/Eastern"),
            [dt.date(2026, 3, 8), dt.date(2026, 3, 1), dt.date(2026, 3, 29)],
            pd.Categorical(pd.to_datetime(["2026-03-08", "2026-03-01", "2026-03-29"])),
        ],
    )
    def test_dates_are_days_since_the_first(self, values: object) -> None:
        found = self.times(values)
        np.testing.assert_allclose(found.values, [7.0, 0.0, 28.0], atol=0.05)
        assert found.said(0.0) == "2026-03-01"

    def test_hours_are_parts_of_days(self) -> None:
        found = self.times(
            pd.to_datetime(["2026-03-08 06:00", "2026-03-08 00:00", "2026-03-09 12:00"])
        )
        np.testing.assert_allclose(found.values, [0.25, 0.0, 1.5])
        assert found.said(0.25) == "2026-03-08T06:00:00"

    @pytest.mark.parametrize("values", [["a", "b", "c"], [True, False, True]])
    def test_anything_else_is_refused(self, values: list[object]) -> None:
        with pytest.raises(WinterswardError, match="time when: found .* of numbers or of dates"):
            self.times(values)

    def test_infinite_times_are_refused(self) -> None:
        with pytest.raises(WinterswardError, match="column when: 1 values are infinite"):
            self.times([1.0, np.inf, 2.0])
