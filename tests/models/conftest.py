"""Small invented trials that the tests of the models share."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest


def split_plot(seed: int = 7, blocks: int = 4) -> pd.DataFrame:
    """Covers on whole plots, two tines on their halves; four blocks; a covariate that varies."""
    rng = np.random.default_rng(seed)
    rows = [
        (f"b{b}", cover, tine)
        for b in range(1, blocks + 1)
        for cover in ("fleece", "open", "woven")
        for tine in ("hollow", "solid")
    ]
    data = pd.DataFrame(rows, columns=["block", "cover", "tine"])
    whole = data.groupby(["block", "cover"]).ngroup()
    data["plot"] = data["cover"].str[0] + data["block"].str[1]
    data["sun"] = rng.uniform(2.0, 8.0, len(data))
    data["green"] = (
        60.0
        + 6.0 * (data["cover"] == "woven")
        + 2.0 * (data["tine"] == "solid")
        + rng.normal(0, 3.0, blocks)[data.groupby("block").ngroup()]
        + rng.normal(0, 2.0, 3 * blocks)[whole]
        + rng.normal(0, 1.5, len(data))
    )
    return data


@pytest.fixture
def trial() -> pd.DataFrame:
    return split_plot()


@pytest.fixture
def make_trial() -> Callable[..., pd.DataFrame]:
    return split_plot
