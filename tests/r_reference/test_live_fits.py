"""Mixed models fitted with R while the tests run, and held against ours.

Run by ``make r-reference``. What is demanded is what the stored fits of
``tests/reference/models`` are held to: means and differences 1e-8 relative, standard errors, F and
degrees of freedom 1e-6, variances 1e-5, log-likelihood 1e-6 and Tukey probabilities 1e-7 absolute.
"""

from __future__ import annotations

import functools
import json
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from r_reference.cases import MIXED, REPEATED, Case
from r_reference.rscript import HERE, r_versions, run_r
from wintersward.models import MixedFit, Repeated, fit_mixed

CASES = MIXED | REPEATED
every_mixed = pytest.mark.parametrize("name", MIXED)
every_repeated = pytest.mark.parametrize("name", REPEATED)


@pytest.fixture(scope="session")
def by_r(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Fit every case with R, in one call."""
    if r_versions() is None:
        pytest.fail("needs R: run make r-reference", pytrace=False)
    folder = tmp_path_factory.mktemp("r")
    told = {}
    for name, case in CASES.items():
        rows = case.data()
        rows.to_csv(folder / f"{name}.csv", index=False)
        told[name] = case.told(rows)
    (folder / "cases.json").write_text(json.dumps(told), encoding="utf-8")
    run_r(HERE / "fits.R", folder)
    return json.loads((folder / "fits.json").read_text(encoding="utf-8"))


@functools.cache
def ours(name: str) -> tuple[Case, MixedFit]:
    case = CASES[name]
    repeated = Repeated(*case.repeated, structure="car1") if case.repeated else None
    return case, fit_mixed(
        case.data(),
        response=case.response,
        fixed=case.fixed,
        random=list(case.random),
        repeated=repeated,
        variance_by=case.variance_by,
    )


def column(table: dict[str, Any], name: str) -> np.ndarray:
    """Read a column of a table of R; one row comes as a bare number."""
    return np.array(many(table[name]), dtype=float)


def many(value: object) -> list[Any]:
    return value if isinstance(value, list) else [value]


def close(found: pd.Series, expected: np.ndarray, relative: float) -> None:
    np.testing.assert_allclose(found, expected, rtol=relative)


def close_intervals(found: pd.DataFrame, expected: dict[str, Any]) -> None:
    for side, theirs in (("lower", "lower.CL"), ("upper", "upper.CL")):
        gap = (found[side] - column(expected, theirs)).abs() / found["se"]
        assert gap.max() < 1e-6, side


def test_no_case_is_among_the_stored_fits() -> None:
    stored = Path(__file__).parents[1] / "reference" / "models" / "r_fits"
    held = [json.loads(path.read_text(encoding="utf-8")) for path in stored.glob("*.json")]
    assert held
    taken = {(file["dataset_package"], file["dataset"]) for file in held}
    assert taken.isdisjoint((case.package, case.dataset) for case in CASES.values())


@every_mixed
def test_loglik(by_r: dict[str, Any], name: str) -> None:
    assert ours(name)[1].loglik == pytest.approx(by_r[name]["loglik"], abs=1e-6, rel=0)


@every_mixed
def test_variances(by_r: dict[str, Any], name: str) -> None:
    expected = by_r[name]["variances"]
    found = ours(name)[1].variances
    assert {*found} == {term.replace("Residual", "residual") for term in expected}
    for term, value in expected.items():
        assert found[term.replace("Residual", "residual")] == pytest.approx(value, rel=1e-5)


@every_mixed
def test_covariance_of_coefficients(by_r: dict[str, Any], name: str) -> None:
    expected = np.array(by_r[name]["covariance"])
    scale = np.sqrt(np.outer(np.diag(expected), np.diag(expected)))
    np.testing.assert_allclose(ours(name)[1].covariance / scale, expected / scale, atol=2e-6)


@every_mixed
@pytest.mark.parametrize("method", ["kenward-roger", "satterthwaite"])
def test_tests_of_terms(by_r: dict[str, Any], name: str, method: str) -> None:
    expected = by_r[name]["tests"][method]
    found = ours(name)[1].anova(method=method)
    assert found["term"].tolist() == many(expected["term"])
    close(found["f"], column(expected, "F value"), 1e-6)
    close(found["df_num"], column(expected, "NumDF"), 0)
    close(found["df_den"], column(expected, "DenDF"), 1e-6)
    np.testing.assert_allclose(found["p"], column(expected, "Pr(>F)"), rtol=1e-5, atol=1e-7)


@every_mixed
def test_means(by_r: dict[str, Any], name: str) -> None:
    case, fit = ours(name)
    for (factors, by), expected in zip(case.means, by_r[name]["means"], strict=True):
        found = fit.means(list(factors), by=list(by))
        for factor in (*factors, *by):
            assert found[factor].tolist() == [str(level) for level in expected["means"][factor]]
        close(found["mean"], column(expected["means"], "emmean"), 1e-8)
        close(found["se"], column(expected["means"], "SE"), 1e-6)
        close(found["df"], column(expected["means"], "df"), 1e-6)
        close_intervals(found, expected["means"])


@every_mixed
@pytest.mark.parametrize("adjust", ["none", "tukey"])
def test_differences(by_r: dict[str, Any], name: str, adjust: str) -> None:
    case, fit = ours(name)
    for (factors, by), block in zip(case.means, by_r[name]["means"], strict=True):
        expected = block[adjust]
        found = fit.pairs(list(factors), by=list(by), adjust=adjust)
        tiny = 1e-11 * np.abs(column(block["means"], "emmean")).max()
        np.testing.assert_allclose(
            found["difference"], column(expected, "estimate"), rtol=1e-8, atol=tiny
        )
        close(found["se"], column(expected, "SE"), 1e-6)
        close(found["df"], column(expected, "df"), 1e-6)
        np.testing.assert_allclose(found["p"], column(expected, "p.value"), atol=1e-7, rtol=0)
        close_intervals(found, expected)


@every_repeated
def test_loglik_of_repeated(by_r: dict[str, Any], name: str) -> None:
    assert ours(name)[1].loglik == pytest.approx(by_r[name]["loglik"], abs=1e-6, rel=0)


@every_repeated
def test_variances_and_correlation_of_repeated(by_r: dict[str, Any], name: str) -> None:
    case, fit = ours(name)
    expected = by_r[name]
    assert fit.correlation == pytest.approx(expected["phi"], rel=1e-5)
    found = dict(fit.variances)
    for term in case.random:
        assert found.pop(term) == pytest.approx(expected["random"], rel=1e-5)
    assert found == {
        f"residual[{level}]": pytest.approx(variance, rel=1e-5)
        for level, variance in expected["residual"].items()
    }


@every_repeated
def test_answers_of_repeated(by_r: dict[str, Any], name: str) -> None:
    # nlme corrects nothing for the variances being estimated, and knows no Kenward-Roger: so
    # ours are asked uncorrected, and degrees of freedom are not compared.
    case, fit = ours(name)
    expected = by_r[name]
    plain = fit.linear(np.eye(fit.columns), list(fit.coefficients.index), df="satterthwaite")
    close(plain.se, np.sqrt(np.diag(expected["covariance"])), 1e-6)
    tests = fit.anova(method="satterthwaite")
    assert tests["term"].tolist() == expected["tests"]["term"]
    close(tests["f"], column(expected["tests"], "F-value"), 1e-6)
    close(tests["df_num"], column(expected["tests"], "numDF"), 0)
    for (factors, by), block in zip(case.means, expected["means"], strict=True):
        means = fit.means(list(factors), by=list(by))
        close(means["mean"], column(block["means"], "emmean"), 1e-8)
        pairs = fit.pairs(list(factors), by=list(by))
        tiny = 1e-11 * means["mean"].abs().max()
        np.testing.assert_allclose(
            pairs["difference"], column(block["none"], "estimate"), rtol=1e-8, atol=tiny
        )
