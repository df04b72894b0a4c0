"""Partial budgets against published ones, against hand arithmetic, and what they never say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.planned import shown_only
from decisions.budgeted import DAYS, costs_of, found, item, trial_with
from wintersward.analysis.decision_columns_budget import BUDGET
from wintersward.decisions.budget import ENTRIES_ALONE, WITH_ESTIMATE, budget_tables
from wintersward.study import Trial

ROLLS = item("rolls", "added cost", (900.0, 1200.0), seasons=(2.0, 4.0))
LABOUR = {
    "what": "laying",
    "treatment": "fleece",
    "kind": "labour",
    "hours": (10.0, 16.0),
    "rate": (20.0, 25.0),
}
SOD = item("sod", "reduced cost", (0.5, 0.5), quantity=(0.0, 400.0))
PRIMARY = {"of": "primary", "each": (5.0, 15.0), "why": "seed"}
GAINED = {"of": "days gained", "each": (20.0, 20.0), "why": "practice"}


def row_of(tables: dict[str, pd.DataFrame], counting: str = ENTRIES_ALONE) -> pd.Series:
    budget = tables["budget"]
    rows = budget[budget["counting"] == counting]
    assert len(rows) == 1
    return rows.iloc[0]


def even_of(tables: dict[str, pd.DataFrame], of: str) -> pd.Series:
    rows = tables["break_even"]
    rows = rows[rows["of"] == of]
    assert len(rows) == 1
    return rows.iloc[0]


def test_a_published_partial_budget(tmp_path: Path) -> None:
    # "Partial budget is simple, useful financial tool", Southeast Farm Press, page 2: 100 acres
    # of corn (150 bushels at 6.50 an acre, costs of 690) for dry beans (22 hundredweight at
    # 40.00, costs of 550): 97,500 + 55,000 - 88,000 - 69,000 = -4,500 dollars.
    acre = 43.56  # 1000 ft2 in an acre
    per: dict[str, Any] = {"per": "1000 ft2"}
    costs = costs_of(
        item("corn sold", "added income", 6.5 / acre, quantity=150, **per),
        item("beans not grown", "reduced cost", 550 / acre, **per),
        item("beans not sold", "reduced income", 40 / acre, quantity=22, **per),
        item("corn grown", "added cost", 690 / acre, **per),
        area="4356000 ft2",
    )
    row = row_of(budget_tables(trial_with(tmp_path, costs), found()))
    assert row["added_income_low"] == pytest.approx(97_500)
    assert row["reduced_cost_low"] == pytest.approx(55_000)
    assert row["reduced_income_high"] == pytest.approx(88_000)
    assert row["added_cost_high"] == pytest.approx(69_000)
    for name in ("least", "most", "net_low", "net_median", "net_high"):
        assert row[name] == pytest.approx(-4_500)
    assert row["above_zero"] == 0


def test_a_price_is_spread_in_equal_parts(tmp_path: Path) -> None:
    # University of Wisconsin, AAE 320 Farming Systems Management, problem set 3, key (2007): a
    # shed of 75,000 dollars over 15 years, nothing left, is 5,000 a year (straight line).
    shed = item("shed", "added cost", 75_000, seasons=15)
    items = budget_tables(trial_with(tmp_path, costs_of(shed)), found())["budget_items"]
    assert items[["season_low", "season_high"]].to_numpy().ravel() == pytest.approx([5_000, 5_000])


def test_ranges_by_hand(tmp_path: Path) -> None:
    tables = budget_tables(trial_with(tmp_path, costs_of(ROLLS, LABOUR, SOD)), found())
    items = tables["budget_items"]
    # 900/4 and 1200/2; 10 h at 20 and 16 h at 25; none and 400 at 0.50.
    assert items["season_low"].tolist() == [225.0, 200.0, 0.0]
    assert items["season_high"].tolist() == [600.0, 400.0, 200.0]
    row = row_of(tables)
    assert (row["added_cost_low"], row["added_cost_high"]) == (425.0, 1000.0)
    assert (row["least"], row["most"]) == (-1000.0, -225.0)
    assert row["least"] < row["net_low"] < row["net_median"] < row["net_high"] < row["most"]


def test_the_area_scales_what_is_told_for_a_part_of_it(tmp_path: Path) -> None:
    cost = item("rolls", "added cost", 10.0, per="100 m2")
    row = row_of(budget_tables(trial_with(tmp_path, costs_of(cost, area="2500 m2")), found()))
    assert (row["area"], row["added_cost_low"]) == (pytest.approx(2500), pytest.approx(250))


def test_futures_of_ranges_are_even_and_by_themselves(tmp_path: Path) -> None:
    # The sum of two even numbers from 0 to 100: a tenth lies below 100 sqrt(0.2), half below 100.
    costs = costs_of(item("a", "added income", (0, 100)), item("b", "added income", (0, 100)))
    row = row_of(budget_tables(trial_with(tmp_path, costs), found()))
    assert row["net_low"] == pytest.approx(100 * np.sqrt(0.2), abs=1.5)
    assert row["net_median"] == pytest.approx(100, abs=1.5)
    assert row["net_high"] == pytest.approx(200 - 100 * np.sqrt(0.2), abs=1.5)
    assert (row["above_zero"], row["draws"], row["seed"]) == (100, 20_000, 20260119)


def test_an_estimate_is_carried_through_by_student(tmp_path: Path) -> None:
    # NIST/SEMATECH e-Handbook, table 1.3.6.7.2: upper critical t, 10 %, 5 df: 1.476.
    worth = {**PRIMARY, "each": (1.0, 1.0)}
    costs = costs_of(item("nothing", "added cost", 0), worth=[worth])
    tables = budget_tables(trial_with(tmp_path, costs), found(cover=(10.0, 2.0, 5.0)))
    row = row_of(tables, WITH_ESTIMATE)
    assert row["net_median"] == pytest.approx(10, abs=0.06)
    assert row["net_low"] == pytest.approx(10 - 2 * 1.476, abs=0.12)
    assert row["net_high"] == pytest.approx(10 + 2 * 1.476, abs=0.12)
    half = stats.t.isf(0.025, 5) * 2
    assert (row["gain_low"], row["gain_high"]) == pytest.approx((10 - half, 10 + half))
    above = 100 * stats.t.sf(-5, 5)
    assert row["above_zero"] == pytest.approx(above, abs=0.4)
    assert tables["budget_estimates"]["carried"].tolist() == ["yes"]


def test_a_gain_may_be_that_of_less_and_of_the_pair_turned_round(tmp_path: Path) -> None:
    tables = found(cover=(10.0, 2.0, 5.0), pair=("open", "fleece"))
    for gain, middle in (("more", -10.0), ("less", 10.0)):
        worth = {**PRIMARY, "each": (1.0, 1.0), "gain": gain}
        costs = costs_of(item("nothing", "added cost", 0), worth=[worth])
        made = budget_tables(trial_with(tmp_path / gain, costs), tables)
        assert row_of(made, WITH_ESTIMATE)["net_median"] == pytest.approx(middle, abs=0.06)


@pytest.mark.parametrize(("gain", "cover"), [("more", 10.0), ("less", -10.0)])
def test_two_gains_of_one_treatment_rise_and_fall_together(
    tmp_path: Path, gain: str, cover: float
) -> None:
    worths = [{**PRIMARY, "each": (1.0, 1.0), "gain": gain}, {**GAINED, "each": (1.0, 1.0)}]
    costs = costs_of(item("nothing", "added cost", 0), worth=worths)
    tables = found(days=(10.0, 2.0, 5.0, "exactly"), cover=(cover, 2.0, 5.0))
    row = row_of(budget_tables(trial_with(tmp_path, costs, DAYS), tables), WITH_ESTIMATE)
    assert row["net_high"] - row["net_low"] == pytest.approx(4 * 2 * 1.476, abs=0.4)
    assert row["net_median"] == pytest.approx(20, abs=0.12)


def test_drawn_again_it_is_the_same_and_one_more_entry_changes_no_other(tmp_path: Path) -> None:
    made = [
        budget_tables(trial_with(tmp_path / str(n), costs_of(*items)), found())["budget"]
        for n, items in enumerate([(ROLLS,), (ROLLS,), (ROLLS, item("fee", "added cost", 7.0))])
    ]
    pd.testing.assert_frame_equal(made[0], made[1])
    assert made[2]["net_median"].iloc[0] == pytest.approx(made[0]["net_median"].iloc[0] - 7)


def test_where_it_breaks_even_by_hand(tmp_path: Path) -> None:
    # 900 for rolls of three seasons and 200 a season besides: 500 less without a gain. Ten days
    # would have to be worth 50 each; with 15 each the rolls would have to last for ever.
    fee = item("fee", "added cost", 200)
    rolls = item("rolls", "added cost", 900, seasons=3)
    costs = costs_of(rolls, fee, worth=[{**GAINED, "each": (15.0, 15.0)}])
    tables = found(days=(10.0, 1e-9, 10.0, "exactly"), cover=(0.0, 1.0, 10.0))
    made = budget_tables(trial_with(tmp_path, costs, DAYS), tables)
    days, life = even_of(made, "days gained"), even_of(made, "seasons")
    assert days[["low", "median", "high"]].tolist() == pytest.approx([50, 50, 50])
    assert (days["step"], days["unit"], days["says"], days["never"]) == (1, "day", "exactly", 0)
    # Of an estimate of zero every second future gains nothing, which no worth pays for.
    assert even_of(made, "primary")["never"] == pytest.approx(50, abs=1.5)
    assert np.isnan(even_of(made, "primary")["high"])
    assert (life["never"], life["counting"]) == (100, WITH_ESTIMATE)
    costs = costs_of(rolls, fee, worth=[{**GAINED, "each": (65.0, 65.0)}])
    made = budget_tables(trial_with(tmp_path / "more", costs, DAYS), tables)
    # 650 - 200 are left for 900: two seasons.
    assert even_of(made, "seasons")["median"] == pytest.approx(2)


def test_what_spares_more_than_it_costs_needs_no_life(tmp_path: Path) -> None:
    # 900 spared over three seasons, 200 a season paid: 100 are left, the less the longer it lasts.
    spared = item("old rolls", "reduced cost", 900, seasons=3)
    fee = item("fee", "added cost", 200)
    made = budget_tables(trial_with(tmp_path, costs_of(spared, fee)), found())
    assert row_of(made)["net_median"] == pytest.approx(100)
    assert "seasons" not in made["break_even"]["of"].tolist()
    dearer = item("rolls", "added cost", 1000, seasons=3)
    both = budget_tables(trial_with(tmp_path / "both", costs_of(spared, dearer)), found())
    assert even_of(both, "seasons")["never"] == 100


def test_days_gained_are_those_of_the_treatments_of_the_main_question(tmp_path: Path) -> None:
    hollow = {**ROLLS, "treatment": "hollow"}
    tables = found(days=(10.0, 2.0, 5.0, "exactly"))
    trial = trial_with(tmp_path, costs_of(hollow, worth=[GAINED]), DAYS)
    row = budget_tables(trial, tables)["budget_estimates"].set_index("of").loc["days gained"]
    assert row["carried"] == "no"
    assert row["text"] == "days gained are those of the treatments of the main question"


def test_a_bound_is_not_counted_and_turns_round_where_it_breaks_even(tmp_path: Path) -> None:
    costs = costs_of(item("fee", "added cost", 80), worth=[GAINED])
    nan = float("nan")
    made = budget_tables(trial_with(tmp_path, costs, DAYS), found(days=(8.0, nan, nan, "at least")))
    assert made["budget"]["counting"].tolist() == [ENTRIES_ALONE]
    assert "no interval can be given" in made["budget"]["text"].iloc[0]
    even = even_of(made, "days gained")
    assert (even["median"], even["says"]) == (pytest.approx(10), "at most")
    estimates = made["budget_estimates"].set_index("of")
    assert estimates.loc["days gained", "carried"] == "no"
    assert estimates.loc["primary", "says"] == ""
    assert "not compared" in estimates.loc["primary", "text"]


def demonstration(trial: Trial) -> Trial:
    made = Trial(trial.folder, shown_only(trial.definition), trial.diary, trial.plots)
    made.__dict__["outstanding"] = []
    return made


def test_of_a_demonstration_nothing_that_it_found_is_counted(tmp_path: Path) -> None:
    costs = costs_of(ROLLS, worth=[PRIMARY])
    trial = demonstration(trial_with(tmp_path, costs))
    made = budget_tables(trial, found(cover=(10.0, 2.0, 5.0)))
    assert made["budget"]["counting"].tolist() == [ENTRIES_ALONE]
    assert made["budget"]["gain_high"].tolist() == [0.0]
    assert made["budget_estimates"].empty
    assert made["break_even"]["of"].tolist() == ["seasons"]
    # What it would pay for is listed, and comes to nothing.
    assert made["budget_items"]["list"].tolist() == ["items", "worth"]
    assert np.isnan(made["budget_items"]["season_low"].iloc[1])
    assert "demonstration" in made["budget"]["text"].iloc[0]


@pytest.mark.parametrize("case", ["no costs", "waiting"])
def test_there_is_nothing_before_the_answer_and_without_costs(tmp_path: Path, case: str) -> None:
    costs = costs_of(ROLLS) if case == "waiting" else None
    trial = trial_with(tmp_path, costs, ready=case != "waiting")
    made = budget_tables(trial, found(cover=(10.0, 2.0, 5.0)))
    assert list(made) == ["budget_items", "budget", "budget_estimates", "break_even"]
    for name, frame in made.items():
        assert frame.empty
        assert list(frame.columns) == [column.name for column in BUDGET[name].columns]


def test_treatments_stand_in_the_order_of_the_definition(tmp_path: Path) -> None:
    woven = {**ROLLS, "treatment": "woven"}
    hollow = {**ROLLS, "treatment": "hollow"}
    trial = trial_with(tmp_path, costs_of(hollow, woven, ROLLS))
    budget = budget_tables(trial, found(cover=(10.0, 2.0, 5.0)))["budget"]
    assert budget["treatment"].tolist() == ["fleece", "woven", "hollow"]
    assert budget["control"].tolist() == ["open", "open", "solid"]
    assert budget["factor"].tolist() == ["cover", "cover", "aeration"]
