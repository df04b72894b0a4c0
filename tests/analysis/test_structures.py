"""The structures of dates of one unit: their likelihoods, which are refused, which is chosen."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from analysis.dated import BLOCKS, COVER, SPLIT, TINE, dated_trial
from analysis.seasonal import DAYS, scope_of, simulated
from wintersward.analysis.structures import Candidate, candidates, judged, random_terms
from wintersward.analysis.together import dates_together, joint_terms


def dense_loglik(data: pd.DataFrame, candidate: Candidate, terms: list[str]) -> float:
    """Restricted log-likelihood from the whole covariance matrix, sum-to-zero coded."""
    assert candidate.fit is not None
    variances, n = candidate.fit.variances, len(data)
    covariance = np.zeros((n, n))
    for term in terms:
        key = data[term.split(":")].astype(str).agg(":".join, axis=1).to_numpy()
        covariance += variances[term] * (key[:, None] == key[None, :])
    own = [
        variances.get(f"residual[{date}]", variances.get("residual"))
        for date in data["date"].astype(str)
    ]
    unit = data["unit_name"].to_numpy()
    if candidate.structure == "car1":
        day = data["day"].to_numpy()
        phi = candidate.fit.correlation
        alike = phi ** np.abs(day[:, None] - day[None, :]) * (unit[:, None] == unit[None, :])
    else:
        alike = np.eye(n)
    covariance += np.sqrt(np.outer(own, own)) * alike
    one = np.ones((n, 1))
    coded = [sum_coded(data[name]) for name in ("cover", "date")]
    crossed = np.einsum("ni,nj->nij", *coded).reshape(n, -1)
    x = np.column_stack([one, *coded, crossed])
    inverse = np.linalg.inv(covariance)
    information = x.T @ inverse @ x
    left = data["value"].to_numpy() - x @ np.linalg.solve(
        information, x.T @ inverse @ data["value"].to_numpy()
    )
    logs = np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(information)[1]
    return -0.5 * float(logs + left @ inverse @ left + (n - x.shape[1]) * np.log(2 * np.pi))


def sum_coded(column: pd.Series) -> np.ndarray:
    codes, size = column.cat.codes.to_numpy(), len(column.cat.categories)
    return np.vstack([np.eye(size - 1), -np.ones(size - 1)])[codes]


def test_every_structure_has_the_loglik_of_its_dense_covariance(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", simulated(1, phi=0.9), DAYS)
    scope, data = scope_of(trial)
    tried = candidates(data, scope.skeleton)
    terms = random_terms(scope.skeleton)
    assert terms == ["block", "block:date", "plot"]
    kinds = [("cs", False), ("car1", False), ("cs", True), ("car1", True)]
    assert [(c.structure, c.by_date) for c in tried] == kinds
    assert [c.parameters for c in tried] == [4, 5, 7, 8]
    for candidate in tried:
        assert candidate.fit is not None
        assert set(terms) <= set(candidate.fit.variances)  # the plot term always stays
        found = dense_loglik(data, candidate, terms)
        assert candidate.fit.loglik == pytest.approx(found, abs=1e-6)
        k, m = candidate.parameters, 72 - 12
        aicc = -2 * found + 2 * k * m / (m - k - 1)
        assert candidate.aicc == pytest.approx(aicc, abs=1e-5)
        row = candidate.row()
        assert (row["m"], row["parameters"]) == (m, k)
        assert np.isnan(row["correlation"]) == (candidate.structure == "cs")


def made(values: list[float | None]) -> list[Candidate]:
    """Make candidates that have an AICc and nothing else."""
    kinds = [("cs", False), ("car1", False), ("cs", True), ("car1", True)]
    return [
        Candidate(s, d, 4, None if aicc is None else SimpleNamespace(aicc=aicc))  # type: ignore
        for (s, d), aicc in zip(kinds, values, strict=True)
    ]


@pytest.mark.parametrize(
    ("values", "verdicts"),
    [
        ([100, 98.1, 99, 98.2], ["chosen", "runner-up", "considered", "considered"]),
        ([100, 98, 99, 99], ["chosen", "runner-up", "considered", "considered"]),  # 2 is not more
        ([100, 97.9, 99, 96], ["considered", "chosen", "considered", "runner-up"]),
        ([100, 98.5, 97, 99], ["considered", "runner-up", "chosen", "considered"]),
        ([100, 95, 90, 80], ["considered", "considered", "runner-up", "chosen"]),
        ([100, None, None, None], ["chosen", "refused", "refused", "refused"]),
        ([None, 90, 95, None], ["refused", "chosen", "runner-up", "refused"]),
        ([None, None, None, None], ["refused"] * 4),
    ],
)
def test_the_simpler_wins_unless_aicc_falls_by_more_than_two(
    values: list[float | None], verdicts: list[str]
) -> None:
    found = judged(made(values))
    assert [candidate.verdict for candidate in found] == verdicts
    assert all(c.reason for c in found if c.verdict != "refused")


def test_what_fades_and_what_spreads_is_found(tmp_path: Path) -> None:
    days = (1, 4, 8, 13, 19, 26, 34, 43)
    layout = BLOCKS.replace("6", "8")
    # A correlation of 0.93 over one day: half of it is gone after ten.
    fading = dated_trial(tmp_path / "a", simulated(1, 2.0, 0.93), days, layout)
    rows = dates_together(fading)["structures"].set_index("verdict")
    assert rows.loc["chosen", ["structure", "by_date"]].tolist() == ["car1", "no"]
    assert rows.loc["chosen", "correlation"] == pytest.approx(0.93, abs=0.05)
    spread = dated_trial(tmp_path / "b", simulated(1, 2.0, 0.0, {1: 0.3, 43: 3.0}), days, layout)
    rows = dates_together(spread)["structures"].set_index("verdict")
    assert rows.loc["chosen", ["structure", "by_date"]].tolist() == ["cs", "yes"]
    assert "lower by" in rows.loc["chosen", "reason"]


def test_few_residual_degrees_refuse_a_variance_for_each_date(tmp_path: Path) -> None:
    # Four blocks of three: six residual degrees of freedom on a date.
    trial = dated_trial(tmp_path / "a", simulated(4), DAYS, BLOCKS.replace("6", "4"))
    rows = dates_together(trial)["structures"].set_index(["structure", "by_date"])
    for structure in ("cs", "car1"):
        row = rows.loc[(structure, "yes")]
        assert row["verdict"] == "refused"
        assert "2026-03-02 has 6" in row["reason"]
        assert np.isnan(row["aicc"])
    assert rows.loc[("cs", "no"), "verdict"] in ("chosen", "runner-up")
    assert rows["m"].nunique() == 1


def test_five_blocks_have_just_enough(tmp_path: Path) -> None:
    # (5 - 1)(3 - 1) = 8 on every date, and 7 where a plot is lost.
    enough = dated_trial(tmp_path / "a", simulated(4), DAYS, BLOCKS.replace("6", "5"))
    verdicts = dates_together(enough)["structures"].set_index(["structure", "by_date"])["verdict"]
    assert verdicts[("cs", "yes")] != "refused"
    lost = simulated(4, lost=(("101", 8),))
    short = dated_trial(tmp_path / "b", lost, DAYS, BLOCKS.replace("6", "5"))
    rows = dates_together(short)["structures"].set_index(["structure", "by_date"])
    assert rows.loc[("cs", "yes"), "reason"].endswith("on a date: 2026-03-09 has 7")


def test_two_dates_cannot_tell_fading(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", simulated(4), (1, 22))
    rows = dates_together(trial)["structures"].set_index(["structure", "by_date"])
    assert rows.loc[("car1", "no"), "verdict"] == "refused"
    assert "two dates cannot tell" in rows.loc[("car1", "no"), "reason"]
    assert rows.loc[("cs", "no"), "verdict"] == "chosen"


def test_random_terms_of_a_split_plot(tmp_path: Path) -> None:
    split = dated_trial(tmp_path / "a", simulated(8), DAYS, SPLIT, COVER + TINE)
    scope, data = scope_of(split, 1)
    terms = ["block", "whole_plot", "block:date", "whole_plot:date", "plot"]
    assert random_terms(scope.skeleton) == terms
    assert joint_terms(scope.skeleton, data)["date"] == ("block on each date", 5.0)
