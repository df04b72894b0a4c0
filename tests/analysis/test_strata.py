"""A factor in its own stratum: classical answers, exact with lost units."""

from __future__ import annotations

import datetime as dt
import itertools
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from reference.analysis.published_trials import published_trial
from wintersward.analysis import model_for
from wintersward.analysis.strata import compare, stratum
from wintersward.errors import WinterswardError
from wintersward.models import fit_mixed
from wintersward.study import Trial

KGF = 9.80665  # N; NIST SP 811, appendix B.8
# Montgomery, Design and Analysis of Experiments, vascular graft; data and analysis of variance
# at Penn State STAT 503, lesson 4.2.
GRAFT = {
    "p8500": [90.3, 89.2, 98.2, 93.9, 87.4, 97.9],
    "p8700": [92.5, 89.5, 90.6, 94.7, 87.0, 95.8],
    "p8900": [85.5, 90.8, 89.6, 86.2, 88.0, 93.4],
    "p9100": [82.5, 89.5, 85.6, 87.4, 78.9, 90.7],
}


def graft(folder: Path, lost: tuple[str, int] | None = None) -> Trial:
    rows = itertools.chain.from_iterable(
        [(f"b{i}", level, 1, value) for i, value in enumerate(values) if (level, i) != lost]
        for level, values in GRAFT.items()
    )
    data = pd.DataFrame(list(rows), columns=["block", "pressure", "sample", "response"])
    return published_trial(folder, "Graft", data, {"pressure": list(GRAFT)})


def test_randomised_blocks_give_the_classical_difference(tmp_path: Path) -> None:
    model = model_for(graft(tmp_path / "graft"), "response", "visit")
    row = compare(model, [("p8700", "p8500")], 0.95).iloc[0]
    # Standard error of a difference 1.5627 (computed from the printed mean square), 15 df.
    assert row["se"] / KGF == pytest.approx(1.5627, abs=5e-5)
    assert row["df"] == 15
    assert row["difference"] / KGF == pytest.approx(91.6833 - 92.8167, abs=1e-4)
    assert row["left_mean"] / KGF == pytest.approx(91.6833, abs=5e-5)
    # Least significant difference at 5 %: 3.3307 (computed).
    assert (row["upper"] - row["lower"]) / 2 / KGF == pytest.approx(3.3307, abs=5e-5)


def test_a_lost_plot_gives_yates_standard_error_and_one_df_less(tmp_path: Path) -> None:
    model = model_for(graft(tmp_path / "graft", ("p8700", 3)), "response", "visit")
    row = compare(model, [("p8700", "p8500")], 0.95).iloc[0]
    # Allan and Wishart (1930), Yates: sqrt(MSE [2/b + t / (b (b-1) (t-1))]) = 1.6566, 14 df.
    assert row["se"] / KGF == pytest.approx(1.6566, abs=5e-5)
    assert row["df"] == 14
    assert (row["units_left"], row["units_right"]) == (5, 6)
    made = stratum(model, "pressure")
    test = made.fit().anova().set_index("term").loc["pressure"]
    # F of treatments with the plot missing 7.4981, p 0.00313 (computed two ways).
    assert test["f"] == pytest.approx(7.4981, abs=5e-5)
    assert test["p"] == pytest.approx(0.00313, abs=5e-6)


def test_a_declared_family_is_adjusted_by_dunnett(tmp_path: Path) -> None:
    model = model_for(graft(tmp_path / "graft"), "response", "visit")
    pairs = [(level, "p8500") for level in ("p9100", "p8700", "p8900")]
    rows = compare(model, pairs, 0.95)
    assert rows["left"].tolist() == ["p9100", "p8700", "p8900"]
    assert set(rows["adjust"]) == {"dunnett"}
    # Dunnett (1955), two-sided 5 %, three treatments, 15 df: 2.61 (table, from memory).
    reach = (rows["upper"] - rows["difference"]) / rows["se"]
    assert reach.tolist() == pytest.approx([2.61] * 3, abs=0.01)
    # Two treatments of the three: 2.44 (the same table, from memory).
    some = compare(model, pairs[:2], 0.95)
    assert set(some["adjust"]) == {"dunnett"}
    reach = (some["upper"] - some["difference"]) / some["se"]
    assert reach.tolist() == pytest.approx([2.44] * 2, abs=0.01)


def test_whole_plots_and_subplots_equal_the_mixed_model_when_complete(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "colour_rating", dt.date(2026, 4, 17))
    for factor, pair, df in (
        ("cover", ("woven", "open"), 10),
        ("aeration", ("hollow", "solid"), 15),
    ):
        row = compare(model, [pair], 0.95).iloc[0]
        found = model.fit.pairs([factor], adjust="none").astype({"left": str, "right": str})
        mixed = found[(found[["left", "right"]].isin(pair)).all(axis=1)].iloc[0]
        assert abs(row["difference"]) == pytest.approx(abs(mixed["difference"]))
        assert row["df"] == df
        if model.fit.variances["whole_plot"] > 0:
            assert row["se"] == pytest.approx(mixed["se"])


def test_a_lost_subplot_does_not_lend_its_tine_to_the_cover(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "colour_rating", dt.date(2026, 4, 17))
    data = model.data
    gone = data[(data["cover"] == "open") & (data["aeration"] == "solid")].index[0]
    short = type(model)(
        model.measure, model.date, model.skeleton, data.drop(index=gone), model.level
    )
    unit = data.loc[gone, "whole_plot"]
    value = stratum(short, "cover").data.set_index("unit").loc[unit, "value"]
    # Additive unit + tine among the open whole plots: what is left of the unit, less half the
    # difference of the tines in the other five.
    rest = data[(data["cover"] == "open") & (data["whole_plot"] != unit)]
    wide = rest.pivot(index="whole_plot", columns="aeration", values="value")
    half = float((wide["hollow"] - wide["solid"]).mean()) / 2
    kept = data[(data["whole_plot"] == unit) & (data["aeration"] == "hollow")]["value"].iloc[0]
    assert value == pytest.approx(kept - half)
    # What the unit borrowed must enter the error: the plots are fitted, those of a whole plot
    # correlated; as they are alike here, that is the model with whole plots random.
    row = compare(short, [("fleece", "open")], 0.95).iloc[0]
    fixed, random = "block + cover * aeration", ["whole_plot"]
    fit = fit_mixed(data.drop(index=gone), "value", fixed, random)
    found = fit.pairs(["cover"], adjust="none").astype({"left": str, "right": str})
    mixed = found.set_index(["left", "right"]).loc[("open", "fleece")]
    assert row["difference"] == pytest.approx(-mixed["difference"])
    assert (row["se"], row["df"]) == pytest.approx((mixed["se"], mixed["df"]))
    assert "Kenward-Roger" in row["method"]


def test_another_scale_and_a_covariate(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "colour_rating", rated_trial.primary_date)
    pairs = [("fleece", "open")]
    plain = compare(model, pairs, 0.95).iloc[0]
    scaled = compare(model, pairs, 0.95, transform=lambda v: 10 * v).iloc[0]
    assert scaled["difference"] == pytest.approx(10 * plain["difference"])
    assert scaled["p"] == pytest.approx(plain["p"])
    names = stratum(model, "cover").data["unit"]
    rng = np.random.default_rng(1)
    noise = pd.Series(rng.normal(size=len(names)), index=names)
    adjusted = compare(model, pairs, 0.95, covariate=noise).iloc[0]
    assert adjusted["df"] == plain["df"] - 1
    moved = compare(model, pairs, 0.95, covariate=noise + 100).iloc[0]
    assert moved["left_mean"] == pytest.approx(adjusted["left_mean"])


def test_what_was_not_on_the_ground_is_refused(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "colour_rating", rated_trial.primary_date)
    with pytest.raises(WinterswardError, match="hollow was not on the ground yet"):
        compare(model, [("hollow", "solid")], 0.95)


def test_a_treatment_without_any_unit_is_named(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "colour_rating", rated_trial.primary_date)
    left = model.data[model.data["cover"] != "fleece"]
    short = type(model)(model.measure, model.date, model.skeleton, left, model.level)
    with pytest.raises(WinterswardError, match="no observation of fleece can be used"):
        compare(short, [("fleece", "open")], 0.95)


def test_a_tine_lost_everywhere_under_one_cover_is_told(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "colour_rating", dt.date(2026, 4, 17))
    data = model.data
    lost = data[~((data["cover"] == "open") & (data["aeration"] == "solid"))]
    short = type(model)(model.measure, model.date, model.skeleton, lost, model.level)
    with pytest.raises(WinterswardError, match="no observation of solid with open can be used"):
        compare(short, [("fleece", "open")], 0.95)
    apart = data[
        (data["cover"] != "open")
        | (data["block"].isin(["1", "2"]) == (data["aeration"] == "solid"))
    ]
    parted = type(model)(model.measure, model.date, model.skeleton, apart, model.level)
    with pytest.raises(WinterswardError, match="cannot be set against"):
        compare(parted, [("fleece", "open")], 0.95)


def test_an_average_over_fewer_tines_says_so(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "colour_rating", dt.date(2026, 4, 17))
    left = model.data[model.data["cover"] != "woven"]
    short = type(model)(model.measure, model.date, model.skeleton, left, model.level)
    row = compare(short, [("hollow", "solid")], 0.95).iloc[0]
    assert row["method"].endswith("; averaged over open and fleece only")


def test_shares_at_the_end_of_their_scale_are_averaged_and_not_compared(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "colour_rating", dt.date(2026, 4, 17))
    full = type(model)(
        model.measure, model.date, model.skeleton, model.data.assign(value=99.5), 0.95, unit="%"
    )
    assert stratum(full, "cover").data["value"].tolist() == [99.5] * 18
    with pytest.raises(WinterswardError, match="99 % or more"):
        compare(full, [("fleece", "open")], 0.95)
