"""Days gained on the thermometer, against the classical analysis of complete blocks."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from logged_study import CLIMATE, COVERS, changed, drawn_with, opened_with
from wintersward.analysis.arrivals import ONE_EACH
from wintersward.analysis.degree_day_sums import degree_day_sums
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.thermometer import _arrivals as arrivals_of
from wintersward.analysis.thermometer import thermometer
from wintersward.study import Trial, open_study
from wintersward.trial.climate import Reaching

Tables = dict[str, pd.DataFrame]
NONE = float("nan")
MEAN, SUM = "soil: mean of 3 days at 41 °F or more", "180 degree days (°F d)"


def told(trial: Trial) -> Tables:
    """Make the tables of the thermometer alone."""
    return thermometer(trial, LoggedPlots(trial), degree_day_sums(trial))


def of_plots(tables: Tables, criterion: str) -> pd.DataFrame:
    found = tables["thermometer"]
    return found[found["criterion"] == criterion].set_index("plot")


def test_a_mean_is_reached_on_the_last_of_its_days(logged_tables: Tables) -> None:
    found = of_plots(logged_tables, MEAN)
    days = logged_tables["daily_facts"]
    days = days[(days["measure"] == "soil") & (days["date"] >= "2026-01-19")]
    for plot, own in days.groupby("plot"):
        means = own.set_index("date")["mean"].rolling(3).mean()
        first = means.index[means >= 5][0]
        assert found.loc[plot, "reached"] == first
        assert found.loc[plot, "day"] == (first - pd.Timestamp("2026-01-19")).days
    assert set(found["state"]) == {"reached"}


def test_a_sum_is_reached_within_a_day(logged_tables: Tables) -> None:
    found = of_plots(logged_tables, SUM)
    sums = logged_tables["degree_day_sums"]
    for plot, own in sums.groupby("plot"):
        at = int(np.argmax(own["sum"].to_numpy() >= 100))
        before, grown = own["sum"].iloc[at - 1], own["degree_days"].iloc[at]
        assert found.loc[plot, "day"] == pytest.approx(at + (100 - before) / grown, abs=1e-4)
        assert found.loc[plot, "reached"] == own["date"].iloc[at]


@pytest.mark.parametrize("criterion", [MEAN, SUM])
def test_gains_are_those_of_the_classical_analysis(
    logged_trial: Trial, logged_tables: Tables, criterion: str
) -> None:
    wholes = logged_trial.plots.drop_duplicates("whole_plot").set_index("whole_plot")
    data = of_plots(logged_tables, criterion)[["day"]].join(wholes[["block", "cover"]])
    data["cover"] = data["cover"].astype(str)
    fit = smf.ols("day ~ C(block) + C(cover, Treatment('open'))", data).fit()
    found = logged_tables["thermometer_gained"]
    found = found[found["criterion"] == criterion].set_index("left")
    for level in ("fleece", "woven"):
        name = f"C(cover, Treatment('open'))[T.{level}]"
        row = found.loc[level]
        assert row["days"] == pytest.approx(-fit.params[name])
        assert row["se"] == pytest.approx(fit.bse[name])
        assert row["df"] == fit.df_resid == 10
        assert row["p"] == pytest.approx(fit.pvalues[name], rel=1e-6)
        ends = sorted(-fit.conf_int().loc[name])
        assert [row["lower"], row["upper"]] == pytest.approx(ends)
    assert set(found["unit_of_test"]) == {"whole plot"}
    assert set(found["note"]) == {""}


def test_one_logger_a_treatment_is_described(logged_plan: dict[str, bytes], tmp_path: Path) -> None:
    lost = "missing:\n  - {plots: [%s], date: 2026-03-10, reason: six loggers only}\n"
    others = ", ".join(f"{block}{letter}" for block in range(2, 7) for letter in "ABC")
    diary = COVERS + lost % others
    trial = opened_with(logged_plan, tmp_path, diary=diary, blocks=["1"])
    assert trial.ready
    found = told(trial)["thermometer_gained"]
    assert len(found) == 4
    assert set(found["note"]) == {ONE_EACH}
    assert found["days"].notna().all()
    assert found[["se", "df", "lower", "upper", "p"]].isna().all(axis=None)


def test_a_treatment_without_a_logger_is_named_all_the_same(
    logged_plan: dict[str, bytes], tmp_path: Path
) -> None:
    trial = opened_with(logged_plan, tmp_path)
    woven = trial.plots.loc[trial.plots["cover"] == "woven", "whole_plot"].unique()
    for name in woven:
        (trial.folder / "loggers" / f"{name}.csv").unlink()
    text = (trial.folder / "diary.yaml").read_text(encoding="utf-8")
    kept = [part for part in text.split("- file: ") if part.partition(".")[0] not in set(woven)]
    lost = f"missing:\n  - {{plots: [{', '.join(woven)}], date: 2026-03-10, reason: none}}\n"
    (trial.folder / "diary.yaml").write_text(lost + "- file: ".join(kept), encoding="utf-8")
    found = told(open_study(trial.folder))["thermometer_gained"].set_index("left")
    assert set(found.loc["woven", "note"]) == {"no logger of one of the two was seen"}
    assert found.loc["woven", "days"].isna().all()
    assert found.loc["fleece", "p"].notna().all()


def test_what_was_not_reached_in_sight_is_a_bound(tmp_path: Path) -> None:
    own = CLIMATE.replace("reaches: 5 degC, over: 3 days", "reaches: 7.5 degC, over: 3 days")
    text = changed(climate=own.replace("reaches: 100", "reaches: 5000"))
    trial = opened_with(drawn_with(tmp_path / "a", text), tmp_path / "a", last="2026-03-20")
    tables = told(trial)
    sums = of_plots(tables, "9000 degree days (°F d)")
    assert set(sums["state"]) == {"after"}
    assert sums["reached"].isna().all()
    gained = tables["thermometer_gained"].set_index(["criterion", "left"])
    assert set(gained.loc["9000 degree days (°F d)", "note"]) == {"cannot be told"}
    assert gained.loc["9000 degree days (°F d)", "days"].isna().all()
    warm = of_plots(tables, "soil: mean of 3 days at 45.5 °F or more")
    assert set(warm["state"]) == {"reached", "after"}


def test_what_was_there_from_the_start_is_a_bound_too(tmp_path: Path) -> None:
    text = changed(climate=CLIMATE.replace("reaches: 5 degC", "reaches: 0 degC"))
    trial = opened_with(drawn_with(tmp_path / "a", text), tmp_path / "a")
    found = of_plots(told(trial), "soil: mean of 3 days at 32 °F or more")
    assert "on or before" in set(found["state"])
    assert found.loc[found["state"] == "on or before", "day"].unique().tolist() == [2.0]


def arrival(values: dict[str, list[float]]) -> pd.DataFrame:
    """Give the arrivals at a mean of two days of 5 degC or more, from daily means by plot."""
    days = pd.date_range("2026-03-01", periods=len(next(iter(values.values()))), freq="D")
    facts = pd.DataFrame(values, index=days).melt(
        var_name="plot", value_name="mean", ignore_index=0
    )
    facts = facts.rename_axis("date").reset_index().assign(measure="soil").dropna()
    reaching = Reaching.model_validate({"reaches": "5 degC", "over": 2, "measure": "soil"})
    found = arrivals_of(reaching, facts, pd.DataFrame(), days[0].date())
    return pd.DataFrame([vars(one) | {"plot": name} for name, one in found.items()]).set_index(
        "plot"
    )


def test_a_plot_that_may_have_got_there_unseen_is_not_said_to_have_been_late() -> None:
    found = arrival(
        {
            "seen": [1.0, 1.0, 5.0, 5.0, 4.0, 4.0, 4.0],
            # In the gap it may have been as warm as the other one.
            "later": [1.0, 1.0, 4.0, NONE, 4.5, 5.0, 5.0],
            "never": [1.0, 1.0, 4.0, NONE, 4.5, 4.0, 4.0],
            "cold": [1.0, 1.0, 1.0, NONE, 1.0, 1.0, 1.0],
        }
    )
    assert found["state"].to_dict() == {
        "seen": "reached",
        "later": "on or before",
        "never": "not known",
        "cold": "after",
    }
    assert found.loc["later", "day"] == 6.0
    assert np.isnan(found.loc["never", "day"])
    assert found.loc["never", "last"] == pd.Timestamp("2026-03-07")


def test_a_gap_in_the_cold_hides_nothing() -> None:
    found = arrival(
        {
            "seen": [1.0, 1.0, 1.0, 1.0, 5.0, 5.0],
            "gap": [1.0, NONE, 1.0, 1.0, 5.0, 5.0],
            # The loggers of all plots were read out, so that nobody saw the day.
            "late": [1.0, NONE, 1.0, 1.0, 4.0, 4.0],
        }
    )
    assert found["state"].to_dict() == {"seen": "reached", "gap": "reached", "late": "after"}


def test_of_a_treatment_with_a_hidden_day_nothing_is_compared(
    logged_plan: dict[str, bytes], tmp_path: Path
) -> None:
    trial = opened_with(logged_plan, tmp_path)
    plots, sums = LoggedPlots(trial), degree_day_sums(trial)
    whole = thermometer(trial, plots, sums)["thermometer"]
    found = whole[whole["criterion"] == MEAN].set_index("plot")
    # 1A is fleece; from three days before it got there on it is not seen for a week.
    gone = pd.date_range(found.loc["1A", "reached"] - pd.Timedelta(days=3), periods=30)
    facts = trial.logged.facts
    hit = (facts["plot"] == "1A") & facts["date"].isin(gone[:12]) & (facts["measure"] == "soil")
    cold = (facts["plot"] == "1A") & (facts["date"] > gone[11]) & (facts["measure"] == "soil")
    facts.loc[hit, "completeness"] = 0.0
    facts.loc[cold, "mean"] = 0.0
    tables = thermometer(trial, plots, sums)
    assert of_plots(tables, MEAN).loc["1A", "state"] == "not known"
    gained = tables["thermometer_gained"]
    gained = gained[gained["criterion"] == MEAN].set_index("left")
    assert gained.loc["fleece", "note"].startswith("a plot of one of the two was not seen")
    assert np.isnan(gained.loc["fleece", "days"])
    assert gained.loc["woven", ["days", "lower", "p"]].notna().all()
