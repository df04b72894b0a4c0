"""Severity of raters, and agreement within dates."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from wintersward.analysis.raters import all_dates, complete, severity, within_dates

DAYS = pd.to_datetime(["2026-03-10", "2026-03-16", "2026-03-24"])


def ratings(
    seed: int = 5, drift: float = 0.0, season: float = 0.0, plots: int = 12
) -> pd.DataFrame:
    """Rate plots by three raters: te one higher than rx, kl drifting away."""
    rng = np.random.default_rng(seed)
    rows = []
    for at, day in enumerate(DAYS):
        for plot in range(plots):
            true = 5 + season * at + rng.normal(0, 1)
            for rater, ahead in (("te", 1.0), ("rx", 0.0), ("kl", drift * at)):
                rows.append((day, f"p{plot:02d}", rater, true + ahead + rng.normal(0, 0.3)))
    return pd.DataFrame(rows, columns=["date", "plot", "rater", "value"])


def values(found: list) -> dict[str, float]:
    return {one.form: one.value for one in found}


def test_severity_is_the_rater_less_the_mean_of_the_raters() -> None:
    frame = ratings(drift=-1.0)
    found = severity(complete(frame))
    assert found.groupby("date")["severity"].sum().abs().max() < 1e-12
    assert set(found["plots"]) == {12}
    plain = frame.groupby(["date", "rater"])["value"].mean().unstack()
    wanted = plain.sub(plain.mean(axis=1), axis=0).stack()
    for row in found.itertuples():
        assert row.severity == pytest.approx(wanted[row.date, row.rater])
    drifting = found[found["rater"] == "kl"].sort_values("date")["severity"]
    assert drifting.is_monotonic_decreasing


def test_only_plots_that_all_raters_rated_count() -> None:
    frame = ratings()
    frame = frame[
        ~((frame["plot"] == "p03") & (frame["rater"] == "kl") & (frame["date"] == DAYS[0]))
    ]
    frame.loc[frame.index[-1], "value"] = np.nan
    found = severity(complete(frame))
    assert found.drop_duplicates("date")["plots"].tolist() == [11, 12, 11]


def test_several_samples_of_a_plot_are_averaged() -> None:
    frame = ratings()
    twice = pd.concat(
        [frame.assign(value=frame["value"] + 1), frame.assign(value=frame["value"] - 1)]
    )
    pd.testing.assert_frame_equal(complete(twice), complete(frame))


def test_severity_lowers_agreement_and_not_consistency() -> None:
    frame = ratings()
    alike = frame.assign(value=frame["value"] - (frame["rater"] == "te"))
    severe, level = values(within_dates(complete(frame))), values(within_dates(complete(alike)))
    name = "single rating, consistency"
    assert severe[name] == pytest.approx(level[name])
    assert severe["single rating, absolute agreement"] < 0.8 * severe[name]
    assert level["single rating, absolute agreement"] == pytest.approx(level[name], abs=0.02)


def test_drift_between_dates_lowers_agreement_and_not_consistency_within_dates() -> None:
    steady, drifting = ratings(), ratings(drift=1.0)
    name = "single rating, consistency"
    within = [values(within_dates(complete(frame))) for frame in (steady, drifting)]
    assert within[0][name] == pytest.approx(within[1][name])
    assert (
        within[1]["single rating, absolute agreement"]
        < within[0]["single rating, absolute agreement"]
    )
    over = [values(all_dates(complete(frame))) for frame in (steady, drifting)]
    assert over[1][name] < over[0][name] - 0.05


def test_a_season_makes_raters_look_alike_over_dates_and_not_within() -> None:
    still, growing = complete(ratings()), complete(ratings(season=4.0))
    name = "single rating, consistency"
    assert values(within_dates(growing))[name] == pytest.approx(values(within_dates(still))[name])
    assert values(all_dates(growing))[name] > values(all_dates(still))[name] + 0.03


def test_dates_within_which_nothing_can_be_compared_are_left_out() -> None:
    wide = complete(ratings())
    one = wide.drop(wide.loc[[DAYS[2]]].index[1:])
    assert values(within_dates(one)) == values(within_dates(wide.loc[[DAYS[0], DAYS[1]]]))


def test_raters_who_never_differ_agree_and_leave_no_interval() -> None:
    frame = ratings()
    same = frame.assign(value=frame.groupby(["date", "plot"])["value"].transform("mean"))
    for found in (all_dates(complete(same)), within_dates(complete(same))):
        assert [one.value for one in found] == [1.0] * 4
        assert all(np.isnan([one.lower, one.upper]).all() for one in found)


def test_ratings_that_are_all_equal_tell_nothing() -> None:
    for forms in (all_dates, within_dates):
        found = forms(complete(ratings().assign(value=6.0)))
        assert all(np.isnan(one.value) for one in found)


def test_plots_that_do_not_differ_have_no_interval() -> None:
    frame = ratings()
    side = frame["rater"].map({"te": 1.0, "rx": -1.0, "kl": 0.0})
    apart = frame.assign(value=5 + side * frame["plot"].str[1:].astype(int))
    for found in (all_dates(complete(apart)), within_dates(complete(apart))):
        assert values(found)["single rating, consistency"] == pytest.approx(-0.5)
        assert np.isnan(values(found)["mean of the raters, consistency"])
        assert np.isnan([end for one in found for end in (one.lower, one.upper)]).all()


def test_pingouins_rounding_is_left_as_it_was() -> None:
    import pingouin

    before = dict(pingouin.options)
    found = all_dates(complete(ratings()))
    assert pingouin.options == before
    assert found[0].lower != round(found[0].lower, 2)
