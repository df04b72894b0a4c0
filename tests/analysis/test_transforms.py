"""Other scales for shares, and dates at either end of them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import special

from wintersward.analysis.transforms import arcsine, at_ceiling, logit


def test_log_odds_with_an_offset() -> None:
    shares = np.array([0.0, 12.5, 50.0, 87.5, 100.0])
    # By scipy, with the shares drawn in: (p + o) / (1 + 2 o).
    theirs = special.logit((shares / 100 + 0.005) / 1.01)
    assert logit(0.5)(shares).tolist() == pytest.approx(theirs.tolist())
    assert logit(0.5)(shares)[0] == -logit(0.5)(shares)[-1]


def test_the_arcsine_is_even_about_the_middle_and_holds_at_the_ends() -> None:
    found = arcsine(np.array([-1e-9, 25.0, 75.0, 100.0000001]))
    assert found.tolist() == pytest.approx([0, np.pi / 6, np.pi / 3, np.pi / 2])


@pytest.mark.parametrize(
    ("values", "unit", "said"),
    [
        ([99.0, 100.0, 99.5], "%", "every plot is at 99 % or more: described, not compared"),
        ([1.0, 0.0], "%", "every plot is at 1 % or less: described, not compared"),
        ([98.9, 100.0], "%", ""),
        ([0.0, 1.1], "%", ""),
        ([100.0, 100.0], "N", ""),
        ([100.0, float("nan")], "%", "every plot is at 99 % or more: described, not compared"),
        ([], "%", ""),
    ],
)
def test_dates_on_which_every_plot_is_full_or_bare(
    values: list[float], unit: str, said: str
) -> None:
    assert at_ceiling(pd.Series(values, dtype=float), unit) == said
