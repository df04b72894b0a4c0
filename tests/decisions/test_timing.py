"""The day covers came off: compared only where it was dealt out, else set beside the rule."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.dated import COVER, TINE, dated_trial
from wintersward.analysis import analyse, loop
from wintersward.analysis.decision_columns_readiness import TIMING
from wintersward.analysis.results import empty
from wintersward.decisions.timing import COMPARED, DESCRIBED, cover_timing
from wintersward.runs.tables import from_csv, to_csv
from wintersward.study import Trial
from wintersward.trial.diary import Diary

ALIKE = """\
  cover:
    control: open
    levels:
      open: {label: open}
      fleece: {label: off early, mass: 30 g/m2, light: 80 %}
      late: {label: off late, mass: 30 g/m2, light: 80 %}
"""
UNLIKE = ALIKE.replace("late, mass: 30", "late, mass: 90")
UNTOLD = ALIKE.replace(", mass: 30 g/m2, light: 80 %", "")
SPLIT = "kind: split plot\n  whole_plot: cover\n  subplot: removal\n  blocks: 5"
REMOVAL = """\
  cover:
    control: open
    levels: {open: {label: open}, fleece: {label: fleece}}
  removal:
    applied: aeration
    control: late
    levels: {late: {label: off late}, early: {label: off early}}
"""
ON = "2025-12-31"  # 60 days before the planned day
DAYS = {"early": "2026-02-22", "late": "2026-03-01"}
RULE = """\
decisions:
  covers_off_when: {soil_temperature: 5 degC, days_in_a_row: 3, not_after: covers_off}
"""


def value(seed: int = 4) -> Any:
    rng = np.random.default_rng(seed)
    return lambda plot, day: round(50 + 3 * float(rng.normal()), 6)


def with_covers(trial: Trial, factor: str, offs: dict[str, str]) -> Trial:
    """Take covers off the plots of each level of a factor on a day of its own; never off open."""
    covers = []
    covered = trial.plots["cover"].astype(str) != "open"
    for level, off in offs.items():
        own = trial.plots[covered & (trial.plots[factor].astype(str) == level)]
        covers.append({"on": ON, "off": off, "plots": [*own["plot"].astype(str)]})
    return replace(trial, diary=Diary.model_validate({"covers": covers}))


def differences(trial: Trial) -> pd.DataFrame:
    """Compare as `analyse` does, without all that it sets beside."""
    models = list(loop._models(trial))
    of = [[m for m in models if m.measure == name] for name in trial.definition.measures]
    return pd.concat([loop._measured(trial, some)["differences"] for some in of if some])


def told(trial: Trial, removal: pd.DataFrame | None = None) -> pd.DataFrame:
    tables = {"differences": empty("differences"), "removal": empty("removal")}
    if trial.ready and trial.definition.layout.tested:
        tables["differences"] = differences(trial)
    if removal is not None:
        tables["removal"] = removal
    found = cover_timing(trial, tables)
    text = to_csv("cover_timing", TIMING["cover_timing"], found)
    assert len(from_csv("cover_timing", TIMING["cover_timing"], text)) == len(found)
    return found


BY_COVER = {"fleece": DAYS["early"], "late": DAYS["late"]}


def test_covers_that_differ_only_in_their_day_are_compared(tmp_path: Path) -> None:
    trial = with_covers(dated_trial(tmp_path / "t", value(), treatments=ALIKE), "cover", BY_COVER)
    found = told(trial)
    assert list(found["kind"]) == [COMPARED, DESCRIBED]
    row = found.iloc[0]
    assert (row["factor"], row["left"], row["right"]) == ("cover", "fleece", "late")
    assert row["days"] == -7
    assert (row["left_off"], row["right_off"]) == tuple(map(pd.Timestamp, DAYS.values()))
    own = analyse(trial)["differences"]
    same = own[(own["left"] == "fleece") & (own["right"] == "late") & (own["date"] == row["date"])]
    for name in ("difference", "se", "df", "lower", "upper"):
        assert row[name] == float(same[name].iloc[0])
    assert "all pairs and dates" in row["text"]


@pytest.mark.parametrize("treatments", [UNLIKE, UNTOLD], ids=["unlike", "untold"])
def test_covers_that_may_be_unlike_are_not(tmp_path: Path, treatments: str) -> None:
    trial = dated_trial(tmp_path / "t", value(), treatments=treatments)
    assert list(told(with_covers(trial, "cover", BY_COVER))["kind"]) == [DESCRIBED]


def test_one_day_for_all_is_described(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "t", value(), treatments=ALIKE)
    same = with_covers(trial, "cover", dict.fromkeys(BY_COVER, DAYS["late"]))
    found = told(same)
    assert list(found["kind"]) == [DESCRIBED]
    assert found["text"].iloc[0] == "the definition holds no rule for taking covers off"
    assert pd.isna(found["days"].iloc[0])


def test_a_cover_lifted_on_one_plot_leaves_nothing_to_compare(tmp_path: Path) -> None:
    trial = with_covers(dated_trial(tmp_path / "t", value(), treatments=ALIKE), "cover", BY_COVER)
    plot = trial.diary.covers[0].plots[0]
    event = {"date": "2026-02-01", "what": "blown off", "plots": [plot]}
    blown = Diary.model_validate({"covers": trial.diary.covers, "cover_events": [event]})
    assert list(told(replace(trial, diary=blown))["kind"]) == [DESCRIBED]


def test_covers_that_also_went_on_on_other_days_are_not_compared(tmp_path: Path) -> None:
    trial = with_covers(dated_trial(tmp_path / "t", value(), treatments=ALIKE), "cover", BY_COVER)
    first, second = trial.diary.covers
    later = second.model_copy(update={"on": dt.date(2026, 2, 1)})
    assert list(told(replace(trial, diary=Diary(covers=[first, later])))["kind"]) == [DESCRIBED]
    # A gap that only one of the two treatments had.
    event = {"what": "lifted", "plots": [*second.plots], "date": "2026-02-01"}
    back = {**event, "what": "laid again", "date": "2026-02-05"}
    gap = Diary.model_validate({"covers": [first, second], "cover_events": [event, back]})
    assert list(told(replace(trial, diary=gap))["kind"]) == [DESCRIBED]


def test_a_factor_of_its_own_is_compared_under_covers_only(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "t", value(), layout=SPLIT, treatments=REMOVAL)
    found = told(with_covers(trial, "removal", {"early": DAYS["early"], "late": DAYS["late"]}))
    own = found[found["kind"] == COMPARED]
    assert own[["left", "right", "within"]].to_numpy().tolist() == [
        ["early", "late", "cover=fleece"]
    ]
    assert own["days"].iloc[0] == -7


def test_nothing_is_compared_before_the_question_has_its_data(tmp_path: Path) -> None:
    trial = with_covers(dated_trial(tmp_path / "t", value(), treatments=ALIKE), "cover", BY_COVER)
    trial.__dict__["outstanding"] = ["101"]
    assert list(told(trial)["kind"]) == [DESCRIBED]


def test_a_demonstration_only_describes(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "t", value(), treatments=ALIKE, layout="kind: demonstration")
    assert list(told(with_covers(trial, "cover", BY_COVER))["kind"]) == [DESCRIBED]


def removal(**fired: str) -> pd.DataFrame:
    """Make the record of a rule, with the days on which it was met and why."""
    days = pd.date_range("2026-02-10", "2026-03-01")
    made = pd.DataFrame({"source": "record", "date": days, "fired": "", "why": ""})
    for day, why in fired.items():
        at = made["date"] == pd.Timestamp(day.replace("_", "-").removeprefix("d"))
        made.loc[at, ["fired", "why"]] = ["yes", why]
    return made


@pytest.mark.parametrize(
    ("record", "off", "first", "days"),
    [
        (removal(d2026_02_20="held", d2026_02_21="held"), "2026-02-24", "2026-02-20", 4),
        (removal(d2026_02_20="held"), "2026-02-18", "2026-02-20", -2),
        (removal(d2026_03_01="last day"), "2026-03-01", None, 0),
        (None, "2026-03-02", None, 1),
    ],
)
def test_the_day_is_set_beside_the_rule(
    tmp_path: Path, record: pd.DataFrame | None, off: str, first: str | None, days: int
) -> None:
    trial = dated_trial(tmp_path / "t", value(), treatments=COVER, more=RULE)
    spell = Diary.model_validate({"covers": [{"on": ON, "off": off}]})
    (row,) = told(replace(trial, diary=spell), record).to_dict("records")
    assert (row["kind"], row["left_off"], row["days"]) == (DESCRIBED, pd.Timestamp(off), days)
    assert pd.isna(row["rule_day"]) if first is None else row["rule_day"] == pd.Timestamp(first)
    assert row["last_day"] == pd.Timestamp("2026-03-01")
    assert bool(row["text"]) == (record is None)


def test_covers_that_are_still_on_have_no_day(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "t", value(), treatments=COVER + TINE, layout="kind: split plot"
                        "\n  whole_plot: cover\n  subplot: tine\n  blocks: 4")  # fmt: skip
    on = Diary.model_validate({"covers": [{"on": ON, "off": "2026-03-01", "plots": ["1A"]},
                                          {"on": ON, "plots": ["1B"]}]})  # fmt: skip
    found = told(replace(trial, diary=on))
    assert pd.isna(found["left_off"].iloc[0])


def test_a_diary_without_covers_has_no_row(tmp_path: Path) -> None:
    assert told(dated_trial(tmp_path / "t", value())).empty
