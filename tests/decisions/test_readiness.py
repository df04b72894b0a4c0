"""Limits against the means of whole studies: models, references, freezes, and what waits."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

import wintersward
from analysis.dated import COVER, SPLIT, TINE, dated_trial
from wintersward.analysis import model_for
from wintersward.analysis.decision_columns_readiness import READINESS
from wintersward.decisions.established import reference_for
from wintersward.decisions.limits import CANNOT_TELL, MET, NO_DATA, NOT_MET, VERDICTS
from wintersward.decisions.readiness import readiness
from wintersward.runs.tables import from_csv, to_csv
from wintersward.study import Trial
from wintersward.trial.changes import Changed
from wintersward.trial.decided import OWN_LIMIT
from wintersward.trial.diary import Diary
from wintersward.trial.frozen import Frozen

LAST = dt.date(2026, 4, 10)  # 40 days after covers off
LEVELS = {"open": 40.0, "fleece": 60.0, "woven": 52.0}
OLD = {"measure": "cover_share", "date": LAST, "where": "old field"}
Make = Callable[..., Trial]


def decided(limit: str) -> str:
    return f"decisions:\n  ready_when:\n    cover_share: {{{limit}, on: 2026-04-10}}\n"


def spread(seed: int = 3, blocks: float = 3.0, plots: float = 2.0) -> Callable[[Any, int], float]:
    """Give values with an effect of covers, of blocks and of plots."""
    rng = np.random.default_rng(seed)
    own = {"": 0.0} | {str(block): float(rng.normal(0, blocks)) for block in range(1, 7)}

    def value(plot: Any, day: int) -> float:
        tine = -6.0 * (getattr(plot, "tine", "") == "hollow") * (day > 15)
        return round(
            LEVELS[plot.cover] + own[str(plot.block)] + tine + float(rng.normal(0, plots)), 6
        )

    return value


@pytest.fixture
def make(tmp_path: Path) -> Make:
    def build(limit: str = "at_least: 50 %", value: Any = None, **other: Any) -> Trial:
        more = decided(limit) if limit else ""
        return dated_trial(tmp_path / "trial", value or spread(), more=more, **other)

    return build


def told(trial: Trial) -> pd.DataFrame:
    frame = readiness(trial)
    assert set(frame["verdict"]) <= set(VERDICTS)
    table = READINESS["readiness"]
    again = from_csv("readiness", table, to_csv("readiness", table, frame))
    assert len(again) == len(frame)
    return frame.set_index("level")


def test_it_is_public() -> None:
    assert wintersward.readiness is readiness


def test_blocks_by_the_textbook(make: Make) -> None:
    trial = make()
    found = told(trial)
    # A mean over blocks drawn at random: variance (MS blocks + (t - 1) MS error) / (t b), degrees
    # of freedom after Satterthwaite 1946 (derived by hand).
    wide = model_for(trial, "cover_share", LAST).data.pivot(
        index="block", columns="cover", values="value"
    )
    b, t = wide.shape
    blocks = t * float(wide.mean(axis=1).var(ddof=1))
    left = wide.sub(wide.mean(axis=1), axis=0) - wide.mean() + wide.to_numpy().mean()
    error = float((left.to_numpy() ** 2).sum()) / ((b - 1) * (t - 1))
    assert blocks > error
    se = math.sqrt((blocks + (t - 1) * error) / (t * b))
    parts = blocks**2 / (b - 1) + ((t - 1) * error) ** 2 / ((b - 1) * (t - 1))
    df = (blocks + (t - 1) * error) ** 2 / parts
    for level in LEVELS:
        row = found.loc[level]
        assert row["mean"] == pytest.approx(float(wide[level].mean()))
        assert (row["se"], row["df"]) == pytest.approx((se, df))
        assert row["lower"] == pytest.approx(row["mean"] - stats.t.ppf(0.9, df) * se)
    assert list(found["verdict"]) == [NOT_MET, MET, found.loc["woven", "verdict"]]
    assert set(found["source"]) == {OWN_LIMIT}
    assert set(found["role"]) == {"secondary"}
    assert list(found["units"]) == [6, 6, 6]
    assert found.loc["open", "units_beyond"] == (wide["open"] < 50).sum()


def test_what_cannot_be_told_says_what_would_tell(make: Make) -> None:
    row = told(make("at_least: 50 %, sure: 95 %, source: league")).loc["woven"]
    assert row["verdict"] == CANNOT_TELL
    assert row["settle_units"] > 6
    assert row["settle"] == (
        f"about {row['settle_units']} blocks in place of 6 would have told, were mean and spread "
        "the same"
    )
    assert (row["sure"], row["source"]) == (95, "league")


def test_a_limit_at_the_mean_is_too_close(make: Make, tmp_path: Path) -> None:
    mean = float(told(make()).loc["woven", "mean"])
    trial = dated_trial(tmp_path / "two", spread(), more=decided(f"at_most: {mean:.6f} %"))
    row = told(trial).loc["woven"]
    assert (row["verdict"], row["settle_units"]) == (CANNOT_TELL, 0)
    assert row["settle"] == (
        "too close to the limit to tell with any reasonable number of blocks (more than 30)"
    )


def test_a_split_plot_has_combinations_alone(make: Make) -> None:
    trial = make(layout=SPLIT, treatments=COVER + TINE)
    found = readiness(trial)
    # No ground has the mean over both tines.
    assert set(found["effect"]) == {"cover:tine"}
    assert len(found) == 6
    assert list(found["level"])[-2:] == ["woven:solid", "woven:hollow"]
    assert set(found["units"]) == {6}
    hollow = found.set_index("level")
    assert hollow.loc["fleece:hollow", "mean"] < hollow.loc["fleece:solid", "mean"]


def test_treatments_that_all_fill_the_ground_still_have_means(make: Make) -> None:
    rng = np.random.default_rng(5)
    trial = make("at_least: 85 %", lambda plot, day: round(float(rng.uniform(99.1, 99.9)), 6))
    assert model_for(trial, "cover_share", LAST).only_described
    found = told(trial)
    assert set(found["verdict"]) == {MET}
    assert found["lower"].between(99, 100).all()


def test_plots_without_spread_bear_no_bound(make: Make) -> None:
    found = told(make("at_least: 50 %", lambda plot, day: 80.0))
    assert set(found["verdict"]) == {CANNOT_TELL}
    assert found["lower"].isna().all()
    assert (found["settle"] != "").all()
    assert (found["mean"] == 80).all()
    assert (found["units_beyond"] == 0).all()


def test_a_treatment_that_nobody_saw_has_no_data(make: Make) -> None:
    draw = spread()
    found = told(make(value=lambda p, d: None if p.cover == "woven" and d == 40 else draw(p, d)))
    assert found.loc["woven", "verdict"] == NO_DATA
    assert (found.loc["woven", "units"], found.loc["open", "units"]) == (0, 6)
    assert found.loc["open", "verdict"] == NOT_MET


def with_old_turf(trial: Trial, *entries: dict[str, Any]) -> Trial:
    return replace(trial, diary=Diary.model_validate({"established_turf": [*entries]}))


OF_OLD = "at_least: 80 %, of: established turf"


def test_a_share_of_established_turf_takes_in_both_errors(make: Make, tmp_path: Path) -> None:
    trial = make(OF_OLD)
    plain = told(dated_trial(tmp_path / "plain", spread(), more=decided("at_least: 48 %")))
    found = told(with_old_turf(trial, {**OLD, "values": ["58 %", "64 %", "61 %", "65 %"]}))
    row, own = found.loc["woven"], plain.loc["woven"]
    mean, se = 62.0, float(stats.sem([58, 64, 61, 65]))
    assert (row["share"], row["limit"]) == (80, pytest.approx(0.8 * mean))
    assert (row["reference_mean"], row["reference_n"]) == (mean, 4)
    assert row["reference_se"] == pytest.approx(se)
    assert row["se"] == pytest.approx(math.hypot(own["se"], 0.8 * se))
    df = row["se"] ** 4 / (own["se"] ** 4 / own["df"] + (0.8 * se) ** 4 / 3)
    assert row["df"] == pytest.approx(df)
    assert (row["reference"], row["reference_date"]) == ("old field", pd.Timestamp(LAST))
    assert (found.loc["open", "verdict"], found.loc["fleece", "verdict"]) == (NOT_MET, MET)


def test_equal_readings_of_established_turf_tell_no_error(make: Make) -> None:
    found = told(with_old_turf(make(OF_OLD), {**OLD, "values": ["60 %", "60 %"]}))
    assert set(found["verdict"]) == {CANNOT_TELL}
    assert found["lower"].isna().all()
    assert found["settle"].str.startswith("the readings of established turf do not vary").all()
    assert (found["reference_mean"] == 60).all()


def test_too_few_blocks_are_told_in_plain_words(make: Make) -> None:
    draw = spread()
    found = told(make(value=lambda p, d: draw(p, d) if d < 40 or str(p.block) == "1" else None))
    assert set(found["verdict"]) == {CANNOT_TELL}
    assert set(found["settle"]) == {"too few blocks or plots are left to judge by"}


def test_without_readings_of_established_turf_nothing_is_judged(make: Make) -> None:
    found = told(make(OF_OLD))
    assert set(found["verdict"]) == {NO_DATA}
    assert found["settle"].str.contains("established_turf").all()
    assert found["limit"].isna().all()
    assert found["mean"].notna().all()
    assert (found["units_beyond"] == 0).all()


def test_an_unsteady_reference_asks_for_more_of_its_own_readings(make: Make) -> None:
    trial = with_old_turf(make(OF_OLD), {**OLD, "values": ["40 %", "82 %"]})
    row = told(trial).loc["fleece"]
    assert (row["verdict"], row["settle_units"]) == (CANNOT_TELL, 0)
    assert row["settle"].startswith("more readings of the established turf")


def test_the_nearest_readings_are_taken_and_places_are_replicates() -> None:
    days = [LAST - dt.timedelta(3), LAST + dt.timedelta(3), LAST - dt.timedelta(9)]
    entries = [{**OLD, "date": day, "values": [10.0 * i, 10.0 * i + 2]} for i, day in
               enumerate(days, 1)]  # fmt: skip
    entries.append({**entries[0], "where": "goal  mouth", "values": [30, 34, 38]})
    entries.append({**entries[0], "measure": "other", "values": [1, 2]})
    read = Diary.model_validate({"established_turf": entries}).established_turf
    found = reference_for(read, "cover_share", LAST)
    assert found is not None
    assert (found.day, found.places, found.readings) == (days[0], ("old field", "goal mouth"), 5)
    assert (found.estimate.mean, found.estimate.df) == ((11 + 34) / 2, 1)
    assert found.estimate.se == pytest.approx(float(stats.sem([11, 34])))
    assert reference_for(read, "nothing", LAST) is None


def test_nothing_is_judged_before_the_question_has_its_data(make: Make) -> None:
    draw = spread()
    trial = make(value=lambda p, d: draw(p, d))
    waiting = replace(trial)
    waiting.__dict__["outstanding"] = ["101"]
    assert not waiting.ready
    assert readiness(waiting).empty
    assert list(readiness(waiting).columns) == [c.name for c in READINESS["readiness"].columns]


def test_a_demonstration_has_no_verdicts(make: Make) -> None:
    trial = make(layout="kind: demonstration")
    assert trial.ready
    assert readiness(trial).empty


def test_without_limits_the_table_is_empty(make: Make) -> None:
    assert readiness(make("")).empty


@pytest.mark.parametrize(
    ("before", "touches", "role"),
    [
        ("at_least: 50 %", set(), "secondary"),
        ("at_least: 50 %, source: other words", set(), "secondary"),
        ("at_least: 45 %", {"decisions"}, "exploratory"),
        ("at_least: 50 %, sure: 80 %", {"decisions"}, "exploratory"),
        ("", {"decisions"}, "exploratory"),
        ("at_least: 50 %", {"measure:cover_share"}, "exploratory"),
        ("at_least: 50 %", {"measure:other"}, "secondary"),
        ("at_least: 50 %", {"everything"}, "exploratory"),
    ],
)
def test_a_limit_changed_after_the_freeze(
    make: Make, tmp_path: Path, before: str, touches: set[str], role: str
) -> None:
    trial = make()
    old = dated_trial(tmp_path / "old", spread(), more=decided(before) if before else "")
    at = dt.datetime(2026, 1, 12, 14, 5, tzinfo=dt.UTC)
    frozen = Frozen(Path("plan/frozen"), at, "0.1.0", {}, (), old.definition)
    changed = (Changed("decisions", "a", "b", "asked", frozenset(touches)),)
    trial.__dict__.update(_freeze=(frozen, []), changes=changed)
    assert set(told(trial)["role"]) == {role}
