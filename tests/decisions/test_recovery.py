"""Recovery after an aeration: days until holes closed, what covers gained, and bounds."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from decisions.closing import AERATED, BLOCKS, SHOWN, TEXT, VISITS, closing_trial, steady
from wintersward.analysis import analyse
from wintersward.analysis.arrivals import NOT_KNOWN
from wintersward.analysis.decision_columns_recovery import RECOVERY
from wintersward.decisions.closure import aerated_on, closure
from wintersward.decisions.closure_contrast import closure_contrast
from wintersward.decisions.closure_times import closure_times
from wintersward.decisions.recovery import recovery_tables
from wintersward.study import Trial
from wintersward.trial.names import RESERVED

# Days until 95 % is closed; blocks differ by chance, drawn once.
_DAYS = {
    ("open", "solid"): 17.0,
    ("fleece", "solid"): 16.0,
    ("open", "hollow"): 26.0,
    ("fleece", "hollow"): 22.0,
    ("fleece_double", "solid"): 16.0,
    ("fleece_double", "hollow"): 22.0,
}
NONE: dict[str, pd.DataFrame] = {}


def drawn(seed: int = 3) -> Callable[[Any], float]:
    """Give each plot days of its own, none outside the visits."""
    made: dict[str, float] = {}
    rng = np.random.default_rng(seed)

    def own(plot: Any) -> float:
        if plot.plot not in made:
            made[plot.plot] = _DAYS[plot.cover, plot.tine] + round(float(rng.normal(0, 0.6)), 2)
        return made[plot.plot]

    return own


def straight(own: Callable[[Any], float]) -> Callable[[Any, int], float]:
    """Give values whose line between visits is at 95 on the plot's own day, to the last digit."""

    def value(plot: Any, day: int) -> float:
        days = own(plot)
        before = max(visit for visit in VISITS if visit <= days)
        after = before + 7
        rise = min(5.0 / (after - days), 90.0 / (days - before) if days > before else 5.0)
        return round(95 + rise * (day - days), 10) if day in (before, after) else steady(days, day)

    return value


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return closing_trial(tmp_path_factory.mktemp("holes") / "study", straight(drawn()))


@pytest.fixture(scope="module")
def tables(trial: Trial) -> dict[str, pd.DataFrame]:
    return analyse(trial)


@pytest.fixture(scope="module")
def made(trial: Trial, tables: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    return recovery_tables(trial, tables)


def own_days(trial: Trial) -> pd.DataFrame:
    own = drawn()
    plots = trial.plots.astype("str")
    return plots.assign(own=[own(plot) for plot in plots.itertuples()])


def gained(made: dict[str, pd.DataFrame], left: str, within: str = "") -> pd.Series:
    rows = made["closure_gained"]
    chosen = rows[(rows["left"] == left) & (rows["within"] == within)]
    assert len(chosen) == 1
    return chosen.iloc[0]


def paired(days: pd.DataFrame, right: str, left: str, column: str = "cover") -> Any:
    wide = days.pivot(index="block", columns=column, values="own")
    return stats.ttest_rel(wide[right], wide[left]), float((wide[right] - wide[left]).mean())


def test_every_plot_has_its_own_day(trial: Trial, made: dict[str, pd.DataFrame]) -> None:
    found = made["closure_times"].set_index("unit_name")
    assert (found["censored"] == "").all()
    true = own_days(trial).set_index("plot")["own"]
    assert found["days"].sub(true).abs().max() < 1e-6
    assert set(found["goal"]) == {95.0}
    kept = true.index
    assert (found.loc[kept, "cover"] == trial.plots.set_index("plot").loc[kept, "cover"]).all()


@pytest.mark.parametrize("tine", ["solid", "hollow"])
def test_covers_within_a_tine_are_the_paired_t_of_the_days(
    trial: Trial, made: dict[str, pd.DataFrame], tine: str
) -> None:
    days = own_days(trial)
    test, mean = paired(days[days["tine"] == tine], "open", "fleece")
    row = gained(made, "fleece", f"tine={tine}")
    assert (row["effect"], row["says"]) == ("cover", "exactly")
    assert row["days"] == pytest.approx(mean)
    low, high = test.confidence_interval()
    assert (row["lower"], row["upper"]) == pytest.approx((low, high))
    assert row["p"] == pytest.approx(test.pvalue)
    assert row["df"] == pytest.approx(4)


def test_whether_the_lead_depends_on_the_tine_is_the_paired_t_of_its_differences(
    trial: Trial, made: dict[str, pd.DataFrame]
) -> None:
    wide = own_days(trial).pivot(index="block", columns=["cover", "tine"], values="own")
    longer = {cover: wide[cover, "hollow"] - wide[cover, "solid"] for cover in ("open", "fleece")}
    test = stats.ttest_rel(longer["open"], longer["fleece"])
    row = gained(made, "fleece:hollow-solid")
    assert row["right"] == "open:hollow-solid"
    assert row["effect"] == "cover:tine"
    assert row["days"] == pytest.approx((longer["open"] - longer["fleece"]).mean())
    assert (row["lower"], row["upper"]) == pytest.approx(tuple(test.confidence_interval()))
    leads = [gained(made, "fleece", f"tine={tine}")["days"] for tine in ("hollow", "solid")]
    assert row["days"] == pytest.approx(leads[0] - leads[1])


def test_blocks_of_all_combinations_give_the_same_pairs(tmp_path: Path) -> None:
    text = TEXT.replace("    applied: aeration\n", "")
    trial = closing_trial(tmp_path / "study", straight(drawn()), layout=BLOCKS, text=text)
    found = recovery_tables(trial, NONE)
    days = own_days(trial)
    test, mean = paired(days[days["cover"] == "open"], "solid", "hollow", "tine")
    row = gained(found, "hollow", "cover=open")
    assert row["days"] == pytest.approx(mean)
    assert row["p"] == pytest.approx(test.pvalue)


def other_days(cover: str, tine: str, block: str, days: float) -> Callable[[Any, int], float]:
    own = drawn()

    def value(plot: Any, day: int) -> float:
        here = (plot.cover, plot.tine, str(plot.block)) == (cover, tine, block)
        return steady(days if here else own(plot), day)

    return value


# A plot that is never closed in sight, or was before the first visit, bounds what it enters.
@pytest.mark.parametrize(
    ("cover", "days", "lead", "crossed"),
    [
        ("open", 90.0, "at least", "at least"),
        ("fleece", 90.0, "at most", "at most"),
        ("open", 2.0, "at most", "at most"),
        ("fleece", 2.0, "at least", "at least"),
    ],
)
def test_a_bound_is_said_as_a_bound(
    tmp_path: Path, cover: str, days: float, lead: str, crossed: str
) -> None:
    trial = closing_trial(tmp_path / "study", other_days(cover, "hollow", "2", days))
    found = recovery_tables(trial, NONE)
    row = gained(found, "fleece", "tine=hollow")
    assert row["says"] == lead
    assert row[["se", "lower", "upper", "p"]].isna().all()
    side = "right" if cover == "open" else "left"
    assert row[f"{side}_{'after' if days > 28 else 'before'}"] == 1
    assert gained(found, "fleece:hollow-solid")["says"] == crossed
    assert gained(found, "fleece", "tine=solid")["says"] == "exactly"


def test_bounds_on_both_sides_of_one_whole_plot_tell_nothing(tmp_path: Path) -> None:
    own = drawn()

    def value(plot: Any, day: int) -> float:
        if (plot.cover, str(plot.block)) == ("fleece", "1"):
            return steady(90.0, day)  # both tines: their difference may lie on either side
        return steady(own(plot), day)

    found = recovery_tables(closing_trial(tmp_path / "study", value), NONE)
    row = gained(found, "fleece:hollow-solid")
    assert row["says"] == "cannot be told"
    assert np.isnan(row["days"])
    assert (row["units_left"], row["units_right"]) == (5, 5)


def test_the_visits_around_each_day_are_told(made: dict[str, pd.DataFrame]) -> None:
    found = made["closure_times"]
    assert (found["first_there"] - found["last_below"] == 7).all()
    assert (found["last_below"] < found["days"]).all()
    assert (found["days"] <= found["first_there"]).all()
    assert found["first_there"].isin(VISITS).all()


def test_visits_alone_leave_every_lead_that_fits_between_them(
    made: dict[str, pd.DataFrame],
) -> None:
    times = made["closure_times"]
    for tine in ("solid", "hollow"):
        own = {cover: times[(times["cover"] == cover) & (times["tine"] == tine)]
               for cover in ("open", "fleece")}  # fmt: skip
        row = gained(made, "fleece", f"tine={tine}")
        ends = [
            (own["open"][a].to_numpy() - own["fleece"][b].to_numpy()).mean()
            for a, b in (("last_below", "first_there"), ("first_there", "last_below"))
        ]
        assert (row["visits_low"], row["visits_high"]) == pytest.approx(tuple(ends))
        assert row["apart"] == 7
    hollow, solid, crossed = (
        gained(made, name, within)
        for name, within in (
            ("fleece", "tine=hollow"),
            ("fleece", "tine=solid"),
            ("fleece:hollow-solid", ""),
        )
    )
    # Each may be at either of its ends by itself.
    assert crossed["visits_low"] == pytest.approx(hollow["visits_low"] - solid["visits_high"])
    assert crossed["visits_high"] == pytest.approx(hollow["visits_high"] - solid["visits_low"])


def test_units_that_were_there_or_never_there_have_one_visit(tmp_path: Path) -> None:
    trial = closing_trial(tmp_path / "a", other_days("open", "hollow", "2", 90.0))
    late = recovery_tables(trial, NONE)["closure_times"]
    row = late[late["censored"] == "after"].iloc[0]
    assert (row["last_below"], np.isnan(row["first_there"])) == (28, True)
    trial = closing_trial(tmp_path / "b", other_days("open", "hollow", "2", 2.0))
    early = recovery_tables(trial, NONE)["closure_times"]
    row = early[early["censored"] == "on or before"].iloc[0]
    assert (np.isnan(row["last_below"]), row["first_there"]) == (True, 7)


def test_a_planned_day_does_not_move_what_was_seen(
    tmp_path: Path, made: dict[str, pd.DataFrame]
) -> None:
    text = TEXT + "decisions: {{aeration: {{on: 2026-04-05, event: 2026-06-01}}}}\n"
    trial = closing_trial(tmp_path / "study", straight(drawn()), text=text)
    assert aerated_on(trial.definition) == AERATED
    found = recovery_tables(trial, NONE)["closure_times"]
    assert found["days"].tolist() == pytest.approx(made["closure_times"]["days"].tolist())


def test_a_treatment_that_was_never_seen_is_told_as_such(tmp_path: Path) -> None:
    own = drawn()

    def value(plot: Any, day: int) -> float | None:
        return None if plot.cover == "fleece_double" else steady(own(plot), day)

    more = "fleece_double: {{label: Two fleeces}}, fleece: {{label: Fleece}}"
    text = TEXT.replace("fleece: {{label: Fleece}}", more)
    found = recovery_tables(closing_trial(tmp_path / "study", value, text=text), NONE)
    row = gained(found, "fleece_double", "tine=hollow")
    assert (row["says"], row["units_left"], row["units_right"]) == ("cannot be told", 0, 5)
    assert row["note"] == "days gained by fleece_double: no unit of fleece_double was seen"
    assert gained(found, "fleece_double:hollow-solid")["says"] == "cannot be told"
    # What is said of the one is not said of the other, whose name begins alike.
    assert gained(found, "fleece", "tine=hollow")["note"] == ""


def test_without_blocks_it_is_said_why_nothing_pairs_the_units(tmp_path: Path) -> None:
    text = TEXT.replace("    applied: aeration\n", "")
    layout = "kind: completely random\n  replicates: 4"
    trial = closing_trial(tmp_path / "study", straight(drawn()), layout=layout, text=text)
    row = gained(recovery_tables(trial, NONE), "fleece:hollow-solid")
    assert row["says"] == "cannot be told"
    assert "nothing pairs its days" in row["note"]


def test_turf_is_back_at_its_share_of_what_it_was(tmp_path: Path) -> None:
    # 80 before, of which 95 % are 76: on the line from 60 on day 7 to 100 on day 14 that is day
    # 7 + 7 * 16 / 40 = 9.8.
    seen = {-1: 80.0, 7: 60.0, 14: 100.0, 21: 100.0, 28: 100.0}

    def living(plot: Any, day: int) -> float | None:
        return None if plot.plot == "101" and day < 0 else seen[day]

    trial = closing_trial(tmp_path / "study", straight(drawn()), living)
    found = closure_times(trial, "living", AERATED, holes=False).set_index("unit_name")
    assert found.loc["101", "censored"] == NOT_KNOWN
    assert np.isnan(found.loc["101", "days"])
    rest = found.drop("101")
    assert rest["goal"].to_numpy() == pytest.approx(76)
    assert rest["days"].to_numpy() == pytest.approx(9.8)


def test_degree_days_are_those_of_the_plot_its_whole_plot_or_the_air(trial: Trial) -> None:
    first, second = trial.plots["plot"].iloc[0], trial.plots["whole_plot"].iloc[-1]
    days = pd.to_datetime([AERATED, "2026-04-01", "2026-04-08"])
    parts = {first: [10.0, 40.0, np.nan], second: [20.0, 60.0, 80.0], "": [5.0, 10.0, 15.0]}
    sums = pd.concat(
        pd.DataFrame({"date": days, "plot": plot, "sum": total}) for plot, total in parts.items()
    )
    found = closure(trial, ["holes"], AERATED, sums).set_index(["plot", "days"])["degree_days"]
    last, other = trial.plots["plot"].iloc[-1], trial.plots["plot"].iloc[5]
    assert found[first, 7] == pytest.approx(30)
    assert found[last, 14] == pytest.approx(60)
    assert found[other, 14] == pytest.approx(10)
    # A sum that a day is missing from is no sum; that of the air takes its place for all of it.
    assert np.isnan(found[other, 21])


def test_contrasts_are_those_of_the_run(
    tables: dict[str, pd.DataFrame], made: dict[str, pd.DataFrame]
) -> None:
    found = made["closure_contrast"].set_index(["measure", "date"])
    assert set(found.index.get_level_values("measure")) == {"holes", "living"}
    told = tables["differences"]
    told = told[told["effect"].str.contains(":")].set_index(["measure", "date"])
    known = found[found["se"].notna()]
    assert len(known) > 2
    for name in ("difference", "se", "lower", "upper", "p"):
        assert known[name].to_numpy() == pytest.approx(told.loc[known.index, name].to_numpy())
    assert (known["unit_of_test"] == "subplot").all()
    assert known["note"].str.contains("adjusted with the").all()


@pytest.mark.parametrize(
    ("full", "said"),
    [
        ([("fleece", "hollow")], "fleece with hollow"),
        ([("open", "solid")], "open with solid"),
        ([("fleece", "hollow"), ("open", "solid")], "open with solid and fleece with hollow"),
        ([("fleece", "solid"), ("open", "solid")], ""),  # nothing left to differ on either side
        ([], ""),
    ],
)
def test_no_interval_where_one_side_alone_is_full(
    trial: Trial, tables: dict[str, pd.DataFrame], full: list[tuple[str, str]], said: str
) -> None:
    means = tables["plot_means"].copy()
    cells = pd.Series(list(zip(means["cover"], means["tine"], strict=True)), means.index)
    means["value"] = means["value"].clip(upper=99).mask(cells.isin(full), 100.0)
    found = closure_contrast(trial, {**tables, "plot_means": means}, AERATED)
    row = found[found["measure"] == "holes"].iloc[0]
    assert np.isfinite(row["difference"])
    judged = row[["se", "df", "lower", "upper", "p"]].notna()
    assert judged.all() if not said else not judged.any()
    told = f"no interval: all units of {said} have 100 %, and vary no more"
    assert (row["note"] == told) == bool(said)


def test_nothing_before_the_primary_question_has_its_data(tmp_path: Path) -> None:
    def living(plot: Any, day: int) -> float | None:
        return None if day < 0 and plot.plot == "101" else 70.0

    trial = closing_trial(tmp_path / "study", straight(drawn()), living)
    assert not trial.ready
    assert all(frame.empty for frame in recovery_tables(trial, NONE).values())


def test_a_demonstration_is_described_and_compared_with_nothing(tmp_path: Path) -> None:
    text = TEXT.replace("    applied: aeration\n", "")
    trial = closing_trial(tmp_path / "study", straight(drawn()), layout=SHOWN, text=text)
    found = recovery_tables(trial, NONE)
    assert len(found["closure_times"]) == 4
    assert len(found["closure"]) == 4 * len(VISITS)
    assert found["closure_gained"].empty
    assert found["closure_contrast"].empty


def test_columns_are_those_that_are_described(
    trial: Trial, made: dict[str, pd.DataFrame], tmp_path: Path
) -> None:
    empty = recovery_tables(closing_trial(tmp_path / "study", lambda *_: None), NONE)
    for name, table in RECOVERY.items():
        columns = [column.name for column in table.columns]
        factors = [*trial.factors] if table.open_ended else []
        assert list(made[name].columns) == [*columns, *factors]
        assert list(empty[name].columns)[: len(columns)] == columns
        assert not made[name].duplicated(list(table.key)).any()
        assert made[name].sort_values(list(table.key), ignore_index=True).equals(made[name])


def test_the_day_of_the_aeration_is_found(trial: Trial) -> None:
    assert aerated_on(trial.definition) == AERATED
    alone = {"treatments": {"cover": trial.definition.treatments["cover"]}}
    assert aerated_on(trial.definition.model_copy(update=alone)) == AERATED
    dates = {n: d for n, d in trial.definition.dates.items() if n != "aeration"}
    never = trial.definition.model_copy(update={**alone, "dates": dates})
    assert aerated_on(never) is None


def test_no_factor_may_be_called_like_a_column_of_the_days() -> None:
    shown = {
        column.name for name in ("closure", "closure_times") for column in RECOVERY[name].columns
    }
    assert shown | {"dipped", "earliest", "latest", "apart"} <= RESERVED
