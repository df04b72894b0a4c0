"""Verdicts against a margin, by cases and on published arithmetic."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from wintersward.analysis.equivalence import CAUGHT_UP, VERDICTS, caught_up, verdict


def judged(estimate: float, se: float, df: float, margin: float, alpha: float = 0.05) -> str:
    wide, narrow = stats.t.isf(alpha / 2, df) * se, stats.t.isf(alpha, df) * se
    return verdict(
        (estimate - wide, estimate + wide), (estimate - narrow, estimate + narrow), margin
    )


def test_means_of_two_groups_of_eight() -> None:
    # Constructed: 5.75 and 5.60, pooled SD 0.60, n = 8 each: SE 0.300, 14 df; the 90 % interval
    # -0.3784 to 0.6784 lies inside 1 rating unit and not inside 0.5. Rule: Schuirmann (1987).
    assert judged(0.15, 0.3, 14, 1.0) == "equivalent"
    assert judged(0.15, 0.3, 14, 0.5) == "cannot tell"


@pytest.mark.parametrize(
    ("estimate", "se", "margin", "said"),
    [
        (12.0, 1.0, 8.0, "beyond"),
        (-12.0, 1.0, 8.0, "beyond"),
        (4.0, 1.0, 8.0, "inside"),
        (-4.0, 1.0, 8.0, "inside"),
        (8.0, 1.0, 8.0, "size open"),
        (-8.0, 1.0, 8.0, "size open"),
        (0.5, 1.0, 8.0, "equivalent"),
        (5.0, 6.0, 8.0, "cannot tell"),
        (float("nan"), 1.0, 8.0, "cannot tell"),
    ],
)
def test_each_verdict(estimate: float, se: float, margin: float, said: str) -> None:
    assert judged(estimate, se, 10, margin) == said
    assert said in VERDICTS


finite = st.floats(-50, 50)


@given(finite, st.floats(0.01, 20), st.integers(2, 60), st.floats(0.1, 20))
def test_a_verdict_does_not_depend_on_which_side_is_left(
    estimate: float, se: float, df: int, margin: float
) -> None:
    assert judged(estimate, se, df, margin) == judged(-estimate, se, df, margin)


@given(finite, st.floats(0.01, 20), st.integers(2, 60), st.floats(0.1, 20))
def test_equivalence_agrees_with_the_two_one_sided_tests(
    estimate: float, se: float, df: int, margin: float
) -> None:
    p = max(stats.t.sf((estimate + margin) / se, df), stats.t.cdf((estimate - margin) / se, df))
    if abs(p - 0.05) > 1e-9:
        assert (judged(estimate, se, df, margin) in ("equivalent", "inside")) == (p < 0.05)


@pytest.mark.parametrize(
    ("inner", "said"),
    [
        ((-1.0, 4.9), "caught up"),
        ((-9.0, -6.0), "caught up"),
        ((5.1, 9.0), "not caught up"),
        ((-1.0, 6.0), "cannot tell"),
        ((np.nan, np.nan), "cannot tell"),
    ],
)
def test_caught_up_is_one_sided(inner: tuple[float, float], said: str) -> None:
    assert caught_up(inner, 5.0) == said
    assert said in CAUGHT_UP


def test_verdicts_of_the_example_measure(rated_tables: dict[str, pd.DataFrame]) -> None:
    found = rated_tables["equivalence"].set_index(["kind", "within", "left"])
    answer = rated_tables["primary"].iloc[0]
    row = found.loc[("matters", "", "fleece")]
    reach = stats.t.isf(0.05, answer["df"]) * answer["se"]
    assert row["lower"] == pytest.approx(answer["difference"] - reach)
    assert row["margin"] == 1.0
    leads = found.loc["caught up"]
    assert list(leads.loc[""].index) == ["fleece", "woven"]
    assert set(leads.index.get_level_values(0)) == {"", "aeration=solid", "aeration=hollow"}
    assert set(leads["date"]) == {pd.Timestamp("2026-04-17")}
    assert set(leads["verdict"]) <= set(CAUGHT_UP)
    # A lead averaged over both tines is the average of the leads with each.
    whole = leads.loc[("", "fleece"), "difference"]
    parts = [
        leads.loc[(f"aeration={tine}", "fleece"), "difference"] for tine in ("solid", "hollow")
    ]
    assert whole == pytest.approx(sum(parts) / 2)
