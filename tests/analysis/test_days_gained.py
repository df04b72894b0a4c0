"""Days gained: exact where nothing is censored, one-sided where something is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.dated import BLOCKS, COVER, SPLIT, TINE, dated_trial
from wintersward.analysis.arrivals import AFTER, ON_OR_BEFORE, first_day
from wintersward.analysis.days_gained import days_gained, gains
from wintersward.analysis.results import TABLES
from wintersward.errors import WinterswardError
from wintersward.study import open_study

DAYS = (0, 7, 21, 40)
ASKED = "  days_gained: {measure: cover_share, level: 70 %}\n"
# Curves over DAYS that reach 70 on a known day.
EARLY = [75, 80, 85, 90]  # on or before day 0
LATE = [20, 30, 40, 60]  # after day 40


def reaching(day: float) -> list[float]:
    """Give a curve that is at 70 exactly on that day: two points in 100 a day."""
    return [70 + 2 * (visit - day) for visit in DAYS]


def frame(curves: Mapping[str, list[list[float]]], days: tuple[int, ...] = DAYS) -> pd.DataFrame:
    """Lay out one curve a treatment and block."""
    rows = [
        (f"{block}{cover}", str(block), cover, day, value)
        for cover, several in curves.items()
        for block, values in enumerate(several)
        for day, value in zip(days, values, strict=True)
    ]
    return pd.DataFrame(rows, columns=["unit_name", "block", "treatment", "day", "value"])


def gained(curves: Mapping[str, list[list[float]]]) -> pd.DataFrame:
    found = days_gained(frame(curves), level=70, control="open")["days_gained"]
    return found.set_index("left")


def test_complete_blocks_give_the_paired_t_of_the_days() -> None:
    open_days, fleece_days = np.array([20.0, 25, 23, 30]), np.array([12.0, 15, 19, 20])
    curves = {
        "open": [reaching(day) for day in open_days],
        "fleece": [reaching(day) for day in fleece_days],
    }
    row = gained(curves).loc["fleece"]
    gain = open_days - fleece_days
    test = stats.ttest_rel(open_days, fleece_days)
    assert row["days"] == pytest.approx(gain.mean())
    assert row["se"] == pytest.approx(gain.std(ddof=1) / 2)
    assert row["df"] == pytest.approx(3)
    assert row["p"] == pytest.approx(test.pvalue)
    low, high = test.confidence_interval()
    assert (row["lower"], row["upper"]) == pytest.approx((low, high))
    assert row["says"] == "exactly"
    assert (row["units_left"], row["units_right"]) == (4, 4)


@pytest.mark.parametrize(
    ("open_first", "fleece_first", "says", "days"),
    [
        (LATE, reaching(12), "at least", 40 - 12),  # the control may come later still
        (reaching(24), EARLY, "at least", 24 - 0),  # the treatment may have come earlier
        (LATE, EARLY, "at least", 40 - 0),
        (EARLY, reaching(12), "at most", 0 - 12),  # the control may have come earlier
        (reaching(24), LATE, "at most", 24 - 40),  # the treatment may come later still
        (EARLY, LATE, "at most", 0 - 40),
        (LATE, LATE, "cannot be told", None),
        (EARLY, EARLY, "cannot be told", None),
    ],
)
def test_the_direction_of_every_censoring(
    open_first: list[float], fleece_first: list[float], says: str, days: float | None
) -> None:
    curves = {
        "open": [open_first, reaching(20), reaching(26)],
        "fleece": [fleece_first, reaching(15), reaching(18)],
    }
    row = gained(curves).loc["fleece"]
    assert row["says"] == says
    if days is None:
        assert np.isnan(row["days"])
    else:
        assert row["days"] == pytest.approx((days + (20 - 15) + (26 - 18)) / 3)
    assert row[["se", "df", "lower", "upper", "p"]].isna().all()
    counts = row[["left_before", "left_after", "right_before", "right_after"]].tolist()
    told = [c == kind for c in (fleece_first, open_first) for kind in (EARLY, LATE)]
    assert counts == [int(there) for there in told]
    assert (row["units_left"], row["units_right"]) == (3, 3)  # nothing is dropped


def test_the_two_kinds_in_different_blocks_cancel_the_number() -> None:
    curves = {
        "open": [LATE, reaching(20), EARLY],
        "fleece": [reaching(12), reaching(15), reaching(18)],
    }
    row = gained(curves).loc["fleece"]
    assert (row["says"], row["right_before"], row["right_after"]) == ("cannot be told", 1, 1)
    assert np.isnan(row["days"])


def test_every_bound_holds_for_whatever_the_true_days_were() -> None:
    rng = np.random.default_rng(11)
    for _ in range(60):
        true = {c: rng.normal(m, 14, 5) for c, m in (("open", 24.0), ("fleece", 15.0))}
        curves = {c: [reaching(day) for day in days] for c, days in true.items()}
        row = gained(curves).loc["fleece"]
        truth = (true["open"] - true["fleece"]).mean()
        seen = [first_day(DAYS, values, 70) for several in curves.values() for values in several]
        if not any(one.censored for one in seen):
            assert row["says"] == "exactly"
        if row["says"] == "exactly":
            assert row["days"] == pytest.approx(truth)
        if row["says"] == "at least":
            assert truth >= row["days"] - 1e-9
        if row["says"] == "at most":
            assert truth <= row["days"] + 1e-9


def test_bounds_of_a_third_treatment_leave_a_pair_its_own_error() -> None:
    pair = {
        "open": [reaching(day) for day in (20, 25, 23, 30)],
        "fleece": [reaching(day) for day in (12, 15, 19, 20)],
    }
    third = {**pair, "woven": [EARLY, reaching(5), reaching(9), reaching(8)]}
    found = days_gained(frame(third), level=70, control="open")
    rows = found["days_gained"].set_index("left")
    alone = gained(pair).loc["fleece"]
    for name in ("days", "se", "df", "lower", "upper", "p"):
        assert rows.loc["fleece", name] == pytest.approx(alone[name])
    assert "the error is that of fleece and open alone" in found["notes"]["text"].str.cat()
    assert rows.loc["woven", "says"] == "at least"
    assert np.isnan(rows.loc["woven", "p"])
    # Without bounds the error is pooled over the three treatments: 6 degrees of freedom.
    free = {**pair, "woven": [reaching(day) for day in (2, 5, 9, 8)]}
    assert gained(free).loc["fleece", "df"] == pytest.approx(6)


def test_a_bound_that_enters_through_lost_units_counts() -> None:
    # Block 0 lacks fleece, so that fleece and open also meet through woven.
    units = pd.DataFrame(
        [
            ("open", "0", 20.0, ""),
            ("woven", "0", 40.0, AFTER),
            ("open", "1", 26.0, ""),
            ("woven", "1", 14.0, ""),
            ("fleece", "1", 12.0, ""),
            ("woven", "2", 9.0, ""),
            ("fleece", "2", 16.0, ""),
        ],
        columns=["treatment", "block", "days", "censored"],
    )
    units["treatment"] = pd.Categorical(units["treatment"], ["open", "fleece", "woven"])
    found, _ = gains(units, "treatment", "open", "block + treatment")
    row = found.set_index("left").loc["fleece"]
    x = pd.get_dummies(units[["block", "treatment"]].astype(str), dtype=float)
    x.insert(0, "one", 1.0)
    order = list(x.columns)
    c = np.zeros(len(order))
    c[order.index("treatment_open")], c[order.index("treatment_fleece")] = 1.0, -1.0
    weights = c @ np.linalg.pinv(x.to_numpy())
    assert weights[1] < -0.1  # woven of block 0 pulls the difference down
    assert row["says"] == "at most"
    assert row["days"] == pytest.approx(weights @ units["days"])
    assert np.isnan(row["se"])


def test_units_that_were_never_seen_are_told() -> None:
    curves = {
        "open": [reaching(20), reaching(26), reaching(22)],
        "fleece": [reaching(12), [float("nan")] * 4, reaching(15)],
    }
    found = days_gained(frame(curves), level=70, control="open")
    row = found["days_gained"].iloc[0]
    assert (row["units_left"], row["units_right"]) == (2, 3)
    # Within blocks only blocks 0 and 2 can tell.
    assert row["days"] == pytest.approx((20 - 12 + 22 - 15) / 2)
    assert "1fleece" in found["notes"]["text"].iloc[0]
    assert list(found["arrivals"].columns) == [c.name for c in TABLES["arrivals"].columns]


def test_a_treatment_that_was_never_seen_has_no_row() -> None:
    curves = {"open": [reaching(20), reaching(26)], "fleece": [[float("nan")] * 4] * 2}
    found = days_gained(frame(curves), level=70, control="open")
    assert found["days_gained"].empty
    assert "no unit of fleece was seen" in found["notes"]["text"].str.cat()


def test_all_alike_still_gives_the_bound() -> None:
    row = gained({"open": [LATE] * 3, "fleece": [EARLY] * 3}).loc["fleece"]
    assert (row["days"], row["says"]) == (pytest.approx(40), "at least")


def test_without_blocks_it_is_the_two_sample_t() -> None:
    curves = {
        "open": [reaching(day) for day in (20, 25, 23, 30)],
        "fleece": [reaching(day) for day in (12, 15, 19, 20)],
    }
    plain = frame(curves).drop(columns="block")
    row = days_gained(plain, level=70, control="open")["days_gained"].iloc[0]
    test = stats.ttest_ind([20, 25, 23, 30], [12, 15, 19, 20])
    assert row["p"] == pytest.approx(test.pvalue)
    assert row["df"] == pytest.approx(6)


def test_frames_without_what_is_asked() -> None:
    curves = {"open": [reaching(20)] * 2, "fleece": [reaching(10)] * 2}
    with pytest.raises(WinterswardError, match="name level= and control="):
        days_gained(frame(curves))
    with pytest.raises(WinterswardError, match="allowed: open, fleece; did you mean open"):
        days_gained(frame(curves), level=70, control="opem")
    with pytest.raises(WinterswardError, match="columns treatment are missing"):
        days_gained(frame(curves).rename(columns={"treatment": "kind"}), level=70, control="open")


def logistic(shift: Mapping[str, float], seed: int, noise: float) -> Callable[[Any, int], float]:
    """Growth with a midpoint that the cover brings forward by a known number of days."""
    rng = np.random.default_rng(seed)
    block = {str(i): rng.normal(0, 2) for i in range(1, 60)}
    plots: dict[str, float] = {}

    def value(plot: Any, day: int) -> float:
        own = plots.setdefault(plot.plot, rng.normal(0, 1.5))
        middle = 22 + block[plot.block] + own - shift[plot.cover]
        grown = 100 / (1 + np.exp(-(day - middle) / 5))
        return float(np.clip(grown + rng.normal(0, noise), 0, 100))

    return value


def test_a_known_gain_is_recovered(tmp_path: Path) -> None:
    shift = {"open": 0.0, "fleece": 8.0, "woven": 4.0}
    layout = BLOCKS.replace("6", "20")
    trial = dated_trial(
        tmp_path / "a", logistic(shift, 3, 0.5), tuple(range(1, 49, 3)), layout, more=ASKED
    )
    found = days_gained(trial)
    for name, frame_ in found.items():
        assert list(frame_.columns) == [c.name for c in TABLES[name].columns]
    rows = found["days_gained"].set_index("left")
    for name, gain in (("fleece", 8.0), ("woven", 4.0)):
        row = rows.loc[name]
        assert row["says"] == "exactly"
        assert row["lower"] < gain < row["upper"]
        assert row["days"] == pytest.approx(gain, abs=3 * row["se"])
        assert row["se"] < 0.8
    arrivals = found["arrivals"]
    assert len(arrivals) == 60
    assert set(arrivals["block"]) == {str(i) for i in range(1, 21)}
    whole = (arrivals["day"] - pd.Timestamp("2026-03-01")).dt.days
    assert (whole - arrivals["days"]).abs().max() <= 0.5


def test_whole_plots_are_the_units_of_the_covers(tmp_path: Path) -> None:
    values = {"open": 0.0, "fleece": 12.0, "woven": 6.0}

    def value(plot: Any, day: int) -> float:
        lost = 6.0 if plot.tine == "hollow" and day > 15 else 0.0
        return 40 + day + values[plot.cover] + int(plot.block) - lost

    trial = dated_trial(tmp_path / "a", value, layout=SPLIT, treatments=COVER + TINE, more=ASKED)
    found = days_gained(trial)
    arrivals = found["arrivals"].set_index("unit_name")
    assert len(arrivals) == 18
    # Whole plot 1 with no cover: day 22 at 63 - 3, day 40 at 81 - 3, so 70 is reached on day 32.
    open_one = arrivals[(arrivals["treatment"] == "open") & (arrivals["block"] == "1")].iloc[0]
    assert open_one["days"] == pytest.approx(32)
    row = found["days_gained"].set_index("left").loc["fleece"]
    assert row["units_left"] == 6
    assert row["says"] == "exactly"
    days = np.array([1, 8, 22, 40])
    reached = {  # the whole plot's mean curve rises all the time, so that it can be turned round
        cover: [np.interp(70, 40 + days + rise + b - 3.0 * (days > 15), days) for b in range(1, 7)]
        for cover, rise in values.items()
    }
    assert row["days"] == pytest.approx(np.mean(reached["open"]) - np.mean(reached["fleece"]))


def test_a_factor_applied_later_is_judged_by_later_visits(tmp_path: Path) -> None:
    def value(plot: Any, day: int) -> float:
        fell = 30.0 if plot.tine == "hollow" and day > 15 else 0.0
        return 55 + day + 0.3 * int(plot.block) - fell

    trial = dated_trial(tmp_path / "a", value, layout=SPLIT, treatments=COVER + TINE, more=ASKED)
    text = (trial.folder / "trial.yaml").read_text(encoding="utf-8")
    changed = text.replace("compare: [fleece, open]", "compare: [hollow, solid]")
    (trial.folder / "trial.yaml").write_text(changed, encoding="utf-8")
    found = days_gained(open_study(trial.folder))
    arrivals = found["arrivals"]
    assert len(arrivals) == 36
    solid = arrivals[arrivals["treatment"].str.contains("solid")]
    assert set(solid["censored"]) == {ON_OR_BEFORE}
    assert set(solid["days"]) == {22.0}
    row = found["days_gained"].iloc[0]
    assert (row["left"], row["says"]) == ("hollow", "at most")
    assert row["days"] < -8


def test_nothing_is_said_before_its_time(tmp_path: Path) -> None:
    def value(plot: Any, day: int) -> float | None:
        return None if plot.plot == "101" and day == 8 else 40.0 + day

    asked = dated_trial(tmp_path / "a", value, more=ASKED)
    (asked.folder / "sheets" / "cover.csv").write_text("date,plot,cover_share\n", encoding="utf-8")
    for trial in (open_study(asked.folder), dated_trial(tmp_path / "b", value)):
        assert all(table.empty for table in days_gained(trial).values())


def test_a_visit_that_finds_all_plots_full_is_an_arrival(tmp_path: Path) -> None:
    def value(plot: Any, day: int) -> float:
        shift = {"open": 0.0, "fleece": 9.0, "woven": 4.0}[plot.cover]
        return 99.5 if day == 40 else 40 + day / 2 + shift + int(plot.block) / 10

    asked = ASKED.replace("70", "75")
    for folder, kind, treatments in (("a", BLOCKS, COVER), ("b", SPLIT, COVER + TINE)):
        trial = dated_trial(tmp_path / folder, value, (1, 8, 22, 40), kind, treatments, more=asked)
        found = days_gained(trial)
        assert set(found["arrivals"]["censored"]) == {""}
        rows = found["days_gained"].set_index("left")
        assert set(rows["says"]) == {"exactly"}
        # Straight from day 22 to 99.5 on day 40, in each of the six blocks.
        rises = {"open": 51.0, "fleece": 60.0}
        day = {
            cover: np.mean(
                [22 + 18 * (75 - low - b / 10) / (99.5 - low - b / 10) for b in range(1, 7)]
            )
            for cover, low in rises.items()
        }
        assert rows.loc["fleece", "days"] == pytest.approx(day["open"] - day["fleece"])
        assert rows.loc["fleece", "units_left"] == 6


def test_a_visit_that_lost_all_plots_of_one_tine_keeps_the_rest(tmp_path: Path) -> None:
    values = {"open": 0.0, "fleece": 12.0, "woven": 6.0}

    def complete(plot: Any, day: int) -> float:
        return 40 + day + values[plot.cover] + int(plot.block)

    def lost(plot: Any, day: int) -> float | None:
        return None if plot.tine == "hollow" and day == gone else complete(plot, day)

    kind: dict[str, Any] = {"layout": SPLIT, "treatments": COVER + TINE, "more": ASKED}
    whole = days_gained(dated_trial(tmp_path / "a", complete, **kind))
    for gone in (22, 40):  # 40 is the last visit, whose stratum is the one that is fitted
        found = days_gained(dated_trial(tmp_path / str(gone), lost, primary=8, **kind))
        pd.testing.assert_frame_equal(found["arrivals"], whole["arrivals"])
        assert set(found["arrivals"]["treatment"]) == {"open", "fleece", "woven"}
        pd.testing.assert_frame_equal(found["days_gained"], whole["days_gained"])
        told = found["notes"]["text"].str.cat()
        assert "units of cover are averaged over solid of tine only" in told
