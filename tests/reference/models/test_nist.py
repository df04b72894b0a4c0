"""NIST Statistical Reference Datasets, analysis of variance: certified values."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest

from wintersward.models import fit_mixed

FOLDER = Path(__file__).parent / "nist"
CERTIFIED = json.loads((FOLDER / "certified.json").read_text(encoding="utf-8"))["certified"]
# Digits certified values share with ours. SmLs07 and SmLs08 hold 0.1 steps on top of 10^12, which
# a double keeps to four digits: no program can do better from the numbers as stored.
DIGITS = {
    "AtmWtAg": 10,
    "SiRstv": 12,
    "SmLs01": 13,
    "SmLs02": 13,
    "SmLs04": 10,
    "SmLs05": 10,
    "SmLs07": 4,
    "SmLs08": 4,
}


@pytest.mark.parametrize("name", DIGITS)
def test_one_way(name: str) -> None:
    expected = CERTIFIED[name]
    data = pd.read_csv(FOLDER / f"{name}.csv")
    fit = fit_mixed(data, "response", "C(treatment)")
    row = fit.anova().iloc[0]
    within = 10.0 ** -DIGITS[name]
    assert row["f"] == pytest.approx(expected["F"], rel=within)
    assert (row["df_num"], row["df_den"]) == (expected["df_between"], expected["df_within"])
    assert fit.variances["residual"] ** 0.5 == pytest.approx(expected["resid_sd"], rel=within)
    assert fit.rows == expected["n"]
