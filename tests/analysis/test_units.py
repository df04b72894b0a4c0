"""From observations to plots and units: no plot and no rater weighs more than another."""

from __future__ import annotations

import pandas as pd
import pytest

from wintersward.analysis.skeleton import Skeleton
from wintersward.analysis.units import plot_values, unit_means, unit_names


def rated(rows: list[tuple[str, str, float]]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["plot", "rater", "value"])


FULL = [("101", "a", 5.0), ("101", "b", 4.0), ("102", "a", 7.0), ("102", "b", 6.0)]


def test_a_plot_that_everyone_rated_has_its_plain_mean() -> None:
    values, notes = plot_values(rated(FULL))
    assert values.set_index("plot")["value"].to_dict() == {"101": 4.5, "102": 6.5}
    assert notes == []


def test_a_plot_without_the_stricter_rater_gains_nothing_by_it() -> None:
    rows = [*FULL, ("103", "a", 5.0)]  # as plot 101 by rater a, and b is one step stricter
    values, notes = plot_values(rated(rows))
    assert values.set_index("plot")["value"].to_dict() == pytest.approx(
        {"101": 4.5, "102": 6.5, "103": 4.5}
    )
    assert [code for code, _ in notes] == ["raters-incomplete"]
    assert notes[0][1].startswith("1 of 3 plots lack a rater")


def test_raters_without_a_plot_in_common_are_not_set_against_each_other() -> None:
    values, notes = plot_values(rated([("101", "a", 5.0), ("102", "b", 4.0)]))
    assert values["value"].tolist() == [5.0, 4.0]
    assert "may favour a treatment" in notes[0][1]


def test_what_has_no_value_does_not_count() -> None:
    values, _ = plot_values(rated([("101", "", 5.0), ("101", "", float("nan"))]))
    assert values[["value", "n"]].iloc[0].tolist() == [5.0, 1]


def test_a_second_look_enters_no_mean() -> None:
    seen = rated([*FULL, ("101", "a", 9.0), ("103", "a", 1.0)])
    values, notes = plot_values(seen.assign(flags=["", "", "", "", "repeat", "repeat"]))
    assert values[["plot", "value", "n"]].to_numpy().tolist() == [["101", 4.5, 2], ["102", 6.5, 2]]
    assert notes == []


def test_without_observations_there_is_nothing_to_average() -> None:
    values, notes = plot_values(rated([]))
    assert values.empty
    assert notes == []


PLOTS = pd.DataFrame(
    {
        "plot": ["101", "102", "103", "104", "201", "202", "203", "204"],
        "whole_plot": "",
        "block": list("11112222"),
        "row": [1, 1, 2, 2, 3, 3, 4, 4],
        "column": [1, 2] * 4,
        "cover": pd.Categorical(["open", "open", "fleece", "fleece"] * 2, ["open", "fleece"]),
        "tine": pd.Categorical(["solid", "hollow"] * 4, ["solid", "hollow"]),
    }
)


def values() -> pd.DataFrame:
    found = {"101": 1.0, "102": 3.0, "103": 5.0, "104": 5.0, "201": 2.0, "202": 4.0, "203": 8.0}
    return pd.DataFrame({"plot": list(found), "n": 2, "value": list(found.values())})


def skeleton(factors: tuple[str, ...], unit: str, random: tuple[str, ...]) -> Skeleton:
    return Skeleton(factors, unit, "unit", random, (), True)


def test_plots_of_a_square_carry_their_row_and_column_as_text() -> None:
    square = skeleton(("cover",), "plot", ("row", "column"))
    means = unit_means(values(), PLOTS, square)
    assert list(means.columns) == [
        *["unit_name", "unit_kind", "whole_plot", "block", "plot", "row", "column"],
        *["cover", "n", "value"],
    ]
    assert means["unit_name"].tolist() == means["plot"].tolist()
    assert means.loc[2, ["row", "column", "value"]].tolist() == ["2", "1", 5.0]


def test_strips_are_averaged_and_named_by_block_and_row() -> None:
    rows = unit_means(values(), PLOTS, skeleton(("cover",), "block:row", ("block",)))
    assert rows["unit_name"].tolist() == ["1:1", "1:2", "2:3", "2:4"]
    assert rows["value"].tolist() == [2.0, 5.0, 3.0, 8.0]
    assert rows["n"].tolist() == [4, 4, 4, 2]
    assert rows["cover"].tolist() == ["open", "fleece"] * 2
    assert "plot" not in rows
    columns = unit_means(values(), PLOTS, skeleton(("tine",), "block:column", ("block",)))
    assert columns["unit_name"].tolist() == ["1:1", "1:2", "2:1", "2:2"]
    assert columns["value"].tolist() == [3.0, 4.0, 5.0, 4.0]


def test_units_that_need_no_place_carry_none() -> None:
    blocks = unit_means(values(), PLOTS, skeleton(("cover", "tine"), "plot", ("block",)))
    assert not {"row", "column"} & set(blocks.columns)


def test_units_are_named_by_their_columns_whatever_these_hold() -> None:
    frame = pd.DataFrame({"block": [1, 2], "row": pd.Categorical(["a", "b"])}, index=[5, 9])
    assert unit_names(frame, "block:row").to_dict() == {5: "1:a", 9: "2:b"}
    assert unit_names(frame, "block").tolist() == ["1", "2"]
    assert unit_names(frame.iloc[:0], "block:row").empty
