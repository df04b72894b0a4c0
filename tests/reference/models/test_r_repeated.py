"""Models of nlme in the files: residuals correlated over time, unequal residual variances.

Standard errors and F in the files are as if the variances were known; so is what
`linear(..., "satterthwaite")` gives. Degrees of freedom "df.error" are rows less columns less the
parameters that are not the scale; "satterthwaite" is emmeans' numerical approximation, good to 2
to 4 digits.

With a variance for each cell nlme's search stopped 4e-9 below the top of the log-likelihood, which
is 2e-5 in the variances; they have a closed form, which a test of its own holds ours against.
"""

from __future__ import annotations

import functools
from typing import Any

import numpy as np
import pytest
from scipy import stats

from reference.models.test_r_fits import FILES, asked, column, data_of, stored
from wintersward.models import MixedFit, Repeated, fit_mixed
from wintersward.models.means import Cells, cells_of

# Response, fixed part, what else the R call has.
CALLS: dict[tuple[str, str], tuple[str, str, dict[str, Any]]] = {
    ("bodyweight_unequal", "gls_car1"): (
        "weight",
        "C(Diet) * C(day)",
        {"repeated": Repeated(subject="Rat", time="day")},
    ),
    ("cabbages_hetero", "gls"): ("HeadWt", "Cult * Date", {}),
    ("cabbages_hetero", "gls_hetero_cell"): ("HeadWt", "Cult * Date", {"variance_by": "cell"}),
    ("cabbages_hetero", "gls_hetero_date"): ("HeadWt", "Cult * Date", {"variance_by": "Date"}),
    ("oats_split_plot", "lme"): (
        "yield",
        "Variety * C(nitro)",
        {"random": ["Block", "Block:Variety"]},
    ),
    ("sitka88_repeated", "gls_cs"): (
        "size",
        "treat * C(day)",
        {"repeated": Repeated(subject="tree", time="day", structure="cs")},
    ),
    ("sitka88_repeated", "gls_car1"): (
        "size",
        "treat * C(day)",
        {"repeated": Repeated(subject="tree", time="day")},
    ),
    ("sitka88_repeated", "lme_car1"): (
        "size",
        "treat * C(day)",
        {"random": ["tree"], "repeated": Repeated(subject="tree", time="day")},
    ),
    ("sitka88_repeated", "gls_car1_hetero"): (
        "size",
        "treat * C(day)",
        {"repeated": Repeated(subject="tree", time="day"), "variance_by": "day"},
    ),
    ("spruce_plots", "gls_car1"): (
        "logSize",
        "C(day) + C(plot)",
        {"repeated": Repeated(subject="Tree", time="day")},
    ),
}
SATTERTHWAITE = 3e-2
STOPPED_EARLY = ("cabbages_hetero", "gls_hetero_cell")
# What nlme's search reached; lmer gives the same split plot to 1e-8.
LOOSER = {STOPPED_EARLY: 20, ("oats_split_plot", "lme"): 3}
every_case = pytest.mark.parametrize(("name", "model"), CALLS)


@functools.cache
def fitted(name: str, model: str) -> MixedFit:
    response, fixed, rest = CALLS[name, model]
    data = data_of(name, model)
    if model == "gls_hetero_cell":
        data["cell"] = data["Cult"] + "." + data["Date"]
    return fit_mixed(data, response, fixed, **rest)


def tolerance(name: str, model: str, usual: float) -> float:
    return LOOSER.get((name, model), 1) * usual


def expected_of(name: str, model: str) -> dict[str, Any]:
    return stored(name)["models"][model]


def test_no_model_of_the_files_is_forgotten() -> None:
    # Those of lmer are counted in test_r_fits.
    held = {
        (path.stem, model): found["engine"]
        for path in FILES.glob("*.json")
        for model, found in stored(path.stem)["models"].items()
    }
    other = {case for case, engine in held.items() if not engine.startswith("lme4::lmer")}
    assert other == set(CALLS)
    assert {held[case].split(" ")[0] for case in other} == {"nlme::gls", "nlme::lme"}


@every_case
def test_loglik(name: str, model: str) -> None:
    theirs = expected_of(name, model)["logLik_REML"]
    assert fitted(name, model).loglik == pytest.approx(theirs, abs=1e-6, rel=0)


@every_case
def test_variances(name: str, model: str) -> None:
    expected, found = expected_of(name, model), fitted(name, model).variances
    base, ratios = expected["sigma2"], expected["var_ratio_sd"]
    if ratios is None:
        assert found["residual"] == pytest.approx(base, rel=1e-5)
        return
    assert {*found} == {f"residual[{level}]" for level in ratios}
    close = tolerance(name, model, 1e-5)
    for level, ratio in ratios.items():
        assert found[f"residual[{level}]"] == pytest.approx(base * ratio**2, rel=close)


def test_variances_of_cells_are_those_within_them() -> None:
    data = data_of("cabbages_hetero", "gls")
    within = data.groupby(data["Cult"] + "." + data["Date"])["HeadWt"].var(ddof=1)
    found = fitted(*STOPPED_EARLY).variances
    for cell, variance in within.items():
        assert found[f"residual[{cell}]"] == pytest.approx(variance, rel=1e-12)


def test_variances_of_the_split_plot() -> None:
    # Variances of nlme's table, in the order blocks, varieties in blocks, residual.
    theirs = [v for v in expected_of("oats_split_plot", "lme")["varcomp"]["variance"] if v]
    found = list(fitted("oats_split_plot", "lme").variances.values())
    np.testing.assert_allclose(found, theirs, rtol=1e-5)


def test_variance_of_trees_beside_a_correlation_that_fades() -> None:
    # nlme reaches 5.0e-8 with its search in logarithms; its likelihood is 4e-8 below ours.
    theirs, fit = (
        expected_of("sitka88_repeated", "lme_car1"),
        fitted("sitka88_repeated", "lme_car1"),
    )
    assert theirs["varcomp"]["variance"][0] < 1e-7
    assert fit.variances["tree"] == 0.0
    assert fit.loglik > theirs["logLik_REML"]


@every_case
def test_correlation(name: str, model: str) -> None:
    theirs, ours = expected_of(name, model)["cor_param"], fitted(name, model).correlation
    if theirs is None:
        assert ours is None
    else:
        (value,) = theirs.values()
        assert ours == pytest.approx(value, abs=1e-7, rel=0)


@every_case
def test_only_a_variance_of_zero_is_noted(name: str, model: str) -> None:
    codes = [note.code for note in fitted(name, model).notes]
    assert codes == (["zero-variance"] if model == "lme_car1" else [])


@every_case
def test_information(name: str, model: str) -> None:
    wanted = "observed" if "car1" in model else "expected"
    assert fitted(name, model).information == wanted


@every_case
def test_coefficients(name: str, model: str) -> None:
    expected, fit = expected_of(name, model), fitted(name, model)
    theirs = np.array(expected["vcov"])
    scale = np.sqrt(np.diag(theirs))
    np.testing.assert_allclose(
        fit.coefficients, list(expected["fixef"].values()), rtol=1e-8, atol=1e-6 * scale.max()
    )
    half = fit.fixed_part.reduced(np.eye(fit.columns)) * fit._scale.size
    ours, each = half @ fit._inference.phi @ half.T, np.outer(scale, scale)
    np.testing.assert_allclose(ours / each, theirs / each, atol=tolerance(name, model, 2e-6))


@every_case
def test_f_as_if_the_variances_were_known(name: str, model: str) -> None:
    expected, fit = expected_of(name, model), fitted(name, model)
    found, part = [], fit.fixed_part
    for term in part.terms:
        if term != "Intercept":
            weights = part.reduced(part.hypothesis(term))
            estimate = weights @ fit._inference.coefficients
            covariance = weights @ fit._inference.phi @ weights.T
            found.append(estimate @ np.linalg.solve(covariance, estimate) / len(weights))
    theirs = column(expected["anova_marginal"], "F-value")[1:]
    np.testing.assert_allclose(found, theirs, rtol=tolerance(name, model, 1e-6))


def compared(fit: MixedFit, block: dict[str, Any]) -> tuple[Cells, np.ndarray]:
    """Give the means asked for and the weights of their pairs, in our order."""
    factors, by = asked(block)
    cells = cells_of(fit.fixed_part, [*by, *factors])
    families: dict[Any, list[int]] = {}
    for i, cell in enumerate(cells.levels):
        families.setdefault(cell[: len(by)], []).append(i)
    pairs = [
        cells.weights[a] - cells.weights[b]
        for rows in families.values()
        for k, a in enumerate(rows)
        for b in rows[k + 1 :]
    ]
    return cells, np.array(pairs)


@every_case
def test_means_and_differences(name: str, model: str) -> None:
    fit, blocks = fitted(name, model), expected_of(name, model)["emmeans"]
    assert blocks
    error, close = fit.rows - fit.columns - (fit.parameters - 1), tolerance(name, model, 1e-6)
    for block in blocks:
        cells, pairs = compared(fit, block)
        for weights, table, column_name in [
            (cells.weights, block["means"], "emmean"),
            (pairs, block["pairs_unadjusted"], "estimate"),
        ]:
            found = fit.linear(weights, [""] * len(weights), "satterthwaite")
            tiny = 1e-7 * np.abs(column(table, "SE")).max()
            np.testing.assert_allclose(
                found.estimate, column(table, column_name), rtol=1e-8, atol=tiny
            )
            np.testing.assert_allclose(found.se, column(table, "SE"), rtol=close)
            if block["df_method"] == "df.error":
                assert column(table, "df").tolist() == [error] * len(weights)
            if block["df_method"] == "satterthwaite":
                np.testing.assert_allclose(found.df, column(table, "df"), rtol=SATTERTHWAITE)


@every_case
def test_p_values_given_the_degrees_of_freedom(name: str, model: str) -> None:
    fit, close = fitted(name, model), tolerance(name, model, 3e-7)
    for block in expected_of(name, model)["emmeans"]:
        _, pairs = compared(fit, block)
        found = fit.linear(pairs, [""] * len(pairs), "satterthwaite")
        theirs = block["pairs_unadjusted"]
        p = 2 * stats.t.sf(np.abs(found.estimate / found.se), column(theirs, "df"))
        np.testing.assert_allclose(p, column(theirs, "p.value"), atol=close, rtol=0)


@every_case
def test_kenward_and_roger_agree_with_satterthwaite_in_large_samples(name: str, model: str) -> None:
    """No other program gives Kenward-Roger for these; single contrasts have almost the same df."""
    fit = fitted(name, model)
    for block in expected_of(name, model)["emmeans"]:
        if block["df_method"] != "satterthwaite":
            continue
        factors, by = asked(block)
        found = fit.means(factors, by=by)
        np.testing.assert_allclose(found["df"], column(block["means"], "df"), rtol=SATTERTHWAITE)
        np.testing.assert_allclose(found["se"], column(block["means"], "SE"), rtol=1e-2)
