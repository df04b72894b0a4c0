"""From observations to plots and units: no plot and no rater weighs more than another."""

from __future__ import annotations

import pandas as pd
import pytest

from wintersward.analysis.units import plot_values


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


def test_without_observations_there_is_nothing_to_average() -> None:
    values, notes = plot_values(rated([]))
    assert values.empty
    assert notes == []
