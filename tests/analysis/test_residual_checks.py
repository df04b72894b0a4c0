"""Residuals, and checks of what the tests suppose."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from wintersward.analysis import model_for
from wintersward.analysis.residual_checks import (
    additivity,
    equal_spread,
    normality,
    residual_checks,
)
from wintersward.analysis.results import TABLES
from wintersward.analysis.strata import Stratum
from wintersward.study import Trial

# Montgomery, Design and Analysis of Experiments, impurity data: three temperatures by five
# pressures; sum of squares for non-additivity 0.0985, of error 2.00, F 0.36 (from memory).
IMPURITY = [[5, 4, 6, 3, 5], [3, 1, 4, 2, 3], [1, 1, 3, 1, 2]]
# Kirk, Experimental Design, table 7.2-1, as the tests of the R package dae hold it, with the
# answers of its tukey.1df: F 1.279581, p 0.271392.
# fmt: off
KIRK = [
    [3, 4, 4, 3], [2, 4, 4, 5], [2, 3, 3, 6], [3, 3, 3, 5],
    [1, 2, 4, 7], [3, 3, 6, 6], [4, 4, 5, 10], [6, 5, 5, 8],
]
# fmt: on


def crossed(values: object) -> Stratum:
    table = np.asarray(values, dtype=float)
    rows = [
        (f"{i}{j}", f"b{i}", f"t{j}", value)
        for i, line in enumerate(table)
        for j, value in enumerate(line)
    ]
    data = pd.DataFrame(rows, columns=["unit", "block", "treatment", "value"])
    return Stratum("treatment", data, ("block",), "block + treatment", "plot")


@pytest.fixture(scope="module")
def tables(rated_trial: Trial) -> dict[str, pd.DataFrame]:
    measures = rated_trial.definition.measures
    pairs = [(name, date) for name in measures for date in rated_trial.dates(name)]
    return residual_checks([model_for(rated_trial, name, date) for name, date in pairs])


def pulls(frame: pd.DataFrame, day: str) -> pd.DataFrame:
    return frame[(frame["measure"] == "pull_force") & (frame["date"] == pd.Timestamp(day))]


def test_the_tables_hold_what_they_promise(tables: dict[str, pd.DataFrame]) -> None:
    for name, frame in tables.items():
        assert list(frame.columns) == [column.name for column in TABLES[name].columns]
        assert not frame.duplicated(list(TABLES[name].key)).any()
        assert frame.notna().all(axis=None)


def test_residuals_and_fitted_values_make_up_what_was_observed(
    rated_trial: Trial, tables: dict[str, pd.DataFrame]
) -> None:
    found = tables["residuals"]
    assert not (found["date"] == pd.Timestamp("2026-01-15")).any()
    model = model_for(rated_trial, "pull_force", dt.date(2026, 4, 17))
    one = pulls(found, "2026-04-17")
    assert (one["fitted"] + one["residual"]).tolist() == pytest.approx(model.data["value"].tolist())
    levels = model.data[["cover", "aeration"]].astype(str).agg(":".join, axis=1)
    assert one["level"].tolist() == levels.tolist()
    assert one["studentised"].std() == pytest.approx(1, abs=0.1)
    assert np.corrcoef(one["studentised"], one["residual"])[0, 1] > 0.99


def test_every_date_is_checked_in_its_own_strata(tables: dict[str, pd.DataFrame]) -> None:
    found = tables["checks"]
    before = pulls(found, "2026-03-24")
    assert before["check"].tolist() == [
        "normality",
        "equal spread of treatments",
        "additive blocks, cover",
    ]
    after = pulls(found, "2026-04-17")
    assert after["check"].tolist()[2:] == [
        "additive blocks, cover",
        "additive whole plots, aeration",
    ]
    assert found["p"].between(0, 1).all()
    assert (found["text"].str.len() > 40).all()


def test_checks_are_those_of_the_residuals(tables: dict[str, pd.DataFrame]) -> None:
    one = pulls(tables["residuals"], "2026-03-24")
    checks = pulls(tables["checks"], "2026-03-24").set_index("test")
    shapiro = stats.shapiro(one["residual"])
    assert checks.loc["Shapiro-Wilk", "statistic"] == pytest.approx(shapiro.statistic)
    groups = [part.to_numpy() for _, part in one.groupby("level")["residual"]]
    # Levene's test with medians is the analysis of variance of distances from the median.
    apart = [np.abs(group - np.median(group)) for group in groups]
    plain = stats.f_oneway(*apart)
    assert checks.loc["Brown-Forsythe", "statistic"] == pytest.approx(plain.statistic)
    assert checks.loc["Brown-Forsythe", "p"] == pytest.approx(plain.pvalue)


def test_no_finding_does_not_say_that_all_is_well(tables: dict[str, pd.DataFrame]) -> None:
    quiet = tables["checks"].query("p >= 0.05")
    assert quiet["text"].str.contains("no sign").all()
    shapiro = quiet[quiet["test"] == "Shapiro-Wilk"]
    assert shapiro["text"].str.contains("only large departures would show").all()
    loud = tables["checks"].query("p < 0.05")
    assert not loud["text"].str.contains("no sign").any()
    unsure = loud["p"] >= 0.01
    assert (
        loud["text"].str.contains("about one check in twenty says so by chance") == unsure
    ).all()


def test_published_non_additivity() -> None:
    impurity, kirk = additivity(crossed(IMPURITY)), additivity(crossed(KIRK))
    assert impurity is not None
    assert kirk is not None
    assert impurity[1] == pytest.approx(0.36, abs=5e-3)
    assert kirk[1:3] == pytest.approx((1.279581, 0.271392), abs=5e-5)


def test_it_is_tukeys_formula_where_blocks_are_complete() -> None:
    y = np.array(KIRK, dtype=float)
    a, b = y.mean(axis=1) - y.mean(), y.mean(axis=0) - y.mean()
    found = (y * np.outer(a, b)).sum() ** 2 / ((a**2).sum() * (b**2).sum())
    error = ((y - y.mean() - a[:, None] - b) ** 2).sum()
    check = additivity(crossed(KIRK))
    assert check is not None
    assert check[1] == pytest.approx(found / ((error - found) / 20))


def test_differences_that_grow_with_the_block_are_found_and_logarithms_mend_them() -> None:
    rng = np.random.default_rng(8)
    times = np.exp(np.add.outer(np.linspace(0, 2, 6), np.linspace(0, 1, 4)))
    times *= np.exp(rng.normal(0, 0.03, times.shape))
    grown, mended = additivity(crossed(times)), additivity(crossed(np.log(times)))
    assert grown is not None
    assert mended is not None
    assert grown[2] < 1e-6
    assert "another scale" in grown[3]
    assert mended[1] < grown[1] / 100


def test_lost_units_are_no_hindrance() -> None:
    made = crossed(KIRK)
    gone = Stratum("treatment", made.data.iloc[1:], made.around, made.fixed, made.unit_kind)
    check = additivity(gone)
    assert check is not None
    assert 0 < check[2] < 1


def test_blocks_that_do_not_differ_leave_nothing_to_ask() -> None:
    flat = np.tile([[1.0, -1.0], [-1.0, 1.0]], (3, 2))
    assert additivity(crossed(flat)) is None


def test_a_unit_far_off_is_noticed() -> None:
    residual = stats.norm.ppf((np.arange(18) + 0.5) / 18)
    quiet, loud = normality(residual), normality(np.append(residual, 9.0))
    assert quiet is not None
    assert loud is not None
    assert "with 18 units" in quiet[3]
    assert "one unit far off" in loud[3]
    assert normality(residual[:2]) is None


def test_a_treatment_that_spreads_more_is_named() -> None:
    rng = np.random.default_rng(6)
    level = np.repeat(["open", "fleece", "woven"], 8)
    residual = rng.normal(0, 1, 24) * np.where(level == "fleece", 12, 1)
    found = equal_spread(residual, level)
    assert found is not None
    assert found[2] < 0.01
    assert "most in fleece" in found[3]
    again = equal_spread(residual[level != "fleece"], level[level != "fleece"])
    assert again is not None
    assert "with 8 units in a treatment" in again[3]


def test_a_treatment_without_spread_is_named_without_a_ratio() -> None:
    wide = np.array([-9.0, -6.0, -3.0, 3.0, 6.0, 9.0])
    still = np.array([1e-15, -1e-15, 1e-15, -1e-15, 1e-15, -1e-15])
    found = equal_spread(np.concatenate([wide, still]), np.repeat(["open", "fleece"], 6))
    assert found is not None
    assert "spread most in open and least in fleece, where there is no spread at all" in found[3]
    assert "times as much" not in found[3]


@pytest.mark.parametrize(("far", "chance"), [(5.0, True), (9.0, False)])
def test_chance_is_named_only_where_it_would_do(far: float, chance: bool) -> None:
    residual = stats.norm.ppf((np.arange(18) + 0.5) / 18)
    check = normality(np.append(residual, far))
    assert check is not None
    assert check[2] < 0.05
    assert (check[2] >= 0.01) is chance
    assert check[3].endswith("about one check in twenty says so by chance") is chance
    clear = "hardly chance: do not lean on the intervals of this date"
    assert check[3].endswith(clear) is not chance


def test_too_few_units_are_not_checked_for_spread() -> None:
    level = np.repeat(["open", "fleece", "woven"], 2)
    assert equal_spread(np.arange(6.0), level) is None
    # Three alike in every treatment: distances from the median do not vary.
    assert equal_spread(np.zeros(9), np.repeat(["open", "fleece", "woven"], 3)) is None


def test_what_cannot_be_fitted_is_passed_over(rated_trial: Trial) -> None:
    found = residual_checks([model_for(rated_trial, "colour_rating", "baseline")])
    assert all(frame.empty for frame in found.values())
    assert list(found["checks"].columns) == [column.name for column in TABLES["checks"].columns]
