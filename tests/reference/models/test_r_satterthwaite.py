"""Satterthwaite's degrees of freedom as lmerTest gives them, for every lmer model of the files.

lmerTest differentiates numerically: on balanced layouts, where the degrees of freedom are whole
numbers, its own differ from them by up to 3.3e-7 of their size (bodyweight_unequal, Diet: 13), so
that 5e-7 is the tightest that can be asked of all.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from reference.models.test_r_fits import asked, column, data_of, every_case, fitted, many, stored
from wintersward.models import Repeated, fit_mixed
from wintersward.models.means import cells_of

PRECISION = 5e-7


def blocks(name: str, model: str) -> list[dict[str, Any]]:
    found = stored(name)["models"][model]["emmeans"]
    return [block for block in found if block["df_method"] == "satterthwaite"]


@every_case
def test_tests_of_terms(name: str, model: str) -> None:
    expected = stored(name)["models"][model]["anova3_Satterthwaite"]
    found = fitted(name, model).anova(method="satterthwaite")
    assert found["term"].tolist() == many(expected["term"])
    np.testing.assert_allclose(found["f"], column(expected, "F value"), rtol=1e-6)
    np.testing.assert_array_equal(found["df_num"], column(expected, "NumDF"))
    np.testing.assert_allclose(found["df_den"], column(expected, "DenDF"), rtol=PRECISION)
    np.testing.assert_allclose(found["p"], column(expected, "Pr(>F)"), rtol=1e-5, atol=1e-7)


def test_unbalanced_layouts_do_not_have_the_answer_of_kenward_and_roger() -> None:
    # Variety of oats with five plots lost: 9.8718 by lmerTest, 9.9541 by pbkrtest.
    fit = fitted("oats_missing_cells", "lmer")
    assert fit.anova("satterthwaite")["df_den"][0] == pytest.approx(9.8718, abs=5e-5)
    assert fit.anova()["df_den"][0] == pytest.approx(9.9541, abs=5e-5)


def test_a_variance_of_zero_is_left_out() -> None:
    # Columns of the orchard have none on the log scale: 49, where the design gives 42.
    fit = fitted("orchard_latin_square", "lmer_log")
    assert fit.anova("satterthwaite")["df_den"][0] == pytest.approx(49)
    assert fit.anova()["df_den"][0] == pytest.approx(42)


@every_case
def test_means(name: str, model: str) -> None:
    fit = fitted(name, model)
    for block in blocks(name, model):
        factors, by = asked(block)
        cells = cells_of(fit.fixed_part, [*by, *factors])
        found = fit.linear(cells.weights, [str(cell) for cell in cells.levels], "satterthwaite")
        expected = block["means"]
        np.testing.assert_allclose(found.estimate, column(expected, "emmean"), rtol=1e-8)
        np.testing.assert_allclose(found.se, column(expected, "SE"), rtol=1e-6)
        np.testing.assert_allclose(found.df, column(expected, "df"), rtol=1e-6)


@every_case
def test_differences_from_the_first_level(name: str, model: str) -> None:
    fit = fitted(name, model)
    for block in blocks(name, model):
        (factor,), by = asked(block)
        assert not by
        first, *others = fit.levels[factor]
        expected = block["pairs_unadjusted"]
        for row, other in enumerate(others):
            pair = {first: 1.0, other: -1.0}
            found = fit.contrast(pair, factors=factor, df="satterthwaite").iloc[0]
            size = column(expected, "SE")[row]
            assert found["se"] == pytest.approx(size, rel=1e-6)
            assert found["df"] == pytest.approx(column(expected, "df")[row], rel=1e-6)
            gap = found["estimate"] - column(expected, "estimate")[row]
            assert abs(gap) < 1e-8 * size + 1e-8 * abs(found["estimate"])
            ours = found["p"]
            assert ours == pytest.approx(column(expected, "p.value")[row], abs=1e-7)


# nlme::gls through emmeans, which finds the gradient and the information by its own steps: its
# degrees of freedom are good to 3e-4 (Sitka by compound symmetry: 77.011, where 77 is exact).
RESIDUALS = [
    ("bodyweight_unequal", "gls_car1", "weight ~ C(Diet) * C(day)"),
    ("sitka88_repeated", "gls_cs", "size ~ treat * C(day)"),
    ("sitka88_repeated", "gls_car1", "size ~ treat * C(day)"),
    ("cabbages_hetero", "gls_hetero_date", "HeadWt ~ Cult * Date"),
]
SUBJECTS = {"bodyweight_unequal": "Rat", "sitka88_repeated": "tree"}


@pytest.mark.parametrize(("name", "model", "formula"), RESIDUALS)
def test_residual_structures(name: str, model: str, formula: str) -> None:
    response, fixed = formula.split(" ~ ")
    data = data_of(name, model)
    if name in SUBJECTS:
        repeated = Repeated(SUBJECTS[name], "day", model.removeprefix("gls_"))
        fit = fit_mixed(data, response, fixed, repeated=repeated)
    else:
        fit = fit_mixed(data, response, fixed, variance_by="Date")
    block = blocks(name, model)[0]
    (factor,), _ = asked(block)
    cells = cells_of(fit.fixed_part, [factor])
    means = fit.linear(cells.weights, [str(cell) for cell in cells.levels], "satterthwaite")
    np.testing.assert_allclose(means.estimate, column(block["means"], "emmean"), rtol=1e-6)
    np.testing.assert_allclose(means.se, column(block["means"], "SE"), rtol=1e-6)
    np.testing.assert_allclose(means.df, column(block["means"], "df"), rtol=3e-4)
