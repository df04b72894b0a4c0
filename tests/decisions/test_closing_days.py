"""Days until holes had closed, by cover, against those there are to the first use."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from decisions.closing import AERATED, SHOWN, SPLIT, TEXT, VISITS, closing_trial, steady
from wintersward.analysis.decision_columns_aeration import AERATION
from wintersward.decisions.closing_days import closing_days
from wintersward.decisions.planner import aeration_options
from wintersward.decisions.recovery import recovery_tables

# Visits are 7 days apart: 12 lies between 7 and 14, 18 and 20 between 14 and 21, 26 after 21.
_DAYS = {
    ("open", "solid"): 12.0,
    ("fleece", "solid"): 12.0,
    ("open", "hollow"): 26.0,
    ("fleece", "hollow"): 20.0,
}
_PLAN = """\
decisions:
  aeration:
    event: {event}
    options:
      half:
        label: Half as wide
        tine:
          {{kind: hollow, outside: 9.5 mm, inside: 7 mm, spacing: [50 mm, 50 mm], depth: 80 mm}}
"""


def made(
    folder: Path, event: int, layout: str = SPLIT, visits: tuple[int, ...] = VISITS
) -> pd.DataFrame:
    """Give the table of a small trial whose first use is some days after its aeration."""

    def holes(plot: Any, day: int) -> float:
        return steady(_DAYS[plot.cover, plot.tine] + 0.1 * (int(plot.plot) % 3), day)

    plan = _PLAN.replace("{event}", str(AERATED + dt.timedelta(days=event)))
    text = TEXT + plan
    if layout != SPLIT:
        text = text.replace("    applied: aeration\n", "")
    trial = closing_trial(folder / "study", holes, layout=layout, text=text, visits=visits)
    recovery = recovery_tables(trial, {})
    options = aeration_options(trial, recovery)
    return closing_days(trial, options, recovery)


def of(found: pd.DataFrame, option: str, cover: str) -> pd.Series:
    return found.set_index(["option", "within"]).loc[(option, f"cover={cover}")]


def test_each_cover_has_its_own_days_and_visits(tmp_path: Path) -> None:
    found = made(tmp_path, 24)
    assert list(found.columns) == [c.name for c in AERATION["aeration_days"].columns]
    assert len(found) == 3 * 2
    fleece, bare = of(found, "hollow", "fleece"), of(found, "hollow", "open")
    assert (fleece["visits_low"], fleece["visits_high"]) == (14, 21)
    assert (bare["visits_low"], bare["visits_high"]) == (21, 28)
    assert fleece["days_low"] == pytest.approx(20, abs=0.25)
    assert bare["spare_high"] == pytest.approx(24 - bare["days_low"])
    assert (fleece["units"], fleece["apart"], fleece["days_available"]) == (5, 7, 24)


def test_what_is_scaled_is_scaled_with_its_visits_and_was_not_seen(tmp_path: Path) -> None:
    found = made(tmp_path, 24)
    half, wide = of(found, "half", "open"), of(found, "hollow", "open")
    for name in ("days_low", "days_high", "visits_low", "visits_high"):
        assert half[name] == pytest.approx(wide[name] / 2)
    assert half["apart"] == wide["apart"]
    assert pd.isna(half["seen_on"])
    assert (half["seen_plots"], math.isnan(half["seen_low"])) == (0, True)


@pytest.mark.parametrize(
    ("event", "fleece", "bare"),
    [
        (30, "closed", "closed"),
        (24, "closed", "either"),
        (14, "open", "open"),
        (20, "either", "open"),
    ],
)
def test_the_visits_alone_judge(tmp_path: Path, event: int, fleece: str, bare: str) -> None:
    found = made(tmp_path, event)
    told = [of(found, "hollow", cover)["says"] for cover in ("fleece", "open")]
    assert told == [fleece, bare]


def test_the_last_look_before_the_first_use_is_told(tmp_path: Path) -> None:
    found = made(tmp_path, 24)
    bare, fleece = of(found, "hollow", "open"), of(found, "hollow", "fleece")
    assert bare["seen_on"] == pd.Timestamp(AERATED + dt.timedelta(days=21))
    assert (bare["seen_plots"], bare["seen_closed"], fleece["seen_closed"]) == (5, 0, 5)
    # 95 % after 26.0 to 26.2 days, at an even pace: 76 to 77 % after 21.
    assert bare["seen_low"] == pytest.approx(95 * 21 / 26.2)
    assert bare["seen_high"] == pytest.approx(95 * 21 / 26.0)


def test_holes_that_were_open_at_the_end_have_no_last_day(tmp_path: Path) -> None:
    found = made(tmp_path, 24, visits=(7, 14, 21))
    bare = of(found, "hollow", "open")
    assert bare[["days_high", "visits_high", "spare_low"]].isna().all()
    assert (bare["visits_low"], bare["says"]) == (21, "either")
    assert of(found, "half", "open")["says"] == "either"
    # Half as wide they were all open at the visit scaled to the day of use.
    early = of(made(tmp_path / "early", 10, visits=(7, 14, 21)), "half", "open")
    assert (early["visits_low"], early["says"]) == (10.5, "open")


def test_a_demonstration_sets_nothing_side_by_side(tmp_path: Path) -> None:
    assert made(tmp_path, 24, layout=SHOWN).empty
