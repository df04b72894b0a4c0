"""Residuals and checks in every layout."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from reference.analysis.published_trials import published_square, published_trial
from wintersward.analysis import model_for
from wintersward.analysis.residual_checks import residual_checks

COVERS, TINES = ["open", "fleece", "woven", "foam"], ["solid", "hollow", "none"]


def responses(blocks: int, factors: list[list[str]]) -> pd.DataFrame:
    rng = np.random.default_rng(21)
    cells = itertools.product([f"b{at}" for at in range(blocks)], *factors)
    rows = [(*cell, 1, 20 + rng.normal(0, 2)) for cell in cells]
    names = ["cover", "aeration"][: len(factors)]
    return pd.DataFrame(rows, columns=["block", *names, "sample", "response"])


@pytest.mark.parametrize(
    ("kind", "factors", "additive"),
    [
        ("completely random", [COVERS], []),
        ("randomised blocks", [COVERS], ["additive blocks, cover"]),
        ("randomised blocks", [COVERS, TINES], ["additive blocks, cover and aeration"]),
        (
            "split plot",
            [COVERS, TINES],
            ["additive blocks, cover", "additive whole plots, aeration"],
        ),
        ("strip plot", [COVERS, TINES], ["additive blocks, cover", "additive blocks, aeration"]),
    ],
)
def test_every_layout_is_checked_in_its_own_strata(
    tmp_path: Path, kind: str, factors: list[list[str]], additive: list[str]
) -> None:
    names = dict(zip(["cover", "aeration"], factors, strict=False))
    data = responses(5, factors)
    trial = published_trial(tmp_path / "trial", "Invented", data, names, kind=kind)
    tables = residual_checks([model_for(trial, "response", "visit")])
    found = tables["checks"]["check"].tolist()
    assert found == ["normality", "equal spread of treatments", *additive]
    assert len(tables["residuals"]) == len(data)
    assert tables["residuals"]["unit_name"].is_unique
    assert tables["residuals"].notna().all(axis=None)


def test_rows_and_columns_are_checked_together(tmp_path: Path) -> None:
    factors = {"cover": COVERS}
    rng = np.random.default_rng(4)
    rows = [
        (row + 1, column + 1, COVERS[(row + column) % 4], 1, 20 + rng.normal(0, 2))
        for row in range(4)
        for column in range(4)
    ]
    data = pd.DataFrame(rows, columns=["row", "column", "cover", "sample", "response"])
    trial = published_square(tmp_path / "square", "Square", data, factors)
    found = residual_checks([model_for(trial, "response", "visit")])["checks"]
    assert found["check"].tolist()[2:] == ["additive rows and columns, cover"]
    assert 0 < found["p"].iloc[2] < 1
