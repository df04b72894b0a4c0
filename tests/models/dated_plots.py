"""An invented trial with dates on its plots, and the model that fits it, for several tests."""

from __future__ import annotations

import numpy as np
import pandas as pd

from wintersward.models import MixedFit, Repeated, fit_mixed

DAYS = np.array([0, 10, 25, 32, 60])


def field(seed: int, fade: float = 0.95, lost: int = 7) -> pd.DataFrame:
    """Four blocks of three covers seen on five unequal days, a few observations lost."""
    rng = np.random.default_rng(seed)
    cells = [(b, c, day) for b in range(4) for c in range(3) for day in DAYS]
    data = pd.DataFrame(cells, columns=["block", "cover", "day"])
    data["cover"] = data["cover"].map(dict(enumerate(["fleece", "open", "woven"])))
    data["plot"] = "p" + data["block"].astype(str) + data["cover"].str[0]
    half = np.linalg.cholesky(fade ** np.abs(np.subtract.outer(DAYS, DAYS)))
    noise = rng.normal(size=(12, len(DAYS))) @ half.T * np.linspace(1, 1.8, len(DAYS))
    data["green"] = (
        50.0
        + 3.0 * (data["cover"] == "woven")
        + 0.1 * data["day"]
        + rng.normal(0, 1.2, 4)[data["block"]]
        + np.repeat(rng.normal(0, 1.0, 12), len(DAYS))
        + noise.ravel()
    )
    return data.drop(index=rng.permutation(len(data))[:lost]).reset_index(drop=True)


def car1(data: pd.DataFrame, **rest: object) -> MixedFit:
    return fit_mixed(
        data, "green", "cover * C(day)", ["block", "plot"], Repeated("plot", "day"), **rest
    )
