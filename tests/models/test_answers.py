from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from wintersward.models import MixedFit, fit_mixed
from wintersward.models.answers import METHODS, Answers
from wintersward.models.means import cells_of


def answers(fit: MixedFit, method: str = "kenward-roger") -> Answers:
    return fit._answers("method", method)


@pytest.fixture
def fit(trial: pd.DataFrame) -> MixedFit:
    return fit_mixed(trial, "green", "cover * tine", ["block", "block:cover"])


@pytest.mark.parametrize("method", METHODS)
def test_values_are_functions_of_the_coefficients(fit: MixedFit, method: str) -> None:
    cells = cells_of(fit.fixed_part, ["cover", "tine"]).weights
    found = answers(fit, method).values(cells, fit.fixed_part.reduced(cells))
    np.testing.assert_allclose(found, cells @ fit.coefficients)


@pytest.mark.parametrize("method", METHODS)
def test_a_test_of_one_contrast_is_its_t(fit: MixedFit, method: str) -> None:
    row, notes = answers(fit, method).test("tine")
    term, f, df_num, df_den, p = row
    found, more = answers(fit, method).estimates(fit.fixed_part.hypothesis("tine"), ["tine"])
    assert (term, df_num, notes, more) == ("tine", 1, [], [])
    assert f == pytest.approx((found.estimate[0] / found.se[0]) ** 2)
    assert df_den == pytest.approx(found.df[0])
    assert 0 < p < 1


def test_what_the_data_do_not_determine_is_named(trial: pd.DataFrame) -> None:
    gone = (trial["cover"] == "woven") & (trial["tine"] == "solid")
    fit = fit_mixed(trial[~gone], "green", "cover * tine", ["block"])
    cells = cells_of(fit.fixed_part, ["cover", "tine"])
    found, notes = answers(fit).estimates(cells.weights, [cells.said(i) for i in range(6)])
    lost = [cell == ("woven", "solid") for cell in cells.levels]
    for values in (found.estimate, found.se, found.df):
        assert np.isnan(values).tolist() == lost
    assert [(note.code, note.about, note.count) for note in notes] == [
        ("non-estimable", ("cover=woven, tine=solid",), 1)
    ]


def test_a_term_within_another_is_not_tested(trial: pd.DataFrame) -> None:
    trial["sward"] = trial["cover"].map({"fleece": "x", "open": "y", "woven": "y"})
    fit = fit_mixed(trial, "green", "sward + cover", ["block"])
    row, notes = answers(fit).test("sward")
    assert row[0] == "sward"
    assert np.isnan(row[1])
    assert row[2] == 0
    assert "cannot be separated" in notes[0].text
    rest, none = answers(fit).test("cover")
    assert np.isfinite(rest[1])
    assert none == []
