"""Which factors, units and dates are taken together."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.dated import COVER, SPLIT, TINE, dated_trial
from wintersward.analysis.scopes import control_last, scopes_of
from wintersward.study import Trial

LOST = ("101", 40)


def patterned(plot: Any, day: int) -> float:
    """Tell every term apart by its size."""
    cover = {"open": 0.0, "fleece": 9.0, "woven": 5.0}[plot.cover]
    tine = -4.0 if getattr(plot, "tine", "") == "hollow" and day > 15 else 0.0
    return 40 + day / 2 + cover + tine + 0.1 * int(plot.plot[-1]) + int(plot.block)


def split(folder: Path, lost: tuple[tuple[str, int], ...] = ()) -> Trial:
    def value(plot: Any, day: int) -> float | None:
        return None if (plot.plot, day) in lost else patterned(plot, day)

    return dated_trial(folder, value, (-20, 1, 8, 22, 40), SPLIT, COVER + TINE)


def test_one_scope_where_all_factors_lie_from_the_start(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", patterned)
    scopes, notes = scopes_of(trial, "cover_share")
    assert [scope.name for scope in scopes] == ["cover"]
    assert notes == []
    scope = scopes[0]
    assert scope.unit == "plot"
    assert len(scope.data) == 4 * 18
    assert sorted(set(scope.data["day"])) == [0, 7, 21, 39]
    assert list(scope.data["date"].cat.categories) == [str(day) for day in scope.dates]


def test_a_split_plot_has_whole_plots_all_along_and_subplots_later(tmp_path: Path) -> None:
    trial = split(tmp_path / "a")
    (whole, sub), notes = scopes_of(trial, "cover_share")
    assert notes == []
    assert (whole.name, whole.unit, len(whole.dates)) == ("cover", "whole_plot", 5)
    assert (sub.name, sub.unit, len(sub.dates)) == ("cover:tine", "plot", 2)
    assert len(whole.data) == 5 * 18
    assert "tine" not in whole.data
    assert len(sub.data) == 2 * 36
    late = whole.data[whole.data["date"] == "2026-04-10"].set_index("unit_name")
    subplots = sub.data[sub.data["date"] == "2026-04-10"]
    means = subplots.groupby("whole_plot")["value"].mean()
    assert late["value"].to_dict() == pytest.approx(means.to_dict())
    assert set(late["n"]) == {2}


def test_a_lost_subplot_does_not_favour_its_whole_plot(tmp_path: Path) -> None:
    complete = scopes_of(split(tmp_path / "a"), "cover_share")[0][0].data
    lost = scopes_of(split(tmp_path / "b", (LOST,)), "cover_share")[0][0].data
    keys = ["unit_name", "date"]
    both = complete.merge(lost, on=keys, suffixes=("", "_lost"))
    assert len(both) == len(complete)
    moved = both[(both["value"] - both["value_lost"]).abs() > 1e-9]
    # A plain mean of what is left would be off by half of the 4 points that the tine takes.
    at = both[(both["unit_name"] == "1A") & (both["date"] == "2026-04-10")].iloc[0]
    assert abs(at["value"] - at["value_lost"]) < 0.2
    assert set(moved["unit_name"]) <= {"1A"}


def test_a_date_that_cannot_be_averaged_is_told(tmp_path: Path) -> None:
    trial = split(tmp_path / "a")
    gone = trial.plots[(trial.plots["tine"] == "hollow") & (trial.plots["cover"] == "open")]
    lost = tuple((plot, 22) for plot in gone["plot"])
    scopes, notes = scopes_of(split(tmp_path / "b", lost), "cover_share")
    assert dt.date(2026, 3, 23) not in scopes[0].dates
    assert dt.date(2026, 3, 23) in scopes[1].dates
    assert "2026-03-23 left out" in notes[0][1]
    assert "hollow with open" in notes[0][1]


def test_one_date_is_no_scope(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", patterned, (8,))
    scopes, notes = scopes_of(trial, "cover_share")
    assert scopes == []
    assert "fewer than two dates" in notes[0][1]


def test_dates_before_the_covers_are_left_alone(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", patterned, (-70, -60, 1, 8))
    (scope,), _ = scopes_of(trial, "cover_share")
    assert [date.isoformat() for date in scope.dates] == ["2026-03-02", "2026-03-09"]


def test_pairs_read_treatment_minus_control(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", patterned)
    (scope,), _ = scopes_of(trial, "cover_share")
    assert list(scope.data["cover"].cat.categories) == ["open", "fleece", "woven"]
    turned = control_last(trial, scope.data, ["cover"])
    assert list(turned["cover"].cat.categories) == ["fleece", "woven", "open"]
    assert (turned["cover"].astype(str) == scope.data["cover"].astype(str)).all()


def test_rows_are_put_into_the_form_of_a_table(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", patterned)
    (scope,), _ = scopes_of(trial, "cover_share")
    rows = scope.data[["unit_name", "block"]].head(1).assign(dates=4, value=np.pi)
    made = scope.put("season_values", rows).iloc[0]
    assert made[["measure", "scope", "unit_name"]].tolist() == ["cover_share", "cover", "101"]
    assert [str(day.date()) for day in made[["first", "last"]]] == ["2026-03-02", "2026-04-10"]


def test_a_date_at_the_end_of_the_scale_stays_in_every_scope(tmp_path: Path) -> None:
    def value(plot: Any, day: int) -> float:
        return 99.5 if day == 40 else patterned(plot, day)

    last = dt.date(2026, 4, 10)
    trial = dated_trial(tmp_path / "a", value, (1, 8, 22, 30, 40), SPLIT, COVER + TINE)
    scopes, notes = scopes_of(trial, "cover_share")
    assert notes == []
    assert [scope.name for scope in scopes] == ["cover", "cover:tine"]
    for scope in scopes:
        assert scope.dates[-1] == last
        assert "every plot is at 99 % or more" in scope.described[last]
        on = scope.data[scope.data["date"] == str(last)]
        assert on["value"].tolist() == pytest.approx([99.5] * len(on))
        compared = scope.compared()
        assert compared.dates == scope.dates[:-1]
        assert list(compared.data["date"].cat.categories) == [str(day) for day in scope.dates[:-1]]
        assert len(compared.data) == len(scope.data) - len(on)
        assert compared.described == {}


def test_units_averaged_over_some_treatments_only_are_told(tmp_path: Path) -> None:
    trial = split(tmp_path / "a")
    gone = trial.plots[trial.plots["tine"] == "hollow"]
    lost = tuple((plot, 22) for plot in gone["plot"])
    scopes, notes = scopes_of(split(tmp_path / "b", lost), "cover_share")
    assert len(scopes[0].dates) == 5
    assert [text for _, text in notes] == [
        "dates together (cover): on 2026-03-23 units of cover are averaged over solid of tine only"
    ]
