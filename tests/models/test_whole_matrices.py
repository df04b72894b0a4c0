"""Restricted likelihoods of residual structures beside those of whole matrices."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import optimize, stats

from models.dated_plots import DAYS, field
from wintersward.models import Repeated, fit_mixed


def brute_force(data: pd.DataFrame, structure: str, theta: np.ndarray, by_day: bool) -> float:
    """-log of the restricted likelihood by whole matrices: scipy's density of error contrasts."""
    x = pd.get_dummies(data[["cover", "day"]].astype(str)).to_numpy(float)
    x = np.linalg.svd(x, full_matrices=True)
    rank = int((x[1] > 1e-9).sum())
    contrasts = x[0][:, rank:]
    y, day = data["green"].to_numpy(), data["day"].to_numpy(float)
    plots = data["plot"].to_numpy()
    tied = plots[:, None] == plots[None, :]
    gaps = np.abs(np.subtract.outer(day, day))
    power = theta[-1] ** gaps if structure == "car1" else np.where(gaps > 0, theta[-1], 1.0)
    codes = np.searchsorted(DAYS, day) if by_day else np.zeros(len(day), dtype=int)
    size = np.sqrt(theta[1:-1])[codes]
    blocks = data["block"].to_numpy()
    v = theta[0] * (blocks[:, None] == blocks[None, :])
    v = v + np.where(tied, power, 0.0) * np.outer(size, size)
    own = contrasts.T @ v @ contrasts
    return -float(stats.multivariate_normal(np.zeros(len(own)), own).logpdf(contrasts.T @ y))


class TestBruteForce:
    @pytest.mark.parametrize("seed", range(3))
    @pytest.mark.parametrize("structure", ["car1", "cs"])
    @pytest.mark.parametrize("by_day", [False, True])
    def test_loglik(self, seed: int, structure: str, by_day: bool) -> None:
        """Ours less theirs is the coding of the columns: the same for any parameters and model."""
        data = field(seed, lost=20)
        fit = fit_mixed(
            data,
            "green",
            "cover + C(day)",
            ["block"],
            Repeated("plot", "day", structure),
            "day" if by_day else None,
        )
        theta = np.array([*fit.variances.values(), fit.correlation])
        plain = fit_mixed(data, "green", "cover + C(day)")
        one = np.array([0.0, plain.variances["residual"], 0.0])
        coding = plain.loglik + brute_force(data, "cs", one, False)
        there = -brute_force(data, structure, theta, by_day)
        assert fit.loglik == pytest.approx(there + coding, abs=1e-7)

    @pytest.mark.parametrize("seed", range(2))
    @pytest.mark.parametrize("structure", ["car1", "cs"])
    def test_nothing_better_is_found(self, seed: int, structure: str) -> None:
        data = field(seed, lost=20)
        fit = fit_mixed(
            data, "green", "cover + C(day)", ["block"], Repeated("plot", "day", structure)
        )
        theta = np.array([*fit.variances.values(), fit.correlation])
        best = brute_force(data, structure, theta, False)
        lowest = 1e-6 if structure == "car1" else -0.2
        for rho in (0.5, 0.95):
            found = optimize.minimize(
                lambda t: brute_force(data, structure, t, False),
                [1.0, 2.0, rho],
                method="L-BFGS-B",
                bounds=[(0, None), (1e-3, None), (lowest, 0.9999)],
            )
            assert best <= found.fun + 1e-6
