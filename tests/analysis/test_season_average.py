"""Season averages by the area under the curve, against plain arithmetic."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.dated import COVER, SPLIT, TINE, dated_trial
from wintersward.analysis.results import TABLES
from wintersward.analysis.season_average import season_average, season_averages
from wintersward.errors import WinterswardError
from wintersward.study import Trial, open_study

DAYS = (1, 8, 22, 40)


def test_the_worked_example_of_unequal_dates() -> None:
    # Constructed: trapezoid 350 + 1050 = 1400 %.d over 21 days; the mean of the dates, 63.333, is
    # not the answer.
    found = season_average([0, 7, 21], [40, 60, 90])
    assert found * 21 == pytest.approx(1400)
    assert found == pytest.approx(66.6667, abs=5e-5)
    assert found != pytest.approx(np.mean([40, 60, 90]), abs=1)


def test_what_has_no_average_is_refused() -> None:
    for days, values in (([0], [1]), ([0, 1], [1]), ([1, 0], [1, 2]), ([0, 0], [1, 2])):
        with pytest.raises(WinterswardError, match="allowed"):
            season_average(days, values)
    with pytest.raises(WinterswardError, match="leave out visits that saw nothing"):
        season_average([0, 1], [1, np.nan])


def noisy(lost: tuple[tuple[str, int], ...] = (), seed: int = 5) -> Any:
    rng = np.random.default_rng(seed)

    def value(plot: Any, day: int) -> float | None:
        seen = 40 + day / 2 + 6 * (plot.cover == "fleece") + int(plot.block) + rng.normal(0, 2)
        seen -= 5 * (getattr(plot, "tine", "") == "hollow" and day > 15)
        return None if (plot.plot, day) in lost else round(seen, 2)

    return value


def curves(trial: Trial) -> pd.DataFrame:
    seen = trial.observations("cover_share")
    wide = seen.assign(day=(seen["date"] - pd.Timestamp("2026-03-01")).dt.days)
    return wide.pivot(index="plot", columns="day", values="value")


def test_blocks_give_the_classical_analysis_of_the_areas(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", noisy(), DAYS)
    found = season_averages(trial)
    for name, frame in found.items():
        known = [column.name for column in TABLES[name].columns]
        assert list(frame.columns)[: len(known)] == known
        assert not frame.duplicated(list(TABLES[name].key)).any()
    wide = curves(trial)
    areas = pd.Series(np.trapezoid(wide, DAYS, axis=1) / 39, index=wide.index)
    values = found["season_values"].set_index("unit_name")
    assert values["value"].to_dict() == pytest.approx(areas.to_dict())
    assert set(values["dates"]) == {4}
    assert list(values.columns)[-1] == "cover"
    plots = trial.plots.set_index("plot")
    table = areas.groupby([plots["block"], plots["cover"]], observed=True).mean().unstack()
    left = table - table.mean(axis=0) - table.mean(axis=1).to_numpy()[:, None]
    mean_square = ((left + table.to_numpy().mean()) ** 2).to_numpy().sum() / 10
    rows = found["season_differences"].set_index(["left", "right"])
    row = rows.loc[("fleece", "open")]
    assert row["difference"] == pytest.approx((table["fleece"] - table["open"]).mean())
    assert row["se"] == pytest.approx(np.sqrt(mean_square * 2 / 6))
    assert row["df"] == pytest.approx(10)
    assert row["p"] == pytest.approx(2 * stats.t.sf(abs(row["t"]), 10))
    means = found["season_means"].set_index("level")
    assert means["mean"].to_dict() == pytest.approx(table.mean().to_dict())
    assert set(means["units"]) == {6}


def test_gaps_inside_are_bridged_and_ends_are_not(tmp_path: Path) -> None:
    lost = (("101", 8), ("203", 1), ("302", 40))
    trial = dated_trial(tmp_path / "a", noisy(lost), DAYS, primary=22)
    found = season_averages(trial)
    values = found["season_values"].set_index("unit_name")
    assert len(values) == 16
    wide = curves(trial).loc["101", [1, 22, 40]]
    assert values.loc["101", "value"] == pytest.approx(np.trapezoid(wide, [1, 22, 40]) / 39)
    assert values.loc["101", "dates"] == 3
    notes = found["notes"].loc[found["notes"]["code"] == "season average", "text"].tolist()
    assert notes == [
        "season average (cover): a date inside the season is lacking, bridged by a straight line: "
        "101",
        "season average (cover): the first or the last date is lacking, left out: 203, 302",
    ]
    assert found["season_means"]["units"].sum() == 16


def test_a_split_plot_has_an_average_of_either_units(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", noisy(), DAYS, SPLIT, COVER + TINE)
    found = season_averages(trial)
    values = found["season_values"]
    assert values.groupby("scope").size().to_dict() == {"cover": 18, "cover:tine": 36}
    assert set(values.loc[values["scope"] == "cover", "tine"]) == {""}
    wide = curves(trial)
    plots = trial.plots.set_index("plot")
    whole = wide.groupby(plots["whole_plot"]).mean()
    shown = values[values["scope"] == "cover"].set_index("unit_name")["value"]
    expected = pd.Series(np.trapezoid(whole, DAYS, axis=1) / 39, index=whole.index)
    assert shown.to_dict() == pytest.approx(expected.to_dict())
    rows = found["season_differences"].set_index(["scope", "effect", "within", "left"])
    late = wide[[22, 40]].mean(axis=1).groupby([plots["cover"], plots["tine"]], observed=True)
    means = late.mean().unstack()
    by_tine = rows.loc[("cover:tine", "tine", "", "hollow")]
    difference = (means["hollow"] - means["solid"]).mean()
    assert by_tine["difference"] == pytest.approx(difference)
    assert by_tine["df"] == pytest.approx(15)
    units = found["season_means"].set_index(["scope", "effect", "level"])["units"]
    assert units[("cover:tine", "cover", "fleece")] == 6
    assert units[("cover:tine", "tine", "hollow")] == 18
    assert units[("cover:tine", "cover:tine", "fleece:hollow")] == 6


def test_values_that_do_not_vary_become_a_note(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", lambda plot, day: 40.0 + day, DAYS)
    found = season_averages(trial)
    assert len(found["season_values"]) == 18
    assert found["season_differences"].empty
    assert "not compared" in found["notes"]["text"].iloc[0]


def test_nothing_before_the_primary_question_has_data(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", noisy(), DAYS)
    sheet = trial.folder / "sheets" / "cover.csv"
    rows = pd.read_csv(sheet)
    rows[rows["date"] < "2026-04-10"].to_csv(sheet, index=False)
    assert all(frame.empty for frame in season_averages(open_study(trial.folder)).values())


def test_the_last_visit_counts_where_all_plots_are_full(tmp_path: Path) -> None:
    seen = noisy()

    def value(plot: Any, day: int) -> float | None:
        return 99.5 if day == 40 else seen(plot, day)

    trial = dated_trial(tmp_path / "a", value, DAYS, SPLIT, COVER + TINE)
    found = season_averages(trial)
    values = found["season_values"]
    assert set(values["last"].dt.date.astype(str)) == {"2026-04-10"}
    wide = curves(trial)
    areas = pd.Series(np.trapezoid(wide, DAYS, axis=1) / 39, index=wide.index)
    whole = areas.groupby(trial.plots.set_index("plot")["whole_plot"]).mean()
    own = values[values["scope"] == "cover"].set_index("unit_name")["value"]
    assert own.to_dict() == pytest.approx(whole.to_dict())
    assert set(found["season_differences"]["scope"]) == {"cover", "cover:tine"}


def test_a_season_that_was_full_all_along_is_described(tmp_path: Path) -> None:
    def value(plot: Any, day: int) -> float:
        return 99.2 + int(plot.plot[-1]) / 10

    found = season_averages(dated_trial(tmp_path / "a", value, DAYS))
    assert len(found["season_values"]) == 18
    assert found["season_differences"].empty
    assert "not compared: every plot is at 99 % or more" in found["notes"]["text"].str.cat()
