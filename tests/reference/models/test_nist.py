"""NIST Statistical Reference Datasets, analysis of variance: certified values."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from fractions import Fraction
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from wintersward.models import fit_mixed

FOLDER = Path(__file__).parent / "nist"
CERTIFIED = json.loads((FOLDER / "certified.json").read_text(encoding="utf-8"))["certified"]
# Digits that the least exact of F and the residual standard deviation must share with the certified
# values. SmLs07 to SmLs09 hold steps of 0.1 on top of 10^12, which a double keeps to four digits;
# the last test shows that no program can do better from the numbers as stored.
DIGITS = {
    "AtmWtAg": 10.0,
    "SiRstv": 12.0,
    "SmLs01": 13.0,
    "SmLs02": 13.0,
    "SmLs03": 13.0,
    "SmLs04": 10.0,
    "SmLs05": 10.0,
    "SmLs06": 10.0,
    "SmLs07": 4.4,
    "SmLs08": 4.18,
    "SmLs09": 4.17,
}
# The large sets are made from smaller ones instead of being kept here. SHA-256 of the published
# values written like the other files: a heading, then treatment,response, lines ended by a newline.
LARGE = {
    "SmLs03": ("SmLs02", "c3917a5d029a28628c7b75d411f072bb0531448e08e57a10ddc949583d84890d"),
    "SmLs06": ("SmLs05", "911c47cb13ca46c27a78fc4de082c469d50ada4a3321a4aefd97a0f1591f1a8e"),
    "SmLs09": ("SmLs08", "b131a09575566eb1526fd2c9879838921dfbeebaea52cbd8bd0eae1ef9532081"),
}


def enlarged(text: str) -> str:
    """Make the set of 2,001 values a treatment from that of 201.

    A treatment has its middle value once, then the low and the high one in turn, 1,000 times.
    """
    groups: dict[str, list[str]] = {}
    heading, *lines = text.splitlines()
    for line in lines:
        groups.setdefault(line.split(",")[0], []).append(line)
    assert all(group == [group[0], *group[1:3] * 100] for group in groups.values())
    rows = [row for group in groups.values() for row in [group[0], *group[1:3] * 1000]]
    return "\n".join([heading, *rows]) + "\n"


def data_of(name: str) -> pd.DataFrame:
    if name not in LARGE:
        return pd.read_csv(FOLDER / f"{name}.csv")
    smaller, digest = LARGE[name]
    text = enlarged((FOLDER / f"{smaller}.csv").read_text(encoding="utf-8"))
    assert hashlib.sha256(text.encode()).hexdigest() == digest
    parts = [line.split(",") for line in text.splitlines()[1:]]
    return pd.DataFrame(
        {
            "treatment": [int(treatment) for treatment, _ in parts],
            "response": [float(response) for _, response in parts],
        }
    )


def shared_digits(found: float, certified: float) -> float:
    gap = abs(found - certified) / abs(certified)
    return 16.0 if gap == 0 else float(-np.log10(gap))


def test_every_certified_set_is_here() -> None:
    assert {*CERTIFIED} == {*DIGITS}


@pytest.mark.parametrize("name", DIGITS)
def test_one_way(name: str) -> None:
    expected = CERTIFIED[name]
    fit = fit_mixed(data_of(name), "response", "C(treatment)")
    row = fit.anova().iloc[0]
    digits_f = shared_digits(row["f"], expected["F"])
    digits_sd = shared_digits(fit.variances["residual"] ** 0.5, expected["resid_sd"])
    print(f"{name}: {expected['n']} rows, F to {digits_f:.1f} digits, sd to {digits_sd:.1f}")
    assert min(digits_f, digits_sd) >= DIGITS[name]
    assert (row["df_num"], row["df_den"]) == (expected["df_between"], expected["df_within"])
    assert fit.rows == expected["n"]


def exact_f(data: pd.DataFrame) -> Fraction:
    """Compute F in whole numbers from the doubles as stored."""
    groups = [
        Counter(map(Fraction, values.tolist()))
        for _, values in data.groupby("treatment")["response"]
    ]
    sizes = [group.total() for group in groups]
    means = [
        sum(value * count for value, count in group.items()) / size
        for group, size in zip(groups, sizes, strict=True)
    ]
    rows = sum(sizes)
    middle = sum(mean * size for mean, size in zip(means, sizes, strict=True)) / rows
    between = sum(size * (mean - middle) ** 2 for mean, size in zip(means, sizes, strict=True))
    within = sum(
        count * (value - mean) ** 2
        for group, mean in zip(groups, means, strict=True)
        for value, count in group.items()
    )
    return Fraction(between / (len(groups) - 1)) / (within / (rows - len(groups)))


@pytest.mark.parametrize("name", DIGITS)
def test_all_digits_that_the_stored_numbers_hold(name: str) -> None:
    data = data_of(name)
    found = fit_mixed(data, "response", "C(treatment)").anova()["f"].iloc[0]
    assert found == pytest.approx(float(exact_f(data)), rel=2e-13)
