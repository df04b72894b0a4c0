"""Advice on a next trial, each number against arithmetic of its own."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.conftest import write_rated
from decisions.budgeted import trial_with
from wintersward.analysis.decision_columns_budget import NEXT_TRIAL
from wintersward.analysis.results import empty
from wintersward.analysis.share_columns import MORE_BLOCKS, NOW, TWICE
from wintersward.decisions.next_trial import next_trial, raters_needed
from wintersward.decisions.silent_measures import silent_measures
from wintersward.design import draw
from wintersward.study import Trial, open_study

NAN = float("nan")


@pytest.fixture(scope="module")
def rated(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return open_study(write_rated(tmp_path_factory.mktemp("rated")))


def advice(rows: pd.DataFrame, name: str) -> pd.DataFrame:
    return rows[rows["advice"] == name].reset_index(drop=True)


def wanted_blocks(sd: float, matters: float, alpha: float, treatments: int) -> int:
    """Find the fewest blocks by the noncentral t of SciPy."""
    for blocks in range(2, 100):
        df = (blocks - 1) * (treatments - 1)
        far = matters / (sd * np.sqrt(2 / blocks))
        limit = stats.t.isf(alpha / 2, df)
        chance = stats.nct.sf(limit, df, far) + stats.nct.cdf(-limit, df, far)
        if chance >= 0.8:
            return blocks
    raise AssertionError("no number of blocks is enough")


def test_blocks_come_from_the_error_of_this_trial(rated: Trial) -> None:
    row = advice(next_trial(rated, {})["next_trial"], "blocks").iloc[0]
    day = pd.Timestamp(rated.primary_date)
    seen = rated.observations("colour_rating")
    seen = seen[(seen["date"] == day) & (seen["excluded"] == "")]
    plots = seen.groupby(["plot", "rater"])["value"].mean().groupby("plot").mean()
    joined = rated.plots.assign(value=rated.plots["plot"].map(plots))
    wide = joined.groupby(["block", "cover"], observed=True)["value"].mean().unstack()
    # The error of randomised blocks: what both means leave, over (b - 1)(t - 1).
    left = wide.sub(wide.mean(axis=1), axis=0).sub(wide.mean(axis=0), axis=1) + wide.mean().mean()
    sd = float(np.sqrt((left.to_numpy() ** 2).sum() / 10))
    assert row["value"] == wanted_blocks(sd, 1.0, 0.05, 3)
    # The 0.2 quantile of chi-squared with 10 df is 6.179 (Pearson and Hartley, from memory).
    assert row["cautious"] == wanted_blocks(sd * np.sqrt(10 / 6.179), 1.0, 0.05, 3)
    assert (row["now"], row["unit"], row["date"]) == (6, "blocks", day)


def test_raters_by_the_formula_of_spearman_and_brown() -> None:
    # One rater with a reliability of 0.5: 0.667 of two, 0.75 of three, 0.8 of four.
    assert raters_needed(2 / 3, 2, wanted=0.75) == 3
    assert raters_needed(2 / 3, 2, wanted=0.8) == 4
    assert np.isnan(raters_needed(-0.1, 2))


def icc(form: str, value: float) -> dict[str, Any]:
    named = {"measure": "colour_rating", "against": "raters", "statistic": "ICC", "form": form}
    return {**named, "value": value, "lower": 0.0, "upper": 1.0, "n": 36, "text": ""}


def test_raters_are_judged_within_dates(tmp_path: Path) -> None:
    form = "mean of the raters, absolute agreement, "
    raters = pd.DataFrame({"measure": "colour_rating", "rater": ["te", "rx"]})
    agreement = pd.DataFrame([icc(f"{form}all dates", 0.9), icc(f"{form}within dates", 0.6)])
    tables = {"agreement": agreement, "raters": raters}
    row = advice(advised(tmp_path, tables), "raters").iloc[0]
    assert (row["value"], row["now"]) == (raters_needed(0.6, 2), 2)
    agreement = pd.DataFrame([icc(f"{form}within dates", 0.75)])
    rows = advised(tmp_path / "good", tables | {"agreement": agreement})
    assert advice(rows, "raters").empty


def advised(folder: Path, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Take the advice that needs no observation."""
    made = trial_with(folder, None)
    trial = Trial(made.folder, made.definition, made.diary, draw(made.definition))
    nothing = empty("observations")
    trial.__dict__.update({"outstanding": [], "_observations": nothing})
    return next_trial(trial, tables)["next_trial"]


def plan(measure: str, smallest: dict[tuple[str, str], float], **more: float) -> pd.DataFrame:
    told = {"measure": measure, "date": pd.Timestamp("2026-03-24"), "se": 1.0, "df": 10.0}
    told |= {"blocks": 6, "reading_share": float("nan"), **more}
    return pd.DataFrame(
        [{**told, "plan": p, "bound": b, "smallest": value} for (p, b), value in smallest.items()]
    )


def test_half_the_readings_are_enough_where_they_carry_little(tmp_path: Path) -> None:
    held = {(NOW, ""): 10.0, (TWICE, ""): 9.8, (MORE_BLOCKS, ""): 8.5}
    little = plan("pull_force", held, readings=3.0, reading_share=8.0)
    row = advice(advised(tmp_path, {"variance_plans": little}), "fewer readings").iloc[0]
    # Half the readings double 8 % of the variance: 1.08 times as much.
    assert row["value"] == pytest.approx(100 * (np.sqrt(1.08) - 1))
    much = plan("pull_force", held, readings=3.0, reading_share=60.0)
    rows = advised(tmp_path / "much", {"variance_plans": much})
    assert advice(rows, "fewer readings").empty


@pytest.mark.parametrize(
    ("twice", "said"),
    [
        ((9.0, 9.9), "plots before readings"),
        ((7.0, 7.9), "readings before plots"),
        ((7.0, 9.0), ""),
    ],
)
def test_plots_or_readings_only_where_the_bounds_agree(
    tmp_path: Path, twice: tuple[float, float], said: str
) -> None:
    held = {(NOW, ""): 10.0, (MORE_BLOCKS, ""): 8.5}
    held |= {(TWICE, "at most"): twice[0], (TWICE, "at least"): twice[1]}
    rows = advised(tmp_path, {"variance_plans": plan("green_cover", held, readings=1.0)})
    kept = rows[rows["advice"].isin(["plots before readings", "readings before plots"])]
    assert kept["advice"].tolist() == ([said] if said else [])
    if said:
        assert kept["now"].tolist() == [10.0]
        blocks = [6.0] if said == "plots before readings" else [NAN]
        assert kept["many"].tolist() == pytest.approx(blocks, nan_ok=True)


def units(measure: str, day: str, values: list[float]) -> pd.DataFrame:
    rows = {"measure": measure, "date": pd.Timestamp(day), "value": values}
    return pd.DataFrame(rows)


def test_dates_on_which_nothing_could_differ(tmp_path: Path) -> None:
    seen = pd.concat(
        [
            units("green_cover", "2026-04-17", [100.0, 99.6, 99.9, 99.5, 80.0]),
            units("colour_rating", "2026-03-10", [3.0, 3.0, 3.0]),
            units("colour_rating", "2026-03-16", [3.0, 3.5, 4.0]),
            units("green_cover", "2026-01-15", [0.0, 0.0, 0.0]),
        ]
    )
    trial = trial_with(tmp_path, None)
    rows = pd.DataFrame(list(silent_measures(trial, {"plot_means": seen})))
    told = rows[["advice", "measure", "date", "value", "now"]].astype({"date": str})
    # Before the covers went on nothing could differ by them.
    assert told.to_numpy().tolist() == [
        ["at an end", "green_cover", "2026-04-17", 80.0, 5.0],
        ["no spread", "colour_rating", "2026-03-10", 100.0, 3.0],
    ]


def test_one_treatment_at_the_end_of_the_scale(tmp_path: Path) -> None:
    seen = units("green_cover", "2026-04-17", [100.0, 100.0, 60.0, 75.0])
    seen = seen.assign(aeration=["solid", "solid", "hollow", "hollow"])
    trial = trial_with(tmp_path, None)
    (row,) = silent_measures(trial, {"plot_means": seen})
    assert (row["advice"], row["level"], row["value"], row["now"]) == ("at an end", "solid", 100, 2)
    # Where nearly all units are there it is said once.
    (row,) = silent_measures(trial, {"plot_means": seen.assign(value=[100.0, 100.0, 99.9, 99.5])})
    assert ("level" in row, row["value"], row["now"]) == (False, 100, 4)


def difference(lower: float, upper: float, day: str) -> dict[str, Any]:
    row: dict[str, Any] = dict.fromkeys(empty("differences").columns)
    named = {"measure": "pull_force", "date": pd.Timestamp(day), "left": "fleece"}
    return {**row, **named, "right": "open", "lower": lower, "upper": upper}


def test_a_measure_that_was_never_told_apart_says_what_it_could_have_seen(tmp_path: Path) -> None:
    trial = trial_with(tmp_path, None)
    rows = [difference(-5, 20, "2026-03-24"), difference(-9, 9, "2026-04-17")]
    held = {(NOW, ""): 18.3, (MORE_BLOCKS, ""): 15.4}
    tables = {"variance_plans": plan("pull_force", held)}
    found = list(silent_measures(trial, tables | {"differences": pd.DataFrame(rows)}))
    assert [(one["advice"], one["value"], one["now"]) for one in found] == [
        ("not told apart", 18.3, 2.0)
    ]
    rows.append(difference(1, 20, "2026-04-17"))
    assert list(silent_measures(trial, tables | {"differences": pd.DataFrame(rows)})) == []


def test_lost_single_readings(tmp_path: Path) -> None:
    counts = pd.DataFrame(
        {"measure": "green_cover", "due": ["yes", "yes", "not yet"], "expected": [36, 36, 36],
         "missing": [1, 0, 0], "excluded": [0, 2, 0]}
    )  # fmt: skip
    row = advice(advised(tmp_path, {"counts": counts}), "a second reading").iloc[0]
    assert (row["value"], row["now"]) == (pytest.approx(100 * 3 / 72), 3)


def test_there_is_no_advice_before_the_answer(tmp_path: Path) -> None:
    found = next_trial(trial_with(tmp_path, None, ready=False), {})["next_trial"]
    assert found.empty
    assert list(found.columns) == [one.name for one in NEXT_TRIAL["next_trial"].columns]
